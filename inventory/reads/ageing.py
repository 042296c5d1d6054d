"""Life weighted by temperature, from the logs of where a thing lay: for information beside the clocks that count, and only where the
material has an activation energy of its own.

A product probe's log is taken before one of the air. Where no log covers the time, nobody knows, and it is told how long that is. What a
kit was cut from lends it its history until the cut.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.core.readings import longest_step_us
from inventory.core.said import say
from inventory.core.spans import duration
from inventory.core.temperature import display_celsius
from inventory.core.warmth import Warmth, weighted
from inventory.logs import readings_of, standing, within
from inventory.models import Edge, Item, TemperatureLog

from .stays import places_of

MOST_ABOVE = 8
"""How often a piece may have been cut from a piece before its history is followed no further."""

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Aged:
    """`equivalent_us`: the time at the reference that ages alike; `known_us`: what logs cover of `total_us`; `by_air_us`: of that, what
    only a probe in the air saw; `logs`: their numbers."""

    equivalent_us: int
    ref_mc: int
    energy_j_mol: int
    known_us: int
    total_us: int
    by_air_us: int
    logs: tuple[int, ...]

    @property
    def text(self) -> str:
        weighted_by = say("{energy_j_mol} kJ/mol", energy_j_mol=f"{self.energy_j_mol / 1000:g}")
        told = say(
            "{equivalent} at {ref} ({weighted_by}), from logs of {known}",
            equivalent=duration(self.equivalent_us),
            ref=display_celsius(self.ref_mc),
            weighted_by=weighted_by,
            known=duration(self.known_us),
        )
        unknown = self.total_us - self.known_us
        air = say("; {by_air} of them by a probe in the air", by_air=duration(self.by_air_us)) if self.by_air_us else ""
        return say(
            "{told}{air}. {unknown}",
            told=told,
            air=air,
            unknown=say("No log covers {unknown} of its life here.", unknown=duration(unknown))
            if unknown
            else say("All of its life here is covered."),
        )


def aged(item: Item, now_us: int) -> Aged | None:
    """None where the material has no activation energy, or the thing never lay anywhere."""
    m = item.material
    if m is None or m.ageing_j_mol is None or m.ageing_ref_mc is None:
        return None
    spans = history(item.pk, now_us)
    if not spans:
        return None
    first, last = min(s[1] for s in spans), max(s[2] for s in spans)
    rows = standing().filter(location__in={place for place, _, _ in spans}, first_us__lt=last, last_us__gt=first)
    by_place: dict[int, list[TemperatureLog]] = defaultdict(list)
    for log in rows.order_by("first_us", "pk"):
        by_place[log.location_id or 0].append(log)
    total = known = equivalent = air = 0
    used: set[int] = set()
    for place, start, end in spans:
        total += end - start
        free = [(start, end)]
        for log in sorted(by_place[place], key=lambda log: log.measures != "product"):
            covered, aged_us = _by(log, free, m.ageing_ref_mc, m.ageing_j_mol)
            if covered:
                used.add(log.pk)
            known, equivalent = known + covered, equivalent + aged_us
            air += covered if log.measures == "air" else 0
            free = _without(free, (log.first_us, log.last_us))
    return Aged(equivalent, m.ageing_ref_mc, m.ageing_j_mol, known, total, air, tuple(sorted(used)))


def history(item: int, until_us: int, depth: int = 0) -> list[tuple[int, int, int]]:
    """(place, from, to): its own, and before that of the one piece that it was cut from."""
    own = places_of(item, until_us)
    above = Edge.objects.filter(dst=item, kind="cut", void=False).exclude(src__kind="lot").values_list("src", "happened_us")[:2]
    if len(above) != 1 or depth >= MOST_ABOVE:
        return own
    return history(above[0][0], above[0][1], depth + 1) + own


def _by(log: TemperatureLog, free: Iterable[Span], ref_mc: int, energy: int) -> tuple[int, int]:
    """(time covered, equivalent time) that a log adds to spans."""
    met = [(max(a, log.first_us), min(b, log.last_us)) for a, b in free if a < log.last_us and b > log.first_us]
    if not met:
        return 0, 0
    at, mc = readings_of(log)
    most = longest_step_us(at)
    covered = equivalent = 0
    for start, end in met:
        inside = within(at, mc, start, end)
        found = weighted(*inside, ref_mc, energy, most_us=most) if len(inside[0]) > 1 and most else None
        if isinstance(found, Warmth):
            covered, equivalent = covered + found.known_us, equivalent + found.equivalent_us
    return covered, equivalent


def _without(free: Iterable[Span], taken: Span) -> list[Span]:
    parts = [part for a, b in free for part in ((a, min(b, taken[0])), (max(a, taken[1]), b))]
    return [(a, b) for a, b in parts if a < b]
