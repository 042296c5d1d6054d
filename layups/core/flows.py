"""Where material went, and how much of it: walks over time, and amounts by proportion (R27, R43).

Two kinds of link. A *transfer* takes material out of one thing and into another at an instant: what came into the source
later is not in it. A *stay* is a component that sits in an assembly from an instant until it is taken out again: whatever
is in the component while it sits there is in the assembly too. Material is *in* a thing over spans [from, to), µs; the
walk down follows spans from the root, the walk up follows back which instants still lead to the root, and both speak of
the same paths, so each is the other's inverse. Equal instants pass: rather one too many in a recall than one too few.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

GRADES = ("item", "lot", "box")
"""From exact to less exact (R39)."""
ALWAYS = -(2**62)
FOREVER = 2**62
Spans = list[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Link:
    """An edge as the walk sees it. `qty` in the source's unit, `got` in the destination's; `stay` for a component in an
    assembly, then `until` is when it was taken out, if it was. `order` breaks ties of one instant."""

    id: int
    src: int
    dst: int
    at: int
    qty: int = 0
    got: int | None = None
    stay: bool = False
    until: int | None = None
    grade: str = "item"
    order: int = 0


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
    for node in order(links, (root,), outs):
        here = merge(spans[node])
        for link in outs[node]:
            found = _go_down(link, here)
            if found:
                spans[link.dst] += found
                passed.append(link)
    return _reach(root, spans, passed)


def up(links: Iterable[Link], root: int) -> Reach:
    """Everything that `root` has material of."""
    links = list(links)
    ins = _by(links, target)
    spans: dict[int, Spans] = defaultdict(list, {root: [(ALWAYS, FOREVER)]})
    passed = []
    for node in order(links, (root,), ins, backwards=True):
        here = merge(spans[node])
        for link in ins[node]:
            found = _go_up(link, here)
            if found:
                spans[link.src] += found
                passed.append(link)
    return _reach(root, spans, passed)


def _reach(root: int, spans: dict[int, Spans], passed: list[Link]) -> Reach:
    return Reach(root, {n: merge(s) for n, s in spans.items() if s and n != root}, tuple(passed))


def _go_down(link: Link, here: Spans) -> Spans:
    if not link.stay:
        return [(link.at, FOREVER)] if any(a <= link.at < b for a, b in here) else []
    return _cut(here, link.at, FOREVER if link.until is None else link.until)


def _go_up(link: Link, here: Spans) -> Spans:
    """The instants at which what is in the source goes on to lead to the root."""
    if not link.stay:
        return [(link.at, link.at + 1)] if any(link.at < b for _, b in here) else []
    return _cut(here, link.at, FOREVER if link.until is None else link.until)


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


def when(link: Link) -> tuple[int, int, int]:
    return link.at, link.order, link.id


def source(link: Link) -> int:
    return link.src


def target(link: Link) -> int:
    return link.dst


def order(links: Sequence[Link], roots: Iterable[int], nexts: Mapping[int, list[Link]], backwards: bool = False) -> list[int]:
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
    for node in order(reach.links, (reach.root,), nexts, backwards):
        for link in nexts[node]:
            other = link.src if backwards else link.dst
            way = max(best[node], rank[link.grade])
            best[other] = min(best.get(other, len(GRADES)), way)
    return {n: GRADES[i] for n, i in best.items() if n != reach.root}


# --- amounts ---------------------------------------------------------------------------------------


@dataclass
class Content:
    """How much of each root is in a thing: root → amount in the root's own unit; `whole` is how much the thing holds of
    itself, which a draw is a share of."""

    of: dict[int, Fraction] = field(default_factory=dict)
    whole: Fraction = Fraction(0)

    def share(self, part: Fraction) -> dict[int, Fraction]:
        return {root: amount * part for root, amount in self.of.items()}

    def add(self, more: Mapping[int, Fraction], whole: Fraction = Fraction(0)) -> None:
        for root, amount in more.items():
            self.of[root] = self.of.get(root, Fraction(0)) + amount
        self.whole += whole

    def keep(self, left: Fraction) -> None:
        """What is left of it before more comes in: drawn off evenly, as liquids are (R42)."""
        if self.whole > 0 and left != self.whole:
            part = left / self.whole
            self.of = {root: amount * part for root, amount in self.of.items()}
            self.whole = left


def amounts(
    links: Iterable[Link], roots: Iterable[int], born: Mapping[int, int], left: Mapping[tuple[int, int], int]
) -> dict[int, dict[int, Fraction]]:
    """How much of each root is in each thing, by proportion: {thing: {root: amount}}.

    `links` must hold *every* link into each thing that is asked for (a mix's other component is part of its whole).
    `born`: what a part or assembly was begun with, in its own unit (a piece is a share of that); `left`: for things that
    were drawn from and then topped up, {(thing, link id of the input): what was in it just before}. A component in an
    assembly counts while it sits there. Amounts are exact as far as the records are; quantities of zero give none."""
    contents: dict[int, Content] = defaultdict(Content)
    roots = set(roots)
    moves: list[Link] = []
    stays: list[Link] = []
    for link in sorted(links, key=when):
        (stays if link.stay else moves).append(link)
    for link in moves:
        drawn = _drawn(link, contents[link.src], roots, born)
        into = contents[link.dst]
        if (link.dst, link.id) in left:
            into.keep(Fraction(max(left[(link.dst, link.id)], 0)))
        into.add(drawn, Fraction(0) if link.dst in born else Fraction(link.got if link.got is not None else link.qty))
    out = {node: dict(content.of) for node, content in contents.items() if node not in roots}
    _sit(out, stays, roots)
    return out


def _drawn(link: Link, held: Content, roots: set[int], born: Mapping[int, int]) -> dict[int, Fraction]:
    if link.src in roots:
        return {link.src: Fraction(link.qty)}
    whole = Fraction(born[link.src]) if born.get(link.src) else held.whole
    return held.share(Fraction(link.qty) / whole) if whole > 0 else {}


def _sit(out: dict[int, dict[int, Fraction]], stays: list[Link], roots: set[int]) -> None:
    """Add what sits in an assembly now, the deepest first."""
    now = [link for link in stays if link.until is None]
    nexts = _by(now, source)
    for node in order(now, {k.src for k in now}, nexts):
        for link in nexts[node]:
            into = out.setdefault(link.dst, {})
            mine = {node: Fraction(link.qty)} if node in roots else out.get(node, {})
            for root, amount in mine.items():
                into[root] = into.get(root, Fraction(0)) + amount
