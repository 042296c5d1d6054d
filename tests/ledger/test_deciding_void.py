"""Nothing is erased: a record is voided once, with a reason (R30); one's own may be undone for a minute."""

from __future__ import annotations

import pytest

from inventory.models import Act, Edge, Finding, Item, Leg
from inventory.recording import Transaction
from inventory.recording.propagate import propagate
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.counting import Adjust, Count
from inventory.verbs.cutting import CutKit
from inventory.verbs.moving import Move
from inventory.verbs.releasing import Release
from inventory.verbs.voiding import Undo, Void
from tests.ledger.bench import DAY, HOUR, MINUTE, Bench, item, last, state

pytestmark = pytest.mark.django_db
SECOND = 1_000_000


@pytest.fixture
def bench() -> Bench:
    """C-12, a carbon roll of 18.40 m, released."""
    bench = Bench()
    bench.roll("C-12", delivery="D-115", lot="CT9", quantity="18.40 m", to={"material": "CT-204"})
    bench.do("certify", Certify("CT9", (PaperValue("areal mass", "204"),)))
    bench.do("release", Release(("C-12",)), "Odile")
    bench.now_us += HOUR
    return bench


def same_when_rebuilt(bench: Bench) -> bool:
    tx = Transaction(bench.yard.who("Odile"), bench.now_us + DAY, True)
    return propagate(tx, set(Item.objects.values_list("pk", flat=True)), write=False).differing == []


def test_voiding_a_correction_gives_back_the_quantity_and_keeps_the_struck_record(bench: Bench) -> None:
    bench.do("adjust", Adjust("C-12", "-0.34 m", "count by weight"))
    assert state("C-12").qty == 18_060_000
    wrong = last("adjust")
    bench.do("void", Void(wrong.pk, "wrong core weight"), "Odile")
    assert state("C-12").qty == 18_400_000
    assert Leg.objects.filter(act=wrong).count() == 1 and last("void").reason == "wrong core weight"
    assert same_when_rebuilt(bench)


def test_a_record_is_voided_once_and_a_void_is_not_voided(bench: Bench) -> None:
    bench.do("adjust", Adjust("C-12", "-0.34 m", "count by weight"))
    wrong = last("adjust")
    first = bench.do("void", Void(wrong.pk, "wrong core weight"), "Odile", key="void")
    assert bench.do("void", Void(wrong.pk, "wrong core weight"), "Odile", key="void").replay
    again = bench.refused("void", Void(wrong.pk, "again"), "Odile")
    assert set(again) == {"void.already"} and again["void.already"].numbers["by"] == first.receipts[0].act
    assert set(bench.refused("void", Void(first.receipts[0].act, "no"), "Odile")) == {"void.of_a_void"}
    assert Act.objects.filter(kind="void").count() == 1


def test_a_voided_count_no_longer_counts(bench: Bench) -> None:
    bench.do("count", Count("C-12", quantity="10.00 m"))
    bench.do("cut_kit", CutKit("C-12", "6.20 m", mark="K-40"), "Bram", at=bench.now_us + MINUTE)
    bench.do("void", Void(last("count").pk, "counted C-13"), "Odile", at=bench.now_us + HOUR)
    assert state("C-12").qty == 12_200_000
    assert same_when_rebuilt(bench)


def test_voiding_what_brought_something_into_being_lists_what_happened_since_newest_first(bench: Bench) -> None:
    cut = bench.do("cut_kit", CutKit("C-12", "6.20 m", mark="K-40"), "Bram")
    moves = [bench.do("move", Move("K-40", place), at=bench.now_us + n * HOUR).receipts[0].act for n, place in ((1, "CLEAN"), (2, "RACK"))]
    record = cut.receipts[0].act
    at = bench.now_us + 3 * HOUR
    reason = bench.refused("void", Void(record, "wrong roll"), "Odile", at=at)["void.later_records"]
    assert reason.numbers["records"] == f"{moves[1]} {moves[0]}"
    for move in reversed(moves):
        bench.do("void", Void(move, "wrong roll"), "Odile", at=at)
    bench.do("void", Void(record, "wrong roll"), "Odile", at=at)
    assert state("C-12").qty == 18_400_000
    assert state("K-40").qty == 0 and state("K-40").since_us is None
    assert not Edge.objects.filter(act=record, void=False).exists()
    assert same_when_rebuilt(bench)


