"""Counting a whole place: scanned one after another, interrupted and gone on with, ended once, and nothing written off by itself."""

from __future__ import annotations

import re

import pytest

from inventory.balance import balance
from inventory.models import Act, CountLine, CountSheet, Location, Refusal
from inventory.reads.needs import needs
from inventory.verbs import counting, cutting, moving
from inventory.verbs.count_ends import CountFinish, CountSettle
from inventory.verbs.count_sheets import CountBegin, CountSee

from .browsing import Browser, Clock, Page
from .store import Store


def begun(browser: Browser, place: str = "RACK") -> Page:
    page = browser.post("/count/", {"code": place})
    assert page.status == 200 and page.path.startswith("/count/"), page.text
    return page


def see(browser: Browser, page: Page, code: str, last: str = "") -> Page:
    return browser.post(f"{page.path.partition('?')[0]}?last={last}", {"intent": "see", "code": code})


def end(browser: Browser, page: Page) -> Page:
    rev = re.search(r'name="rev" value="(\d+)"', browser.get(page.path).source)
    assert rev is not None
    return browser.post(page.path.partition("?")[0], {"intent": "finish", "rev": rev[1]})


def section(page: Page, heading: str, until: str) -> str:
    text = page.text
    return text[text.index(heading) : text.index(until, text.index(heading))]


def told(yard: Store, now: int, *roles: str) -> dict[str, str]:
    return {n.code: n.text for n in needs(yard.site.pk, yard.zone, now, roles or ("storekeeper",)) if n.code.startswith("count.")}


def test_a_place_is_counted_scan_by_scan_and_one_confirmation_writes_the_differences(yard: Store, clock: Clock, ines: Browser) -> None:
    before = Act.objects.count()
    page = begun(ines)
    assert "0 seen, 5 not seen yet" in page.text
    page = see(ines, page, "C-12")
    assert "Seen C-12 (CT-204): the book has 18.40 m." in page.text and 'data-answer="yes"' in page.source
    page = see(ines, page, "18.06 m", yard.code("C-12"))
    assert "18.06 m counted, −0.34 m" in page.text, "a figure in the box is the amount of what was scanned last"
    page = see(ines, page, yard.code("C-13"))
    page = ines.post(page.path, {"intent": "amount", "item": yard.code("C-13"), "gross": "12.0 kg", "reason": "outer wraps lost"})
    assert "outer wraps lost" in page.text
    page = see(ines, page, "PEEL-1")
    again = see(ines, page, "peel-1")
    assert "Seen already" in again.text and CountLine.objects.count() == 3, "a second read counts once"
    assert Act.objects.count() == before, "a sheet under way is a working paper"
    assert "Amounts counted: 2, of them differing from the book: 2." in again.text
    assert "Not seen yet: 2." in again.text
    done = end(ines, page)
    assert "amounts written 2, of them differing 2" in done.text and "Not found: 2. Nothing was written off." in done.text
    acts = {a.legs.get().item.mark: a for a in Act.objects.filter(kind="count")}
    assert {mark: a.reason for mark, a in acts.items()} == {"C-12": "count by length", "C-13": "outer wraps lost"}
    assert yard["C-12"].state.qty == 18_060_000 and yard["G6-4"].state.qty == 100_000_000
    assert balance(yard["C-12"].lot_id or 0).closes
    assert "CO-1" in section(done, "What it found besides", "Seen") and "G6-4" in section(done, "What it found besides", "Seen")
    assert f"count {CountSheet.objects.get().pk}" in ines.scan("C-12").text, "the record names its count"


def test_what_was_taken_since_it_was_measured_is_not_given_back_by_the_end(yard: Store, clock: Clock, ines: Browser) -> None:
    page = see(ines, begun(ines), "C-12")
    see(ines, page, "18.00 m", yard.code("C-12"))
    clock(0, "07:45")
    yard.do(clock.now, "Bram", "cut_off", cutting.CutOff("C-12", "2.00 m"))
    clock(0, "07:50")
    end(ines, page)
    assert yard["C-12"].state.qty == 16_000_000


