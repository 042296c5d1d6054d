"""Where material came from and went: the walks against a time-expanded graph, and the yard's own cases."""

from __future__ import annotations

import random
from collections.abc import Iterator

import networkx
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory import lineage
from inventory.models import Block, Edge, Exemption, Item
from layups.core import flows
from layups.reads.things import links_of
from tests.ledger.shop import HOUR, Shop

pytestmark = pytest.mark.django_db
LAST = 9  # instants of the random graphs are 0 … 8; nothing happens at the last
OWN, INSIDE = 0, -1
State = tuple[int, int, int]
"""(thing, instant, by what it is there: OWN, INSIDE a component, or the id of the edge that brought it)."""
Step = tuple[State, State, Edge]


def random_shop(rng: random.Random, shop: Shop, acyclic: bool = False) -> tuple[list[Item], list[Edge]]:
    """Up to nine things and sixteen edges at nine instants, in any direction: flows, some into what was empty and filled again,
    components, some taken out, some void."""
    things = [shop.item(rng.choice(["roll", "tank", "mix", "part", "assembly"])) for _ in range(rng.randint(3, 9))]
    edges = []
    for _ in range(rng.randint(2, 16)):
        source, target = rng.sample(things, 2)
        if acyclic and source.pk > target.pk:
            source, target = target, source
        at = rng.randint(0, LAST - 1)
        if rng.random() < 0.4:
            edge = shop.join(source, target, at=at, until=rng.choice([None, rng.randint(at, LAST - 1)]))
        else:
            shop.act(rng.choice(["cut", "mix", "lay"]), [(source, target, 1)], at=at)
            edge = shop._new[Edge][-1]
            edge.until_us = rng.randint(at + 1, LAST) if rng.random() < 0.4 else None
        edge.void = rng.random() < 0.1
        edges.append(edge)
    return things, edges


def steps(edges: list[Edge]) -> Iterator[Step]:
    """Every way of material at every instant."""
    for edge in edges:
        if edge.void:
            continue
        ways = [OWN, INSIDE, *(e.pk for e in edges if e.dst_id == edge.src_id and e.kind != "join" and not e.void)]
        for t in stays(edge) if edge.kind == "join" else [edge.happened_us]:
            for by in ways:
                yield (edge.src_id, t, by), (edge.dst_id, t, INSIDE if edge.kind == "join" else edge.pk), edge


def stays(edge: Edge) -> range:
    return range(edge.happened_us, LAST + 1 if edge.until_us is None else edge.until_us)


def expanded(things: list[Item], edges: list[Edge]) -> networkx.DiGraph:
    """The graph over states: material that came in stays, or until the tank was empty and filled again; inside a component it
    is there while the component is. Where nothing is there by a way at an instant, no state is."""
    graph = networkx.DiGraph()
    there = {(thing.pk, t, by) for thing in things for t in range(LAST + 1) for by in (OWN, INSIDE)}
    there |= {(edge.dst_id, t, edge.pk) for edge in edges if edge.kind != "join" and not edge.void for t in stays(edge)}
    graph.add_nodes_from(there)
    graph.add_edges_from(((x, t - 1, by), (x, t, by)) for x, t, by in there if by != INSIDE and (x, t - 1, by) in there)
    graph.add_edges_from((a, b) for a, b, _ in steps(edges) if a in there)
    return graph


def below(graph: networkx.DiGraph, thing: int) -> set[State]:
    start = (thing, 0, OWN)
    found: set[State] = networkx.descendants(graph, start) | {start}
    return found


def above(graph: networkx.DiGraph, thing: int, instants: range) -> set[State]:
    found: set[State] = set()
    for state in [s for s in graph if s[0] == thing and s[1] in instants]:
        found |= networkx.ancestors(graph, state) | {state}
    return found


