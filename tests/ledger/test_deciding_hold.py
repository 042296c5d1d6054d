"""Hold and let go (R7, R44): at once, whatever the depth; in part with evidence; with a second person where set."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import pytest

from inventory.core.reasons import Reason
from inventory.lineage import open_blocks
from inventory.models import Act, Block, Exemption, Item
from inventory.verbs import holding
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.cutting import CutKit
from inventory.verbs.holding import Countersign, Hold, Unhold
from inventory.verbs.moving import Move
from inventory.verbs.registry import Call
from inventory.verbs.releasing import Release
from inventory.verbs.voiding import Void
from tests.ledger.bench import MINUTE, Bench, item

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    """Two released glass rolls of lot G7, with kits K-1 and K-2 cut from the first and K-3 from the second."""
    bench = Bench()
    for mark in ("G7-1", "G7-2"):
        bench.roll(mark)
    values = tuple(PaperValue(name, value) for name, value in (("areal mass", "600"), ("moisture", "0.10"), ("size", "0.6")))
    bench.do("certify", Certify("G7", values))
    bench.do("release", Release(("G7",)), "Odile")
    for roll, kit in (("G7-1", "K-1"), ("G7-1", "K-2"), ("G7-2", "K-3")):
        bench.do("cut_kit", CutKit(roll, "6.20 m", mark=kit), "Bram")
        bench.now_us += MINUTE
    return bench


def held(*marks: str) -> set[str]:
    rows = {item(mark).pk: mark for mark in marks}
    return {rows[pk] for pk in open_blocks(rows)}


ALL = ("G7-1", "G7-2", "K-1", "K-2", "K-3")


def test_a_lot_by_its_number_is_held_with_everything_made_of_it_in_one_action(bench: Bench) -> None:
    told = bench.do("hold", Hold("g7", "delaminated at test"), "Odile")
    assert held(*ALL) == set(ALL)
    assert told.data["below"] == 5 and "G7" in told.text
    reasons = bench.refused("cut_kit", CutKit("G7-2", "1 m"), "Bram")
    assert "Odile" in reasons["block.quality"].text and "delaminated at test" in reasons["block.quality"].text


def test_a_held_roll_may_still_be_moved(bench: Bench) -> None:
    told = bench.do("hold", Hold("G7-1", "wet."), "Odile")
    assert told.text == "G7-1 is on hold: wet. With it 2 things made of it."
    bench.do("move", Move("G7-1", "QUAR"), "Ines")
    assert held(*ALL) == {"G7-1", "K-1", "K-2"}


def test_a_hold_on_what_is_left_leaves_what_was_made_so_far(bench: Bench) -> None:
    bench.do("hold", Hold("G7", "wet since Monday", scope="stock"), "Odile")
    assert held(*ALL) == {"G7-1", "G7-2"}
    bench.do("hold", Hold("G7-1", "wet", scope="stock"), "Odile")
    assert held(*ALL) == {"G7-1", "G7-2"}


def test_only_quality_holds_and_says_why(bench: Bench) -> None:
    for who in ("Ines", "Bram", "Marek", "Vera"):
        assert "role.not_allowed" in bench.refused("hold", Hold("G7", "no"), who)
    assert bench.not_understood("hold", Hold("G7", "  "), "Odile").reason.code == "reason.missing"
    assert bench.not_understood("hold", Hold("G7", "x", scope="some"), "Odile").reason.code == "hold.scope"
    assert bench.not_understood("hold", Hold("G99", "x"), "Odile").reason.code == "code.unknown"


def test_the_same_hold_twice_is_one_hold(bench: Bench) -> None:
    for _ in range(2):
        bench.do("hold", Hold("G7", "wet"), "Odile", key="hold")
    assert Block.objects.filter(why="quality").count() == 1


def test_letting_go_needs_evidence_and_frees_everything_below(bench: Bench) -> None:
    bench.do("hold", Hold("G7", "wet"), "Odile")
    assert bench.not_understood("unhold", Unhold("G7", ""), "Odile").reason.code == "evidence.missing"
    bench.do("unhold", Unhold("G7", "dried 24 h at 40 °C, moisture 0.08 %"), "Odile")
    assert held(*ALL) == set()
    assert Block.objects.get(why="quality").closed.reason.startswith("dried 24 h")  # type: ignore[union-attr]


def test_in_part_frees_what_is_named_and_what_hangs_on_it_alone(bench: Bench) -> None:
    bench.do("hold", Hold("G7", "wet"), "Odile")
    bench.do("unhold", Unhold("G7", "coupons of K-1 and G7-2", only=("K-1", "G7-2")), "Odile")
    assert held(*ALL) == {"G7-1", "K-2"}
    assert Exemption.objects.count() == 2 and Block.objects.filter(to_us=None, why="quality").count() == 1


def test_a_thing_under_a_hold_is_freed_by_naming_it_alone(bench: Bench) -> None:
    bench.do("hold", Hold("G7", "wet"), "Odile")
    bench.do("unhold", Unhold("K-3", "looked at: dry"), "Odile")
    assert held(*ALL) == {"G7-1", "G7-2", "K-1", "K-2"}


def test_what_is_not_held_or_not_below_is_not_let_go(bench: Bench) -> None:
    assert bench.not_understood("unhold", Unhold("G7", "x"), "Odile").reason.code == "hold.none"
    bench.do("hold", Hold("G7-1", "wet"), "Odile")
    assert "hold.not_below" in bench.refused("unhold", Unhold("G7-1", "x", only=("K-3",)), "Odile")
    bench.do("hold", Hold("G7-1", "also dirty"), "Odile")
    several = bench.not_understood("unhold", Unhold("G7-1", "x"), "Odile")
    assert several.reason.code == "hold.several" and several.reason.numbers["count"] == 2
    wet = Block.objects.get(text="wet")
    bench.do("unhold", Unhold("G7-1", "dried", hold=wet.pk), "Odile")
    assert [b.text for b in Block.objects.filter(to_us=None, why="quality")] == ["also dirty"]


def test_evidence_about_another_material_frees_nothing(bench: Bench) -> None:
    bench.do("hold", Hold("G7", "wet"), "Odile")
    reasons = bench.refused("unhold", Unhold("G7", "shear of 12 coupons", about="CT-204"), "Odile")
    assert reasons["evidence.other_product"].numbers["about"] == "CT-204"
    bench.do("unhold", Unhold("G7", "shear of 12 coupons", about="gb-600"), "Odile")


@pytest.fixture
def hulls_only() -> Iterator[None]:
    def rule(call: Call, told: Unhold, items: Sequence[Item]) -> Iterable[Reason]:
        if told.about == "ROD":
            yield Reason("evidence.other_product", "The evidence names rods; this is a hull.")

    holding.EVIDENCE_RULES.append(rule)
    yield
    holding.EVIDENCE_RULES.remove(rule)


def test_whoever_knows_the_products_can_refuse_evidence_too(bench: Bench, hulls_only: None) -> None:
    bench.do("hold", Hold("G7-1", "wet"), "Odile")
    assert "evidence.other_product" in bench.refused("unhold", Unhold("G7-1", "x", about="ROD"), "Odile")


def test_a_recall_is_let_go_by_two_people_and_not_before(bench: Bench) -> None:
    bench.do("hold", Hold("G7", "soft laminate", recall=True), "Odile")
    first = bench.do("unhold", Unhold("G7", "die 140 °C, shear of 12 coupons", only=("K-1",)), "Odile")
    assert first.data["waits"] and held(*ALL) == set(ALL)
    record = first.data["record"]
    assert "approval.same_person" in bench.refused("countersign", Countersign(record), "Odile")
    assert "role.not_allowed" in bench.refused("countersign", Countersign(record), "Bram")
    bench.do("countersign", Countersign(record), "Marek", key="sign")
    assert bench.do("countersign", Countersign(record), "Marek", key="sign").replay
    assert held(*ALL) == {"G7-1", "G7-2", "K-2", "K-3"}
    act = Act.objects.get(approves=record)
    assert (act.kind, act.person.name) == ("exempt", "Marek")
    assert "approval.given" in bench.refused("countersign", Countersign(record), "Marek")


def test_a_hold_may_ask_for_a_second_person_too_and_a_voided_wish_is_not_signed(bench: Bench) -> None:
    bench.do("hold", Hold("G7", "wet", second_person=True), "Odile")
    first = bench.do("unhold", Unhold("G7", "dried"), "Odile")
    bench.do("void", Void(first.data["record"], "wrong lot"), "Odile")
    assert "approval.voided" in bench.refused("countersign", Countersign(first.data["record"]), "Marek")
    again = bench.do("unhold", Unhold("G7", "dried"), "Odile")
    bench.do("countersign", Countersign(again.data["record"]), "Marek")
    assert held(*ALL) == set()
    assert bench.not_understood("countersign", Countersign(Act.objects.get(kind="hold").pk), "Marek").reason.code == "countersign.unknown"


def test_voiding_a_hold_ends_it_and_voiding_its_end_brings_it_back(bench: Bench) -> None:
    hold = bench.do("hold", Hold("G7", "wet"), "Odile")
    free = bench.do("unhold", Unhold("G7", "dried"), "Odile")
    bench.do("void", Void(free.data["record"], "wrong oven chart"), "Odile")
    assert held(*ALL) == set(ALL)
    bench.do("void", Void(hold.receipts[0].act, "wrong lot"), "Odile")
    assert held(*ALL) == set()


def test_voiding_a_partial_release_holds_what_it_had_freed_until_it_is_freed_again(bench: Bench) -> None:
    bench.do("hold", Hold("G7", "wet"), "Odile")
    part = bench.do("unhold", Unhold("G7", "coupons", only=("G7-2",)), "Odile")
    assert held(*ALL) == {"G7-1", "K-1", "K-2"}
    bench.do("void", Void(part.data["record"], "coupons of another lot"), "Odile")
    assert held(*ALL) == set(ALL)
    bench.do("unhold", Unhold("G7-2", "new coupons"), "Odile")
    assert held(*ALL) == {"G7-1", "K-1", "K-2"}


def test_a_hold_travels_with_a_cut_that_was_already_made(bench: Bench) -> None:
    bench.do("hold", Hold("G7-1", "wet"), "Odile")
    p = CutKit("G7-1", "1.00 m", mark="K-9")
    told = bench.do("cut_kit", p, "Bram", at=bench.now_us + 5 * MINUTE, stance="observed", happened_us=bench.now_us - 1)
    assert told.reasons == [], "the roll was not on hold when it was cut"
    assert held("K-9") == {"K-9"}
    late = CutKit("G7-1", "1.00 m", mark="K-10")
    told = bench.do("cut_kit", late, "Bram", at=bench.now_us + 5 * MINUTE, stance="observed", happened_us=bench.now_us + 1)
    assert [reason.code for reason in told.reasons] == ["block.quality"]