def test_voiding_a_move_gives_back_the_clocks_of_the_place_it_came_from(bench: Bench) -> None:
    from inventory.verbs.receiving import ReceivedPiece
    from tests.ledger.bench import prepreg, reading

    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), place="F1"))
    bench.do("move", Move("T-7", "CLEAN"), at=bench.now_us + HOUR)
    bench.now_us += 5 * HOUR
    assert reading("T-7", "out", bench).used == 4 * HOUR
    bench.do("void", Void(last("move").pk, "scanned the wrong roll"), "Odile")
    assert reading("T-7", "out", bench).used == 0 and state("T-7").location.code == "F1"  # type: ignore[union-attr]


def test_voiding_what_filled_the_book_makes_a_later_use_a_finding(bench: Bench) -> None:
    bench.do("adjust", Adjust("C-12", "5.00 m", "found a rest"))
    bench.do("cut_kit", CutKit("C-12", "20.00 m", mark="K-41"), "Bram", at=bench.now_us + MINUTE)
    bench.do("void", Void(last("adjust").pk, "it was C-13"), "Odile", at=bench.now_us + HOUR)
    assert state("C-12").overdrawn
    assert Finding.objects.filter(closed_us=None, code__startswith="stock.below_zero").count() == 1


def test_only_quality_voids_and_only_with_a_reason(bench: Bench) -> None:
    record = last("release").pk
    for who in ("Ines", "Bram", "Marek", "Vera"):
        assert "role.not_allowed" in bench.refused("void", Void(record, "x"), who)
    assert bench.not_understood("void", Void(record, " "), "Odile").reason.code == "reason.missing"
    assert bench.not_understood("void", Void(10**9, "x"), "Odile").reason.code == "void.unknown"
    assert bench.not_understood("void", Void(-1, "x"), "Odile").reason.code == "void.unknown"
    assert bench.not_understood("void", Void(2**70, "x"), "Odile").reason.code == "void.unknown"


def test_one_may_undo_what_one_recorded_for_a_minute_and_both_records_stay(bench: Bench) -> None:
    cut = bench.do("cut_kit", CutKit("C-12", "0.85 m", mark="K-50"), "Bram")
    bench.do("undo", Undo(cut.receipts[0].act), "Bram", at=bench.now_us + 20 * SECOND)
    assert state("C-12").qty == 18_400_000
    assert Act.objects.filter(kind__in=("cut", "void")).count() == 2
    again = bench.do("cut_kit", CutKit("C-12", "0.85 m", mark="K-51"), "Bram", at=bench.now_us + 30 * SECOND)
    late = bench.refused("undo", Undo(again.receipts[0].act), "Bram", at=bench.now_us + 100 * SECOND)["undo.too_late"]
    assert late.numbers["age_us"] == 70 * SECOND and "Ask quality to void" in late.text
    bench.do("undo", Undo(again.receipts[0].act), "Bram", at=bench.now_us + 90 * SECOND, key="exactly a minute")


def test_nobody_undoes_what_somebody_else_recorded(bench: Bench) -> None:
    cut = bench.do("cut_kit", CutKit("C-12", "0.85 m", mark="K-50"), "Bram")
    assert set(bench.refused("undo", Undo(cut.receipts[0].act), "Tove")) == {"undo.not_yours"}
    assert "role.not_allowed" in bench.refused("undo", Undo(cut.receipts[0].act), "Vera")
    assert item("K-50").pk


def test_the_record_of_another_shop_is_not_to_be_seen(bench: Bench) -> None:
    from inventory.models import Device, Person, Role, Site
    from inventory.recording import Who

    other = Site.objects.create(code="OTHER", name="Another yard", zone="UTC")
    person = Person.objects.create(site=other, name="Kim")
    Role.objects.create(person=person, role="quality")
    device = Device.objects.create(site=other, name="desk")
    from dataclasses import replace

    from inventory.core.reasons import BadInput
    from inventory.verbs.registry import perform

    call = replace(bench.call("Odile"), who=Who(other.pk, "UTC", person.pk, device.pk, "quality"))
    with pytest.raises(BadInput) as wrong:
        perform("void", call, Void(last("release").pk, "x"))
    assert wrong.value.reason.code == "void.unknown"
