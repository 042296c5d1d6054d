"""Traces over random shops: against a shop played tick by tick, against networkx, and each against the other (R27).

Sources: networkx for the graph where time only runs forward; the tick-by-tick shop is this project's own oracle."""

from __future__ import annotations

import itertools
import random
from typing import Any

import networkx as nx
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Edge, Item
from layups.core.flows import Link
from layups.tracing import draw_back, draw_forward, lots_of_each, recall, shared_lots, trace_back, trace_forward
from tests.layups.test_flows import tick_by_tick
from tests.ledger.shop import Shop

pytestmark = pytest.mark.django_db
TICK = 1_000_000


def random_shop(seed: int, lots: int = 3, last: int = 12) -> tuple[Shop, list[Item]]:
    """Lots, rolls, mixes, parts and assemblies with records at random instants, also impossible ones that late scans give."""
    r = random.Random(seed)
    shop = Shop()
    sources = [shop.lot("ug") for _ in range(lots)]
    rolls = [shop.roll(lot, 10**9, at=0, kind="drum") for lot in sources for _ in range(2)]
    tanks = [shop.item("tank", "ug") for _ in range(2)]
    mixes = [shop.item("mix", "ug") for _ in range(3)]
    parts = [shop.item("part") for _ in range(4)]
    boats = [shop.item("assembly") for _ in range(2)]
    for level, below in ((rolls, tanks + mixes), (tanks, mixes), (mixes, parts)):
        for thing in level:
            for target in r.sample(below, min(len(below), 2)):
                shop.act("lay" if target in parts else "mix", [(thing, target, r.randrange(1, 900))], at=r.randrange(last) * TICK)
    for part in parts:
        for boat in r.sample(boats, r.randrange(3)):
            at = r.randrange(last)
            shop.join(part, boat, at=at * TICK, until=r.choice([None, (at + r.randrange(1, last)) * TICK]))
    shop.flush()
    return shop, [*sources, *rolls, *tanks, *mixes, *parts, *boats]