def test_another_device_goes_on_where_the_first_stopped_and_nobody_confirms_what_they_have_not_seen(
    yard: Store, clock: Clock, ines: Browser, odile: Browser
) -> None:
    page = see(ines, begun(ines), "C-12")
    stale = re.search(r'name="rev" value="(\d+)"', page.source)
    there = begun(odile)
    assert there.path == page.path.partition("?")[0] and "1 seen, 4 not seen yet" in there.text and "Ines began it" in there.text
    see(odile, there, "C-13")
    assert stale is not None
    refused = ines.post(there.path, {"intent": "finish", "rev": stale[1]})
    assert refused.status == 409 and refused.reasons == ["count.changed"] and CountSheet.objects.get().ended_us is None
    assert "seen 2" in end(ines, there).text
    late = see(odile, there, "PEEL-1")
    assert late.status == 409 and late.reasons == ["count.over"] and CountLine.objects.filter(seen_us__isnull=False).count() == 2
    assert Refusal.objects.filter(verb__startswith="count_").count() == 2


def test_what_lies_here_though_booked_elsewhere_is_offered_and_what_is_gone_is_told(yard: Store, clock: Clock, ines: Browser) -> None:
    yard.do(clock.now - 2, "Ines", "scrap", counting.Scrap("PEEL-1", "wet"))
    page = see(ines, begun(ines), "LA-7")
    assert "LA-7 (LAM-A) is booked in" in page.text and 'data-answer="ask"' in page.source
    page = ines.post(page.path, {"intent": "here", "item": yard.code("LA-7")})
    assert yard["LA-7"].state.location.code == "RACK" and "Here, but booked elsewhere" not in page.text  # type: ignore[union-attr]
    page = see(ines, page, "X5")
    no = ines.post(page.path, {"intent": "here", "item": yard.code("X5")})
    assert no.status == 409 and "place.peroxide_only_in_its_own" in no.reasons
    assert "X5 does not go into Dry goods rack" in no.text, "the refusal names the thing"
    page = see(ines, page, "PEEL-1")
    assert "PEEL-1 (PEEL-85) is scrapped by the book" in page.text and 'data-answer="no"' in page.source
    page = see(ines, page, "5 m", yard.code("PEEL-1"))
    assert page.status == 422 and page.reasons == ["count.gone"]
    clock(0, "07:50")
    end(ines, page)
    clock(0, "07:55")
    said = told(yard, clock.now, "storekeeper", "quality")
    assert "X5 lay in" in said["count.elsewhere"] and "PEEL-1 lay in" in said["count.gone"]
    assert "C-12" not in said.get("count.elsewhere", "") and said["count.missing"].count("was not found") == 1
    yard.do(clock.now, "Ines", "move", moving.Move("X5", "BK"))
    assert "count.elsewhere" not in told(yard, clock.now), "a later record answers it"


def test_what_was_not_found_is_asked_until_it_is_found_scrapped_or_settled_by_a_word(yard: Store, clock: Clock, ines: Browser) -> None:
    page = begun(ines)
    for mark in ("C-12", "PEEL-1"):
        see(ines, page, mark)
    done = end(ines, page)
    clock(0, "08:00")

    def missing() -> set[str]:
        rows = needs(yard.site.pk, yard.zone, clock.now, ("storekeeper",))
        return {n.text.split(" ")[0] for n in rows if n.code == "count.missing"}

    assert missing() == {"C-13", "G6-4", "CO-1"} and yard["C-13"].state.qty == 48_000_000
    yard.do(clock.now, "Ines", "count", counting.Count("C-13", "48 m"))
    assert missing() == {"G6-4", "CO-1"}
    page = ines.post(done.path, {"intent": "settle", "item": yard.code("CO-1"), "note": "lent to the club"})
    assert "lent to the club" in page.text and missing() == {"G6-4"}
    again = begun(ines)
    see(ines, again, "G6-4")
    clock(0, "08:10")
    end(ines, again)
    assert "G6-4" not in missing(), "the next count saw it in its place"
    assert ines.post(done.path, {"intent": "settle", "item": "G6-4", "note": ""}).status == 422


