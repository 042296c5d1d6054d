"""What the built history must show. Figures are the demo shop's own: invented, no outside source."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import pytest

from inventory import lineage
from inventory.balance import balance, balances, composition
from inventory.clock import now_us
from inventory.core.reasons import Refused
from inventory.models import Act, Edge, Extension, Finding, Item, Leg, Lot, Nonconformance, Reading, Refusal
from inventory.reads.quality import inbox
from inventory.recording.rebuild import rebuild
from inventory.verbs import mixing, moving
from inventory.verbs.registry import Call, Outcome, perform
from layups.demo import history
from layups.demo.hands import KG, G
from layups.demo.hulls import GROUPS, LAST, hulls
from layups.demo.master import Yard
from layups.demo.prepreg import BATCHES
from layups.demo.script import code_of, key_of
from layups.demo.story import tell
from layups.models import Defect, Part, Shipment
from layups.reads.parts import sides
from layups.tracing import recall, shared_lots, trace_back, trace_forward
from layups.verbs import inspecting

from . import named
from .conftest import MONDAY, NOW

pytestmark = [pytest.mark.slow, pytest.mark.once, pytest.mark.django_db, pytest.mark.usefixtures("whole")]


def lot(number: str) -> int:
    return Lot.objects.get(number=number).item_id


def act(yard: Yard, who: str, verb: str, params: object, at_us: int, **more: object) -> Outcome:
    return perform(verb, Call(yard.who(who), at_us, key_of(f"test {verb} {at_us}"), **more), params)  # type: ignore[arg-type]


def measure_the_last_hull(yard: Yard) -> None:
    readings = "27 29 26 31 28 30 25 29 28 27"
    act(yard, "Odile", "inspect", inspecting.Inspect(code_of("CAN-063"), "hardness", readings), MONDAY.at(0, "09:40"))


# --- the planted lot ------------------------------------------------------------------------------


def test_the_planted_lot_balances_to_the_gram() -> None:
    """225.00 = hulls 170.40 + hatches 3.30 + repairs 2.20 + rod 8.60 + left in pots 9.60 + in baths 4.40 + 26.00 + sample 0.50."""
    found = balance(lot("V6"))
    assert found.closes and found.residual == 0
    assert (found.received, found.adjusted) == (225 * KG, 0)
    assert found.used_in_parts == 170_400 * G + 3_300 * G + 2_200 * G + 8_600 * G
    assert found.scrapped == 9_600 * G + 4_400 * G
    assert found.on_hand == 26 * KG + 500 * G
    assert {Item.objects.get(pk=pk).mark: amount for pk, amount in found.where.items() if amount} == {"V6-1": 26 * KG, "V6 sample": 500 * G}
    assert (found.used_otherwise, found.returned, found.sold) == (0, 0, 0)


def test_each_hull_of_the_planted_lot_holds_the_same_mass_of_it() -> None:
    numbers = [h.mark for h in hulls() if h.group.resin == "V6"]
    parts = {p.pk: p.number for p in Part.objects.filter(number__in=numbers)}
    held = composition(parts)
    v6 = lot("V6")
    masses = {parts[pk]: [a.amount for a in amounts if a.lot == v6] for pk, amounts in held.items()}
    assert masses == {number: [Fraction(14_200 * G)] for number in numbers} and len(masses) == 12


def test_forward_from_the_planted_lot_there_are_two_hundred_and_four_things() -> None:
    found = trace_forward(lot("V6")).found
    kinds = Counter(f.thing.design or f.thing.kind for f in found)
    assert len(found) == 204
    assert kinds == {"ROD": 140, "mix": 39, "CAN": 12, "REV": 4, "HAT": 3, "RUN": 2, "BOAT": 2, "drum": 1, "tank": 1}


def test_the_recall_file_lists_what_still_exists_and_eight_customers() -> None:
    found = recall(lot("V6"))
    assert len(found.existing) == 163
    assert len(found.customers) == 8
    assert Counter(f.thing.kind for f in found.used_up) == {"mix": 39, "part": 2}


def test_ninety_six_rods_went_out_and_a_piece_leads_back() -> None:
    shipped = Shipment.objects.filter(part__design__code="ROD", part__number__regex=r"^[56]-")
    assert Counter(shipped.values_list("customer__name", flat=True)) == {"Ferrel Rowing Club": 60, "Brae Loch Outfitters": 36}
    for number in ("6-26", "CAN-046"):
        part = Part.objects.get(number=number)
        assert lot("V6") in {x.lot.id for x in trace_back(part.pk).lots}
        assert part.pk in {f.thing.id for f in trace_forward(lot("V6")).found}


def test_every_pot_of_the_planted_lot_gelled_late() -> None:
    mixes = {f.thing.id for f in trace_forward(lot("V6")).found if f.thing.kind == "mix"}
    times = Leg.objects.filter(item__in=mixes, act__kind__in=("mix", "gel")).order_by("item_id", "seq")
    told = list(times.values_list("item_id", "act__happened_us"))
    minutes = [round((gel - mix) / 60_000_000) for (_, mix), (_, gel) in zip(told[::2], told[1::2], strict=True)]
    assert len(minutes) == 39
    assert min(minutes) >= 47 and max(minutes) <= 58


# --- what the bad hulls share ---------------------------------------------------------------------


def test_before_the_last_hull_is_measured_nine_of_sixty_three_are_soft() -> None:
    site = Part.objects.get(number="CAN-001").item.site
    bad, good = sides(site, "CAN", "soft laminate")
    assert (len(bad), len(bad) + len(good)) == (9, 63)


def test_the_soft_hulls_share_what_the_table_says(whole: Yard) -> None:
    """8/11 against 2/53, and the decoys: counts of the table, from the records."""
    measure_the_last_hull(whole)
    bad, good = sides(whole.site, "CAN", "soft laminate")
    assert (len(bad), len(good)) == (10, 54)
    rows = {row.lot.number: row.counts for row in shared_lots(bad, good)}
    counts = {name: (rows[name].bad_with, rows[name].bad_with + rows[name].good_with) for name in ("V6", "K3", "X4", "G5", "V2", "V4")}
    assert counts == {"V6": (8, 11), "K3": (7, 15), "X4": (7, 17), "G5": (6, 14), "V2": (1, 9), "V4": (1, 8)}
    assert shared_lots(bad, good)[0].lot.number == "V6"


def test_the_groups_of_the_table_are_in_the_records() -> None:
    """Each hull holds the resin, core, peroxide and glass of its group, was built by its crew and cured on its rack."""
    for hull in hulls():
        part = Part.objects.get(number=hull.mark)
        numbers = {x.lot.number for x in trace_back(part.pk).lots}
        g = hull.group
        assert {g.resin, g.core, g.peroxide, g.biax} <= numbers, hull.mark
        assert len(numbers & {f"V{n}" for n in range(1, 8)}) == 1, hull.mark
        lay = Leg.objects.filter(item=part.pk, act__kind="lay").select_related("act__person").first()
        assert lay is not None and lay.act.person.name == hull.builder
        steps = Leg.objects.filter(item=part.pk, act__kind="step", location__code__startswith="WARM")
        loaded = list(steps.values_list("location__code", flat=True))
        assert loaded == ([] if g is LAST else [f"WARM{g.rack}"])


def test_the_crews_racks_and_bays_of_the_table_add_up() -> None:
    inspected = [h for h in hulls() if h.group is not LAST]
    assert len(inspected) == 64 and sum(h.soft for h in inspected) == 10

    def split(picked: list[bool]) -> tuple[int, int]:
        return sum(h.soft for h, p in zip(inspected, picked, strict=True) if p), sum(picked)

    assert split([h.group.crew == "B" for h in inspected]) == (6, 21)
    assert split([h.group.rack == 2 for h in inspected]) == (6, 32)
    assert split([h.group.cold for h in inspected]) == (8, 27)
    assert all((h.temp_mc < 19_500) == h.group.cold for h in inspected) and min(h.temp_mc for h in inspected) >= 18_000
    assert sorted(n for g in GROUPS.values() for n in g.numbers) == list(range(1, 65))


# --- the other truths -----------------------------------------------------------------------------


def test_a_day_tank_that_was_topped_up_gives_both_lots_with_their_shares() -> None:
    part = Part.objects.get(number="DIN-017")
    shares = {Lot.objects.get(item=a.lot).number: a.share for a in composition([part.pk])[part.pk] if a.lot in (lot("P3"), lot("P4"))}
    assert shares == {"P3": Fraction(22, 60), "P4": Fraction(38, 60)}


def test_a_short_roll_is_an_adjustment_and_a_claim() -> None:
    leg = Leg.objects.select_related("act").get(item__mark="G3-2", act__kind="count")
    assert leg.counted == 0 and '"claim":true' in leg.act.body
    assert balance(lot("G3")).adjusted == -2_600_000


def test_a_mast_is_followed_from_boat_to_boat_with_dates() -> None:
    edges = Edge.objects.filter(src__mark="MAST-031", kind="join").order_by("happened_us").values_list("dst__mark", "until_us")
    assert list(edges) == [("BOAT-029", MONDAY.at(-63, "10:00")), ("BOAT-034", None)]
    boat = Item.objects.get(mark="BOAT-034")
    assert Item.objects.get(mark="MAST-031").pk in lineage.up_ids([boat.pk])


def test_a_spliced_spool_and_a_topped_up_bath_are_all_in_the_mast() -> None:
    part = Part.objects.get(number="MAST-023")
    laid = set(Edge.objects.filter(dst=part.pk, kind="lay").values_list("src__mark", flat=True))
    assert {"TW-S1", "TW-S2", *(f"MAST-023 bath {n}" for n in range(1, 6))} <= laid


def test_a_power_cut_charges_what_was_in_the_freezer_and_nothing_else() -> None:
    """Six rolls and boxes were there; what had been binned before does not count."""
    legs = Leg.objects.filter(act__kind="expose")
    binned = Leg.objects.filter(act__kind="scrap", act__happened_us__lt=MONDAY.at(-52, "22:50")).values("item")
    there = set(legs.exclude(item__in=binned).values_list("item__mark", flat=True))
    assert len(there) == 6 and {"FA-9-1", "FA-9-2"} <= there and "U-3" not in there
    assert named.hours(named.life("FA-9-2", "out", NOW).used) == "8 h 05"


def test_a_hull_whose_gelcoat_was_too_old_is_refused_at_the_scan_and_abraded(whole: Yard) -> None:
    """31 h after the gelcoat of the day before; abraded, then laminated, without a finding. Every other hull was in time."""
    (refusal,) = Refusal.objects.filter(reasons__contains="window.")
    assert "31 h 00 ago, at most 24 h" in refusal.reasons and "DIN-022" in refusal.reasons
    part = Part.objects.get(number="DIN-022")
    happened = Leg.objects.filter(item=part.pk).order_by("act__happened_us").values_list("act__kind", flat=True)
    assert list(happened)[:6] == ["start", "lay", "defect", "dispose", "step", "lay"]
    assert not Finding.objects.filter(code__startswith="window.").exists()
    judged = Leg.objects.filter(body__contains='"windows":', act__kind="lay")
    assert judged.values("item").distinct().count() == 65 + 38


def test_prepreg_was_laid_in_a_room_that_was_measured(whole: Yard) -> None:
    assert not Finding.objects.filter(code__startswith="room.").exists()
    assert Reading.objects.filter(location__code="CLEAN", rh_ppm__isnull=False).count() == len(BATCHES) + 1


def test_refused_intentions_stand_in_the_log_and_changed_nothing() -> None:
    assert Refusal.objects.filter(reasons__contains="compat.fibre_resin").count() == 2
    (club,) = Refusal.objects.filter(reasons__contains="owner.other")
    assert "Ferrel Rowing Club" in club.reasons
    assert not Edge.objects.filter(src__mark="CO-1").exists()
    assert Refusal.objects.filter(verb="mix", reasons__contains="life.over").count() == 1


def test_the_late_scan_of_a_roll_makes_one_case_of_kit_and_part(whole: Yard) -> None:
    """161 h of 120 h at the cut, over since Saturday 15:00: one nonconformance that names the kit and the rudder."""
    before = set(Nonconformance.objects.filter(closed_us__isnull=True).values_list("pk", flat=True))
    then = MONDAY.at(-24, "15:00")
    late = {"stance": "observed", "happened_us": then, "claimed_us": then, "reason": "tablet was offline"}
    act(whole, "Bram", "move", moving.Move(code_of("U-2"), "CLEAN"), MONDAY.at(0, "09:05"), **late)
    found = Finding.objects.filter(closed_us__isnull=True, code__startswith="life.over")
    cut = found.get(item__mark="K-22", leg__act__kind="cut")
    assert "161 h 00 of 120 h" in cut.text and cut.numbers.count(str(MONDAY.at(-23, "15:00"))) == 1
    cases = set(Nonconformance.objects.filter(closed_us__isnull=True).values_list("pk", flat=True)) - before
    assert len(cases) == 1
    touched = {f.item.mark for f in Nonconformance.objects.get(pk=cases.pop()).findings.filter(closed_us__isnull=True)}
    assert {"K-22", "RUD-061"} <= touched
    assert Shipment.objects.get(part__number="RUD-061").customer.name == "Skerrow Sailing School"


def test_a_tripped_oven_did_not_stop_the_clocks() -> None:
    kinds = Leg.objects.filter(item__mark="RUD-061", act__kind__startswith="cure").order_by("seq").values_list("act__kind", flat=True)
    assert list(kinds) == ["cure_on", "cure_abort", "cure_on", "cure_off"]


def test_a_drum_was_extended_by_two_people_before_it_was_used_on() -> None:
    row = Extension.objects.get(item__mark="V5-1")
    assert (row.asked_by.name, row.approved_by.name) == ("Odile", "Marek")
    used = Leg.objects.get(item__mark="CAN-045 pot 1", act__kind="mix").act.happened_us
    assert row.old_us < used < row.until_us


def test_glass_for_training_counts_in_the_balance_and_is_in_no_boat() -> None:
    assert balance(lot("G0")).used_otherwise == 2_400_000


# --- the whole ------------------------------------------------------------------------------------


def test_the_named_things_are_as_on_every_monday() -> None:
    named.check_quantities_and_places()
    named.check_out_times(MONDAY)
    named.check_limits(MONDAY)
    named.check_map_owner_and_orders(MONDAY)
    named.check_open_work(MONDAY)


def test_every_product_was_built_as_often_as_the_shop_says() -> None:
    cured = Leg.objects.filter(act__kind="cure_off").values("item")
    built = Counter(Part.objects.filter(item__in=cured).values_list("design__code", flat=True))
    assert (built["CAN"], built["DIN"], built["RUD"], built["DAG"], built["MAST"], built["TIL"]) == (64, 38, 72, 40, 36, 24)
    assert (built["RUN"], built["HAT"], built["HAP"], built["REP"] + built["REV"]) == (6, 22, 6, 18)
    assert Part.objects.filter(design__code="ROD").count() == 420
    assert Part.objects.filter(design__code="BOAT").count() == 30


def test_every_lot_of_the_shop_balances() -> None:
    lots = list(Lot.objects.values_list("pk", flat=True))
    assert len(lots) > 100
    assert [pk for pk, found in balances(lots).items() if not found.closes] == []


def test_refolding_everything_changes_nothing(whole: Yard) -> None:
    assert rebuild(whole.site, NOW).differences == []


def test_quality_has_a_clean_inbox_on_the_monday(whole: Yard) -> None:
    found = inbox(whole.site.pk)
    assert (found.waiting, found.cases, found.holds, found.approvals) == ((), (), (), ())


def test_soft_hulls_that_went_out_came_back_as_defects() -> None:
    soft = set(Defect.objects.filter(code="soft laminate").values_list("part__number", flat=True))
    assert soft == {h.mark for h in hulls() if h.soft} - {"CAN-063"}


def test_claimed_times_are_the_demos_and_stored_times_the_databases() -> None:
    first = Act.objects.filter(kind="receive").order_by("happened_us").first()
    assert first is not None and first.recorded_us == MONDAY.at(-546, "06:00")
    assert abs(first.stored_us - now_us()) < 3_600_000_000


def test_the_plan_is_the_same_every_time(whole: Yard) -> None:
    assert history.write(whole).script.events == history.write(whole).script.events


def test_the_story_told_twice_adds_nothing(whole: Yard) -> None:
    once = list(tell(MONDAY.at(0, "08:00")))
    acts, refusals = Act.objects.count(), Refusal.objects.count()
    again = list(tell(MONDAY.at(2, "11:00")))
    assert (Act.objects.count(), Refusal.objects.count()) == (acts, refusals)
    assert [line.partition(" – told")[0].partition(", logged")[0] for line in once] == [
        line.partition(" – told")[0].partition(", told before")[0] for line in again
    ]
    assert sum("nothing added" in line for line in again) == 9


def test_a_pot_is_refused_from_the_planted_drum_once_it_is_held(whole: Yard) -> None:
    from inventory.verbs import holding

    act(whole, "Odile", "hold", holding.Hold(code_of("V6-1"), "soft laminate"), MONDAY.at(0, "10:00"))
    parts = (mixing.Component(code_of("V6-1"), "1000 g"), mixing.Component(code_of("X5"), "15 g"))
    with pytest.raises(Refused) as refused:
        act(whole, "Bram", "mix", mixing.Mix(parts, "BAY1", "VE", "21.0", "no pot"), MONDAY.at(0, "10:03"))
    assert [r.code for r in refused.value.reasons] == ["block.quality"]
