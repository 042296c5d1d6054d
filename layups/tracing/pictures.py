"""The picture of a trace: boxes and lines with their coordinates, ready for a template that draws them. From lot to customer,
left to right; like things of a large trace stand in one box that can be opened; nothing is computed in the browser."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from inventory.core.shares import CONTAINS
from inventory.core.units import display
from inventory.lineage import Hop
from layups.core.bundles import MOST, Bundle, Folding, Opened, fold
from layups.core.layers import Picture, layers_of, layout
from layups.core.sheets import Paper, Sheet, Spot, best
from layups.reads.things import Thing

from .walks import Back, Forward

WIDTH, HEIGHT, STEP_X, STEP_Y, MARGIN = 150, 40, 230, 52, 16
PAPERS = (Paper("upright", 4, 21 * STEP_Y), Paper("across", 6, 16 * STEP_Y))
"""What stays legible on A4, and is larger on A3: letters of 6.5 points at least."""
CUSTOMER = "customer"

Node = int | str
"""A thing by its id, a customer by name."""


@dataclass(frozen=True, slots=True)
class Box:
    """A box: its place in reading order, its layer, its upper left corner and size. `things` are what stands in it, `customers`
    instead in a box of those; `root`: what was asked about."""

    number: int
    layer: int
    x: int
    y: int
    things: tuple[Thing, ...]
    customers: tuple[str, ...] = ()
    root: bool = False
    w: int = WIDTH
    h: int = HEIGHT

    @property
    def mid_x(self) -> int:
        return self.x + self.w // 2

    @property
    def count(self) -> int:
        return len(self.things) + len(self.customers)

    @property
    def key(self) -> str:
        """Names the box in an address: the code of the first thing in it, the name of the first customer."""
        return self.things[0].code if self.things else self.customers[0]

    @property
    def kind(self) -> str:
        return self.things[0].kind if self.things else CUSTOMER

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(t.number if t.kind == "lot" and t.number else t.name for t in self.things) or self.customers


@dataclass(frozen=True, slots=True)
class Wire:
    """A line: `d` is its path; `src` and `dst` are the numbers of its boxes, `text` says how much went, from the first instant
    to the last. `ended`: taken out again."""

    d: str
    src: int
    dst: int
    text: str
    kind: str
    first_us: int
    last_us: int
    ended: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """All of it, in a canvas of `width` × `height`; boxes in reading order, layer by layer from the top. `sheets`: the parts of it
    that paper can hold, none where it fits on one as it is."""

    boxes: tuple[Box, ...]
    wires: tuple[Wire, ...]
    width: int
    height: int
    folded: int
    opened: tuple[tuple[Opened, Box], ...]
    paper: str
    sheets: tuple[Sheet, ...]


@dataclass(frozen=True, slots=True)
class Graph:
    """What is to be drawn: `pairs` are the records between two things, however many there are; `sent`: when what went to a customer."""

    root: int
    things: Mapping[int, Thing]
    nodes: tuple[Node, ...]
    pairs: Mapping[tuple[Node, Node], list[Hop]]
    sent: Mapping[tuple[Node, Node], int]

    def sorts(self) -> dict[Node, tuple[Hashable, ...]]:
        """From coarse to fine; things of one sort share a layer and a unit, so no line turns back and amounts can be added."""
        layer = layers_of(self.nodes, [*self.pairs, *self.sent])
        return {node: (layer[node], *_sort(self.things.get(node) if isinstance(node, int) else None)) for node in self.nodes}


def _sort(thing: Thing | None) -> tuple[Hashable, ...]:
    if thing is None:
        return ((CUSTOMER, ""), "", "", "")
    return ((thing.kind, thing.unit), thing.design or thing.material, thing.where, thing.customer)


def forward_graph(trace: Forward) -> Graph:
    return _graph(trace.root.id, {trace.root.id: trace.root, **{f.thing.id: f.thing for f in trace.found}}, trace.hops, customers=True)


def back_graph(trace: Back) -> Graph:
    return _graph(trace.root.id, trace.things, trace.hops, customers=trace.root.made)


def _graph(root: int, things: Mapping[int, Thing], hops: Sequence[Hop], customers: bool) -> Graph:
    pairs: dict[tuple[Node, Node], list[Hop]] = {}
    for hop in dict.fromkeys(hops):
        if hop.src in things and hop.dst in things:
            pairs.setdefault((hop.src, hop.dst), []).append(hop)
    linked = {root, *(node for pair in pairs for node in pair)}
    # Only what was itself shipped has a line to its customer; what sits in it went along.
    ways: dict[tuple[Node, Node], int] = {
        (t.id, t.sent.customer): t.sent.at_us for t in things.values() if t.sent and t.id in linked and customers and not t.sent.inside
    }
    nodes = (*sorted(pk for pk in things if pk in linked), *sorted({name for _, name in ways}))
    return Graph(root, things, nodes, pairs, ways)


def draw_forward(trace: Forward, whole: bool = False, steps: Sequence[str] = ()) -> Drawing:
    return draw(forward_graph(trace), whole, steps)


def draw_back(trace: Back, whole: bool = False, steps: Sequence[str] = ()) -> Drawing:
    return draw(back_graph(trace), whole, steps)


def draw(graph: Graph, whole: bool = False, steps: Sequence[str] = ()) -> Drawing:
    """`steps`: boxes to open, by a key of what stands in each; `whole`: a box for every thing."""
    known: dict[str, Node] = {_key(graph, node): node for node in graph.nodes}
    named = [known.get(key) for key in steps]
    most = len(graph.nodes) if whole else MOST
    folding = fold(graph.sorts(), graph.root, most, named)
    home = {node: bundle[0] for bundle in folding.bundles for node in bundle}
    lines = _lines(graph, home)
    picture = layout([bundle[0] for bundle in folding.bundles], lines, STEP_X, STEP_Y)
    boxes = _boxes(graph, folding, picture)
    number = {bundle[0]: box.number for bundle, box in boxes}
    paths = sorted(picture.paths, key=lambda p: (number[p.src], number[p.dst]))
    wires = tuple(_wire(graph, p.points, lines[p.src, p.dst], number[p.src], number[p.dst]) for p in paths)
    opened = tuple((o, _box(graph, o.bundle, 0, 0, 0, 0)) for o in folding.opened)
    width, height = picture.width + WIDTH + 2 * MARGIN, picture.height + HEIGHT + 2 * MARGIN
    paper, sheets = _on_paper(width, height, [box for _, box in boxes])
    return Drawing(tuple(box for _, box in boxes), wires, width, height, folding.folded, opened, paper, sheets)


def _lines(graph: Graph, home: Mapping[Node, Node]) -> dict[tuple[Any, Any], tuple[list[Hop], list[int]]]:
    """What lies between two boxes: the records, and when it went."""
    lines: dict[tuple[Any, Any], tuple[list[Hop], list[int]]] = {}
    for (src, dst), hops in graph.pairs.items():
        known, times = lines.setdefault((home[src], home[dst]), ([], []))
        known += hops
        times += (h.happened_us for h in hops)
    for (src, dst), at in graph.sent.items():
        lines.setdefault((home[src], home[dst]), ([], []))[1].append(at)
    return lines


def _key(graph: Graph, node: Node) -> str:
    return graph.things[node].code if isinstance(node, int) else node


def _boxes(graph: Graph, folding: Folding, picture: Picture) -> list[tuple[Bundle, Box]]:
    placed = {p.node: p for p in picture.nodes}
    order = sorted(folding.bundles, key=lambda bundle: (placed[bundle[0]].layer, placed[bundle[0]].y))
    found = []
    for number, bundle in enumerate(order, start=1):
        at = placed[bundle[0]]
        found.append((bundle, _box(graph, bundle, number, at.layer, at.x, at.y)))
    return found


def _box(graph: Graph, bundle: Bundle, number: int, layer: int, x: int, y: int) -> Box:
    things = tuple(graph.things[node] for node in bundle if isinstance(node, int))
    customers = tuple(node for node in bundle if isinstance(node, str))
    return Box(number, layer, x + MARGIN, y + MARGIN, things, customers, graph.root in bundle)


def _on_paper(width: int, height: int, boxes: Sequence[Box]) -> tuple[str, tuple[Sheet, ...]]:
    """None where the whole of it stays legible on one sheet."""
    first = PAPERS[0]
    if width <= first.layers * STEP_X and height <= first.height:
        return "", ()
    gap = (STEP_X - WIDTH) // 2 - MARGIN
    paper, sheets = best(PAPERS, [Spot(b.layer, b.y) for b in boxes], STEP_X, HEIGHT, gap, STEP_Y)
    return paper.name, tuple(sheets)


def _wire(graph: Graph, points: Sequence[tuple[int, int]], line: tuple[list[Hop], list[int]], src: int, dst: int) -> Wire:
    at = [(x + MARGIN + WIDTH // 2, y + MARGIN + HEIGHT // 2) for x, y in points]
    at[0] = (at[0][0] + WIDTH // 2, at[0][1])
    at[-1] = (at[-1][0] - WIDTH // 2, at[-1][1])
    hops, times = line
    total = sum(h.qty for h in hops)
    text = display(total, graph.things[hops[0].src].unit) if total and hops[0].kind != CONTAINS else ""
    ended = bool(hops) and all(h.until_us is not None for h in hops)
    return Wire(_curve(at), src, dst, text, hops[0].kind if hops else "ship", min(times), max(times), ended)


def _curve(points: list[tuple[int, int]]) -> str:
    """A smooth line that leaves and enters level."""
    d = [f"M{points[0][0]} {points[0][1]}"]
    for (x0, y0), (x1, y1) in pairwise(points):
        bend = (x1 - x0) // 2
        d.append(f"C{x0 + bend} {y0} {x1 - bend} {y1} {x1} {y1}")
    return " ".join(d)
