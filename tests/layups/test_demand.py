"""What parts take against what the yard has: first expired first out, alive at the cure, what is passed over and why, what is to buy."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.core.reasons import BadInput
from inventory.models import Delivery, Material
from inventory.reads import stock
from layups.models import Consumable, Design, Ply, TighterLimit
from layups.reads.demand import design_demand
from layups.reads.shopping import Row, Shopping, shopping
from layups.reads.tightening import tighter_for_design
from tests.layups.day import HOUR, Day, M, new_day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    return new_day(logger=False)


def listed(day: Day, code: str, parts: int = 1, cure: int | None = None, now: int | None = None) -> Shopping:
    design = Design.objects.get(code=code)
    at = day.at("08:00") if now is None else now
    return shopping(day.yard.site.pk, day.yard.site.zone, design_demand(design, parts), at, cure, tighter_for_design(design.pk))


def row(found: Shopping, code: str) -> Row:
    return next(r for r in found.rows if r.material.code == code)


def fetched(found: Row) -> list[tuple[str, int, int]]:
    return [(take.candidate.mark, take.amount, take.pieces) for take in found.takes]


def test_a_design_takes_what_its_schedule_areas_and_losses_say(day: Day) -> None:
    """A canoe: three plies of 5.70 m² with a tenth lost need 5.067 m each, the schedule has 5.10 m; 10.29 kg of glass drink by the
    data sheet, 6.5 kg go into the core, and 15 % of the mix stay in the lines."""
    found = design_demand(Design.objects.get(code="CAN"), 2)
    glass = next(o for o in found.orders if o.code == "GB-600")
    assert (glass.per_part, glass.whole, glass.sizes) == (15_300_000, 30_600_000, {5_100_000: 6})
    assert [one.computed for one in glass.taken] == [5_066_667] * 3
    infusion = next(m for m in found.mixes if m.recipe == "VE")
    assert infusion.computed is not None and infusion.computed.fibre_ug == 3 * 570 * 602_000 * 10**3 // 100
    drunk = infusion.computed.fibre_ug * (0.52 * 1_150) / (0.48 * 2_600)
    assert infusion.computed.laminate_ug == pytest.approx(drunk + 6.5e9, rel=1e-5)
    assert infusion.computed.whole_ug == pytest.approx((drunk + 6.5e9) / 0.85, rel=1e-5)
    assert infusion.amount_ug == 14_413_000_000, "the schedule has more"
    mekp = next(o for o in found.orders if o.code == "MEKP")
    assert {one.line.what for one in mekp.taken} == {"gelcoat (1), GC", "infusion (6), VE"}
    assert {"PEEL-85", "MESH", "BAG", "TAPE", "SPIRAL"} <= {o.code for o in found.orders}
    assert found.notes == ()


def test_the_older_roll_goes_first_and_a_short_one_gives_what_it_has_in_whole_pieces(day: Day) -> None:
    day.receive("C-2", "CT-204", 50 * M, "RACK")
    day.receive("C-1", "CT-204", 13 * M, "RACK")
    found = row(listed(day, "DAG", 3), "CT-204")
    assert fetched(found) == [("C-1", 12_400_000, 2), ("C-2", 6_200_000, 1)] and found.missing == found.buy == 0
    more = row(listed(day, "DAG", 12), "CT-204")
    assert more.missing == 2 * 6_200_000 and more.pieces == {6_200_000: 2}, "8 of 50 m and 2 of 13 m"


def test_what_cannot_be_used_is_passed_over_with_its_reason(day: Day) -> None:
    day.receive("C-1", "CT-204", 13 * M, "RACK", waiting=True)
    day.receive("C-2", "CT-204", 13 * M, "RACK", owner="Skerrow Sailing School")
    day.receive("C-3", "CT-204", 5 * M, "RACK")
    found = row(listed(day, "DAG"), "CT-204")
    assert not found.takes and found.buy == 6_200_000
    why = {passed.candidate.mark: " ".join(r.code for r in passed.reasons) for passed in found.passed}
    assert why == {"C-1": "block.incoming", "C-2": "owner.other", "C-3": "pick.not_enough"}


def test_prepreg_has_to_live_until_the_cure_and_may_thaw_until_then(day: Day) -> None:
    """U-1 ends two days from now, U-2 later: without a cure U-1 goes first; with one in four days it is passed over."""
    made = day.at("12:00", -180)
    day.receive("U-1", "PP-U", 20 * M, "F1", lot="old", made=made, at=day.at("08:00", -30))
    day.receive("U-2", "PP-U", 20 * M, "F1", lot="new", at=day.at("08:00", -30))
    ends = stock.on_hand(day.yard.site.pk, item__mark="U-1")[0].ends_us
    assert ends is not None and day.at("08:00") < ends < day.at("08:00", 4)
    assert fetched(row(listed(day, "RUD"), "PP-U")) == [("U-1", 6_600_000, 6)]
    later = row(listed(day, "RUD", cure=day.at("17:00", 4)), "PP-U")
    assert fetched(later) == [("U-2", 6_600_000, 6)]
    assert [(p.candidate.mark, [r.code for r in p.reasons]) for p in later.passed] == [("U-1", ["pick.ends_before"])]
    soon = row(listed(day, "RUD", cure=day.at("08:00") + HOUR), "PP-U")
    assert not soon.takes and {r.code for p in soon.passed for r in p.reasons} == {"pick.not_thawed"}


def test_the_list_passes_over_what_choosing_for_one_line_passes_over(day: Day) -> None:
    """No second rule: for one piece of one material the order is that of `stock.choose`."""
    day.receive("U-1", "PP-U", 20 * M, "CLEAN", lot="a", out_us=60 * HOUR, at=day.at("08:00", -1))
    day.receive("U-2", "PP-U", 900_000, "CLEAN", lot="b", at=day.at("08:00", -1))
    day.receive("U-3", "PP-U", 20 * M, "CLEAN", lot="c", at=day.at("08:00", -1), waiting=True)
    now, cure = day.at("18:00"), day.at("17:00", 2)
    material = Material.objects.get(code="PP-U")
    one = stock.choose(day.yard.site.pk, day.yard.site.zone, now, material, 1_100_000, until_us=cure)
    found = row(listed(day, "RUD", cure=cure, now=now), "PP-U")
    assert [t.candidate.mark for t in found.takes] == [c.mark for c in one.order][: len(found.takes)]
    assert {p.candidate.mark for p in found.passed} >= {p.candidate.mark for p in one.passed_over}


def test_a_limit_that_the_design_tightens_counts(day: Day) -> None:
    day.receive("U-1", "PP-U", 20 * M, "F1", out_us=40 * HOUR, at=day.at("08:00", -3))
    assert row(listed(day, "RUD"), "PP-U").takes
    rud, pp = Design.objects.get(code="RUD"), Material.objects.get(code="PP-U")
    TighterLimit.objects.create(design=rud, material=pp, limit="tack", limit_us=30 * HOUR)
    assert not row(listed(day, "RUD"), "PP-U").takes
    TighterLimit.objects.update(design=Design.objects.get(code="TIL"))
    assert row(listed(day, "RUD"), "PP-U").takes


def test_what_is_on_order_counts_only_when_it_is_due_in_time(day: Day) -> None:
    twill = Material.objects.get(code="CT-204")
    assert twill.supplier is not None
    order = {"site": day.yard.site, "supplier": twill.supplier, "material": twill}
    Delivery.objects.create(number="D-1", due_on=date(2026, 4, 10), expected_qty=50 * M, **order)
    found = row(listed(day, "DAG", cure=day.at("17:00", 2)), "CT-204")
    assert (found.missing, found.coming, found.buy) == (6_200_000, 0, 6_200_000) and [d.number for d in found.orders] == ["D-1"]
    assert row(listed(day, "DAG"), "CT-204").buy == 0
    Delivery.objects.create(number="D-2", due_on=date(2026, 4, 1), expected_qty=2 * M, **order)
    Delivery.objects.create(number="D-3", due_on=date(2026, 4, 1), expected_qty=90 * M, cancelled_us=1, **order)
    found = row(listed(day, "DAG", cure=day.at("17:00", 2)), "CT-204")
    assert (found.coming, found.buy) == (2 * M, 4_200_000) and [d.number for d in found.orders] == ["D-2", "D-1"]


def test_liquids_are_made_up_of_several_cans_and_kits_are_spoken_for(day: Day) -> None:
    day.receive("A-1", "INF-A", 900_000_000, "RS", kind="can", lot="A")
    day.receive("A-2", "INF-A", 5_000_000_000, "RS", kind="can", lot="A")
    found = row(listed(day, "DAG"), "INF-A")
    assert fetched(found) == [("A-1", 900_000_000, 0), ("A-2", 1_100_000_000, 0)]
    day.receive("C-1", "CT-204", 13 * M, "RACK")
    day.open(day.at("08:00", -1), "C-1")
    day.kit(day.at("08:30", -1), "C-1", "6.20 m", "K-1", place="RACK")
    assert [m for m, _, _ in fetched(row(listed(day, "DAG"), "CT-204"))] == ["C-1"]


def test_what_is_missing_in_the_design_is_named(day: Day) -> None:
    Ply.objects.filter(design__code="DAG", seq=1).update(qty=None, net_cmm2=None)
    Ply.objects.filter(design__code="DAG", seq=2).update(wets=False)
    Consumable.objects.filter(design__code="DAG").delete()
    found = design_demand(Design.objects.get(code="DAG"), 1)
    assert any("ply 1, CT-204: neither the schedule's amount nor its net area is known" in note for note in found.notes)
    assert any("Which line's resin wets the dry plies is not stated" in note for note in found.notes)
    Ply.objects.filter(design__code="DAG", seq=2).update(wets=True, qty=None)
    found = design_demand(Design.objects.get(code="DAG"), 1)
    assert any("is not computed, for want of ply 1: its net area" in note for note in found.notes)
    assert listed(day, "BOAT").rows == ()
    for parts in (0, 1_001):
        with pytest.raises(BadInput):
            design_demand(Design.objects.get(code="DAG"), parts)
    with pytest.raises(BadInput, match="lies in the past"):
        listed(day, "DAG", cure=day.at("07:00"))


def test_the_number_of_queries_does_not_grow_with_materials_rolls_or_parts(day: Day) -> None:
    def asked(code: str, parts: int) -> int:
        with CaptureQueriesContext(connection) as seen:
            listed(day, code, parts, day.at("17:00", 2))
        return len(seen)

    day.receive("C-1", "CT-204", 13 * M, "RACK")
    day.receive("P-1", "PEEL-85", 13 * M, "RACK", waiting=True)
    few = asked("DAG", 1)
    for n in range(2, 9):
        day.receive(f"C-{n}", "CT-204", 13 * M, "RACK", waiting=n % 2 == 0)
        day.receive(f"G-{n}", "GB-600", 13 * M, "RACK")
        day.receive(f"V-{n}", "VE-I", 13 * 10**9, "RS", kind="can")
    assert asked("DAG", 9) == few and asked("CAN", 9) == few
