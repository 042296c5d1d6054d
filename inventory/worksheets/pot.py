"""A pot before it is mixed: how long it can be used, how hot it gets, and what splitting it or pouring it out flat would do."""

from __future__ import annotations

from dataclasses import dataclass, replace

from inventory.core.gelation import anchored
from inventory.core.kinetic_sets import SETS
from inventory.core.pot_forecast import Chemistry, Doubt, Forecast, Range, forecast, side_by_side
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say, strung
from inventory.core.spans import duration

from .registry import CURE, Chart, Figure, Series, Sheet, Table, celsius, figure, number, worksheet

US = 1_000_000
_NONE = Doubt(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Pot:
    """A resin system by a published set of constants, anchored to its data sheet, and the cup that it stands in."""

    system: str = figure(say("Kinetics"), default="room", words=say("A published set of constants: {sets}.", sets=strung(", ", SETS)))
    mass: str = figure(say("Mass mixed"), "mass", "g", "500 g")
    resin: str = figure(say("Temperature of the resin"), usual="°C", default="21 °C")
    room: str = figure(say("Temperature of the room"), usual="°C", default="21 °C")
    diameter: str = figure(say("Inner diameter of the cup"), "length", "mm", "90 mm")
    gel: str = figure(say("Conversion at gel"), "share", "%", "57.7 %", say("By the functionalities, or from measurements of the system."))
    sheet_life: str = figure(
        say("Pot life on the data sheet"), "time", "min", "", say("With it the constants are anchored to your own resin.")
    )
    sheet_mass: str = figure(say("… for a mass of"), "mass", "g", "")
    sheet_temperature: str = figure(say("… at"), usual="°C", default="")


@worksheet(
    "pot", Pot, say("Pot life and exotherm"), say("How long a pot can be used, how hot it gets, and what splitting it would change."), CURE
)
def pot(p: Pot) -> Sheet:
    fitted = SETS.get(p.system.strip().lower())
    if fitted is None:
        raise BadInput("worksheet.choice", say("Choose one of {sets}.", sets=strung(", ", SETS)), "system")
    chemistry = Chemistry(fitted, number(p, "gel"))
    mass, diameter = number(p, "mass"), number(p, "diameter")
    resin, room = celsius(p.resin, "resin"), celsius(p.room, "room")
    chemistry = _anchored(p, chemistry, diameter)
    with told_at({"pot": "mass"}):
        ways = forecast(chemistry, side_by_side(mass, resin, room, diameter, chemistry.resin))
    told = ways[0]
    notes = [
        say("Constants: {fitted}; {source}.", fitted=fitted.name, source=fitted.source),
        say("Range: a kelvin, two per cent of mass and thirty per cent of rate either way."),
    ]
    if chemistry.speed != 1.0:
        notes.append(say("Anchored to the data sheet: this resin reacts {speed} times as fast as the set.", speed=f"{chemistry.speed:.2f}"))
    else:
        notes.append(say("Not anchored: these constants are a shape, not your resin. Enter the data sheet's pot life."))
    return Sheet(
        headline=_headline(told),
        figures=tuple(_figures(told)),
        notes=tuple(notes),
        cautions=(
            *(reason.text for reason in told.cautions),
            say("An estimate: the supplier's data, a gel cup of your own and the thermometer decide."),
        ),
        tables=(
            Table(
                say("Split, or poured out flat"),
                (say("way"), say("use until, min"), say("peak, °C"), say("peak at most, °C")),
                tuple(map(_row, ways)),
            ),
        ),
        charts=_charts(ways),
    )


def _anchored(p: Pot, chemistry: Chemistry, diameter: float) -> Chemistry:
    """The chemistry with which the data sheet's own pot gels when the sheet says."""
    said = [name for name in ("sheet_life", "sheet_mass", "sheet_temperature") if getattr(p, name).strip()]
    if not said:
        return chemistry
    for name in ("sheet_life", "sheet_mass", "sheet_temperature"):
        if name not in said:
            raise BadInput(
                "worksheet.needed", say("Enter the data sheet's pot life with the mass and the temperature that it holds for."), name
            )
    at = celsius(p.sheet_temperature, "sheet_temperature")
    cup = side_by_side(number(p, "sheet_mass"), at, at, diameter, chemistry.resin)[:1]

    def gels(speed: float) -> float:
        (told,) = forecast(replace(chemistry, speed=speed), cup, _NONE)
        return float("inf") if told.over is None or told.over.likely is None else told.over.likely / US

    return replace(chemistry, speed=anchored(gels, number(p, "sheet_life")))


def _headline(told: Forecast) -> str:
    if told.stop_us is None:
        return say("It does not gel as far as its kinetics go.")
    hot = say(", {peak} at its hottest", peak=_degrees(told.peak_mc)) if told.peak_mc is not None else ""
    return say("Use it within {stop}{hot}.", stop=duration(told.stop_us), hot=hot)


def _figures(told: Forecast) -> list[Figure]:
    found = []
    if told.over is not None:
        rows = ((say("use until"), told.over.low), (say("gels, likely"), told.over.likely), (say("gels, at the latest"), told.over.high))
        found += [Figure(name, duration(us) if us is not None else say("never"), _minutes(us), "min") for name, us in rows]
    if told.peak_mc is not None:
        likely = told.peak_mc.likely
        found += [
            Figure(say("peak"), _degrees(told.peak_mc), likely / 1000 if likely is not None else None, "°C"),
            Figure(say("peak after"), duration(told.peak_us) if told.peak_us is not None else "–", _minutes(told.peak_us), "min"),
        ]
    return found


def _degrees(peak: Range) -> str:
    likely, high = (peak.low if v is None else v for v in (peak.likely, peak.high))
    return say("{likely} °C ({low}–{high})", likely=f"{likely / 1000:.0f}", low=f"{peak.low / 1000:.0f}", high=f"{high / 1000:.0f}")


def _minutes(us: int | None) -> float | None:
    return None if us is None else round(us / 60e6, 3)


def _row(told: Forecast) -> tuple[str, float | str, float | str, float | str]:
    peak = told.peak_mc
    likely, high = (peak.likely, peak.high) if peak is not None else (None, None)
    return (
        told.name,
        "never" if told.stop_us is None else round(told.stop_us / 60e6, 2),
        "–" if likely is None else round(likely / 1000, 1),
        "–" if high is None else round(high / 1000, 1),
    )


def _charts(ways: list[Forecast]) -> tuple[Chart, ...]:
    """Temperature over time of the one cup and of the tray."""
    shown = [told for told in (ways[0], ways[-1]) if len(told.curve) > 2]
    if not shown:
        return ()
    end = 1.2 * max(told.peak_us or told.curve[-1][0] for told in shown[:1])
    series = tuple(Series(told.name, tuple((us / 60e6, mc / 1000) for us, mc, _ in told.curve if us <= end)) for told in shown)
    says = strung("; ", (say("{told}: {peak}", told=told.name, peak=_degrees(told.peak_mc)) for told in shown if told.peak_mc is not None))
    return (
        Chart(
            say("Temperature"),
            "line",
            say("minutes after mixing"),
            "°C",
            tuple(s for s in series if len(s.points) > 1),
            say("Hottest: {says}.", says=says),
        ),
    )
