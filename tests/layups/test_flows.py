"""Walks over time, against a shop played tick by tick and against networkx (test-only)."""

from __future__ import annotations

import random

import networkx as nx
import pytest

from layups.core import flows
from layups.core.flows import Link

pytestmark = pytest.mark.core


def random_links(r: random.Random, nodes: int, count: int, last: int) -> list[Link]:
    """Links from lower to higher numbers, at any instant; a third are components in assemblies, and some of the others went
    into what was empty and filled again later."""
    links = []
    for n in range(count):
        src, dst = sorted(r.sample(range(nodes), 2))
        at, stay = r.randrange(last), r.random() < 0.35
        until = at + r.randrange(1, last) if r.random() < (0.5 if stay else 0.3) else None
        links.append(Link(n, src, dst, at, stay=stay, until=until))
    return links


def tick_by_tick(links: list[Link], root: int, last: int) -> set[int]:
    """What ever held material of the root, found by playing every instant through: no spans, no graph."""
    mine: dict[int, int] = {}  # until when something of the root is in it
    ever: set[int] = set()
    for now in range(last * 2 + 2):
        before = None
        while before != (before := {n: set(s) for n, s in holding(links, mine, root, now).items()}):
            for link in links:
                if not link.stay and link.at == now and root in before.get(link.src, ()):
                    mine[link.dst] = max(mine.get(link.dst, 0), last * 9 if link.until is None else link.until)
        ever |= {n for n, held in holding(links, mine, root, now).items() if root in held}
    return ever - {root}


def holding(links: list[Link], mine: dict[int, int], root: int, now: int) -> dict[int, set[int]]:
    held = {root: {root}, **{n: {root} for n, until in mine.items() if now < until}}
    for _ in range(len(links)):
        for link in links:
            if link.stay and link.at <= now and (link.until is None or now < link.until):
                held.setdefault(link.dst, set()).update(held.get(link.src, set()))
    return held


@pytest.mark.parametrize("seed", range(60))
def test_the_walk_down_finds_what_a_shop_played_tick_by_tick_finds(seed: int) -> None:
    r = random.Random(seed)
    links = random_links(r, nodes=9, count=16, last=8)
    for root in range(9):
        assert set(flows.down(links, root).spans) == tick_by_tick(links, root, 8), f"seed {seed}, root {root}"


@pytest.mark.parametrize("seed", range(200))
def test_the_walks_down_and_up_are_each_others_inverse(seed: int) -> None:
    r = random.Random(1000 + seed)
    links = random_links(r, nodes=14, count=30, last=12)
    down = {(a, b) for a in range(14) for b in flows.down(links, a).spans}
    up = {(a, b) for b in range(14) for a in flows.up(links, b).spans}
    assert down == up
    assert len(down) > 10, "a graph with nothing in it shows nothing"


@pytest.mark.parametrize("seed", range(40))
def test_where_time_only_runs_forward_the_walk_finds_the_descendants_of_the_graph(seed: int) -> None:
    r = random.Random(seed)
    pairs = {tuple(sorted(r.sample(range(30), 2))) for _ in range(60)}
    links = [Link(n, a, b, at=a) for n, (a, b) in enumerate(sorted(pairs))]
    graph = nx.DiGraph(pairs)
    for root in graph.nodes:
        assert set(flows.down(links, root).spans) == nx.descendants(graph, root)
        assert set(flows.up(links, root).spans) == nx.ancestors(graph, root)


def test_a_lot_topped_up_after_the_draw_is_not_in_what_was_drawn() -> None:
    links = [Link(1, 1, 9, at=0), Link(2, 9, 20, at=5), Link(3, 2, 9, at=6)]
    assert set(flows.down(links, 2).spans) == {9}
    assert set(flows.up(links, 20).spans) == {1, 9}


def test_a_component_taken_off_before_the_boat_went_into_something_else_is_not_in_that() -> None:
    mast, rig, boat = 1, 2, 3
    gone = [Link(1, mast, rig, at=0, stay=True, until=5), Link(2, rig, boat, at=6, stay=True)]
    still = [Link(1, mast, rig, at=0, stay=True, until=7), Link(2, rig, boat, at=6, stay=True)]
    assert set(flows.down(gone, mast).spans) == {rig}
    assert set(flows.down(still, mast).spans) == {rig, boat}


def test_a_repair_laid_into_a_component_that_sits_in_a_boat_is_in_the_boat() -> None:
    links = [Link(1, 1, 2, at=0, stay=True), Link(2, 7, 1, at=9)]
    assert flows.down(links, 7).spans == {1: [(9, flows.FOREVER)], 2: [(9, flows.FOREVER)]}


def test_the_best_way_says_how_exactly_a_thing_is_known() -> None:
    links = [Link(1, 1, 2, at=0, grade="box"), Link(2, 1, 3, at=0), Link(3, 3, 2, at=1, grade="lot"), Link(4, 2, 4, at=2)]
    assert flows.best_grades(flows.down(links, 1)) == {2: "lot", 3: "item", 4: "lot"}
    assert flows.best_grades(flows.up(links, 4), backwards=True) == {1: "lot", 2: "item", 3: "lot"}


def test_a_cycle_is_an_error_and_not_an_endless_walk() -> None:
    with pytest.raises(ValueError, match="cycle"):
        flows.down([Link(1, 1, 2, at=0), Link(2, 2, 1, at=0)], 1)