def links(last: int = TICK) -> list[Link]:
    rows = Edge.objects.filter(void=False).order_by("pk")
    return [
        Link(e.pk, e.src_id, e.dst_id, e.happened_us // last, e.kind == "join", None if e.until_us is None else e.until_us // last)
        for e in rows
    ]


@pytest.mark.parametrize("seed", range(12))
def test_a_forward_trace_finds_what_a_shop_played_tick_by_tick_finds(seed: int) -> None:
    _, things = random_shop(seed)
    for lot in things[:3]:
        assert {f.thing.id for f in trace_forward(lot.pk).found} == tick_by_tick(links(), lot.pk, 12)


@pytest.mark.parametrize("seed", range(12))
def test_back_and_forward_traces_are_each_others_inverse(seed: int) -> None:
    _, things = random_shop(100 + seed)
    lots, others = things[:3], things[3:]
    forward = {(lot.pk, f.thing.id) for lot in lots for f in trace_forward(lot.pk).found}
    back = {(x.lot.id, thing.pk) for thing in others for x in trace_back(thing.pk).lots}
    assert forward == back
    assert forward


@pytest.mark.parametrize("seed", range(6))
def test_where_time_runs_forward_the_trace_is_the_graphs_descendants(seed: int) -> None:
    r = random.Random(seed)
    shop = Shop()
    things = [shop.lot("ug"), *(shop.item("mix", "ug") for _ in range(14)), *(shop.item("part") for _ in range(10))]
    pairs = {tuple(sorted(r.sample(range(25), 2))) for _ in range(45)}
    for a, b in sorted(p for p in pairs if things[p[0]].kind != "part"):
        shop.act("mix", [(things[a], things[b], 5)], at=a * TICK)
    shop.flush()
    graph = nx.DiGraph([(e.src_id, e.dst_id) for e in Edge.objects.all()])
    for thing in things:
        if thing.pk in graph:
            assert {f.thing.id for f in trace_forward(thing.pk).found} == nx.descendants(graph, thing.pk)
            assert set(trace_back(thing.pk).things) == nx.ancestors(graph, thing.pk) | {thing.pk}


def big_shop(parts: int) -> tuple[Item, Item]:
    """One lot in many parts, through as many mixes."""
    shop = Shop()
    lot = shop.lot("ug")
    drum = shop.roll(lot, 10**12, at=0, kind="drum")
    made = []
    for n in range(parts):
        mix, part = shop.item("mix", "ug"), shop.item("part")
        shop.act("mix", [(drum, mix, 1000)], at=(10 + n) * TICK)
        shop.act("lay", [(mix, part, 1000)], at=(11 + n) * TICK)
        made.append(part)
    shop.flush()
    return lot, made[-1]


def queries(call: Any) -> int:
    with CaptureQueriesContext(
        connection,
    ) as found:
        call()
    return len(found)


@pytest.mark.parametrize("ask", ["forward", "back", "recall", "shared"])
def test_a_trace_asks_as_many_queries_for_three_parts_as_for_three_hundred(ask: str) -> None:
    counts = []
    for size in (3, 300):
        lot, part = big_shop(size)
        calls = {
            "forward": lambda lot=lot: trace_forward(lot.pk),
            "back": lambda part=part: trace_back(part.pk),
            "recall": lambda lot=lot: recall(lot.pk),
            "shared": lambda part=part: shared_lots([part.pk], [i.pk for i in Item.objects.filter(kind="part", site=part.site)][:-1]),
        }
        counts.append(queries(calls[ask]))
    assert counts[0] == counts[1]
    assert counts[0] <= 12


def test_an_exchanged_mast_is_told_with_its_dates_and_found_in_the_boat_that_has_it() -> None:
    shop = Shop()
    lot = shop.lot("ug")
    drum = shop.roll(lot, 10**9, at=0, kind="drum")
    mast, old, new = shop.item("part"), shop.item("assembly"), shop.item("assembly")
    shop.act("lay", [(drum, mast, 1_800)], at=1 * TICK)
    shop.join(mast, old, at=2 * TICK, until=5 * TICK)
    shop.join(mast, new, at=6 * TICK)
    shop.flush()
    found = {f.thing.id: f for f in trace_forward(lot.pk).found}
    assert (found[old.pk].from_us, found[old.pk].until_us) == (2 * TICK, 5 * TICK)
    assert found[old.pk].thing.where == "no longer in it"
    assert (found[new.pk].from_us, found[new.pk].until_us, found[new.pk].amount) == (6 * TICK, None, 1_800)
    (before,) = trace_back(old.pk).lots
    (after,) = trace_back(new.pk).lots
    assert (before.until_us, before.amount) == (5 * TICK, None)
    assert (after.until_us, after.amount, after.via) == (None, 1_800, (str(mast),))
    assert old.pk not in {f.thing.id for f in recall(lot.pk).existing}


def test_a_hull_from_a_topped_up_tank_names_both_lots_with_their_shares() -> None:
    """22 kg of one lot topped up with 38 kg of another, 18 kg drawn: 36.7 % and 63.3 %."""
    shop, kg = Shop(), 10**9
    a, b = shop.lot("ug"), shop.lot("ug")
    drums = [shop.roll(lot, 60 * kg, at=0, kind="drum") for lot in (a, b)]
    tank, hull = shop.item("tank", "ug"), shop.item("part")
    shop.act("pour", [(drums[0], tank, 22 * kg)], at=1 * TICK)
    shop.act("pour", [(drums[1], tank, 38 * kg)], at=2 * TICK)
    shop.act("lay", [(tank, hull, 18 * kg)], at=3 * TICK)
    shop.flush()
    lots = {x.lot.id: x for x in trace_back(hull.pk).lots}
    assert {pk: x.amount for pk, x in lots.items()} == {a.pk: 6_600_000_000, b.pk: 11_400_000_000}
    assert [round(float(x.share) * 100, 1) for x in lots.values()] == [36.7, 63.3]


def test_what_came_from_no_lot_is_named_as_such() -> None:
    shop = Shop()
    lot = shop.lot("ug")
    pail, drum, part = shop.item("can", "ug"), shop.roll(lot, 500, at=0, kind="drum"), shop.item("part")
    shop.act("receive", [], {pail: 900}, at=1 * TICK)
    shop.act("lay", [(pail, part, 40)], at=2 * TICK)
    shop.act("lay", [(drum, part, 60)], at=3 * TICK)
    shop.flush()
    trace = trace_back(part.pk)
    assert [(x.lot.id, x.amount) for x in trace.no_lot] == [(pail.pk, 40)]
    assert [(x.lot.id, x.amount) for x in trace.lots] == [(lot.pk, 60)]


def test_a_voided_record_is_in_no_trace() -> None:
    shop = Shop()
    lot = shop.lot("ug")
    drum, part = shop.roll(lot, 10**9, at=0, kind="drum"), shop.item("part")
    act = shop.act("lay", [(drum, part, 5)], at=1 * TICK)
    shop.void(act)
    shop.flush()
    assert [f.thing.id for f in trace_forward(lot.pk).found] == [drum.pk]
    assert trace_back(part.pk).lots == ()


def test_a_trace_of_nothing_says_so() -> None:
    with pytest.raises(Item.DoesNotExist):
        trace_forward(4711)
    with pytest.raises(Item.DoesNotExist):
        trace_back(4711)


def test_shared_lots_are_counted_among_bad_and_good_parts_and_no_person_is_among_them() -> None:
    shop = Shop()
    bad_lot, common = shop.lot("ug"), shop.lot("ug")
    drums = {lot: shop.roll(lot, 10**9, at=0, kind="drum") for lot in (bad_lot, common)}
    parts = [shop.item("part") for _ in range(6)]
    for n, part in enumerate(parts):
        shop.act("lay", [(drums[common], part, 5)], at=(1 + 2 * n) * TICK)
        if n < 3:
            shop.act("lay", [(drums[bad_lot], part, 5)], at=(2 + 2 * n) * TICK)
    shop.flush()
    first, second = shared_lots([p.pk for p in parts[:2]], [p.pk for p in parts[2:]])
    assert (first.lot.id, first.counts.bad_with, first.counts.bad, first.counts.good_with, first.counts.good) == (bad_lot.pk, 2, 2, 1, 4)
    assert (second.lot.id, second.rank) == (common.pk, 0)
    assert {x.lot.kind for x in (first, second)} == {"lot"}
    assert lots_of_each([parts[5].pk]) == {parts[5].pk: {common.pk}}


def test_the_picture_has_a_box_for_everything_and_a_line_for_every_way() -> None:
    lot, part = big_shop(20)
    forward = trace_forward(lot.pk)
    drawing = draw_forward(forward)
    assert len(drawing.boxes) == 1 + len(forward.found)
    assert len(drawing.wires) == len({(h.src, h.dst) for h in forward.hops})
    assert [b.names for b in drawing.boxes if b.root] == [(forward.root.number,)]
    for a, b in itertools.combinations(drawing.boxes, 2):
        assert a.x + a.w <= b.x or b.x + b.w <= a.x or a.y + a.h <= b.y or b.y + b.h <= a.y
    assert all(b.x >= 0 and b.x + b.w <= drawing.width and b.y >= 0 and b.y + b.h <= drawing.height for b in drawing.boxes)
    assert len(draw_back(trace_back(part.pk)).boxes) == 4