@pytest.mark.once
def test_a_place_is_to_be_counted_by_the_interval_that_the_owner_sets(yard: Store, clock: Clock, ines: Browser) -> None:
    assert told(yard, clock.now) == {}, "no interval, no word"
    Location.objects.filter(code="RACK").update(count_days=30)
    assert "has never been counted" in told(yard, clock.now)["count.due"]
    page = begun(ines)
    assert set(told(yard, clock.now)) == {"count.under_way"} and "Go on" in ines.get("/").text
    end(ines, page)
    clock(29, "09:00")
    assert "count.due" not in told(yard, clock.now)
    clock(30, "09:00")
    said = told(yard, clock.now)["count.due"]
    assert "was last counted Mon 30 Mar 07:40 by Ines, and is counted every 30 days" in said
    assert "to count" in ines.get("/count/").text
    begun(ines)
    left = ines.post("/count/" + str(CountSheet.objects.latest("pk").pk) + "/", {"intent": "drop"})
    assert "nothing of it was written" in left.text and "count.due" in told(yard, clock.now), "a count left off is none"


@pytest.mark.once
@pytest.mark.parametrize("code", ["", "nothing like it", "DAG-1", "<script>alert(1)</script>", "9" * 400, "\x00", "CT-88"])
def test_what_is_no_thing_is_told_and_changes_nothing(ines: Browser, code: str) -> None:
    page = see(ines, begun(ines), code)
    assert page.status in (409, 422) and page.reasons and "<script>alert" not in page.source and CountLine.objects.count() == 0
    page = see(ines, page, code, see(ines, page, "C-12").path.partition("last=")[2])
    assert page.status in (409, 422) and 'id="amount"' not in page.source, "a figure that follows belongs to nothing"


@pytest.mark.once
def test_a_place_that_is_scanned_takes_its_own_sheet_and_this_one_stays(yard: Store, ines: Browser) -> None:
    page = see(ines, begun(ines), "C-12")
    assert "is what is being counted here" in see(ines, page, "RACK").text
    there = see(ines, page, "CLEAN")
    assert "Count of Clean room" in there.text and CountSheet.objects.filter(ended_us__isnull=True).count() == 2
    assert begun(ines, "RACK").path == page.path.partition("?")[0]


def test_a_count_asks_as_many_questions_for_thirty_rolls_as_for_three(yard: Store, clock: Clock, ines: Browser) -> None:
    Location.objects.filter(code="RACK").update(count_days=30)
    page = see(ines, see(ines, see(ines, begun(ines), "C-12"), "LA-7"), "G6-4")
    sheet = page.path.partition("?")[0]
    paths = (sheet, "/count/", "/", "/places/", "/places/RACK/")
    for path in paths:
        ines.get(path)
    few = [ines.queries(path) for path in paths]
    for n in range(30):
        yard.stock(f"N-{n}", "CT-204", 30_000_000, "RACK", yard.at(-2, "10:00", n), lot=f"N{n}")
        if n % 2:
            yard.do(clock.now + n, "Ines", "count_see", CountSee(int(sheet.split("/")[2]), f"N-{n}", "29 m" if n % 3 else ""))
    for path in paths:
        ines.get(path)
    assert [ines.queries(path) for path in paths] == few


def test_two_who_end_a_count_at_once_write_it_once(yard: Store, clock: Clock) -> None:
    sheet = yard.do(clock.now, "Ines", "count_begin", CountBegin("RACK")).data["sheet"]
    yard.do(clock.now, "Ines", "count_see", CountSee(sheet, "C-12", "18 m"))
    rev = CountSheet.objects.get(pk=sheet).rev
    first = yard.do(clock.now + 1, "Ines", "count_finish", CountFinish(sheet, rev))
    second = yard.do(clock.now + 2, "Odile", "count_finish", CountFinish(sheet, rev))
    assert first.data["written"] == 1 and second.data == {"sheet": sheet, "already": True} and Act.objects.filter(kind="count").count() == 1
    settled = yard.do(clock.now + 3, "Ines", "count_settle", CountSettle(sheet, "C-13", "at the club"))
    assert "is settled" in settled.text


@pytest.mark.once
def test_an_auditor_looks_and_does_not_count(yard: Store, ines: Browser, vera: Browser) -> None:
    page = see(ines, begun(ines), "C-12")
    shown = vera.get(page.path)
    assert shown.status == 200 and shown.headings == 1 and 'name="intent"' not in shown.source
    assert see(vera, page, "C-13").status == 403 and vera.post("/count/", {"code": "CLEAN"}).status in (403, 409)
    assert vera.get("/count/99999999999999999999/").status == 404
