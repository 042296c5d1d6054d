"""Which things of a large picture stand in one box: like things of one layer, and how such a box opens.

A picture that would have more boxes than a person can read folds its largest groups first, by the finest sort that is
enough; small groups stay as they are. Opening goes one step at a time, each step to a number of boxes that can be read: by
a finer sort, else into runs in the order that was given, else into the things themselves. Merging within a layer makes no cycle,
since layers only grow along a link.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import count, pairwise
from typing import Any

Node = Any
"""Whatever a picture calls its things by: it only has to be a key."""
Bundle = tuple[Node, ...]
MOST, PIECES, LEAST = 60, 24, 3
"""Boxes that a picture begins with at most; boxes that one opens into at most; things that are worth a common box."""


@dataclass(frozen=True, slots=True)
class Opened:
    """One step that was taken: the bundle that was opened, and which of the steps asked for it (to take it back)."""

    bundle: Bundle
    step: int


@dataclass(frozen=True, slots=True)
class Folding:
    """`bundles`: every node once, in the order given; `opened`: the steps that found something to open."""

    bundles: tuple[Bundle, ...]
    opened: tuple[Opened, ...]

    @property
    def folded(self) -> int:
        """Nodes in boxes of several."""
        return sum(len(b) for b in self.bundles if len(b) > 1)


def fold(sorts: Mapping[Node, Sequence[Hashable]], alone: Node = None, most: int = MOST, steps: Sequence[Node] = ()) -> Folding:
    """`sorts`: for each node, in the picture's order, what it is from coarse to fine (the first should be its layer), as many
    for each; `alone` is never folded; each of `steps` opens the bundle that the named node is in by then."""
    found = _begin(sorts, alone, most)
    opened = []
    for n, node in enumerate(steps):
        at = next((i for i, bundle in enumerate(found) if node in bundle and len(bundle) > 1), None)
        if at is not None:
            opened.append(Opened(found[at], n))
            found[at : at + 1] = parts(found[at], sorts)
    return Folding(tuple(found), tuple(opened))


def _begin(sorts: Mapping[Node, Sequence[Hashable]], alone: Node, most: int) -> list[Bundle]:
    if len(sorts) <= most:
        return [(node,) for node in sorts]
    rest = [node for node in sorts if node != alone]
    levels = len(next(iter(sorts.values())))
    merged: set[Bundle] = set()
    for level in range(levels, 0, -1):
        groups = _groups(rest, sorts, level)
        boxes, merged = len(sorts), set()
        for group in sorted(groups, key=len, reverse=True):
            if boxes <= most or len(group) < (LEAST if level > 1 else 2):
                break
            merged.add(group)
            boxes -= len(group) - 1
        if boxes <= most:
            break
    return _in_order(sorts, merged)


def _in_order(nodes: Iterable[Node], merged: Iterable[Bundle]) -> list[Bundle]:
    """The merged bundles at the place of their first node, everything else by itself."""
    home = {node: bundle for bundle in merged for node in bundle}
    return list(dict.fromkeys(home.get(node, (node,)) for node in nodes))


def parts(bundle: Bundle, sorts: Mapping[Node, Sequence[Hashable]]) -> list[Bundle]:
    """What a bundle opens into: more than one, at most PIECES."""
    if len(bundle) <= PIECES:
        return [(node,) for node in bundle]
    for level in range(len(sorts[bundle[0]]), 0, -1):
        groups = _groups(bundle, sorts, level)
        if 1 < len(groups) <= PIECES:
            return groups
    pieces = min(PIECES, -(-len(bundle) // PIECES))
    cuts = [len(bundle) * n // pieces for n in range(pieces + 1)]
    return [bundle[a:b] for a, b in pairwise(cuts)]


def _groups(nodes: Iterable[Node], sorts: Mapping[Node, Sequence[Hashable]], level: int) -> list[Bundle]:
    out: dict[Hashable, list[Node]] = defaultdict(list)
    for node in nodes:
        out[tuple(sorts[node][:level])].append(node)
    return [tuple(group) for group in out.values()]


def alike(bundle: Bundle, sorts: Mapping[Node, Sequence[Hashable]], level: int) -> bool:
    """Are all of one sort, down to this level?"""
    return len({tuple(sorts[node][:level]) for node in bundle}) == 1


def without(steps: Sequence[Node], opened: Sequence[Opened], which: Opened) -> list[Node]:
    """The steps without one, and without those that went further inside what it had opened."""
    inside = set(which.bundle)
    gone = {o.step for o in opened if o.step >= which.step and inside.issuperset(o.bundle)}
    kept = {o.step for o in opened} - gone
    return [node for n, node in zip(count(), steps) if n in kept]
