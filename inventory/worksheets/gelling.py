"""Gel times between measured points, and never outside them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core import gelpoints
from inventory.core.gelpoints import GelPoint
from inventory.core.mixing import PPM
from inventory.core.potlife import AID, Batch, System, pot_window
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say
from inventory.core.spans import duration

from .lines import Col, rows
from .registry import CURE, Figure, Sheet, Table, celsius, exactly, figure, maybe, worksheet

US = 1_000_000
OWN = say(
    "The supplier's data and a gel cup of your own decide. A pot that warms is over: out of the shop with it, onto a fireproof ground."
)


def minutes(name: str, us: int, note: str = "") -> Figure:
    return Figure(name, duration(us), us / 60e6, "min", note)


# --- gel points ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class GelPoints:
    """The supplier's table, or the shop's own gel cups."""

    points: str = figure(
        say("Gel points"), default=say("15 °C; 1 %; 62 min\n15 °C; 2 %; 41 min\n20 °C; 1 %; 38 min\n20 °C; 2 %; 24 min"),
        words=say("One a line: temperature; dose; gel time (or 20–25 min); mass of the cup, if known."), rows=6,
    )  # fmt: skip
    temperature: str = figure(say("Temperature"), usual="°C", default="18 °C")
    dose: str = figure(say("Dose"), "share", "%", "1.5 %")
    mass: str = figure(say("Mass of the pot"), "mass", "g", "")


@worksheet(
    "gel-points", GelPoints, say("Gel points"), say("Gel time between measured points, for peroxide systems; never outside them."), CURE
)
def gel_points(p: GelPoints) -> Sheet:
    points = points_of(p.points, "points")
    temp, dose = celsius(p.temperature, "temperature"), _dose(exactly(p, "dose"), "dose")
    mass = maybe(p, "mass")
    if mass is not None and mass <= 0:
        raise BadInput("pot.mass", say("The mass of a pot must be above zero."), "mass")
    table, worst = _left_out(points)
    notes = [
        say("Between the points: the logarithm of the time, straight in 1/T and in the logarithm of the dose (low); the chord (high).")
    ]
    if worst is not None:
        notes.append(say("Each point that the others can tell, told by them, is missed by up to {worst} %.", worst=f"{worst * 100:.0f}"))
    elif len(points) > 1:
        notes.append(say("No point lies between the others, so nothing tells how well they agree."))
    batch = Batch(1 if mass is None else max(1, round(mass * 10**9)), temp, dose)
    with told_at({"temperature": "temperature", "mass": "mass"}):
        told = pot_window(System("peroxide", points=tuple(points)), batch)
    if told.window is None:
        assert told.missing is not None
        return Sheet(told.missing.text, (Figure(say("known"), say("no"), False),), tuple(notes), (OWN,), table)
    low, high = told.window.low_us, told.window.high_us
    figures = [Figure(say("known"), say("yes"), True), minutes(say("gels, at the soonest"), low), minutes(say("gels, at the latest"), high)]
    if worst is not None:
        figures.append(
            Figure(
                say("leave-one-out error"),
                say("{worst} %", worst=f"{worst * 100:.0f}"),
                worst * 100,
                "%",
                say("the largest, of the points that the others can tell"),
            )
        )
    span = duration(low) if duration(low) == duration(high) else say("{low} to {high}", low=duration(low), high=duration(high))
    return Sheet(
        say("Gels after {span}.", span=span), tuple(figures), tuple(notes), (*(r.text for r in told.window.cautions), AID, OWN), table
    )


def points_of(text: str, where: str) -> list[GelPoint]:
    """The points as typed. BadInput names the line."""
    columns = (
        Col("temperature", "temperature", "°C"),
        Col("dose", "share", "%"),
        Col(say("gel time"), "text", "min"),
        Col("mass", "mass", "g", True),
    )
    found = []
    for n, (temp, dose, time, mass) in enumerate(rows(text, where, columns), start=1):
        assert isinstance(temp, Fraction) and isinstance(dose, Fraction) and isinstance(time, str) and not isinstance(mass, str)
        try:
            low, high = _span(time)
            found.append(GelPoint(int(temp), _dose(dose, where), low, high, mass_ug=None if mass is None else round(mass * 10**9)))
        except BadInput as bad:
            raise BadInput(bad.reason.code, say("Point {count}: {bad_reason}", count=n, bad_reason=bad.reason.text), where) from None
    return found


def _span(text: str) -> tuple[int, int]:
    """ "24 min" or "20–25 min", in µs."""
    from inventory.core.quantities import exact

    ends = [end for end in text.replace("—", "–").replace(" to ", "–").replace("-", "–").split("–") if end.strip()]
    if not 1 <= len(ends) <= 2:
        raise BadInput("quantity.not_a_number", say("A gel time is typed as 24 min, or 20–25 min."), "")
    unit = ends[-1].strip().lstrip("0123456789., ") or "min"
    low, high = exact(ends[0], "time", unit, ""), exact(ends[-1], "time", "min", "")
    if not 0 < low <= high < 10**8:
        raise BadInput("pot.point", say("A gel time is above zero, and its low end comes first."), "")
    return max(1, int(low * US)), int(high * US)


def _dose(share: Fraction, where: str) -> int:
    if not Fraction(1, PPM) <= share <= 1:
        raise BadInput("pot.point", say("A dose is above 0 and at most 100 % of the resin: check the figure and its unit."), where)
    return round(share * PPM)


def _left_out(points: list[GelPoint]) -> tuple[tuple[Table, ...], float | None]:
    """Each point beside what the others say of it; and the largest miss."""
    body: list[tuple[float | str, ...]] = []
    worst: float | None = None
    for point, told in gelpoints.left_out(points):
        row = (point.temp_mc / 1000, point.dose_ppm / 10_000, point.low_us / 60e6, point.high_us / 60e6)
        if told is None:
            body.append((*row, "–", "–", "–"))
            continue
        miss = gelpoints.missed(point, told)
        worst = miss if worst is None or miss > worst else worst
        body.append((*row, told[0] / 60e6, told[1] / 60e6, miss * 100))
    columns = ("°C", say("dose, %"), say("gels, min"), say("to, min"), say("by the others, min"), say("to, min"), say("missed by, %"))
    return (Table(say("Each point, and what the others say of it"), columns, tuple(body)),) if body else (), worst