@pytest.mark.parametrize("seed", range(4))
def test_the_walks_agree_with_a_graph_of_all_instants(seed: int) -> None:
    rng = random.Random(seed)
    shop = Shop()
    cases = [random_shop(rng, shop) for _ in range(25)]
    shop.flush()
    for things, edges in cases:
        graph = expanded(things, edges)
        forward = {x.pk: below(graph, x.pk) for x in things}
        for thing in things:
            own = {thing.pk}
            assert set(lineage.down_ids(own)) == {x for x, _, _ in forward[thing.pk]} - own
            assert {h.edge for h in lineage.down(own)} == {e.pk for a, _, e in steps(edges) if a in forward[thing.pk]}
            at = rng.randint(0, LAST)
            for given, live, instants in (
                (None, False, range(LAST + 1)),
                (None, True, range(LAST, LAST + 1)),
                (at, False, range(at + 1)),
                (at, True, range(at, at + 1)),
            ):
                back = above(graph, thing.pk, instants)
                # Material starts in a thing of its own at the first instant and stays, so any instant of its own will do.
                assert set(lineage.up_ids(own, given, live)) == {x for x, _, by in back if by == OWN} - own, (given, live)
                assert {h.edge for h in lineage.up(own, given, live)} == {e.pk for _, b, e in steps(edges) if b in back}


@pytest.mark.parametrize("seed", range(4))
def test_the_walks_in_memory_say_the_same_as_those_in_the_database(seed: int) -> None:
    rng = random.Random(300 + seed)
    shop = Shop()
    cases = [random_shop(rng, shop, acyclic=True) for _ in range(25)]
    shop.flush()
    reached = 0
    for things, edges in cases:
        graph = expanded(things, edges)
        everything = links_of(lineage.down([x.pk for x in things]))
        for thing in things:
            down, up = flows.down(everything, thing.pk), flows.up(everything, thing.pk)
            assert set(down.spans) == set(lineage.down_ids([thing.pk])) == {x for x, _, _ in below(graph, thing.pk)} - {thing.pk}
            assert set(up.spans) == set(lineage.up_ids([thing.pk]))
            assert {k.id for k in down.links} == {h.edge for h in lineage.down([thing.pk])}
            assert {k.id for k in up.links} == {h.edge for h in lineage.up([thing.pk])}
            reached += len(down.spans)
    assert reached > 100


@pytest.mark.parametrize("seed", range(3))
def test_forward_and_backward_are_inverse(seed: int) -> None:
    rng = random.Random(100 + seed)
    shop = Shop()
    cases = [random_shop(rng, shop) for _ in range(20)]
    shop.flush()
    for things, _ in cases:
        down = {(x.pk, y) for x in things for y in lineage.down_ids([x.pk])}
        up = {(x, y.pk) for y in things for x in lineage.up_ids([y.pk])}
        assert down == up
        assert set(lineage.down_ids([x.pk for x in things[:2]])) == {y for x, y in down if x in {t.pk for t in things[:2]}} - {
            t.pk for t in things[:2]
        }


@pytest.mark.parametrize("seed", range(4))
def test_blocks_are_found_as_by_walking_from_each_and_stop_at_exempt_things(seed: int) -> None:
    rng = random.Random(200 + seed)
    shop = Shop()
    cases = [random_shop(rng, shop) for _ in range(25)]
    held = shop.act("hold")
    shop.flush()
    for things, edges in cases:
        blocks = [Block.objects.create(site=shop.site, item=x, why="quality", opened=held, from_us=1) for x in rng.sample(things, 2)]
        closed = Block.objects.create(
            site=shop.site,
            item=next(x for x in things if x.pk not in {b.item_id for b in blocks}),
            why="recall",
            opened=held,
            from_us=1,
            closed=held,
            to_us=2,
        )
        free = {block.pk: {x.pk for x in things if rng.random() < 0.2} for block in [*blocks, closed]}
        Exemption.objects.bulk_create(Exemption(block_id=b, item_id=x, act=held) for b, items in free.items() for x in items)
        graph = expanded(things, edges)
        expected: dict[int, list[int]] = {}
        for block in blocks:
            rest = graph.subgraph(state for state in graph if state[0] not in free[block.pk])
            if block.item_id in free[block.pk]:
                continue
            for thing, t, _ in below(rest, block.item_id):
                if t == LAST and block.pk not in expected.setdefault(thing, []):
                    expected[thing].append(block.pk)
        expected = {thing: sorted(found) for thing, found in expected.items()}
        found = lineage.open_blocks([x.pk for x in things])
        assert {thing: [hit.block for hit in hits] for thing, hits in found.items()} == expected
        for one in things:
            assert [h.block for h in lineage.open_blocks([one.pk]).get(one.pk, [])] == expected.get(one.pk, [])


