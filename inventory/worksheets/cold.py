"""Prepreg in the cold and on its way out of it: what a logger's file comes to, when a roll is warm through, the dew point."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from inventory.core import thaw, warmup
from inventory.core.logfacts import facts_of, thinned
from inventory.core.readings import above
from inventory.core.reasons import BadInput, Reason, told_at
from inventory.core.said import say, say_n, strung
from inventory.core.spans import day_text, duration
from inventory.core.temperature import display_celsius
from inventory.core.tlog import MOST_TEXT, Probe, read_log
from inventory.core.warm_windows import worst_window
from inventory.core.warmth import Warmth, weighted

from .registry import PREPREG, Chart, Figure, Series, Sheet, Table, celsius, figure, given, number, worksheet

US = 1_000_000
HOUR_US = 3_600 * US
_LOG = say("Time;Temperature [°C]\n2026-03-30 00:00;5\n2026-03-30 06:00;5\n2026-03-30 07:00;25\n2026-03-30 12:00;25\n2026-03-31 00:00;5")
MEDICINE = say("83.144 kJ/mol")
_SUPPLIER = say("The supplier's instructions and the lot's certificate decide; this only computes.")


@dataclass(frozen=True, slots=True)
class TemperatureLog:
    """A logger's file as text, the activation energy to weight it by, and a line."""

    log: str = figure(
        say("Log"), default=_LOG, words=say("Paste its lines with their heading, or choose the file below."), rows=8, most=MOST_TEXT
    )
    energy: str = figure(
        say("Activation energy"), "energy per mole", "kJ/mol", MEDICINE, say("83.144 is a convention for medicines, no resin's.")
    )
    between: str = figure(
        say("Between readings"), default="straight", words=say("straight: from one to the next; held: each stands until the next.")
    )
    line: str = figure(say("Count the time above"), usual="°C", default="")
    window: str = figure(say("Worst window of"), "time", "h", "", say("Of all stretches of this length the one that ages most."))
    unit: str = figure(say("Unit"), default="", words=say("°C or °F, where the file does not say."))
    zone: str = figure(say("Zone of its times"), default="UTC", words=say("A name such as Europe/Copenhagen."))
    column: str = figure(say("Column"), default="", words=say("The heading of the probe, where there are several."))


@worksheet(
    "temperature-log",
    TemperatureLog,
    say("Temperature log"),
    say("Mean kinetic temperature of a logger's file, time above a line, worst window."),
    PREPREG,
)
def temperature_log(p: TemperatureLog) -> Sheet:
    energy = round(number(p, "energy"))
    with told_at({"file": "log", "probes": "column", "unit": "unit", "zone": "zone"}):
        log = read_log(p.log, _zone(p), p.unit.strip(), probes=[p.column.strip()] if p.column.strip() else [])
    full = [probe for probe in log.probes if probe.at_us]
    if len(full) > 1:
        names = strung(", ", (say("“{probe}”", probe=probe.name) for probe in full))
        raise BadInput("log.several_probes", say("The file has several probes: {names}. Say which.", names=names), "column")
    probe = full[0]
    with told_at({"activation_energy": "energy", "rule": "between"}):
        warm = weighted(probe.at_us, probe.mc, 20_000, energy, p.between.strip().lower())
    facts = facts_of(probe.at_us, probe.mc)
    if isinstance(warm, Reason):
        raise BadInput(warm.code, warm.text, "log")
    notes = [
        log.layout,
        say(
            "Weighted with {energy} kJ/mol{which}.",
            energy=f"{energy / 1000:g}",
            which=say(", the convention of the pharmacopoeia") if energy == 83144 else "",
        ),
        say("Between two readings the rate of ageing runs straight.")
        if warm.rule == "straight"
        else say("Each reading stands until the next."),
    ]
    if facts.gaps:
        unknown = sum(g.length_us for g in facts.gaps)
        notes.append(say("{gaps} gaps of {unknown} in all count nowhere.", gaps=len(facts.gaps), unknown=duration(unknown)))
    if log.left:
        notes.append(
            say("Lines that were not understood: {first_line}.", first_line=strung(", ", (str(e.first_line) for e in log.left[:20])))
        )
    return Sheet(
        headline=say(
            "Mean kinetic temperature {kinetic} °C over {known}.", kinetic=f"{warm.kinetic_mc / 1000:.3f}", known=duration(warm.known_us)
        ),
        figures=(*_figures(probe, warm, len(facts.gaps)), *_line(p, probe), *_worst(p, probe, energy, warm.rule)),
        notes=(*notes, *(note.text for note in log.notes)),
        cautions=(say("It informs: a material's own clocks decide, and no activation energy of prepreg is published."),),
        charts=(_chart(probe, facts.first_us, _zone(p)),),
    )


