"""What is built into what, now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.core.shares import CONTAINS
from inventory.models import Edge


@dataclass(frozen=True, slots=True)
class Seat:
    """A component's place in an assembly: since when, and until when if it was taken out."""

    edge: int
    component: int
    component_number: str
    assembly: int
    number: str
    from_us: int
    until_us: int | None = None


def seats_of(components: Iterable[int], ever: bool = False) -> dict[int, list[Seat]]:
    """Where each component sits (with `ever`: and sat), oldest first, in one query."""
    return _seats("src_id", {"src__in": set(components)}, ever)


def components_of(assemblies: Iterable[int], ever: bool = False) -> dict[int, list[Seat]]:
    """What sits in each assembly, oldest first, in one query. Not what sits in its components."""
    return _seats("dst_id", {"dst__in": set(assemblies)}, ever)


def all_components(assembly: int) -> list[int]:
    """Everything that is in an assembly now, at any depth; a query a level."""
    found: dict[int, None] = {}
    level = [assembly]
    while level:
        level = [seat.component for seats in components_of(level).values() for seat in seats if seat.component not in found]
        found.update(dict.fromkeys(level))
    return list(found)


def _seats(end: str, which: dict[str, set[int]], ever: bool) -> dict[int, list[Seat]]:
    rows = Edge.objects.filter(kind=CONTAINS, void=False, **which)
    if not ever:
        rows = rows.filter(until_us__isnull=True)
    out: dict[int, list[Seat]] = defaultdict(list)
    fields = ("pk", "src_id", "src__mark", "dst_id", "dst__mark", "happened_us", "until_us")
    for row in rows.order_by("happened_us", "pk").values_list(*fields):
        seat = Seat(*row)
        out[seat.component if end == "src_id" else seat.assembly].append(seat)
    return out
