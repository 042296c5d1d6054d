"""Where material went: walks over time, in memory, for many roots over links that were read once (R27, R43).

The walk of one thing is the database's (`inventory.lineage`); these say the same of the same links, for a picture, for how
exactly a thing is known, and for the lots of many parts at once.

Two kinds of link. A *transfer* takes material out of one thing and into another at an instant: what came into the source
later is not in it. A *stay* is a component that sits in an assembly from an instant until it is taken out again: whatever
is in the component while it sits there is in the assembly too. Material is *in* a thing over spans [from, to), µs; the
walk down follows spans from the root, the walk up follows back which instants still lead to the root, and both speak of
the same paths, so each is the other's inverse. Equal instants pass: rather one too many in a recall than one too few.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

GRADES = ("item", "lot", "box")
"""From exact to less exact (R39)."""
ALWAYS = -(2**62)
FOREVER = 2**62
Spans = list[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Link:
    """An edge as the walk sees it: `stay` for a component in an assembly. `until`: when it was taken out,
    or when the tank that was filled with it held nothing of it any more."""

    id: int
    src: int
    dst: int
    at: int
    stay: bool = False
    until: int | None = None
    grade: str = "item"


@dataclass(frozen=True, slots=True)
class Reach:
    """What a walk found: the things with the spans in which the material is in them (down) or still leads to the root
    (up), and the links it went along. The root is not among `spans`."""

    root: int
    spans: dict[int, Spans]
    links: tuple[Link, ...]


def down(links: Iterable[Link], root: int) -> Reach:
    """Everything that material of `root` went into."""
    links = list(links)
    outs = _by(links, source)
    spans: dict[int, Spans] = defaultdict(list, {root: [(ALWAYS, FOREVER)]})
    passed = []
    for node in order((root,), outs):
        here = merge(spans[node])
        for link in outs[node]:
            found = _go_down(link, here)
            if found:
                spans[link.dst] += found
                passed.append(link)
    return _reach(root, spans, passed)


def up(links: Iterable[Link], root: int) -> Reach:
    """Everything that `root` has material of."""
    return _up(_by(list(links), target), root)


def up_each(links: Iterable[Link], roots: Iterable[int]) -> dict[int, set[int]]:
    """Everything that each root has material of, over links that are sorted once."""
    ins = _by(list(links), target)
    return {root: set(_up(ins, root).spans) for root in roots}


def _up(ins: Mapping[int, list[Link]], root: int) -> Reach:
    spans: dict[int, Spans] = defaultdict(list, {root: [(ALWAYS, FOREVER)]})
    passed = []
    for node in order((root,), ins, backwards=True):
        here = merge(spans[node])
        for link in ins.get(node, ()):
            found = _go_up(link, here)
            if found:
                spans[link.src] += found
                passed.append(link)
    return _reach(root, spans, passed)


def _reach(root: int, spans: dict[int, Spans], passed: list[Link]) -> Reach:
    return Reach(root, {n: merge(s) for n, s in spans.items() if s and n != root}, tuple(passed))


def _go_down(link: Link, here: Spans) -> Spans:
    if not link.stay:
        return [(link.at, _end(link))] if any(a <= link.at < b for a, b in here) else []
    return _cut(here, link.at, _end(link))


def _go_up(link: Link, here: Spans) -> Spans:
    """The instants at which what is in the source goes on to lead to the root."""
    if not link.stay:
        return [(link.at, link.at + 1)] if any(link.at < b and a < _end(link) for a, b in here) else []
    return _cut(here, link.at, _end(link))


def _end(link: Link) -> int:
    return FOREVER if link.until is None else link.until


def _cut(spans: Spans, low: int, high: int) -> Spans:
    return [(max(a, low), min(b, high)) for a, b in spans if max(a, low) < min(b, high)]


def merge(spans: Spans) -> Spans:
    """Spans joined where they touch, in order."""
    out: Spans = []
    for a, b in sorted(spans):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out


def _by(links: Sequence[Link], end: Callable[[Link], int]) -> dict[int, list[Link]]:
    out: dict[int, list[Link]] = defaultdict(list)
    for link in sorted(links, key=when):
        out[end(link)].append(link)
    return out


def when(link: Link) -> tuple[int, int]:
    return link.at, link.id


def source(link: Link) -> int:
    return link.src


def target(link: Link) -> int:
    return link.dst


def order(roots: Iterable[int], nexts: Mapping[int, list[Link]], backwards: bool = False) -> list[int]:
    """What can be reached from the roots, each after everything that leads to it. Raises ValueError on a cycle."""
    reached, todo = set(roots), list(roots)
    while todo:
        for link in nexts.get(todo.pop(), ()):
            node = link.src if backwards else link.dst
            if node not in reached:
                reached.add(node)
                todo.append(node)
    waits: dict[int, int] = defaultdict(int)
    for node in reached:
        for link in nexts.get(node, ()):
            waits[link.src if backwards else link.dst] += 1
    ready = sorted((n for n in reached if not waits[n]), reverse=True)
    out = []
    while ready:
        node = ready.pop()
        out.append(node)
        for link in nexts.get(node, ()):
            other = link.src if backwards else link.dst
            waits[other] -= 1
            if not waits[other]:
                ready.append(other)
    if len(out) != len(reached):
        raise ValueError("the graph has a cycle")
    return out


def best_grades(reach: Reach, backwards: bool = False) -> dict[int, str]:
    """How exactly each thing found is known: by its best way, and a way is as exact as its least exact link (R39)."""
    rank = {g: i for i, g in enumerate(GRADES)}
    nexts = _by(reach.links, target if backwards else source)
    best: dict[int, int] = {reach.root: 0}
    for node in order((reach.root,), nexts, backwards):
        for link in nexts[node]:
            other = link.src if backwards else link.dst
            way = max(best[node], rank[link.grade])
            best[other] = min(best.get(other, len(GRADES)), way)
    return {n: GRADES[i] for n, i in best.items() if n != reach.root}
