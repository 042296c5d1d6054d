"""A picture that stays readable: past two hundred boxes, things of the same sort in the same layer become one box.

Layers only grow along a link, so merging within a layer makes no cycle. What is folded is still in the table, one by one."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace

from inventory.lineage import Hop
from layups.core.layers import layers_of
from layups.reads.things import Thing
from layups.tracing import Back, Drawing, Forward, draw_back, draw_forward

MOST = 200


@dataclass(frozen=True, slots=True)
class Folded:
    """A drawing, and how many things stand in boxes of several (0: nothing was folded)."""

    drawing: Drawing
    folded: int


def forward_picture(trace: Forward, whole: bool = False) -> Folded:
    things = {trace.root.id: trace.root, **{f.thing.id: f.thing for f in trace.found}}
    if whole or len(things) <= MOST:
        return Folded(draw_forward(trace), 0)
    fold = Fold(things, trace.hops, trace.root.id)
    found = tuple(replace(f, thing=fold.things[f.thing.id]) for f in trace.found if f.thing.id in fold.things)
    return Folded(draw_forward(replace(trace, found=found, hops=fold.hops)), fold.merged)


def back_picture(trace: Back, whole: bool = False) -> Folded:
    if whole or len(trace.things) <= MOST:
        return Folded(draw_back(trace), 0)
    fold = Fold(trace.things, trace.hops, trace.root.id)
    return Folded(draw_back(replace(trace, things=fold.things, hops=fold.hops)), fold.merged)


class Fold:
    """The same trace with fewer boxes: `things` by the id that stands for the group, `hops` between groups, `merged` how many
    things went into boxes of several."""

    things: dict[int, Thing]
    hops: tuple[Hop, ...]
    merged: int

    def __init__(self, things: Mapping[int, Thing], hops: Sequence[Hop], root: int) -> None:
        known = [h for h in hops if h.src in things and h.dst in things]
        layer = layers_of(list(things), [(h.src, h.dst) for h in known])
        stands = {root: root}
        for kind in SORTS:
            stands = self._stand(things, layer, root, kind)
            if len(set(stands.values())) <= MOST:
                break
        counts = Counter(stands.values())
        self.things = {pk: _box(things[pk], counts[pk]) for pk in dict.fromkeys(stands.values())}
        self.hops = tuple(h._replace(src=stands[h.src], dst=stands[h.dst]) for h in known if stands[h.src] != stands[h.dst])
        self.merged = sum(n for n in counts.values() if n > 1)

    @staticmethod
    def _stand(things: Mapping[int, Thing], layer: Mapping[Hashable, int], root: int, sort: Callable[[Thing], Hashable]) -> dict[int, int]:
        """Who stands for whom: the first of each sort in each layer. What was asked about stands for itself."""
        groups: dict[Hashable, list[int]] = defaultdict(list)
        for pk, thing in things.items():
            groups[("root",) if pk == root else (layer[pk], sort(thing))].append(pk)
        return {pk: group[0] for group in groups.values() for pk in group}


SORTS: tuple[Callable[[Thing], Hashable], ...] = (
    lambda t: (t.kind, t.design or t.material, t.unit, t.where, t.sent.customer if t.sent else ""),
    lambda t: (t.kind, t.design or t.material, t.unit, t.where),
    lambda t: (t.kind, t.unit),
    lambda t: t.unit,
)
"""From fine to coarse: the first that is enough is taken. Things of one box share a unit, so amounts can be added."""


def _box(thing: Thing, count: int) -> Thing:
    """A group's box says how many and what; it leads nowhere, the table does."""
    if count == 1:
        return thing
    what = thing.design or thing.material or thing.kind
    return replace(thing, name=f"{count} × {what}", code="", number="")
