"""What is told late is judged as of when it happened: by what things were like then, and by what stood against them then."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from inventory.core.reasons import Reason
from inventory.recording.rebuild import rebuild
from inventory.verbs.counting import Scrap
from inventory.verbs.cutting import CutKit
from inventory.verbs.deciding import Dispose
from inventory.verbs.holding import Hold, Unhold
from inventory.verbs.moving import Move
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.voiding import Void
from layups.verbs.curing import CureOn
from layups.verbs.laying import Lay
from layups.verbs.starting import StartPart
from tests.ledger.bench import DAY, Bench, clock, item, state

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    """U-1, 40 m of UD prepreg, released, in the clean room since 06:00; it will be out for 120 h on Saturday at 06:00."""
    bench = Bench()
    receipt = Receive("D-9", (ReceivedLot("L9", (ReceivedPiece("40 m", "U-1"),), "2026-02-02"),), "Kestrow Prepreg", "PP-U", "F1")
    bench.do("receive", receipt, at=clock("05:00") - 7 * DAY)
    opened = item("U-1").blocks.get()
    opened.to_us, opened.closed = clock("05:00") - 7 * DAY, opened.opened
    opened.save()
    bench.do("move", Move("U-1", "CLEAN"), at=clock("06:00"))
    return bench


def told(bench: Bench, happened: int, at: int, verb: str = "cut_kit", params: object = None, mark: str = "K-1") -> dict[str, Reason]:
    p = params or CutKit("U-1", "6 m", mark=mark)
    done = bench.do(verb, p, "Bram" if verb != "move" else "Ines", at=at, stance="observed", happened_us=happened)
    assert rebuild(bench.yard.site, at + DAY).differences == []
    return {reason.code: reason for reason in done.reasons}


def codes(found: dict[str, Reason]) -> Sequence[str]:
    return sorted(found)


def test_a_record_from_before_the_scrap_is_not_of_something_gone(bench: Bench) -> None:
    bench.do("scrap", Scrap("U-1", "damaged"), at=clock("16:00"))
    assert told(bench, clock("15:00"), clock("17:00"), "move", Move("U-1", "BAY1")) == {}
    assert codes(told(bench, clock("16:30"), clock("17:10"), "move", Move("U-1", "CLEAN"))) == ["stock.gone"]
    assert state("U-1").gone == "scrapped"


def test_how_much_there_was_is_what_there_was_then(bench: Bench) -> None:
    bench.do("cut_kit", CutKit("U-1", "38 m", mark="K-2"), "Bram", at=clock("16:00"))
    assert told(bench, clock("15:00"), clock("17:00")) == {}, "40 m were there"
    short = told(bench, clock("16:30"), clock("17:10"), mark="K-3")
    assert "6.00 m wanted, 0.00 m left" in short["stock.not_enough"].text


def test_lives_and_thaw_speak_of_the_instant_of_the_use(bench: Bench) -> None:
    bench.do("move", Move("U-1", "BAY1"), at=clock("06:00") + 6 * DAY)
    late = clock("12:00") + 6 * DAY
    assert codes(told(bench, clock("07:00"), late)) == ["thaw.short"]
    assert told(bench, clock("15:00"), late, mark="K-2") == {}
    over = told(bench, clock("07:00") + 5 * DAY, late, mark="K-3")
    assert "121 h 00 of 72 h" in over["life.over"].text  # its tack; moved on a day later, it is at 148 h now


def test_a_hold_stands_against_what_happened_while_it_stood(bench: Bench) -> None:
    bench.do("hold", Hold("U-1", "wet"), "Odile", at=clock("15:00"))
    bench.do("unhold", Unhold("U-1", "dry after all"), "Odile", at=clock("16:00"))
    assert told(bench, clock("14:59"), clock("17:00")) == {}
    assert codes(told(bench, clock("15:30"), clock("17:01"), mark="K-2")) == ["block.quality"]
    assert told(bench, clock("16:30"), clock("17:02"), mark="K-3") == {}


def test_a_hold_that_was_a_mistake_never_stood(bench: Bench) -> None:
    record = bench.do("hold", Hold("U-1", "wet"), "Odile", at=clock("15:00")).receipts[0].act
    bench.do("void", Void(record, "wrong roll"), "Odile", at=clock("16:00"))
    assert told(bench, clock("15:30"), clock("17:00")) == {}


def test_what_was_freed_of_a_hold_is_free_from_then_on(bench: Bench) -> None:
    bench.do("cut_kit", CutKit("U-1", "6 m", mark="K-0"), "Bram", at=clock("14:30"))
    bench.do("hold", Hold("L9", "wet"), "Odile", at=clock("15:00"))
    bench.do("unhold", Unhold("K-0", "looked at"), "Odile", at=clock("16:00"))
    bench.do("start_part", StartPart("TIL", "TIL-1", "CLEAN"), "Bram", at=clock("14:00"))
    lay = Lay("K-0", "TIL-1", qty="0.1 m²")
    assert "block.quality" in told(bench, clock("15:30"), clock("17:00"), "lay", lay)
    assert "block.quality" not in told(bench, clock("16:30"), clock("17:01"), "lay", lay)


def test_a_kit_that_is_told_late_lies_where_the_roll_was_when_it_was_cut(bench: Bench) -> None:
    bench.do("move", Move("U-1", "F1"), at=clock("16:00"))
    assert told(bench, clock("15:00"), clock("17:00")) == {}
    told(bench, clock("16:30"), clock("17:01"), mark="K-2")
    places = [item(mark).state.location for mark in ("K-1", "K-2", "U-1")]
    assert [place.code if place else "" for place in places] == ["CLEAN", "F1", "F1"]


def test_what_was_wrong_with_a_piece_stands_from_when_it_happened_however_late_it_was_told(bench: Bench) -> None:
    bench.do("start_part", StartPart("TIL", "TIL-1", "CLEAN"), "Bram", at=clock("06:30"))
    assert codes(told(bench, clock("07:00"), clock("17:00"))) == ["thaw.short"]
    assert "block.quality" in told(bench, clock("08:00"), clock("17:05"), "lay", Lay("K-1", "TIL-1", qty="0.1 m²"))


def test_a_finding_that_was_decided_later_stood_then(bench: Bench) -> None:
    """Laid when it was over, told at once; use-as-is two hours later. A cure in between broke the rule, one after did not."""
    day = 6 * DAY
    for part in ("TIL-1", "TIL-2"):
        bench.do("start_part", StartPart("TIL", part, "CLEAN"), "Bram", at=clock("07:00") + day)
        told(bench, clock("08:00") + day, clock("08:05") + day, "lay", Lay("U-1", part, qty="1 m", dry=True))
        bench.do("dispose", Dispose(part, "use_as_is", "DA-7", "tested"), "Odile", at=clock("10:00") + day)
    assert "finding.open" in told(bench, clock("09:00") + day, clock("12:00") + day, "cure_on", CureOn(parts=("TIL-1",)))
    assert "finding.open" not in told(bench, clock("11:00") + day, clock("12:01") + day, "cure_on", CureOn(parts=("TIL-2",)))
