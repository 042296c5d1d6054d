"""Several people count one place at the same instant, a device tells a scan twice, and the shop goes on meanwhile."""

from __future__ import annotations

import os
import uuid
from collections import Counter
from typing import Any

import pytest
from django.db.models import QuerySet

from inventory.core.reasons import Refused
from inventory.models import Act, CountLine, CountSheet, CountTold
from inventory.reads import counts
from inventory.recording.rebuild import rebuild
from inventory.verbs import count_sheets
from inventory.verbs.count_ends import CountDrop, CountFinish
from inventory.verbs.count_sheets import CountBegin, CountSee, CountStrike
from inventory.verbs.counting import Scrap, UseOtherwise
from inventory.verbs.moving import Move
from inventory.verbs.registry import Call, perform
from inventory.verbs.voiding import Void
from tests.ledger.bench import HOUR, MINUTE, Bench, item, last, state
from tests.ledger.test_races import released, together

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = int(os.environ.get("SELVEDGE_TEST_ROUNDS", "3"))
PEOPLE = 6


def begun(bench: Bench) -> int:
    return int(bench.do("count_begin", CountBegin("RACK")).data["sheet"])


def at_once(bench: Bench, asked: list[tuple[str, Any]], key: uuid.UUID | None = None) -> list[Any]:
    """Verbs by several devices at the same instant; what each was told, or what was raised."""
    calls = [Call(bench.yard.who("Ines"), bench.now_us + MINUTE + n, key or uuid.uuid4()) for n in range(len(asked))]
    jobs = [lambda c=c, name=name, p=p: perform(name, c, p) for c, (name, p) in zip(calls, asked, strict=True)]  # type: ignore[misc]
    return together(jobs)


def codes(told: list[Any]) -> Counter[str]:
    """How often each was answered: "done", or the code of the refusal. Anything else that was raised fails here."""
    assert all(not isinstance(t, Exception) or isinstance(t, Refused) for t in told), told
    return Counter(t.reasons[0].code if isinstance(t, Refused) else "done" for t in told)


def rev(sheet: int) -> int:
    return CountSheet.objects.get(pk=sheet).rev


def test_six_who_begin_one_place_at_once_count_on_one_sheet() -> None:
    bench = Bench()
    for _ in range(ROUNDS):
        told = at_once(bench, [("count_begin", CountBegin("RACK"))] * PEOPLE)
        assert codes(told) == {"done": PEOPLE}
        assert len({t.data["sheet"] for t in told}) == 1 and [t.data["begun"] for t in told].count(True) == 1
        bench.do("count_finish", CountFinish(told[0].data["sheet"], 0), at=bench.now_us + 2 * MINUTE)
        bench.now_us += 3 * MINUTE


def test_a_count_that_others_begin_and_end_within_ones_own_beginning_is_begun_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """The row of the others is in the way when ours is written, and gone when we look for it: as a savepoint that is rolled back."""
    bench = Bench()
    create, others = QuerySet.create, [2]

    def met(rows: Any, **values: Any) -> Any:
        if rows.model is CountSheet and others[0]:
            others[0] -= 1
            create(rows, **values)
        return create(rows, **values)

    monkeypatch.setattr(QuerySet, "create", met)
    assert begun(bench) == CountSheet.objects.get(ended_us=None).pk and others == [0]
    bench.do("count_finish", CountFinish(begun(bench), 0), at=bench.now_us + MINUTE)
    others[0] = 1_000
    assert bench.refused("count_begin", CountBegin("RACK"), at=bench.now_us + 2 * MINUTE).keys() == {"count.busy"}


def test_one_thing_seen_by_six_at_once_is_one_line_and_the_same_scan_sent_six_times_is_one_change() -> None:
    bench = Bench()
    bench.roll("G7-1")
    bench.roll("G7-2")
    sheet = begun(bench)
    told = at_once(bench, [("count_see", CountSee(sheet, "G7-1"))] * PEOPLE)
    assert codes(told) == {"done": PEOPLE} and [t.data["again"] for t in told].count(False) == 1
    assert CountLine.objects.get(sheet=sheet).item.mark == "G7-1"
    before = rev(sheet)
    told = at_once(bench, [("count_see", CountSee(sheet, "G7-2", "98 m"))] * PEOPLE, uuid.uuid4())
    assert codes(told) == {"done": PEOPLE} and rev(sheet) == before + 1
    assert {t.data["difference"] for t in told} == {-2_000_000}, "each is told the same"