def _zone(p: TemperatureLog) -> str:
    return p.zone.strip() or "UTC"


def _figures(probe: Probe, warm: Warmth, gaps: int) -> tuple[Figure, ...]:
    rows = (
        (say("mean kinetic temperature"), warm.kinetic_mc),
        (say("mean"), warm.mean_mc),
        (say("coldest"), min(probe.mc)),
        (say("warmest"), max(probe.mc)),
    )
    found = [Figure(name, say("{mc} °C", mc=f"{mc / 1000:.3f}").replace("-", "−"), mc / 1000, "°C") for name, mc in rows]
    known = Figure(say("time covered"), duration(warm.known_us), warm.known_us / HOUR_US, "h")
    return (*found, known, Figure(say("readings"), str(len(probe.at_us)), len(probe.at_us)), Figure(say("gaps"), str(gaps), gaps))


def _line(p: TemperatureLog, probe: Probe) -> tuple[Figure, ...]:
    if not p.line.strip():
        return ()
    level = celsius(p.line, "line")
    found = above(probe.at_us, probe.mc, level)
    total = sum(e.end_us - e.start_us for e in found)
    return (
        Figure(
            say("time above the line"),
            duration(total),
            total / HOUR_US,
            "h",
            say("above {level}, {found} times", level=display_celsius(level), found=len(found)),
        ),
    )


def _worst(p: TemperatureLog, probe: Probe, energy: int, rule: str) -> tuple[Figure, ...]:
    length = given(p, "window")
    if length is None:
        return ()
    if not 0 < length < 10**9:
        raise BadInput("window.length", say("The length of the window must be above zero."), "window")
    with told_at("window"):
        worst = worst_window(probe.at_us, probe.mc, round(length * US), energy, rule)
    if isinstance(worst, Reason):
        raise BadInput(worst.code, worst.text, "window")
    when = say("{start} to {end}", start=day_text(worst.start_us, _zone(p)), end=day_text(worst.end_us, _zone(p)))
    return (
        Figure(
            say("worst window"),
            say("{kinetic} °C", kinetic=f"{worst.kinetic_mc / 1000:.3f}").replace("-", "−"),
            worst.kinetic_mc / 1000,
            "°C",
            when,
        ),
    )


def _chart(probe: Probe, first_us: int, zone: str) -> Chart:
    lines = [line for line in thinned(probe.at_us, probe.mc, 400) if len(line) > 1]
    series = tuple(Series("", tuple(((us - first_us) / HOUR_US, mc / 1000) for us, mc in line)) for line in lines)
    says = say(
        "From {mc} to {mc_2}, beginning {first}.",
        mc=display_celsius(min(probe.mc)),
        mc_2=display_celsius(max(probe.mc)),
        first=day_text(first_us, zone),
    )
    return Chart(say("Temperature"), "line", say("hours"), "°C", series, says)


