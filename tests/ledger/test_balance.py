"""Mass balance and shares: the yard's own cases by hand, and random shops against a simulation of the vessels."""

from __future__ import annotations

import random
from collections import defaultdict
from fractions import Fraction
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.balance import Balance, balance, balances, composition, spread
from inventory.models import Item
from tests.ledger.shop import HOUR, Shop

pytestmark = pytest.mark.django_db
M, M2, KG = 10**6, 10**8, 10**9  # µm in a metre, 0.01 mm² in a square metre, µg in a kilogram
Holdings = dict[int, dict[int, Fraction]]


def terms(found: Balance) -> dict[str, int]:
    """The terms that are not nothing."""
    names = ("received", "adjusted", "on_hand", "used_in_parts", "used_otherwise", "scrapped", "returned", "sold", "residual")
    return {name: getattr(found, name) for name in names if getattr(found, name)}


def amounts(item: Item, at_us: int | None = None) -> dict[int, Fraction]:
    return {a.lot: a.amount for a in composition([item.pk], at_us)[item.pk]}


def shares(item: Item, at_us: int | None = None) -> dict[int, Fraction]:
    return {a.lot: a.share for a in composition([item.pk], at_us)[item.pk]}


def test_a_hull_from_a_topped_up_day_tank_carries_both_lots() -> None:
    """22 kg of P3 topped up with 38 kg of P4; the next hull takes 18 kg: 36.7 % and 63.3 %."""
    shop = Shop()
    p3, p4 = shop.lot("ug"), shop.lot("ug")
    drums = shop.roll(p3, 225 * KG, kind="drum"), shop.roll(p4, 225 * KG, kind="drum")
    tank, hull = shop.item("tank", "ug"), shop.item("part")
    shop.act("pour", [(drums[0], tank, 22 * KG)])
    before = shop.act("pour", [(drums[1], tank, 38 * KG)]).happened_us - 1
    shop.act("lay", [(tank, hull, 18 * KG)])
    shop.flush()
    assert amounts(hull) == {p3.pk: Fraction(22, 60) * 18 * KG, p4.pk: Fraction(38, 60) * 18 * KG}
    assert [f"{float(s):.1%}" for _, s in sorted(shares(hull).items())] == ["36.7%", "63.3%"]
    assert shares(tank, before) == {p3.pk: 1}
    assert shares(tank) == shares(hull)
    assert amounts(tank) == {p3.pk: Fraction(22, 60) * 42 * KG, p4.pk: Fraction(38, 60) * 42 * KG}
    found = balance(p3.pk)
    assert terms(found) == {"received": 225 * KG, "on_hand": 203 * KG + 15_400_000_000, "used_in_parts": 6_600_000_000}
    assert found.closes and found.where == {drums[0].pk: 203 * KG, tank.pk: Fraction(22, 60) * 42 * KG}


def test_a_tank_that_was_emptied_holds_the_new_lot_alone() -> None:
    shop = Shop()
    p3, p4 = shop.lot("ug"), shop.lot("ug")
    drums = shop.roll(p3, 30, kind="drum"), shop.roll(p4, 30, kind="drum")
    tank, first, second = shop.item("tank", "ug"), shop.item("part"), shop.item("part")
    shop.act("pour", [(drums[0], tank, 20)])
    shop.act("lay", [(tank, first, 20)])
    shop.act("pour", [(drums[1], tank, 10)])
    shop.act("lay", [(tank, second, 7)])
    shop.flush()
    assert amounts(second) == {p4.pk: 7} and amounts(first) == {p3.pk: 20}


def test_a_short_roll_is_an_adjustment() -> None:
    """A glass roll ticketed 100.0 m that ran out at 97.4 m."""
    shop = Shop()
    lot = shop.lot()
    roll, hull = shop.roll(lot, 100 * M), shop.item("part")
    shop.act("lay", [(roll, hull, 97_400_000)])
    shop.act("count", counted={roll: 0})
    shop.flush()
    assert terms(balance(lot.pk)) == {"received": 100 * M, "adjusted": -2_600_000, "used_in_parts": 97_400_000}