def test_an_amount_that_meets_its_own_taking_off_is_never_left_on_a_line_that_is_off() -> None:
    bench = Bench()
    bench.roll("G7-1")
    sheet = begun(bench)
    for _ in range(4 * ROUNDS):
        bench.do("count_see", CountSee(sheet, "G7-1"))
        asked = [("count_strike", CountStrike(sheet, "G7-1")), ("count_see", CountSee(sheet, "G7-1", "98 m"))]
        assert codes(at_once(bench, asked)) == {"done": 2}
        line = CountLine.objects.get(sheet=sheet)
        assert line.struck == (line.counted is None), "the last of the two is what stands"
        bench.do("count_strike", CountStrike(sheet, "G7-1"))


def test_the_end_meets_scans_and_another_end_and_everything_that_was_accepted_is_in_it() -> None:
    bench = Bench()
    for n in range(ROUNDS):
        marks = [f"G{n}-{i}" for i in range(3)]
        for mark in marks:
            released(bench, mark, "10.00 m")
        sheet = begun(bench)
        bench.do("count_see", CountSee(sheet, marks[0], "9.00 m"))
        scans = [("count_see", CountSee(sheet, mark, "8.00 m")) for mark in marks[1:]]
        told = at_once(bench, [*scans, ("count_finish", CountFinish(sheet, 1)), ("count_finish", CountFinish(sheet, 1))])
        assert set(codes(told[:2])) <= {"done", "count.over"} and set(codes(told[2:])) <= {"done", "count.changed"}
        if CountSheet.objects.get(pk=sheet).ended_us is None:
            bench.do("count_finish", CountFinish(sheet, rev(sheet)), at=bench.now_us + 2 * MINUTE)
        accepted = [mark for mark, t in zip(marks[1:], told, strict=False) if not isinstance(t, Refused)]
        measured = CountLine.objects.filter(sheet=sheet, counted__isnull=False)
        assert {line.item.mark for line in measured} == {marks[0], *accepted}
        assert all(line.act_id for line in measured) and Act.objects.filter(kind="count").count() == sum(
            line.act_id is not None for line in CountLine.objects.all()
        )
        assert [state(mark).qty for mark in accepted] == [8_000_000] * len(accepted) and state(marks[0]).qty == 9_000_000
        bench.now_us += HOUR
    assert rebuild(bench.yard.site, bench.now_us + HOUR).differences == []


def test_a_scan_told_again_keeps_the_instant_at_which_it_was_measured() -> None:
    """Counted, then a piece was taken, then the device tells the same again since no answer had come: nothing is found by that."""
    bench = Bench()
    released(bench, "G7-1", "20.00 m")
    sheet = begun(bench)
    first = bench.do("count_see", CountSee(sheet, "G7-1", "18.00 m"), at=bench.now_us + MINUTE, key="a scan")
    bench.do("use", UseOtherwise("G7-1", "2.00 m", "panel"), at=bench.now_us + 2 * MINUTE)
    again = bench.do("count_see", CountSee(sheet, "G7-1", "18.00 m"), at=bench.now_us + 3 * MINUTE, key="a scan")
    assert (again.text, again.data) == (first.text, first.data) and rev(sheet) == 1
    with pytest.raises(Refused) as refused:
        bench.do("count_see", CountSee(sheet, "G7-1", "17.00 m"), at=bench.now_us + 3 * MINUTE, key="a scan")
    assert refused.value.reasons[0].code == "key.reused"
    bench.do("count_finish", CountFinish(sheet, 1), at=bench.now_us + 4 * MINUTE)
    assert state("G7-1").qty == 16_000_000
    over = bench.do("count_see", CountSee(sheet, "G7-1", "18.00 m"), at=bench.now_us + 5 * MINUTE, key="a scan")
    assert over.data == first.data, "it was accepted, and is told so after the end as well"