def test_a_tank_topped_up_later_puts_no_new_lot_into_an_earlier_draw() -> None:
    shop = Shop()
    p3, p4 = shop.lot("ug"), shop.lot("ug")
    drums = shop.roll(p3, 100, kind="drum"), shop.roll(p4, 100, kind="drum")
    tank, early, late = shop.item("tank", "ug"), shop.item("part"), shop.item("part")
    shop.act("pour", [(drums[0], tank, 22)])
    shop.act("lay", [(tank, early, 5)])
    shop.act("pour", [(drums[1], tank, 38)])
    shop.act("lay", [(tank, late, 18)])
    shop.flush()
    assert lineage.up_ids([early.pk]) == sorted([p3.pk, drums[0].pk, tank.pk])
    assert lineage.up_ids([late.pk]) == sorted([p3.pk, p4.pk, drums[0].pk, drums[1].pk, tank.pk])
    assert early.pk not in lineage.down_ids([p4.pk])


def test_an_exchanged_mast_is_in_each_dinghy_for_its_time() -> None:
    """MAST-031 taken off DIN-029 and fitted to DIN-034."""
    shop = Shop()
    lot = shop.lot()
    spool = shop.roll(lot, 100, at=0)
    mast, first, second, yard = shop.item("part"), shop.item("assembly"), shop.item("assembly"), shop.item("assembly")
    shop.act("lay", [(spool, mast, 7)], at=HOUR)
    shop.join(mast, first, at=2 * HOUR, until=5 * HOUR)
    shop.join(first, yard, at=6 * HOUR)
    shop.join(mast, second, at=5 * HOUR)
    held = shop.act("hold", deltas={lot: 0})
    shop.flush()
    Block.objects.create(site=shop.site, item=mast, why="quality", text="soft laminate", opened=held, from_us=held.happened_us)
    hops = {(h.src, h.dst): (h.happened_us, h.until_us) for h in lineage.down([lot.pk]) if h.kind == "join"}
    assert hops == {(mast.pk, first.pk): (2 * HOUR, 5 * HOUR), (mast.pk, second.pk): (5 * HOUR, None)}
    assert mast.pk in lineage.up_ids([first.pk]) and mast.pk not in lineage.up_ids([first.pk], live=True)
    assert mast.pk in lineage.up_ids([first.pk], at_us=3 * HOUR, live=True)
    assert mast.pk not in lineage.up_ids([yard.pk])  # the dinghy came into the yard's set without it
    assert lineage.open_blocks([first.pk, yard.pk]) == {}
    hit = lineage.open_blocks([second.pk])[second.pk][0]
    assert hit.sentence("DIN-034") == f"DIN-034 is on hold: {mast.code}, which is in it, was put on hold by Ines: soft laminate."


def test_a_repair_laid_into_a_built_in_part_is_in_the_boat() -> None:
    shop = Shop()
    lot = shop.lot("ug")
    pail = shop.roll(lot, 100, kind="can")
    rudder, boat = shop.item("part"), shop.item("assembly")
    shop.join(rudder, boat)
    shop.act("lay", [(pail, rudder, 5)])
    shop.flush()
    assert boat.pk in lineage.down_ids([lot.pk]) and lot.pk in lineage.up_ids([boat.pk])


