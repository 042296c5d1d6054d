"""The picture of a trace: pure and deterministic. networkx (test-only) gives the longest paths."""

from __future__ import annotations

import itertools
import random
from typing import Any

import networkx as nx
import pytest

from layups.core.layers import Picture, layers_of, layout

pytestmark = pytest.mark.core


def random_graph(seed: int, nodes: int = 40, edges: int = 70) -> list[tuple[int, int]]:
    r = random.Random(seed)
    return sorted({tuple(sorted(r.sample(range(nodes), 2))) for _ in range(edges)})  # type: ignore[misc]


@pytest.mark.parametrize("seed", range(30))
def test_each_thing_stands_one_layer_after_the_deepest_thing_in_it(seed: int) -> None:
    edges = random_graph(seed)
    graph = nx.DiGraph(edges)
    graph.add_nodes_from(range(40))
    layer = layers_of(range(40), edges)
    for node in graph.nodes:
        if graph.in_degree(node):
            paths = [nx.dag_longest_path_length(graph.subgraph(nx.ancestors(graph, node) | {node}))]
            assert layer[node] == max(paths)
        elif graph.out_degree(node):
            assert layer[node] == min(layer[n] for n in graph.successors(node)) - 1
        else:
            assert layer[node] == 0


@pytest.mark.parametrize("seed", range(20))
def test_every_line_runs_from_left_to_right_through_its_own_ends(seed: int) -> None:
    edges = random_graph(seed)
    picture = layout(range(40), edges)
    at = {p.node: (p.x, p.y) for p in picture.nodes}
    assert [(p.src, p.dst) for p in picture.paths] == edges
    for path in picture.paths:
        assert path.points[0] == at[path.src]
        assert path.points[-1] == at[path.dst]
        assert all(a[0] < b[0] for a, b in itertools.pairwise(path.points))


@pytest.mark.parametrize("seed", range(20))
def test_no_two_things_stand_on_each_other(seed: int) -> None:
    picture = layout(range(40), random_graph(seed), step_y=36)
    for a, b in itertools.combinations(picture.nodes, 2):
        if a.layer == b.layer:
            assert abs(a.y - b.y) >= 36
    assert min(p.y for p in picture.nodes) >= 0
    assert max(p.y for p in picture.nodes) <= picture.height


def test_the_same_graph_gives_the_same_picture_whatever_the_order_of_its_edges() -> None:
    edges = random_graph(5)
    first = layout(range(40), edges)
    assert layout(range(40), edges) == first
    assert layout(range(40), [*edges, *edges]) == first, "an edge given twice is one line"


def crossings(picture: Picture) -> int:
    pieces = [(a, b) for path in picture.paths for a, b in itertools.pairwise(path.points)]
    return sum(1 for (a, b), (c, d) in itertools.combinations(pieces, 2) if a[0] == c[0] and (a[1] - c[1]) * (b[1] - d[1]) < 0)


def test_a_tree_is_drawn_without_a_crossing() -> None:
    edges: list[tuple[Any, Any]] = [("lot", "drum")]
    edges += [("drum", f"pot {n}") for n in (3, 1, 2)]
    edges += [(f"pot {n % 3 + 1}", f"hull {n}") for n in range(12)]
    nodes = list(dict.fromkeys(n for e in reversed(edges) for n in e))
    assert crossings(layout(nodes, edges)) == 0


def test_crossings_that_can_be_combed_out_are_combed_out() -> None:
    edges = [(("a", i), ("b", (i * 7) % 12)) for i in range(12)]
    nodes = [("a", i) for i in range(12)] + [("b", i) for i in range(12)]
    assert crossings(layout(nodes, edges)) == 0


def test_an_empty_graph_and_a_single_thing_have_a_picture_too() -> None:
    assert layout([], []).nodes == ()
    only = layout(["lot"], [])
    assert (only.layers, only.nodes[0].x, only.nodes[0].y) == (1, 0, 0)


def test_a_cycle_or_an_edge_to_nowhere_is_an_error() -> None:
    with pytest.raises(ValueError, match="cycle"):
        layout([1, 2], [(1, 2), (2, 1)])
    with pytest.raises(ValueError, match="not given"):
        layout([1], [(1, 2)])