def test_taking_off_told_again_does_not_take_off_what_was_seen_since() -> None:
    bench = Bench()
    bench.roll("G7-1")
    sheet = begun(bench)
    bench.do("count_see", CountSee(sheet, "G7-1"))
    bench.do("count_strike", CountStrike(sheet, "G7-1"), key="off")
    bench.do("count_see", CountSee(sheet, "G7-1"))
    bench.do("count_strike", CountStrike(sheet, "G7-1"), key="off")
    assert not CountLine.objects.get(sheet=sheet).struck and CountTold.objects.filter(sheet=sheet).count() == 3
    bench.do("count_finish", CountFinish(sheet, 3), at=bench.now_us + MINUTE)
    assert bench.do("count_strike", CountStrike(sheet, "G7-1"), key="off").text, "it was accepted, and is told so after the end as well"
    assert bench.refused("count_strike", CountStrike(sheet, "G7-1")).keys() == {"count.over"}


@pytest.mark.parametrize("asked", [CountSee, CountStrike])
def test_a_count_that_is_left_off_between_a_scan_and_its_writing_takes_nothing_more(
    monkeypatch: pytest.MonkeyPatch, asked: type[CountSee | CountStrike]
) -> None:
    bench = Bench()
    bench.roll("G7-1")
    sheet = begun(bench)
    verb = {CountSee: "count_see", CountStrike: "count_strike"}[asked]
    if asked is CountStrike:
        bench.do("count_see", CountSee(sheet, "G7-1"))
    before, looked = rev(sheet), count_sheets.still_open

    def then_dropped(*said: Any) -> None:
        looked(*said)
        bench.do("count_drop", CountDrop(sheet), at=bench.now_us + MINUTE)

    monkeypatch.setattr(count_sheets, "still_open", then_dropped)
    assert bench.refused(verb, asked(sheet, "G7-1"), at=bench.now_us + MINUTE).keys() == {"count.over"}
    assert rev(sheet) == before and CountLine.objects.filter(sheet=sheet, struck=False).exists() == (asked is CountStrike)


def test_a_count_that_changes_between_the_look_and_its_end_is_not_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    """With an amount to write, and with none: nothing of it is written, and what was seen in between is not lost."""
    bench = Bench()
    for mark in ("G7-1", "G7-2"):
        released(bench, mark, "10.00 m")
    for amount in ("", "9.00 m"):
        sheet = begun(bench)
        bench.do("count_see", CountSee(sheet, "G7-1", amount))
        look = counts.look

        def then_seen(row: CountSheet, look: Any = look, sheet: int = sheet) -> Any:
            found = look(row)
            bench.do("count_see", CountSee(sheet, "G7-2"))
            return found

        with monkeypatch.context() as patch:
            patch.setattr(counts, "look", then_seen)
            assert bench.refused("count_finish", CountFinish(sheet, 1), at=bench.now_us + MINUTE).keys() == {"count.changed"}
        assert CountSheet.objects.get(pk=sheet).ended_us is None and not Act.objects.filter(kind="count").exists()
        bench.do("count_finish", CountFinish(sheet, 2), at=bench.now_us + MINUTE)
        bench.now_us += HOUR


def test_what_came_and_what_left_while_it_was_counted_is_not_missed() -> None:
    bench = Bench()
    for mark in ("G7-1", "G7-2", "G7-3"):
        bench.roll(mark)
    sheet = begun(bench)
    bench.do("move", Move("G7-1", "BAY1"), at=bench.now_us + MINUTE)
    bench.roll("G7-4", at=bench.now_us + 2 * MINUTE)
    bench.do("count_see", CountSee(sheet, "G7-2"), at=bench.now_us + 3 * MINUTE)
    found = counts.look(CountSheet.objects.get(pk=sheet))
    piles = {name: [s.item.mark for s in getattr(found, name)] for name in ("waiting", "handled")}
    assert "G7-1" not in piles["waiting"] + piles["handled"] and piles["handled"] == ["G7-4"] and "G7-3" in piles["waiting"]
    done = bench.do("count_finish", CountFinish(sheet, 1), at=bench.now_us + 4 * MINUTE)
    assert item("G7-3").code in done.data["missing"] and not {item(m).code for m in ("G7-1", "G7-2", "G7-4")} & {*done.data["missing"]}


