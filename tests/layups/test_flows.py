"""Walks over time and amounts by proportion, against a tick-by-tick shop and against networkx (test-only)."""

from __future__ import annotations

import random
from fractions import Fraction

import networkx as nx
import pytest

from layups.core import flows
from layups.core.flows import Link

pytestmark = pytest.mark.core
KG = 10**9


def random_links(r: random.Random, nodes: int, count: int, last: int) -> list[Link]:
    """Links from lower to higher numbers, at any instant; a third are components in assemblies."""
    links = []
    for n in range(count):
        src, dst = sorted(r.sample(range(nodes), 2))
        at, stay = r.randrange(last), r.random() < 0.35
        until = at + r.randrange(1, last) if stay and r.random() < 0.5 else None
        links.append(Link(n, src, dst, at, qty=1, stay=stay, until=until))
    return links


def tick_by_tick(links: list[Link], root: int, last: int) -> set[int]:
    """What ever held material of the root, found by playing every instant through: no spans, no graph."""
    mine: dict[int, set[int]] = {}
    ever: set[int] = set()
    for now in range(last * 2 + 2):
        before = None
        while before != (before := {n: set(s) for n, s in holding(links, mine, root, now).items()}):
            for link in links:
                if not link.stay and link.at == now and root in before.get(link.src, ()):
                    mine.setdefault(link.dst, set()).add(root)
        ever |= {n for n, held in holding(links, mine, root, now).items() if root in held}
    return ever - {root}


def holding(links: list[Link], mine: dict[int, set[int]], root: int, now: int) -> dict[int, set[int]]:
    held = {root: {root}, **{n: set(s) for n, s in mine.items()}}
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
    links = [Link(n, a, b, at=a, qty=1) for n, (a, b) in enumerate(sorted(pairs))]
    graph = nx.DiGraph(pairs)
    for root in graph.nodes:
        assert set(flows.down(links, root).spans) == nx.descendants(graph, root)
        assert set(flows.up(links, root).spans) == nx.ancestors(graph, root)


def test_a_lot_topped_up_after_the_draw_is_not_in_what_was_drawn() -> None:
    links = [Link(1, 1, 9, at=0, qty=22), Link(2, 9, 20, at=5, qty=10), Link(3, 2, 9, at=6, qty=38)]
    assert set(flows.down(links, 2).spans) == {9}
    assert set(flows.up(links, 20).spans) == {1, 9}


def test_a_component_taken_off_before_the_boat_went_into_something_else_is_not_in_that() -> None:
    mast, rig, boat = 1, 2, 3
    gone = [Link(1, mast, rig, at=0, stay=True, until=5), Link(2, rig, boat, at=6, stay=True)]
    still = [Link(1, mast, rig, at=0, stay=True, until=7), Link(2, rig, boat, at=6, stay=True)]
    assert set(flows.down(gone, mast).spans) == {rig}
    assert set(flows.down(still, mast).spans) == {rig, boat}


def test_a_repair_laid_into_a_component_that_sits_in_a_boat_is_in_the_boat() -> None:
    links = [Link(1, 1, 2, at=0, stay=True), Link(2, 7, 1, at=9, qty=3)]
    assert flows.down(links, 7).spans == {1: [(9, flows.FOREVER)], 2: [(9, flows.FOREVER)]}


def test_a_hull_from_a_topped_up_day_tank_carries_both_lots_with_their_shares() -> None:
    """22 kg of P3 topped up with 38 kg of P4, then 18 kg drawn: 36.7 % and 63.3 %."""
    p3, p4, tank, hull = 1, 2, 3, 4
    links = [Link(1, p3, tank, at=0, qty=22 * KG), Link(2, p4, tank, at=5, qty=38 * KG), Link(3, tank, hull, at=6, qty=18 * KG)]
    found = flows.amounts(links, {p3, p4}, born={hull: 1}, left={(tank, 2): 22 * KG})
    assert found[hull] == {p3: Fraction(6600 * 10**6), p4: Fraction(11400 * 10**6)}


