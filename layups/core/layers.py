"""Where each thing stands in the picture of a trace: layers from lot to customer, with few crossings.

Longest-path layering (a thing stands one layer after the last thing that went into it), bend points where a link passes
a layer, ordering by barycentres in alternating sweeps (Sugiyama's method), then rows pulled towards their neighbours.
The same graph gives the same picture: nothing depends on chance or on the order of a set.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

Node = Hashable
SWEEPS = 8
MOST_BENDS = 8
"""Bend points for each node of the graph at most; past that, long links are drawn straight."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A node in the picture: `layer` counts from the left, `row` from the top within its layer; `x`, `y` are its centre."""

    node: Node
    layer: int
    row: int
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class Path:
    """A link as a line: its ends and the points it bends at, from source to target."""

    src: Node
    dst: Node
    points: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """All coordinates are whole numbers ≥ 0 in the units of the steps that were given."""

    nodes: tuple[Placed, ...]
    paths: tuple[Path, ...]
    layers: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class _Bend:
    link: int
    layer: int


def layout(nodes: Sequence[Node], edges: Iterable[tuple[Node, Node]], step_x: int = 180, step_y: int = 36) -> Picture:
    """Places the nodes and lines of an acyclic graph. `nodes` in the order that breaks ties; an edge may be given twice.

    Raises ValueError on a cycle, or on an edge to a node that is not given."""
    edges = list(dict.fromkeys(edges))
    layer = layers_of(nodes, edges)
    chains = _chains(nodes, edges, layer)
    rows = _first_rows(nodes, chains, layer)
    ups, downs = _neighbours(chains)
    rows = _order(rows, ups, downs)
    y = _heights(rows, ups, downs, step_y)
    return _picture(nodes, edges, chains, layer, rows, y, step_x)


def layers_of(nodes: Sequence[Node], edges: Iterable[tuple[Node, Node]]) -> dict[Node, int]:
    """Each node's layer: 0 for what nothing goes into, else one more than the deepest thing that goes into it; sources are
    then moved right, next to the first thing made from them."""
    outs, waits = defaultdict(list), dict.fromkeys(nodes, 0)
    for src, dst in edges:
        if src not in waits or dst not in waits:
            raise ValueError(f"an edge names a node that is not given: {src!r} → {dst!r}")
        outs[src].append(dst)
        waits[dst] += 1
    sources = [n for n in nodes if not waits[n]]
    layer = dict.fromkeys(sources, 0)
    todo, done = list(sources), 0
    while todo:
        node = todo.pop()
        done += 1
        for other in outs[node]:
            layer[other] = max(layer.get(other, 0), layer[node] + 1)
            waits[other] -= 1
            if not waits[other]:
                todo.append(other)
    if done != len(waits):
        raise ValueError("the graph has a cycle")
    for node in sources:
        layer[node] = max(0, min((layer[o] for o in outs[node]), default=1) - 1)
    return layer


def _chains(nodes: Sequence[Node], edges: list[tuple[Node, Node]], layer: Mapping[Node, int]) -> list[list[Node]]:
    """Each edge as a chain of neighbours: source, bend points in the layers between, target."""
    bends = sum(layer[dst] - layer[src] - 1 for src, dst in edges)
    straight = bends > MOST_BENDS * max(len(nodes), 1)
    return [
        [src, *(() if straight else (_Bend(i, at) for at in range(layer[src] + 1, layer[dst]))), dst] for i, (src, dst) in enumerate(edges)
    ]


def _first_rows(nodes: Sequence[Node], chains: list[list[Node]], layer: Mapping[Node, int]) -> list[list[Node]]:
    rows: list[list[Node]] = [[] for _ in range(max(layer.values(), default=-1) + 1)]
    for node in nodes:
        rows[layer[node]].append(node)
    for chain in chains:
        for bend in chain[1:-1]:
            assert isinstance(bend, _Bend)
            rows[bend.layer].append(bend)
    return rows


def _neighbours(chains: list[list[Node]]) -> tuple[dict[Node, list[Node]], dict[Node, list[Node]]]:
    ups, downs = defaultdict(list), defaultdict(list)
    for chain in chains:
        for a, b in pairwise(chain):
            downs[a].append(b)
            ups[b].append(a)
    return ups, downs