def test_what_is_counted_where_the_book_does_not_have_it_is_written_and_asked_about() -> None:
    bench = Bench()
    released(bench, "G7-1", "20.00 m")
    bench.do("move", Move("G7-1", "BAY1"), at=bench.now_us + MINUTE)
    sheet = begun(bench)
    seen = bench.do("count_see", CountSee(sheet, "G7-1", "18.00 m"), at=bench.now_us + 2 * MINUTE)
    assert seen.data["saw"] == "elsewhere" and seen.data["booked"] == "BAY1"
    done = bench.do("count_finish", CountFinish(sheet, 1), at=bench.now_us + 3 * MINUTE)
    assert done.data["elsewhere"] == [item("G7-1").code] and done.data["written"] == 1
    there = state("G7-1").location
    assert state("G7-1").qty == 18_000_000 and there is not None and there.code == "BAY1", "the amount is written, the place asked about"
    assert [line.item.mark for line in counts.to_decide(bench.yard.site) if line.seen_us is not None] == ["G7-1"]


def test_what_was_gone_when_it_was_seen_and_is_put_right_is_counted_like_anything() -> None:
    bench = Bench()
    released(bench, "G7-1", "20.00 m")
    bench.do("scrap", Scrap("G7-1", "wet"), at=bench.now_us + MINUTE)
    scrapped, sheet = last("scrap").pk, begun(bench)
    assert bench.do("count_see", CountSee(sheet, "G7-1"), at=bench.now_us + 2 * MINUTE).data["saw"] == "gone"
    bench.do("void", Void(scrapped, "another roll"), "Odile", at=bench.now_us + 3 * MINUTE)
    bench.do("count_see", CountSee(sheet, "G7-1", "18.00 m"), at=bench.now_us + 4 * MINUTE)
    done = bench.do("count_finish", CountFinish(sheet, rev(sheet)), at=bench.now_us + 5 * MINUTE)
    assert done.data["written"] == 1 and done.data["gone"] == [] and state("G7-1").qty == 18_000_000


def test_what_was_gone_when_it_was_seen_and_is_put_right_needs_no_second_look() -> None:
    bench = Bench()
    released(bench, "G7-1", "20.00 m")
    bench.do("scrap", Scrap("G7-1", "wet"), at=bench.now_us + MINUTE)
    scrapped, sheet = last("scrap").pk, begun(bench)
    bench.do("count_see", CountSee(sheet, "G7-1"), at=bench.now_us + 2 * MINUTE)
    bench.do("void", Void(scrapped, "another roll"), "Odile", at=bench.now_us + 3 * MINUTE)
    assert bench.do("count_finish", CountFinish(sheet, 1), at=bench.now_us + 4 * MINUTE).data["gone"] == []
    found = counts.look(CountSheet.objects.get(pk=sheet))
    assert [s.line.item.mark for s in found.here] == ["G7-1"] and found.gone == [], "it stays so once the count is over"


def test_what_was_taken_off_again_and_not_seen_since_was_not_found() -> None:
    bench = Bench()
    bench.roll("G7-1")
    sheet = begun(bench)
    bench.do("count_see", CountSee(sheet, "G7-1"))
    bench.do("count_strike", CountStrike(sheet, "G7-1"))
    assert bench.do("count_finish", CountFinish(sheet, 2), at=bench.now_us + MINUTE).data["missing"] == [item("G7-1").code]
    assert [(line.item.mark, line.seen_us, line.struck) for line in counts.to_decide(bench.yard.site)] == [("G7-1", None, False)]
