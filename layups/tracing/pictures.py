"""The picture of a trace: boxes and lines with their coordinates, ready for a template that draws them. From lot to customer,
left to right; nothing is computed in the browser."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from inventory.core.shares import CONTAINS
from inventory.core.units import display
from inventory.lineage import Hop
from layups.core.layers import Path, layout
from layups.reads.things import Thing

from .walks import Back, Forward

WIDTH, HEIGHT, STEP_X, STEP_Y, MARGIN = 150, 40, 230, 52, 16


@dataclass(frozen=True, slots=True)
class Box:
    """A box: its upper left corner and size; `title` and `sub` are its two lines, `state` a word (on the shelf, shipped …);
    `code` leads to the thing's page, empty for a customer. `root`: what was asked about."""

    x: int
    y: int
    w: int
    h: int
    title: str
    sub: str
    kind: str
    state: str
    code: str
    root: bool = False

    @property
    def mid_x(self) -> int:
        return self.x + self.w // 2


@dataclass(frozen=True, slots=True)
class Wire:
    """A line: `d` is its path; `src` and `dst` name its ends, `text` says how much went. `ended`: taken out again."""

    d: str
    src: str
    dst: str
    text: str
    kind: str
    ended: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """All of it, in a canvas of `width` × `height`."""

    boxes: tuple[Box, ...]
    wires: tuple[Wire, ...]
    width: int
    height: int


Node = int | str
"""A thing by its id, a customer by name."""


def draw_forward(trace: Forward) -> Drawing:
    things = {trace.root.id: trace.root, **{f.thing.id: f.thing for f in trace.found}}
    known = {h.edge: h for h in trace.hops if h.src in things and h.dst in things}
    return _draw(trace.root.id, things, list(known.values()), customers=True)


def draw_back(trace: Back) -> Drawing:
    return _draw(trace.root.id, trace.things, trace.hops, customers=trace.root.made)


def _draw(root: int, things: Mapping[int, Thing], hops: Sequence[Hop], customers: bool) -> Drawing:
    """One line for each pair of things, however many records there are between them."""
    pairs: dict[tuple[Node, Node], list[Hop]] = {}
    for hop in hops:
        pairs.setdefault((hop.src, hop.dst), []).append(hop)
    sent = _deliveries(things.values()) if customers else []
    nodes: list[Node] = list(dict.fromkeys([root, *(n for pair in pairs for n in pair), *(n for pair in sent for n in pair)]))
    picture = layout(nodes, [*pairs, *sent], STEP_X, STEP_Y)
    boxes = tuple(_box(things.get(p.node) if isinstance(p.node, int) else None, p.node, p.x, p.y, p.node == root) for p in picture.nodes)
    wires = tuple(_wire(path, things, pairs.get((path.src, path.dst), [])) for path in picture.paths)  # type: ignore[arg-type]
    return Drawing(boxes, wires, picture.width + WIDTH + 2 * MARGIN, picture.height + HEIGHT + 2 * MARGIN)


def _deliveries(things: Iterable[Thing]) -> list[tuple[Node, Node]]:
    """Only what was itself shipped has a line to its customer; what sits in it went along."""
    return [(t.id, t.sent.customer) for t in things if t.sent is not None and not t.sent.inside]


def _box(thing: Thing | None, node: object, x: int, y: int, root: bool) -> Box:
    at = (x + MARGIN, y + MARGIN, WIDTH, HEIGHT)
    if thing is None:
        return Box(*at, str(node), "customer", "customer", "", "")
    title = thing.number if thing.kind == "lot" and thing.number else thing.name
    return Box(*at, title, thing.design or thing.material or thing.kind, thing.kind, thing.where, thing.code, root)


def _wire(path: Path, things: Mapping[int, Thing], hops: list[Hop]) -> Wire:
    points = [(x + MARGIN + WIDTH // 2, y + MARGIN + HEIGHT // 2) for x, y in path.points]
    points[0] = (points[0][0] + WIDTH // 2, points[0][1])
    points[-1] = (points[-1][0] - WIDTH // 2, points[-1][1])
    src = things.get(path.src) if isinstance(path.src, int) else None
    dst = things.get(path.dst) if isinstance(path.dst, int) else None
    total = sum(h.qty for h in hops)
    text = display(total, src.unit) if src is not None and total and hops[0].kind != CONTAINS else ""
    ended = bool(hops) and all(h.until_us is not None for h in hops)
    kind = hops[0].kind if hops else "ship"
    return Wire(_curve(points), src.name if src else str(path.src), dst.name if dst else str(path.dst), text, kind, ended)


def _curve(points: list[tuple[int, int]]) -> str:
    """A smooth line that leaves and enters level."""
    d = [f"M{points[0][0]} {points[0][1]}"]
    for (x0, y0), (x1, y1) in pairwise(points):
        bend = (x1 - x0) // 2
        d.append(f"C{x0 + bend} {y0} {x1 - bend} {y1} {x1} {y1}")
    return " ".join(d)