# --- warming a roll -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WarmUp:
    """A roll in its closed bag, out of the freezer."""

    outer: str = figure(say("Outer diameter"), "length", "mm", "300 mm")
    core: str = figure(say("Core, outside"), "length", "mm", "76 mm")
    width: str = figure(say("Width"), "length", "mm", "300 mm")
    start: str = figure(say("Temperature in the freezer"), usual="°C", default="-18 °C")
    air: str = figure(say("Temperature of the room"), usual="°C", default="21 °C")
    humidity: str = figure(say("Relative humidity of the room"), "share", "%", "45 %")
    taken_out: str = figure(say("Taken out at"), default="06:30", words=say("By the clock on the wall."))
    wanted: str = figure(say("Warm enough at"), usual="°C", default="", words=say("Empty: three kelvin above the dew point."))
    conductivity: str = figure(
        say("Conductivity across the layers"), "conductivity", "W/(m·K)", "0.3 W/(m·K)", say("Air between the layers makes it less.")
    )
    density: str = figure(say("Density"), "density", "kg/m³", "1500 kg/m³")
    capacity: str = figure(say("Heat capacity"), "heat capacity", "J/(kg·K)", "1000 J/(kg·K)")
    film: str = figure(
        say("Heat transfer at the surface"), "heat transfer", "W/(m²·K)", "7 W/(m²·K)", say("5 to 10 in still air: common practice.")
    )
    method: str = figure(
        say("Method"), default="", words=say("Empty: the first term of the series. “lumped”: only where the roll is thin enough.")
    )


@worksheet(
    "warm-up",
    WarmUp,
    say("Warming a roll"),
    say("When a cold roll is warm through and may be opened, from its size and the room."),
    PREPREG,
)
def warm_up(p: WarmUp) -> Sheet:
    outer, core, width = number(p, "outer"), number(p, "core"), number(p, "width")
    for name, value in (("outer", outer), ("width", width)):
        if value <= 0:
            raise BadInput("warmup.not_above_zero", say("A roll has a size above zero: enter it."), name)
    if not 0 <= core < outer:
        raise BadInput("warmup.core", say("The core must be thinner than the roll."), "core")
    start, air = celsius(p.start, "start"), celsius(p.air, "air")
    dew = _dew(p.air, "air", number(p, "humidity"))
    wanted = celsius(p.wanted, "wanted") if p.wanted.strip() else dew + thaw.NEAR_DEW_MC
    fields = {"radius_m": "outer", "heat_capacity": "capacity", "order": "wanted", "roll": "outer"}
    with told_at(fields):
        roll = warmup.Roll(outer / 2, number(p, "conductivity"), number(p, "density"), number(p, "capacity"), number(p, "film"))
        found = warmup.warm_through(roll, start, air, wanted, p.method.strip().lower())
    mass = roll.density * math.pi / 4 * (outer**2 - core**2) * width
    notes = [
        say(
            "A solid cylinder that warms through its round side: the open core and the two ends warm it as well, "
            "so it is sooner, never later."
        ),
        say("Biot number {biot}: ", biot=f"{found.biot:.3g}") + _method_words(found),
    ]
    advice = thaw.bag_advice(found.surface_mc, dew)
    return Sheet(
        headline=say(
            "Warm through after {time}: it may be opened {clock}, if its bag is dry.",
            time=duration(found.time_us),
            clock=_clock(p.taken_out, found.time_us),
        ),
        figures=(
            Figure(
                say("warm through after"),
                duration(found.time_us),
                found.time_us / HOUR_US,
                "h",
                say("at the latest") if found.bound else "",
            ),
            Figure(say("may be opened at"), _clock(p.taken_out, found.time_us), _clock(p.taken_out, found.time_us)),
            Figure(say("dew point"), display_celsius(dew), dew / 1000, "°C"),
            Figure(say("warm enough at"), display_celsius(wanted), wanted / 1000, "°C"),
            Figure(say("surface by then"), display_celsius(found.surface_mc), found.surface_mc / 1000, "°C"),
            Figure(say("Biot number"), f"{found.biot:.3g}", found.biot),
            Figure(say("Fourier number"), f"{found.fourier:.3g}", found.fourier),
            Figure(say("mass of the roll"), say("{mass} kg", mass=f"{mass:.1f}"), mass, "kg", say("without its core")),
        ),
        notes=tuple(notes),
        cautions=(
            *([advice.text] if advice else ()),
            say("Leave it in its closed bag until then, and look at the bag: it has to be dry before it is opened."),
            _SUPPLIER,
        ),
        tables=(Table(say("In other rooms"), (say("room, °C"), say("warm through after, h")), tuple(_rooms(roll, start, air, wanted))),),
    )