def test_what_was_drawn_before_a_top_up_lowers_the_share_of_the_old_lot() -> None:
    links = [
        Link(1, 1, 9, at=0, qty=40),
        Link(2, 9, 20, at=1, qty=30),  # 10 of lot 1 left
        Link(3, 2, 9, at=2, qty=30),
        Link(4, 9, 21, at=3, qty=20),
    ]
    found = flows.amounts(links, {1, 2}, born={20: 1, 21: 1}, left={(9, 3): 10})
    assert found == {9: {1: 10, 2: 30}, 20: {1: 30}, 21: {1: 5, 2: 15}}


def test_a_mix_hands_on_each_component_by_mass() -> None:
    """400.0 g and 100.2 g; 320.2 g of 500.2 g go into the part."""
    g = 10**6
    links = [Link(1, 1, 3, at=0, qty=400 * g), Link(2, 2, 3, at=0, qty=100_200_000), Link(3, 3, 4, at=1, qty=320_200_000)]
    found = flows.amounts(links, {1, 2}, born={4: 1}, left={})[4]
    assert sum(found.values()) == 320_200_000
    assert found[1] == Fraction(400 * g * 3202, 5002)


def test_a_kit_kept_by_area_hands_on_length_of_the_roll() -> None:
    links = [Link(1, 1, 2, at=0, qty=50_000_000), Link(2, 2, 3, at=1, qty=6_200_000, got=594_000_000), Link(3, 3, 4, at=2, qty=297_000_000)]
    assert flows.amounts(links, {1}, born={4: 1}, left={})[4] == {1: 3_100_000}


def test_pieces_of_a_run_take_their_length_of_it() -> None:
    run, links = 5, [Link(1, 1, 5, at=0, qty=4_300_000_000)]
    links += [Link(10 + n, run, 100 + n, at=1, qty=1_200_000, got=1) for n in range(70)]
    found = flows.amounts(links, {1}, born={run: 90_000_000, **{100 + n: 1 for n in range(70)}}, left={})
    assert found[100][1] == Fraction(4_300_000_000 * 12, 900)


def test_a_component_counts_in_the_boat_only_while_it_sits_there() -> None:
    links = [Link(1, 1, 2, at=0, qty=500), Link(2, 2, 8, at=1, qty=1, stay=True, until=4), Link(3, 2, 9, at=5, qty=1, stay=True)]
    found = flows.amounts(links, {1}, born={2: 1, 8: 1, 9: 1}, left={})
    assert found.get(8, {}) == {}
    assert found[9] == {1: 500}


@pytest.mark.parametrize("seed", range(50))
def test_what_goes_in_at_the_top_is_all_found_at_the_bottom(seed: int) -> None:
    """Everything drawn empty: the parts hold exactly what the lots gave."""
    r = random.Random(seed)
    links, held, n = [], {}, 0
    for lot in range(3):
        for _ in range(2):
            n += 1
            links.append(Link(n, lot, 10 + n, at=0, qty=r.randrange(1, 1000)))
            held[10 + n] = links[-1].qty
    for level in range(1, 4):
        above, held = held, {}
        for src, qty in above.items():
            cut = sorted(r.randrange(qty + 1) for _ in range(2))
            for share in (cut[0], cut[1] - cut[0], qty - cut[1]):
                n += 1
                dst = 100 * level + r.randrange(6)
                links.append(Link(n, src, dst, at=level, qty=share))
                held[dst] = held.get(dst, 0) + share
    found = flows.amounts(links, {0, 1, 2}, born=dict.fromkeys(range(300, 306), 1), left={})
    for lot in range(3):
        given = sum(k.qty for k in links if k.src == lot)
        assert sum(amounts.get(lot, 0) for part, amounts in found.items() if part >= 300) == given


def test_the_best_way_says_how_exactly_a_thing_is_known() -> None:
    links = [Link(1, 1, 2, at=0, grade="box"), Link(2, 1, 3, at=0), Link(3, 3, 2, at=1, grade="lot"), Link(4, 2, 4, at=2)]
    assert flows.best_grades(flows.down(links, 1)) == {2: "lot", 3: "item", 4: "lot"}
    assert flows.best_grades(flows.up(links, 4), backwards=True) == {1: "lot", 2: "item", 3: "lot"}


def test_a_cycle_is_an_error_and_not_an_endless_walk() -> None:
    with pytest.raises(ValueError, match="cycle"):
        flows.down([Link(1, 1, 2, at=0), Link(2, 2, 1, at=0)], 1)
