"""A customer or a design tightens a life limit: at the scan, at the bag, at the cure, told late, and on the part's page (R8, R13)."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from inventory.core.reasons import Reason
from inventory.models import Customer, Finding, Leg, Material
from inventory.recording.rebuild import rebuild
from layups.models import Design, TighterLimit
from layups.reads.part import part_page
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureOn
from layups.verbs.laying import Into
from layups.verbs.starting import PlanCure

from .day import HOUR, Day, M, new_day

pytestmark = pytest.mark.django_db
SKERROW = "Skerrow Sailing School"


@pytest.fixture
def day() -> Day:
    """T-1 and U-1 have lain in CLEAN since yesterday 12:00; TIL-1 is for Skerrow, TIL-2 for nobody. The tack life of PP-U is
    72 h; Skerrow takes 24 h."""
    day = new_day()
    for roll, material in (("T-1", "PP-T"), ("U-1", "PP-U")):
        day.receive(roll, material, 50 * M, "F1", lot=f"lot {roll}")
        day.move(day.at("12:00", -1), roll, "CLEAN")
        day.open(day.at("06:00"), roll)
    for number, customer in (("TIL-1", SKERROW), ("TIL-2", "")):
        day.start(day.at("07:00"), "TIL", number, "CLEAN", customer=customer)
    tighten("PP-U", "tack", 24)
    return day


def tighten(material: str, limit: str, hours: int, customer: str = SKERROW, design: str = "") -> None:
    TighterLimit.objects.create(
        customer=Customer.objects.get(name=customer) if customer else None,
        design=Design.objects.get(code=design) if design else None,
        material=Material.objects.get(code=material),
        limit=limit,
        limit_us=hours * HOUR,
    )


def open_findings(day: Day) -> list[str]:
    """Codes of the open findings; what is stored is what the records say."""
    assert rebuild(day.yard.site, day.at("23:59")).differences == []
    return sorted(f.code.split("/")[0] for f in Finding.objects.filter(closed_us__isnull=True))


def only(reasons: list[Reason]) -> Reason:
    (reason,) = reasons
    return reason


def test_the_scan_is_judged_by_the_customers_limit_and_names_them(day: Day) -> None:
    reason = only(day.no_lay(day.at("12:00"), "U-1", "TIL-1", plies=(2,)))
    assert reason.code == "life.over"
    assert "24 h 00 of 24 h used" in reason.text and f"tightened by {SKERROW}" in reason.text
    assert (reason.numbers["by"], reason.numbers["allowed"]) == (SKERROW, 24 * HOUR)
    day.lay(day.at("12:00"), "U-1", "TIL-2", plies=(2,))
    day.lay(day.at("12:00") - 1, "U-1", "TIL-1", plies=(2,), happened=day.at("11:59"))
    assert open_findings(day) == []


def test_a_design_tightens_and_a_customer_only_for_a_design(day: Day) -> None:
    TighterLimit.objects.all().delete()
    tighten("PP-U", "tack", 20, "", "TIL")
    tighten("PP-U", "tack", 10, SKERROW, "RUD")
    assert only(day.no_lay(day.at("08:00"), "U-1", "TIL-2", plies=(2,))).numbers["by"] == "design TIL"
    tighten("PP-U", "tack", 15, SKERROW, "TIL")
    assert only(day.no_lay(day.at("08:00"), "U-1", "TIL-1", plies=(2,))).numbers["by"] == f"{SKERROW} for design TIL"


def test_a_design_of_another_part_in_the_scan_tightens_nothing_here(day: Day) -> None:
    TighterLimit.objects.all().delete()
    tighten("PP-U", "tack", 10, "", "RUD")
    day.start(day.at("07:30"), "RUD", "RUD-9", "CLEAN")
    assert only(day.no_lay(day.at("08:00"), "U-1", "TIL-2", plies=(2,), also=(Into("RUD-9", plies=(1,)),))).numbers["by"] == "design RUD"
    out = day.lay(day.at("08:01"), "U-1", "TIL-2", plies=(2,), also=(Into("RUD-9", plies=(1,)),), happened=day.at("08:00"))
    assert [r.numbers["by"] for r in out.reasons] == ["design RUD"]
    assert [leg.item.part.number for leg in Leg.objects.filter(body__contains="tight")] == ["RUD-9"]


def test_of_several_parts_in_one_scan_the_one_with_the_tighter_limit_refuses(day: Day) -> None:
    reasons = day.no_lay(day.at("12:00"), "U-1", "TIL-2", plies=(2,), also=(Into("TIL-1"),))
    assert [r.numbers.get("by") for r in reasons] == [SKERROW]
    day.lay(day.at("11:59"), "U-1", "TIL-2", plies=(2,), also=(Into("TIL-1"),))


def test_both_over_is_told_once_for_each_part_with_its_own_limit(day: Day) -> None:
    """73 h: the specification's 72 h are over for TIL-2, the customer's 24 h for TIL-1."""
    at = day.at("13:00", 2)
    reasons = day.no_lay(at, "U-1", "TIL-2", plies=(2,), also=(Into("TIL-1"),))
    tack = sorted((str(r.numbers.get("by", "")), r.numbers["allowed"]) for r in reasons if r.numbers.get("limit") == "tack")
    assert tack == [("", 72 * HOUR), (SKERROW, 24 * HOUR)]


def test_it_must_last_until_the_planned_cure_and_be_alive_at_bag_and_cure(day: Day) -> None:
    """Out life 120 h; Skerrow takes 30 h: over on Monday at 18:00."""
    tighten("PP-U", "out", 30)
    day.do(day.at("10:00"), "plan_cure", PlanCure("TIL-1", day.at("18:00")))
    reason = only(day.no_lay(day.at("11:00"), "U-1", "TIL-1", plies=(2,)))
    assert reason.code == "life.too_short" and f"tightened by {SKERROW}" in reason.text
    day.do(day.at("11:01"), "plan_cure", PlanCure("TIL-1", day.at("17:59")))
    day.lay(day.at("11:02"), "U-1", "TIL-1", plies=(2,))
    day.receive("U-9", "PP-U", 50 * M, "F1", lot="lot U-9", out_us=24 * HOUR)
    frozen = {r.code: r for r in day.no_lay(day.at("11:03"), "U-9", "TIL-1", plies=(2,), extra=True)}
    assert frozen["life.too_short"].numbers["by"] == SKERROW
    Design.objects.update(drop_limit_pa=None)
    assert only(day.refused(day.at("18:00"), "bag", Bag("TIL-1"))).numbers["by"] == SKERROW
    day.do(day.at("17:00"), "bag", Bag("TIL-1"))
    assert only(day.refused(day.at("18:00"), "cure_on", CureOn(parts=("TIL-1",)))).numbers["by"] == SKERROW
    told = day.do(day.at("19:00"), "cure_on", CureOn(parts=("TIL-1",)), happened=day.at("18:30"))
    assert [r.numbers["by"] for r in told.reasons] == [SKERROW]
    assert open_findings(day) == ["life.over"]


def test_what_is_told_late_breaks_the_tighter_limit_only_where_it_holds(day: Day) -> None:
    out = day.lay(day.at("14:00"), "U-1", "TIL-1", plies=(2,), happened=day.at("13:00"))
    assert [r.numbers["by"] for r in out.reasons] == [SKERROW]
    assert day.lay(day.at("14:01"), "U-1", "TIL-2", plies=(2,), happened=day.at("13:01")).reasons == []
    assert open_findings(day) == ["life.over"]


def test_late_truth_judges_again_by_the_limit_that_the_record_carries(day: Day) -> None:
    """Taken out two hours before it was thought: at 11:00 it had 25 h. The part of the customer is found, the other is not;
    and what the customer asks for since then changes nothing that was done."""
    day.lay(day.at("11:00"), "U-1", "TIL-1", plies=(2,))
    day.lay(day.at("11:01"), "U-1", "TIL-2", plies=(2,))
    assert open_findings(day) == []
    TighterLimit.objects.all().delete()
    tighten("PP-U", "tack", 1, "", "TIL")
    assert open_findings(day) == []
    day.move(day.at("11:30"), "U-1", "CLEAN", happened=day.at("10:00", -1))
    assert open_findings(day) == ["life.over"]
    finding = Finding.objects.get()
    assert finding.item == day.item("TIL-1") and SKERROW in finding.text and "25 h 00 of 24 h" in finding.text


def test_the_part_shows_the_tighter_limit_and_whose_it_is(day: Day) -> None:
    tighten("PP-U", "out", 30)
    day.lay(day.at("11:00"), "U-1", "TIL-1", plies=(2,))
    day.lay(day.at("11:01"), "U-1", "TIL-2", plies=(2,))
    for number, by, allowed in (("TIL-1", SKERROW, 30 * HOUR), ("TIL-2", "", 120 * HOUR)):
        lives = [x for x in part_page(day.yard.site, day.item(number).pk, day.at("12:00")).lives if x.limit == "out"]
        assert [(x.by, x.allowed) for x in lives] == [(by, allowed)]


def test_what_to_fetch_is_what_the_customer_takes(day: Day) -> None:
    """The older roll is fit by the specification, and over for Skerrow."""
    day.receive("U-2", "PP-U", 50 * M, "F1", lot="lot U-2")
    day.move(day.at("22:00", -1), "U-2", "CLEAN")
    day.open(day.at("07:00"), "U-2")
    for number in ("TIL-1", "TIL-2"):
        day.lay(day.at("11:00"), "T-1", number, plies=(1,))
    names = {n: part_page(day.yard.site, day.item(n).pk, day.at("13:00")).next for n in ("TIL-1", "TIL-2")}
    assert {n: found.name if found else "" for n, found in names.items()} == {"TIL-1": "U-2", "TIL-2": "U-1"}
    passed = names["TIL-1"].passed if names["TIL-1"] else ()
    assert [p.name for p in passed] == ["U-1"] and SKERROW in passed[0].why[0]
    day.kit(day.at("13:01"), "U-1", "2.20 m", "K-1", job="TIL-1", place="CLEAN")
    day.kit(day.at("13:02"), "U-1", "2.20 m", "K-2", job="TIL-2", place="CLEAN")
    kits = {n: part_page(day.yard.site, day.item(n).pk, day.at("13:05")).next for n in ("TIL-1", "TIL-2")}
    assert {n: found.name if found else "" for n, found in kits.items()} == {"TIL-1": "U-2", "TIL-2": "K-2"}


def test_only_a_limit_of_the_specification_is_tightened_and_never_loosened() -> None:
    new_day()
    skerrow, material = Customer.objects.get(name=SKERROW), Material.objects.get(code="PP-U")
    for limit, figures in (
        ("tack", {"limit_us": 72 * HOUR}),
        ("tack", {"months": 1}),
        ("tack", {"limit_n": 1}),
        ("storage", {"months": 6}),
        ("gloss", {"limit_us": HOUR}),
        ("tack", {}),
        ("tack", {"limit_us": HOUR, "months": 1}),
    ):
        with pytest.raises(ValidationError):
            TighterLimit(customer=skerrow, material=material, limit=limit, **figures).full_clean()
    with pytest.raises(ValidationError):
        TighterLimit(material=material, limit="tack", limit_us=HOUR).full_clean()
    TighterLimit(customer=skerrow, material=material, limit="Tack", limit_us=48 * HOUR).full_clean()