def _method_words(found: warmup.Warming) -> str:
    if found.method == "lumped":
        return say("thin enough to be taken as of one temperature.")
    lumped = (
        say("it could be taken as of one temperature")
        if found.biot < warmup.LUMPED_BELOW
        else say("too thick to be taken as of one temperature")
    )
    return say(
        "{lumped}; the first term of the exact series was used{which}.",
        lumped=lumped,
        which=say(", at the time from which it holds") if found.bound else "",
    )


def _rooms(roll: warmup.Roll, start: int, air: int, wanted: int) -> list[tuple[float, float]]:
    rooms = (room for room in (air - 3_000, air, air + 3_000) if room > wanted)
    return [(room / 1000, round(warmup.warm_through(roll, start, room, wanted).time_us / HOUR_US, 2)) for room in rooms]


def _clock(text: str, after_us: int) -> str:
    """ "at 18:30", with the days that have passed."""
    found = re.fullmatch(r"\s*([01]?\d|2[0-3]):([0-5]\d)\s*", text, re.ASCII)
    if not found:
        raise BadInput("warmup.clock", say("Type the time as 06:30."), "taken_out")
    minutes = int(found[1]) * 60 + int(found[2]) - (-after_us // (60 * US))
    days, rest = divmod(minutes, 24 * 60)
    return say("at {rest}:{rest_2}", rest=f"{rest // 60:02d}", rest_2=f"{rest % 60:02d}") + (
        say_n(", {n} day later", ", {n} days later", days) if days else ""
    )


# --- dew point -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class DewPoint:
    """Air, and the surface that it meets."""

    air: str = figure(say("Temperature of the air"), usual="°C", default="21 °C")
    humidity: str = figure(say("Relative humidity"), "share", "%", "45 %")
    surface: str = figure(say("Temperature of the bag"), usual="°C", default="10 °C", optional=True)


@worksheet("dew-point", DewPoint, say("Dew point"), say("Whether water settles on a cold bag in this air."), PREPREG)
def dew_point(p: DewPoint) -> Sheet:
    dew = _dew(p.air, "air", number(p, "humidity"))
    surface = celsius(p.surface, "surface") if p.surface.strip() else None
    advice = thaw.bag_advice(surface, dew)
    margin = (
        ()
        if surface is None
        else (
            Figure(
                say("bag above it"),
                say("{surface} K", surface=f"{(surface - dew) / 1000:.1f}").replace("-", "−"),
                (surface - dew) / 1000,
                "K",
            ),
        )
    )
    clear = say("The bag is clear of it.") if surface is not None and advice is None else ""
    return Sheet(
        headline=advice.text if advice else say("Dew point {dew}. {clear}", dew=display_celsius(dew), clear=clear).strip(),
        figures=(Figure(say("dew point"), display_celsius(dew), dew / 1000, "°C", say("Magnus over water, WMO-No. 8, Annex 4.B")), *margin),
        cautions=(say("The eye on the bag decides: wipe it, and look again."),),
    )


def _dew(text: str, where: str, share: float) -> int:
    if not 0 < share <= 1:
        raise BadInput("dew.humidity", say("The relative humidity must be above 0 and at most 100 %: check the figure."), "humidity")
    with told_at({"temperature": where, "humidity": "humidity"}):
        return thaw.dew_point_mc(celsius(text, where), max(1, round(share * 1_000_000)))
