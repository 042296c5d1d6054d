"""A retest extends a limit: up the ladder, with evidence and a second person; never out time (R14)."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.models import Act, Extension, Finding, LifeLimit, LifeSpec
from inventory.recording import Transaction
from inventory.recording.propagate import propagate
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.cutting import CutKit
from inventory.verbs.extending import Extend, ExtendAsk
from inventory.verbs.moving import Move, Open
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.releasing import Release
from inventory.verbs.voiding import Void
from tests.ledger.bench import DAY, HOUR, Bench, clock, day, item, reading, state

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    """Film adhesive FA-9, made 30 September: its last day is today. FA-9-1 is opened, FA-9-2 and FA-9-3 are not."""
    bench = Bench()
    then = clock("09:00", day(2025, 10, 6))
    pieces = tuple(ReceivedPiece(length, mark) for mark, length in (("FA-9-1", "11.0 m"), ("FA-9-2", "25.0 m"), ("FA-9-3", "25.0 m")))
    film = Receive("D-90", (ReceivedLot("FA-9", pieces, made="2025-09-30"),), "Kestrow Prepreg", "FA-B", "F2")
    bench.do("receive", film, at=then)
    bench.do("certify", Certify("FA-9", (PaperValue("lap shear", "27"),)), at=then + HOUR)
    bench.do("release", Release(("FA-9",)), "Odile", at=then + 2 * HOUR)
    bench.do("move", Move("FA-9-1", "CLEAN"), at=clock("08:00", day(2026, 3, 26)))
    bench.do("open", Open("FA-9-1", True), "Bram", at=clock("13:00", day(2026, 3, 26)))
    bench.now_us = clock("08:55")
    return bench


def ask(months: int = 3, thing: str = "FA-9", **more: Any) -> ExtendAsk:
    values = {"value": "24.1 MPa", "sample": "FA-9-2", "evidence": "report 12"} | more
    return ExtendAsk(thing, months, **values)


END = {"old": clock("00:00", day(2026, 3, 31)), "new": clock("00:00", day(2026, 7, 1)), "then": clock("00:00", day(2026, 7, 31))}


def test_the_whole_story_of_a_retest(bench: Bench) -> None:
    six = bench.refused("extend_ask", ask(6), "Odile")["extend.not_the_next_step"]
    assert (six.numbers["asked"], six.numbers["next"], six.numbers["ladder"]) == (6, 3, "3 1")
    assert "3 then 1 months, then discard" in six.text
    asked = bench.do("extend_ask", ask(), "Odile")
    assert asked.data["items"] == ["FA-9-2", "FA-9-3"] and asked.data["until"] == "2026-06-30" and asked.data["old"] == "2026-03-30"
    assert reading("FA-9-2", "storage", bench).ends_us == END["old"], "asking changes nothing"
    assert set(bench.refused("extend", Extend("FA-9"), "Odile")) == {"approval.same_person"}
    bench.do("extend", Extend("FA-9"), "Marek")
    assert reading("FA-9-2", "storage", bench).ends_us == END["new"]
    assert state("FA-9-2").ends_us == END["new"], "also in the column that lists search"
    assert reading("FA-9-1", "storage", bench).ends_us == END["old"], "opened: unchanged"
    row = Extension.objects.get(item=item("FA-9-2"))
    assert (row.old_us, row.until_us, row.asked_by.name, row.approved_by.name) == (END["old"], END["new"], "Odile", "Marek")
    assert "24.1 MPa" in row.evidence and "FA-9-2" in row.evidence


def test_out_time_is_never_given_back(bench: Bench) -> None:
    bench.do("extend_ask", ask(), "Odile")
    before = reading("FA-9-2", "out", bench)
    bench.do("extend", Extend("FA-9"), "Marek")
    assert reading("FA-9-2", "out", bench) == before
    assert set(bench.refused("extend_ask", ask(limit="out"), "Odile")) == {"extend.not_a_date"}


def test_the_second_step_is_one_month_from_the_extended_end_and_then_it_is_discarded(bench: Bench) -> None:
    for months, at in ((3, clock("09:00")), (1, clock("09:00", day(2026, 6, 29)))):
        bench.do("extend_ask", ask(months, "FA-9-2"), "Odile", at=at)
        bench.do("extend", Extend("FA-9-2"), "Marek", at=at + HOUR)
    bench.now_us = clock("12:00", day(2026, 7, 2))
    assert reading("FA-9-2", "storage", bench).ends_us == END["then"]
    done = bench.refused("extend_ask", ask(1, "FA-9-2"), "Odile")["extend.ladder_used_up"]
    assert done.numbers["done"] == 2
    assert [e.old_us for e in Extension.objects.order_by("pk")] == [END["old"], END["new"]]


def test_three_months_twice_is_not_on_the_ladder(bench: Bench) -> None:
    bench.do("extend_ask", ask(3, "FA-9-2"), "Odile")
    bench.do("extend", Extend("FA-9-2"), "Marek")
    assert bench.refused("extend_ask", ask(3, "FA-9-2"), "Odile")["extend.not_the_next_step"].numbers["next"] == 1


def test_an_opened_piece_is_not_extended_not_even_when_opened_between_asking_and_approving(bench: Bench) -> None:
    assert "extend.opened" in bench.refused("extend_ask", ask(thing="FA-9-1"), "Odile")
    bench.do("extend_ask", ask(thing="FA-9-2"), "Odile")
    bench.do("move", Move("FA-9-2", "CLEAN"), "Bram", at=clock("09:00"))
    bench.do("open", Open("FA-9-2", True), "Bram", at=clock("14:00"))
    assert "extend.opened" in bench.refused("extend", Extend("FA-9-2"), "Marek", at=clock("14:30"))


def test_too_little_or_no_evidence_and_evidence_of_another_lot_are_refused(bench: Bench) -> None:
    weak = bench.refused("extend_ask", ask(value="19.9 MPa"), "Odile")["evidence.not_enough"]
    assert (weak.numbers["value"], weak.numbers["least"]) == ("19.9", "20")
    assert bench.not_understood("extend_ask", ask(value=""), "Odile").reason.code == "evidence.missing"
    assert bench.not_understood("extend_ask", ask(value="3500 psi"), "Odile").reason.code == "evidence.unit"
    assert bench.not_understood("extend_ask", ask(value="strong"), "Odile").reason.code == "evidence.not_a_number"
    bench.roll("G7-1")
    assert bench.not_understood("extend_ask", ask(sample="G7-1"), "Odile").reason.code == "evidence.sample_of_another_lot"
    bench.do("extend_ask", ask(value="20"), "Odile")


def test_nobody_approves_what_nobody_asked_and_nothing_is_asked_twice(bench: Bench) -> None:
    assert bench.not_understood("extend", Extend("FA-9"), "Marek").reason.code == "extend.not_asked"
    bench.do("extend_ask", ask(), "Odile")
    assert "extend.asked_already" in bench.refused("extend_ask", ask(), "Odile")
    bench.do("extend", Extend("FA-9"), "Marek")
    assert bench.not_understood("extend", Extend("FA-9"), "Marek").reason.code == "extend.not_asked"


def test_asking_and_approving_repeat_as_one(bench: Bench) -> None:
    for _ in range(2):
        bench.do("extend_ask", ask(), "Odile", key="ask")
    for _ in range(2):
        bench.do("extend", Extend("FA-9"), "Marek", key="approve", at=bench.now_us + HOUR)
    assert Act.objects.filter(kind__in=("extend_ask", "extend")).count() == 4, "one a piece each"
    assert Extension.objects.count() == 2


def test_the_builder_neither_asks_nor_approves_and_the_owner_does_not_ask(bench: Bench) -> None:
    assert "role.not_allowed" in bench.refused("extend_ask", ask(), "Bram")
    assert "role.not_allowed" in bench.refused("extend_ask", ask(), "Marek")
    bench.do("extend_ask", ask(), "Odile")
    assert "role.not_allowed" in bench.refused("extend", Extend("FA-9"), "Ines")


def test_an_extension_that_would_end_before_today_is_pointless(bench: Bench) -> None:
    late = clock("09:00", day(2026, 7, 1))
    assert bench.refused("extend_ask", ask(thing="FA-9-2"), "Odile", at=late)["extend.past"].numbers["until"] == "2026-06-30"


def test_a_lot_that_is_all_gone_or_all_open_has_nothing_to_extend(bench: Bench) -> None:
    from inventory.verbs.counting import Scrap

    for mark in ("FA-9-2", "FA-9-3"):
        bench.do("scrap", Scrap(mark, "damaged"))
    assert "extend.opened" in bench.refused("extend_ask", ask(sample=""), "Odile")
    bench.do("scrap", Scrap("FA-9-1", "damaged"))
    assert bench.not_understood("extend_ask", ask(sample=""), "Odile").reason.code == "extend.nothing_left"


def test_a_material_without_a_ladder_is_not_extended(bench: Bench) -> None:
    from tests.ledger.bench import prepreg

    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7")))
    reasons = bench.refused("extend_ask", ExtendAsk("T-7", 3, evidence="x", limit="storage"), "Odile")
    assert "the specification allows none" in reasons["extend.ladder_used_up"].text


def test_voiding_an_extension_gives_back_the_old_end_and_the_asking_is_voided_after_it(bench: Bench) -> None:
    asked = bench.do("extend_ask", ask(thing="FA-9-2"), "Odile")
    given = bench.do("extend", Extend("FA-9-2"), "Marek")
    assert "void.approved" in bench.refused("void", Void(asked.receipts[0].act, "no"), "Odile")
    bench.do("void", Void(given.receipts[0].act, "coupons were of another lot"), "Odile")
    assert reading("FA-9-2", "storage", bench).ends_us == END["old"]
    assert state("FA-9-2").ends_us == END["old"]


def test_an_end_whose_extension_was_voided_is_extended_again_on_what_was_asked(bench: Bench) -> None:
    """The approval was a slip; the asking stands, and waits again."""
    bench.do("extend_ask", ask(thing="FA-9-2"), "Odile")
    given = bench.do("extend", Extend("FA-9-2"), "Marek")
    bench.do("void", Void(given.receipts[0].act, "coupons were of another lot"), "Odile")
    assert set(bench.refused("extend_ask", ask(thing="FA-9-2"), "Odile")) == {"extend.asked_already"}
    again = bench.do("extend", Extend("FA-9-2"), "Marek")
    assert reading("FA-9-2", "storage", bench).ends_us == state("FA-9-2").ends_us == END["new"]
    assert [(e.old_us, e.until_us, e.approved_id) for e in Extension.objects.order_by("pk")] == [
        (END["old"], END["new"], given.receipts[0].act),
        (END["old"], END["new"], again.receipts[0].act),
    ]
    bench.do("void", Void(again.receipts[0].act, "and once more"), "Odile")
    assert reading("FA-9-2", "storage", bench).ends_us == END["old"]


def test_an_end_whose_extension_was_voided_is_asked_for_anew_with_other_evidence(bench: Bench) -> None:
    """Ladder and end are as if it had never been given: three months first, then one."""
    asked = bench.do("extend_ask", ask(thing="FA-9-2"), "Odile")
    given = bench.do("extend", Extend("FA-9-2"), "Marek")
    bench.do("void", Void(given.receipts[0].act, "coupons were of another lot"), "Odile")
    bench.do("void", Void(asked.receipts[0].act, "coupons were of another lot"), "Odile")
    assert set(bench.refused("extend_ask", ask(1, "FA-9-2"), "Odile")) == {"extend.not_the_next_step"}
    bench.do("extend_ask", ask(thing="FA-9-2", value="25.0 MPa", evidence="report 13"), "Odile")
    assert set(bench.refused("extend", Extend("FA-9-2"), "Odile")) == {"approval.same_person"}
    bench.do("extend", Extend("FA-9-2"), "Marek")
    assert reading("FA-9-2", "storage", bench).ends_us == END["new"]
    newest = Extension.objects.order_by("-pk").first()
    assert newest is not None and "report 13" in newest.evidence
    bench.do("extend_ask", ask(1, "FA-9-2"), "Odile")
    bench.do("extend", Extend("FA-9-2"), "Marek")
    assert reading("FA-9-2", "storage", bench).ends_us == END["then"]
    assert set(bench.refused("extend_ask", ask(1, "FA-9-2"), "Odile")) == {"extend.ladder_used_up"}


def test_a_roll_that_was_cut_after_its_end_is_opened_and_not_extended(bench: Bench) -> None:
    tuesday = clock("16:00", day(2026, 3, 31))
    bench.do("move", Move("FA-9-2", "CLEAN"), "Bram", at=clock("09:30"))
    bench.do("extend_ask", ask(thing="FA-9-2"), "Odile", at=clock("10:00"))
    cut = CutKit("FA-9-2", "1.00 m", mark="FK-20")
    bench.do("cut_kit", cut, "Bram", at=tuesday + HOUR, stance="observed", happened_us=tuesday)
    assert Finding.objects.filter(code__startswith="life.over/storage", closed_us=None).count() == 1
    reasons = bench.refused("extend", Extend("FA-9-2"), "Marek", at=tuesday + 2 * HOUR)
    assert set(reasons) == {"extend.opened"}, "the cut opened it"


def test_an_opened_piece_of_a_material_that_allows_it_is_extended_with_all_that_was_cut_from_it(bench: Bench) -> None:
    material = bench.yard.material["FA-B"]
    spec = LifeSpec.objects.create(material=material, version=2)
    LifeLimit.objects.create(spec=spec, name="storage", clock="calendar", months=6, checkpoint="laid", ladder="3", unopened_only=False)
    film = Receive(
        "D-91", (ReceivedLot("FA-10", (ReceivedPiece("25 m", "FA-10-1"),), made="2025-09-30"),), "Kestrow Prepreg", "FA-B", "CLEAN"
    )
    bench.do("receive", film)
    bench.do("certify", Certify("FA-10", (PaperValue("lap shear", "27"),)))
    bench.do("release", Release(("FA-10",)), "Odile")
    bench.do("cut_kit", CutKit("FA-10-1", "1.00 m", mark="FK-30"), "Bram", at=clock("14:00"))
    tuesday = clock("16:00", day(2026, 3, 31))
    bench.do("cut_kit", CutKit("FA-10-1", "1.00 m", mark="FK-31"), "Bram", at=tuesday + HOUR, stance="observed", happened_us=tuesday)
    assert Finding.objects.filter(closed_us=None, code__startswith="life.over/storage").count() == 1
    bench.do("extend_ask", ExtendAsk("FA-10-1", 3, evidence="report 14"), "Odile", at=tuesday + 2 * HOUR)
    given = bench.do("extend", Extend("FA-10-1"), "Marek", at=tuesday + 3 * HOUR)
    assert Finding.objects.filter(closed_us=None).count() == 0
    bench.now_us = tuesday + 3 * HOUR
    assert reading("FK-30", "storage", bench).ends_us == END["new"] and state("FK-30").ends_us == END["new"]
    bench.do("void", Void(given.receipts[0].act, "report was of another lot"), "Odile", at=tuesday + 4 * HOUR)
    assert Finding.objects.filter(closed_us=None, code__startswith="life.over/storage").count() == 1
    assert state("FK-30").ends_us == END["old"]
    tx = Transaction(bench.yard.who("Odile"), bench.now_us + DAY, True)
    from inventory.models import Item

    assert propagate(tx, set(Item.objects.values_list("pk", flat=True)), write=False).differing == []