def test_a_counted_roll_a_kit_a_remnant_and_the_waste_close_to_the_millimetre() -> None:
    """18.40 m counted to 18.06; 6.20 m cut: kit 5.94 m², remnant 0.90 × 0.60 m, waste 1.27 m² of 1.25 m usable width."""
    shop = Shop()
    lot = shop.lot()
    roll, kit, remnant = shop.roll(lot, 18_400_000), shop.item("kit", "cmm2"), shop.item("remnant", "cmm2")
    part, panel = shop.item("part"), shop.item("part")
    count = shop.act("count", counted={roll: 18_060_000})
    shop.act("cut", [(roll, kit, 4_752_000, 594 * M2 // 100), (roll, remnant, 432_000, 54 * M2 // 100)], {roll: -6_200_000})
    shop.act("lay", [(kit, part, 594 * M2 // 200), (kit, panel, 594 * M2 // 200)])
    shop.act("scrap", deltas={remnant: -54 * M2 // 300})
    shop.flush()
    found = balance(lot.pk)
    assert terms(found) == {
        "received": 18_400_000,
        "adjusted": -340_000,
        "on_hand": 11_860_000 + 288_000,
        "used_in_parts": 4_752_000,
        "scrapped": 1_016_000 + 144_000,
    }
    assert found.closes and found.where == {roll.pk: 11_860_000, remnant.pk: 288_000}
    assert amounts(part) == amounts(panel) == {lot.pk: 2_376_000}
    early = balance(lot.pk, count.happened_us)
    assert terms(early) == {"received": 18_400_000, "adjusted": -340_000, "on_hand": 18_060_000} and early.closes
    shop.void(count)
    shop.flush()
    assert terms(balance(lot.pk))["on_hand"] == 12_200_000 + 288_000 and "adjusted" not in terms(balance(lot.pk))


def test_panels_returns_sales_and_corrections_have_their_own_words() -> None:
    shop = Shop()
    lot = shop.lot()
    rolls = [shop.roll(lot, 100 * M) for _ in range(2)]
    shop.act("use", deltas={rolls[0]: -2_400_000})  # test panel and training: in no boat
    shop.act("sell", deltas={rolls[0]: -10 * M})
    shop.act("adjust", deltas={rolls[0]: 500_000})
    shop.act("scrap", deltas={rolls[0]: -1 * M})
    shop.act("return", deltas={rolls[1]: -100 * M})
    shop.flush()
    expected = {"received": 200 * M, "adjusted": 500_000, "on_hand": 87_100_000, "used_otherwise": 2_400_000}
    assert terms(balance(lot.pk)) == expected | {"scrapped": M, "returned": 100 * M, "sold": 10 * M}


def test_a_mast_between_top_ups_shows_both_mixes_and_both_spools() -> None:
    """A winding bath topped up four times, a spool spliced at 41 m."""
    shop = Shop()
    resins, hardener = [shop.lot("ug") for _ in range(2)], shop.lot("ug")
    drums, can = [shop.roll(lot, 50 * KG, kind="drum") for lot in resins], shop.roll(hardener, 16 * KG, kind="can")
    tows = [shop.lot() for _ in range(2)]
    spools = [shop.roll(lot, 5000 * M, kind="spool") for lot in tows]
    bath, mast = shop.item("tank", "ug"), shop.item("part")
    for n in range(5):
        mix = shop.item("mix", "ug")
        shop.act("mix", [(drums[n % 2], mix, 1_000_000_000), (can, mix, 320_000_000)])
        shop.act("pour", [(mix, bath, 1_320_000_000)])
        if n < 4:
            shop.act("lay", [(bath, mast, 900_000_000)])
    shop.act("lay", [(spools[0], mast, 41 * M), (spools[1], mast, 4209 * M)])
    shop.flush()
    held = amounts(mast)
    assert set(held) == {*(lot.pk for lot in [*resins, hardener, *tows])}
    assert sum(held[lot.pk] for lot in [*resins, hardener]) == 4 * 900_000_000
    assert held[hardener.pk] / (held[resins[0].pk] + held[resins[1].pk]) == Fraction(32, 100)
    assert (held[tows[0].pk], held[tows[1].pk]) == (41 * M, 4209 * M)
    assert shares(mast)[tows[0].pk] == Fraction(41, 4250)
    assert all(found.closes for found in balances([lot.pk for lot in [*resins, hardener, *tows]]).values())


def test_rods_cut_from_a_run_share_what_went_into_it_by_length() -> None:
    """90.0 m of rod, 4.30 kg of resin, 70 pieces of 1.20 m, 6.0 m scrapped before and after."""
    shop = Shop()
    lot = shop.lot("ug")
    drum, run = shop.roll(lot, 225 * KG, kind="drum"), shop.item("part", "cmm2")
    shop.act("start", deltas={run: 90 * M})
    shop.act("lay", [(drum, run, 4_300_000_000)])
    shop.act("scrap", deltas={run: -3 * M})
    rods = [shop.item("part") for _ in range(70)]
    shop.act("cut", [(run, rod, 1_200_000, 1) for rod in rods], {run: -84 * M} | dict.fromkeys(rods, 1))
    shop.act("scrap", deltas={run: -3 * M})
    shop.flush()
    assert amounts(rods[0]) == {lot.pk: Fraction(4_300_000_000 * 12, 900)}
    assert terms(balance(lot.pk)) == {"received": 225 * KG, "on_hand": 220_700_000_000, "used_in_parts": 4_300_000_000}
    found = spread(lot.pk)
    assert found[rods[69].pk] * 70 + found[run.pk] + found[drum.pk] == 225 * KG
    assert found[run.pk] == Fraction(4_300_000_000 * 6, 90)


def test_a_boat_holds_what_its_components_hold_while_they_are_in_it() -> None:
    shop = Shop()
    lot = shop.lot()
    roll = shop.roll(lot, 100, at=0)
    mast, hull, first, second = shop.item("part"), shop.item("part"), shop.item("assembly"), shop.item("assembly")
    shop.act("lay", [(roll, mast, 7), (roll, hull, 20)], at=HOUR)
    shop.join(mast, first, at=2 * HOUR, until=5 * HOUR)
    shop.join(hull, first, at=2 * HOUR)
    shop.join(mast, second, at=5 * HOUR)
    shop.act("lay", [(roll, mast, 1)], at=6 * HOUR)  # a repair, in the second boat
    shop.act("ship", deltas={second: -1}, at=7 * HOUR)
    shop.flush()
    assert amounts(first) == {lot.pk: 20} and amounts(second) == {lot.pk: 8}
    assert amounts(first, 3 * HOUR) == {lot.pk: 27} and amounts(second, 3 * HOUR) == {}
    assert amounts(first, 5 * HOUR) == {lot.pk: 20}
    assert spread(lot.pk) == {roll.pk: 72, mast.pk: 8, hull.pk: 20, first.pk: 20, second.pk: 8}
    assert terms(balance(lot.pk)) == {"received": 100, "on_hand": 72, "used_in_parts": 28}


def test_a_draw_beyond_the_book_shows_as_less_than_nothing_until_a_count_settles_it() -> None:
    shop = Shop()
    lots = shop.lot("ug"), shop.lot("ug")
    drums = shop.roll(lots[0], 10, kind="drum"), shop.roll(lots[1], 30, kind="drum")
    tank, part, late = shop.item("tank", "ug"), shop.item("part"), shop.item("part")
    shop.act("pour", [(drums[0], tank, 10)])
    shop.act("lay", [(tank, part, 12)])
    shop.act("pour", [(drums[1], tank, 10)])
    drawn = shop.act("lay", [(tank, late, 4)])
    shop.act("count", counted={tank: 5})
    shop.flush()
    assert amounts(part) == {lots[0].pk: 12} and amounts(late) == {lots[1].pk: 4}
    assert balance(lots[0].pk, drawn.happened_us).where == {tank.pk: -2}
    assert balance(lots[1].pk, drawn.happened_us).where == {drums[1].pk: 20, tank.pk: 6}
    assert terms(balance(lots[0].pk)) == {"received": 10, "adjusted": 2, "used_in_parts": 12}
    assert terms(balance(lots[1].pk)) == {"received": 30, "adjusted": -1, "on_hand": 25, "used_in_parts": 4}


def test_what_came_from_no_lot_is_its_own_source() -> None:
    """Opening stock without a lot, also where it was used before it was recorded."""
    shop = Shop()
    roll, part, seen = shop.item("roll"), shop.item("part"), shop.item("roll", stub=True)
    seen.material = None
    shop.act("receive", deltas={roll: 50})
    shop.act("lay", [(roll, part, 20), (seen, part, 3)])
    shop.flush()
    assert amounts(part) == {roll.pk: 20, seen.pk: 3} and shares(part) == {roll.pk: 1, seen.pk: 1}
    assert terms(balance(roll.pk)) == {"received": 50, "on_hand": 30, "used_in_parts": 20}
    assert terms(balance(seen.pk)) == {"on_hand": -3, "used_in_parts": 3}


def test_regrind_and_offcuts_leave_the_lot_they_came_from() -> None:
    shop = Shop()
    lot, regrind = shop.lot("ug"), shop.lot("ug")
    bag, part, box = shop.roll(lot, 100, kind="can"), shop.item("part"), shop.item("box", "ug")
    shop.act("start", deltas={part: 1})
    shop.act("lay", [(bag, part, 30)])
    shop.act("cut", [(part, box, 1, 10)])
    shop.act("cut", [(bag, regrind, 15), (box, regrind, 10)])
    new = shop.roll(regrind, 25, kind="can")
    shop.flush()
    assert terms(balance(lot.pk)) == {"received": 100, "on_hand": 55, "used_in_parts": 30, "used_otherwise": 15}
    assert terms(balance(regrind.pk)) == {"received": 25, "on_hand": 25} and amounts(new) == {regrind.pk: 25}


def test_rounding_leaves_a_residual_that_is_shown() -> None:
    shop = Shop()
    lots = [shop.lot("ug") for _ in range(2)]
    mix, part = shop.item("mix", "ug"), shop.item("part")
    shop.act("mix", [(shop.roll(lot, 1, at=0, kind="can"), mix, 1) for lot in lots], at=HOUR)
    shop.act("lay", [(mix, part, 1)])
    shop.flush()
    found = balance(lots[0].pk)
    assert terms(found) == {"received": 1, "residual": 1} and found.closes
    assert found.exact["used_in_parts"] == found.exact["on_hand"] == Fraction(1, 2)


def test_a_mix_that_weighs_less_than_what_went_in_still_carries_all_of_it() -> None:
    shop = Shop()
    lots = [shop.lot("ug") for _ in range(2)]
    mix, part = shop.item("mix", "ug"), shop.item("part")
    shop.act("mix", [(shop.roll(lot, 10, at=0, kind="can"), mix, 10) for lot in lots], {mix: 16}, at=HOUR)
    shop.act("lay", [(mix, part, 8)])
    shop.flush()
    assert amounts(part) == dict.fromkeys((lot.pk for lot in lots), 5)
    shop.act("lay", [(mix, part, 8)])
    shop.flush()
    assert amounts(mix) == {} | dict.fromkeys((lot.pk for lot in lots), 0) and set(shares(mix).values()) == {Fraction(1, 2)}


def test_a_void_counts_for_nothing_itself() -> None:
    shop = Shop()
    lot = shop.lot()
    roll = shop.roll(lot, 10)
    wrong = shop.act("scrap", deltas={roll: -4})
    shop.act("void", deltas={roll: 4}, voids=wrong)
    shop.flush()
    assert terms(balance(lot.pk)) == {"received": 10, "on_hand": 10}


@pytest.mark.parametrize("things", [1, 60])
def test_the_number_of_statements_does_not_grow(things: int) -> None:
    shop = Shop()
    lots = [shop.lot() for _ in range(things)]
    parts = [shop.item("part") for _ in range(things)]
    for lot, part in zip(lots, parts, strict=True):
        shop.act("lay", [(shop.roll(lot, 10), part, 5)])
    shop.flush()
    with CaptureQueriesContext(connection) as asked:
        assert len(balances([lot.pk for lot in lots])) == things
    assert len(asked) == 3
    with CaptureQueriesContext(connection) as asked:
        assert len(composition([part.pk for part in parts])) == things
    assert len(asked) == 3


def test_a_lot_that_is_not_there_is_an_error() -> None:
    with pytest.raises(Item.DoesNotExist, match="no such lot"):
        balance(7)


# --- random shops ----------------------------------------------------------------------------------------------------


class Simulation:
    """A shop in which every vessel is stirred: amounts by lot, moved in proportion, entered where they end up."""

    def __init__(self, rng: random.Random, shop: Shop) -> None:
        self.rng, self.shop = rng, shop
        self.holds: Holdings = {}
        self.size: dict[int, int] = {}
        self.ends: dict[str, dict[int, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
        self.lots = [shop.lot("ug") for _ in range(3)]
        self.acts: list[dict[str, Any]] = []
        self.stock: list[Item] = []
        self.parts = [shop.item("part") for _ in range(4)]
        for part in self.parts:
            self.holds[part.pk] = defaultdict(Fraction)

    def new(self, kind: str) -> Item:
        thing = self.shop.item(kind, "ug")
        self.stock.append(thing)
        self.holds[thing.pk], self.size[thing.pk] = defaultdict(Fraction), 0
        return thing

    def draw(self, thing: Item, qty: int) -> dict[int, Fraction]:
        part = Fraction(qty, self.size[thing.pk])
        taken = {lot: amount * part for lot, amount in self.holds[thing.pk].items()}
        for lot, amount in taken.items():
            self.holds[thing.pk][lot] -= amount
        self.size[thing.pk] -= qty
        return taken

    def put(self, where: dict[int, Fraction], what: dict[int, Fraction], sign: int = 1) -> None:
        for lot, amount in what.items():
            where[lot] += sign * amount

    def step(self) -> None:
        """One thing happens, in the simulation and in the records to be."""
        full = [thing for thing in self.stock if self.size[thing.pk] > 0]
        kind = self.rng.choice(["receive", "pour", "pour", "mix", "lay", "lay", "cut", "use", "scrap", "return", "sell", "adjust", "count"])
        if kind == "receive" or not full:
            lot, drum, qty = self.rng.choice(self.lots), self.new("drum"), self.rng.randint(50, 500)
            self.holds[drum.pk][lot.pk] += qty
            self.size[drum.pk] = qty
            self.ends["received"][lot.pk] += qty
            return self.tell("receive", [(lot, drum, qty)], {lot: 0, drum: qty})
        thing = self.rng.choice(full)
        qty = self.rng.randint(1, self.size[thing.pk])
        if kind in ("pour", "mix"):
            others = [thing for thing in self.stock if thing.kind in ("tank", "mix")]
            target = self.new("mix") if kind == "mix" or not others or self.rng.random() < 0.2 else self.rng.choice(others)
            sources = {thing, *(self.rng.sample(full, min(2, len(full))) if kind == "mix" else [])} - {target}
            flows = []
            for source in sorted(sources, key=lambda s: s.pk):
                qty = self.rng.randint(1, self.size[source.pk])
                self.put(self.holds[target.pk], self.draw(source, qty))
                self.size[target.pk] += qty
                flows.append((source, target, qty))
            return self.tell(kind, flows) if flows else None
        if kind in ("lay", "cut"):
            waste = self.rng.randint(0, self.size[thing.pk] - qty) if kind == "cut" else 0
            into = self.rng.choice(self.parts)
            taken = self.draw(thing, qty)
            self.put(self.holds[into.pk], taken)
            self.put(self.ends["used_in_parts"], taken)
            if waste:
                self.put(self.ends["scrapped"], self.draw(thing, waste))
            return self.tell(kind, [(thing, into, qty)], {thing: -qty - waste})
        if kind == "count":
            counted = self.rng.randint(0, 2 * self.size[thing.pk])
            qty = self.size[thing.pk] - counted
            self.put(self.ends["adjusted"], self.draw(thing, qty), -1)
            return self.tell(kind, [], {}, counted={thing: counted})
        if kind == "adjust" and self.rng.random() < 0.5:
            qty = -qty
        word = {"use": "used_otherwise", "return": "returned", "sell": "sold", "adjust": "adjusted"}.get(kind, "scrapped")
        self.put(self.ends[word], self.draw(thing, qty), -1 if kind == "adjust" else 1)
        return self.tell(kind, [], {thing: -qty})

    def tell(self, kind: str, edges: list[Any], deltas: dict[Item, int] | None = None, **more: Any) -> None:
        self.acts.append({"kind": kind, "edges": edges, "deltas": deltas, "at": HOUR * (1 + len(self.acts)), **more})


@pytest.mark.parametrize("seed", range(6))
def test_every_balance_closes_and_agrees_with_stirred_vessels_whatever_the_order_of_arrival(seed: int) -> None:
    rng = random.Random(seed)
    shop = Shop()
    simulations = [Simulation(rng, shop) for _ in range(8)]
    for one in simulations:
        for _ in range(rng.randint(5, 45)):
            one.step()
        rng.shuffle(one.acts)
        for act in one.acts:
            wrong = shop.act(**act)
            if rng.random() < 0.1:  # typed twice, one of them voided
                shop.act(**act)
                shop.void(wrong)
    shop.flush()
    for one in simulations:
        lots = [lot.pk for lot in one.lots]
        held = composition([thing.pk for thing in [*one.stock, *one.parts]])
        for lot, found in balances(lots).items():
            assert found.closes
            for term, total in found.exact.items():
                if term != "on_hand":
                    assert total == one.ends[term].get(lot, 0), (term, lot)
            assert found.where == {thing.pk: one.holds[thing.pk][lot] for thing in one.stock if one.holds[thing.pk].get(lot)}
            in_parts = sum(a.amount for part in one.parts for a in held[part.pk] if a.lot == lot)
            assert in_parts == found.exact["used_in_parts"]
            things = spread(lot)
            assert sum(things.values()) == found.exact["on_hand"] + in_parts
        for thing in [*one.stock, *one.parts]:
            kept = {lot: amount for lot, amount in one.holds[thing.pk].items() if amount}
            assert {a.lot: a.amount for a in held[thing.pk] if a.amount} == kept