def test_a_hold_on_a_component_reaches_what_was_cut_from_the_assembly_while_it_was_in() -> None:
    shop = Shop()
    lot = shop.lot()
    component, panel = shop.item("part"), shop.item("assembly")
    shop.roll(lot, 100, at=0)
    shop.join(component, panel, at=1, until=3)
    coupons = [shop.item("part") for _ in range(4)]
    for at, coupon in enumerate(coupons, start=1):
        shop.act("cut", [(panel, coupon, 1)], at=at)
    held = shop.act("hold", deltas={component: 0})
    shop.flush()
    Block.objects.create(site=shop.site, item=component, why="quality", opened=held, from_us=held.happened_us)
    assert set(lineage.open_blocks(c.pk for c in coupons)) == {coupons[0].pk, coupons[1].pk}


def test_a_voided_use_leads_nowhere() -> None:
    shop = Shop()
    lot = shop.lot()
    roll, part = shop.roll(lot, 100), shop.item("part")
    laid = shop.act("lay", [(roll, part, 5)])
    shop.void(laid)
    shop.flush()
    assert lineage.down_ids([lot.pk]) == [roll.pk] and lineage.up([part.pk]) == []


def test_a_trace_is_in_order_of_time_with_its_quantities() -> None:
    shop = Shop()
    lot = shop.lot()
    roll, kit, part = shop.roll(lot, 18_400_000), shop.item("kit", "cmm2"), shop.item("part")
    cut = shop.act("cut", [(roll, kit, 4_752_000, 594_000_000)])
    shop.act("lay", [(kit, part, 594_000_000)])
    shop.flush()
    hops = lineage.up([part.pk])
    assert [(h.src, h.dst, h.qty, h.got) for h in hops] == [
        (lot.pk, roll.pk, 18_400_000, None),
        (roll.pk, kit.pk, 4_752_000, 594_000_000),
        (kit.pk, part.pk, 594_000_000, None),
    ]
    assert (hops[1].act, hops[1].kind, hops[1].happened_us, hops[1].grade) == (cut.pk, "cut", cut.happened_us, "item")
    assert lineage.down([lot.pk]) == hops


@pytest.mark.parametrize("things", [1, 300])
def test_the_number_of_statements_does_not_grow(things: int) -> None:
    shop = Shop()
    lot = shop.lot()
    roll = shop.roll(lot, 10**9)
    parts = [shop.item("part") for _ in range(things)]
    for part in parts:
        shop.act("lay", [(roll, part, 5)])
    held = shop.act("hold", deltas={lot: 0})
    freed = shop.act("exempt", deltas={parts[0]: 0})
    shop.flush()
    ids = [part.pk for part in parts]
    for walk in (lineage.up, lineage.up_ids, lineage.down, lineage.down_ids, lineage.open_blocks):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            walk([*ids, lot.pk])
        assert len(asked) == 1
    block = Block.objects.create(site=shop.site, item=lot, why="quality", opened=held, from_us=1)
    Exemption.objects.create(block=block, item=parts[0], act=freed)
    with CaptureQueriesContext(connection) as asked:
        found = lineage.open_blocks([*ids, lot.pk])
    assert len(asked) == 2 and set(found) == {*ids[1:], lot.pk}


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("", "by Ines."),
        ("wet", "by Ines: wet."),
        ("wet.", "by Ines: wet."),
        ("wet. ", "by Ines: wet."),
        ("why so wet?", "by Ines: why so wet?"),
    ],
)
def test_the_sentence_of_a_hold_ends_with_one_full_stop(text: str, end: str) -> None:
    hit = lineage.BlockHit(1, 7, "G7-1", "quality", text, "Ines", 0)
    assert hit.sentence("G7-1", 7) == f"G7-1 was put on hold {end}"
    assert hit.sentence("K-1", 8) == f"K-1 is on hold: G7-1, which is in it, was put on hold {end}"


def test_nothing_asked_is_nothing_found() -> None:
    assert lineage.up([]) == [] and lineage.down_ids([]) == [] and lineage.open_blocks([]) == {}