def _order(rows: list[list[Node]], ups: Mapping[Node, list[Node]], downs: Mapping[Node, list[Node]]) -> list[list[Node]]:
    """Sweep right and left; keep the ordering with the fewest crossings."""
    best, fewest = [list(row) for row in rows], _crossings(rows, downs)
    for sweep in range(SWEEPS):
        if not fewest:
            break
        rightwards = sweep % 2 == 0
        near = ups if rightwards else downs
        place: dict[Node, int] = {n: i for row in rows for i, n in enumerate(row)}
        for row in rows if rightwards else reversed(rows):
            row.sort(key=lambda n: _mean([place[m] for m in near.get(n, ())], place[n]))
            place.update((n, i) for i, n in enumerate(row))
        found = _crossings(rows, downs)
        if found < fewest:
            best, fewest = [list(row) for row in rows], found
    return best


def _mean(places: list[int], own: int) -> float:
    return sum(places) / len(places) if places else float(own)


def _crossings(rows: list[list[Node]], downs: Mapping[Node, list[Node]]) -> int:
    """Pairs of lines that cross, counted layer by layer (inversions, by a binary indexed tree)."""
    place = {n: i for row in rows for i, n in enumerate(row)}
    total = 0
    for row in rows:
        ends = [end for n in row for end in sorted(place[m] for m in downs.get(n, ()))]
        tree = [0] * (max(ends, default=0) + 2)
        for seen, end in enumerate(ends):
            i, not_above = end + 1, 0
            while i:
                not_above += tree[i]
                i &= i - 1
            total += seen - not_above
            i = end + 1
            while i < len(tree):
                tree[i] += 1
                i += i & -i
    return total


def _heights(rows: list[list[Node]], ups: Mapping[Node, list[Node]], downs: Mapping[Node, list[Node]], step: int) -> dict[Node, int]:
    """Rows at least a step apart, pulled towards the mean of their neighbours, from the left and then from the right."""
    y: dict[Node, int] = {n: i * step for row in rows for i, n in enumerate(row)}
    for near, ordered in ((ups, rows), (downs, list(reversed(rows))), (ups, rows)):
        for row in ordered:
            wish = [round(_mean([y[m] for m in near.get(n, ())], y[n])) for n in row]
            y.update(zip(row, _spread(wish, step), strict=True))
    low = min(y.values(), default=0)
    return {n: at - low for n, at in y.items()}


def _spread(wish: list[int], step: int) -> list[int]:
    """Places in this order, each at least a step after the last, as near the wishes as the mean of each crowded run allows
    (pool adjacent violators, on wishes less the steps before them)."""
    runs: list[list[int]] = []  # [sum of wishes less steps, how many]
    for i, at in enumerate(wish):
        runs.append([at - i * step, 1])
        while len(runs) > 1 and runs[-2][0] * runs[-1][1] > runs[-1][0] * runs[-2][1]:
            total, count = runs.pop()
            runs[-1][0] += total
            runs[-1][1] += count
    flat = [total // count for total, count in runs for _ in range(count)]
    return [at + i * step for i, at in enumerate(flat)]


def _picture(
    nodes: Sequence[Node],
    edges: list[tuple[Node, Node]],
    chains: list[list[Node]],
    layer: Mapping[Node, int],
    rows: list[list[Node]],
    y: Mapping[Node, int],
    step_x: int,
) -> Picture:
    row_of = {n: i for row in rows for i, n in enumerate(row)}

    def x_of(n: Node) -> int:
        return (n.layer if isinstance(n, _Bend) else layer[n]) * step_x

    placed = tuple(Placed(n, layer[n], row_of[n], x_of(n), y[n]) for n in nodes)
    paths = tuple(Path(src, dst, tuple((x_of(n), y[n]) for n in chain)) for (src, dst), chain in zip(edges, chains, strict=True))
    return Picture(placed, paths, len(rows), max((p.x for p in placed), default=0), max(y.values(), default=0))
