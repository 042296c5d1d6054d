"""Gel times by interpolation between measured points: the only way for peroxide systems (R18).

Points are the supplier's table or the shop's own gel cups: (temperature, dose) → gel time. Nothing is ever extrapolated and the
amine rule is never used: between the points the trend is known, outside them inhibitor and promoter do what they like.
Durations are ints, µs; temperatures m°C; doses ppm of base resin.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext

from inventory.core.mixing import celsius
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung

Range = tuple[int, int]
_EXACT = Context(prec=28)


@dataclass(frozen=True, slots=True)
class GelPoint:
    """One measured gel time, or the range a certificate gives (low = high for a single figure). `mass_ug`: of the cup, if stated."""

    temp_mc: int
    dose_ppm: int
    low_us: int
    high_us: int
    source: str = ""
    mass_ug: int | None = None

    def __post_init__(self) -> None:
        if self.temp_mc <= -273_150 or self.dose_ppm <= 0 or not 0 < self.low_us <= self.high_us:
            text = say("A gel point needs a temperature, a dose above zero, and a gel time above zero (the low end first).")
            raise BadInput("pot.point", text, "point")


def interpolate(points: Iterable[GelPoint], temp_mc: int, dose_ppm: int) -> Range | None:
    """The gel time between the points as (low, high), µs, rounded down; None outside them.

    Low follows the usual curve (the logarithm of gel time, straight against 1/T and against the logarithm of the dose); high is the
    straight chord between the points, which such a curve never rises above. Measured points are met exactly. Rows of equal dose are
    tried first, then rows of equal temperature, so that a few cups at one dose, or one day's cups, already answer."""
    grid: dict[tuple[int, int], Range] = {}
    for p in points:
        low, high = grid.get((p.temp_mc, p.dose_ppm), (p.low_us, p.high_us))
        grid[p.temp_mc, p.dose_ppm] = min(low, p.low_us), max(high, p.high_us)
    with localcontext(_EXACT):
        by_dose = _along({d: _along(_row(grid, 1, d), temp_mc, _inverse) for d in {d for _, d in grid}}, dose_ppm, _log)
        if by_dose:
            return by_dose
        return _along({t: _along(_row(grid, 0, t), dose_ppm, _log) for t in {t for t, _ in grid}}, temp_mc, _inverse)


def widened(points: tuple[GelPoint, ...], own: tuple[GelPoint, ...], temp_mc: int, dose_ppm: int) -> Range | None:
    """`interpolate` with the gels of a shop's own pots beside the points: the range opens to what they say. They never make its low end
    later, since a pot that was mis-weighed gels late too; where only both together answer, they do."""
    told = interpolate(points, temp_mc, dose_ppm)
    both = interpolate((*points, *own), temp_mc, dose_ppm) if own else told
    if told is None or both is None:
        return told or both
    return min(told[0], both[0]), max(told[1], both[1])


def missing(points: tuple[GelPoint, ...], temp_mc: int, dose_ppm: int) -> Reason:
    """Why `interpolate` said None, and what would tell."""
    if not points:
        return Reason(
            "pot.no_points", say("Cannot tell when it gels: no gel points are known for this system. Make a gel cup and time it.")
        )
    temps, doses = sorted(p.temp_mc for p in points), sorted(p.dose_ppm for p in points)
    sides = {
        "colder": temp_mc < temps[0],
        "hotter": temp_mc > temps[-1],
        "less": dose_ppm < doses[0],
        "more": dose_ppm > doses[-1],
    }
    lacking = [side for side, lacks in sides.items() if lacks] or ["around"]
    words = {"colder": say("as cold"), "hotter": say("as hot"), "less": say("with as little"), "more": say("with as much")}
    what = strung(say(" or "), (words.get(side, say("on every side of it")) for side in lacking))
    numbers: dict[str, int | str | None] = {
        "temp_mc": temp_mc,
        "dose_ppm": dose_ppm,
        "low_temp_mc": temps[0],
        "high_temp_mc": temps[-1],
        "low_dose_ppm": doses[0],
        "high_dose_ppm": doses[-1],
        "missing": ",".join(lacking),
    }
    known = say("{span} with {span_2}", span=_span(celsius, temps), span_2=_span(_percent, doses))
    pot = say("{celsius} with {percent}", celsius=celsius(temp_mc), percent=_percent(dose_ppm))
    text = say(
        "Cannot tell when it gels at {pot}: no point {what} (known: {known}). Make a gel cup and time it.", pot=pot, what=what, known=known
    )
    return Reason("pot.outside_points", text, numbers)


def left_out(points: Sequence[GelPoint]) -> list[tuple[GelPoint, Range | None]]:
    """Each point with what the others say of it; None where it does not lie between them."""
    return [
        (point, interpolate([other for m, other in enumerate(points) if m != n], point.temp_mc, point.dose_ppm))
        for n, point in enumerate(points)
    ]


def missed(point: GelPoint, told: Range) -> float:
    """By what share of it a measured gel lies outside what was told of it; 0 within."""
    low, high = told
    return max(low - point.high_us, point.low_us - high, 0) / ((point.low_us + point.high_us) / 2)


def _row(grid: dict[tuple[int, int], Range], axis: int, level: int) -> dict[int, Range | None]:
    return {key[1 - axis]: gel for key, gel in grid.items() if key[axis] == level}


def _along(row: dict[int, Range | None], x: int, curve: Callable[[int], Decimal]) -> Range | None:
    """Between the nearest known neighbours of `x`; at one of them, that one; None where a neighbour lacks."""
    known = {key: gel for key, gel in row.items() if gel}
    below, above = max((k for k in known if k <= x), default=None), min((k for k in known if k >= x), default=None)
    if below is None or above is None:
        return None
    (low_b, high_b), (low_a, high_a) = known[below], known[above]
    if below == above:
        return low_b, high_b
    share = (curve(x) - curve(below)) / (curve(above) - curve(below))
    curved = int(((1 - share) * Decimal(low_b).ln() + share * Decimal(low_a).ln()).exp())
    straight = high_b + (high_a - high_b) * (x - below) // (above - below)
    return min(curved, straight), max(curved, straight)  # they cross only where hotter or richer gelled later, by scatter


def _inverse(temp_mc: int) -> Decimal:
    return 1 / Decimal(temp_mc + 273_150)


def _log(dose_ppm: int) -> Decimal:
    return Decimal(dose_ppm).ln()


def _span(show: Callable[[int], str], rising: list[int]) -> str:
    return show(rising[0]) if rising[0] == rising[-1] else say("{show} to {show_2}", show=show(rising[0]), show_2=show(rising[-1]))


def _percent(ppm: int) -> str:
    return say("{decimal} %", decimal=f"{Decimal(ppm) / 10000:.2f}")
