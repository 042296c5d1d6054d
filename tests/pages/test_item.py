"""The page of one thing: what it is, whether it may be used and why not, what happened to it, and the second scan."""

from __future__ import annotations

import re
import uuid

import pytest

from inventory.models import Act, Item, ItemState, Refusal
from inventory.recording.rebuild import rebuild
from inventory.verbs import counting, cutting, deciding, holding, moving, voiding
from layups.demo.yard import badge_code

from .browsing import Browser, Clock
from .store import PASSWORD, Store

HOSTILE = "<svg onload=alert(1)>"
THINGS = ("U-3", "U-4", "T-4", "K-31", "FK-12", "C-12", "G6-4", "CO-1", "LA-7", "PE-8", "X4")


def ways(page_source: str) -> set[str]:
    """The words on the buttons that lead on."""
    return set(re.findall(r'<a class="button[^"]*" href="[^"]*">([^<]+)</a>', page_source))


@pytest.mark.parametrize("who", ["Ines", "Bram", "Odile", "Marek", "Vera"])
@pytest.mark.parametrize("thing", THINGS)
def test_everything_has_a_page_with_one_heading_for_everybody(yard: Store, clock: Clock, thing: str, who: str) -> None:
    page = Browser(yard, who).scan(thing)
    assert page.status == 200 and page.headings == 1 and thing in page.text


def test_the_page_tells_what_it_is_where_it_came_from_and_every_limit(yard: Store, ines: Browser) -> None:
    text = ines.scan("U-4").text
    for fact in ("33.00 m in Chest freezer", "PP-U Prepreg", "U25-118", "Kestrow Prepreg", "frozen", "Made Mon 15 Dec 2025"):
        assert fact in text, fact
    for limit in ("of tack life left", "of out life left", "storage life: through Mon 15 Jun"):
        assert limit in text, limit
    assert "Cut 3.00 m off · 2.67 m into K-31" in text
    kit = ines.scan("K-31").text
    assert "Made from U-4 2.67 m" in kit and "Went into" not in kit


def test_a_lot_lists_its_pieces_and_its_balance_closes(yard: Store, clock: Clock, ines: Browser) -> None:
    yard.do(clock.now, "Ines", "scrap", counting.Scrap("C-12", "damaged", "0.40 m"))
    page = ines.scan("CT-88")
    assert "Lot CT-88" in page.text and page.headings == 1
    assert "Received 18.40 m" in page.text and "On hand 18.00 m" in page.text and "Scrapped or waste 0.40 m" in page.text


def test_a_thing_that_may_not_be_used_says_every_reason_and_what_to_fetch_instead(yard: Store, clock: Clock, odile: Browser) -> None:
    yard.do(clock.now, "Odile", "hold", holding.Hold("T-4", "frost on the bag"))
    page = odile.scan("T-4")
    assert page.reasons == ["block.quality", "thaw.short"]
    assert "Instead: roll T-2, 24.60 m, in Clean room" in page.text and "held" in page.text


def test_buttons_follow_the_thing_and_the_role(yard: Store, clock: Clock) -> None:
    seen = {who: ways(Browser(yard, who).scan("U-4").source) for who in ("Ines", "Bram", "Odile", "Vera")}
    assert {"Cut a kit", "Count", "Scrap", "Return to supplier", "Reserve for a job"} <= seen["Ines"]
    assert {"Cut a kit", "Count"} <= seen["Bram"] and "Return to supplier" not in seen["Bram"]
    assert {"Hold", "Extend a limit"} <= seen["Odile"] and not {"Hold", "Extend a limit"} & (seen["Ines"] | seen["Bram"])
    assert seen["Vera"] <= {"Badge", "Trace"}
    assert "Put there" not in Browser(yard, "Vera").scan("U-4").text
    cans = ways(Browser(yard, "Ines").scan("LA-7").source)
    assert "Mix with it" in cans and "Cut a kit" not in cans


def test_an_auditor_who_types_an_address_is_refused_and_it_is_kept(yard: Store, vera: Browser) -> None:
    code, before = yard.code("U-4"), Act.objects.count()
    for path, data in (
        (f"/i/{code}/scan/", {"code": "F2"}),
        (f"/i/{code}/count/", {"quantity": "1 m"}),
        (f"/i/{code}/cut/", {"taken": "1 m"}),
    ):
        assert vera.post(path, data).status in (403, 409), path
    assert Act.objects.count() == before and Refusal.objects.count() == 3


def test_a_scan_of_another_thing_goes_to_that_one_and_a_badge_changes_who(yard: Store, ines: Browser) -> None:
    page = ines.scan("U-4")
    assert "Roll T-4" in ines.post(f"{page.path}scan/", {"code": "T-4"}).text
    assert "Bram: the next records" in ines.post(f"{page.path}scan/", {"code": badge_code("Bram")}).text
    assert ines.put("U-4", "CLEAN").status == 200
    assert Act.objects.latest("pk").person.name == "Bram"
    assert "Not understood" in ines.post(f"{page.path}scan/", {"code": "zzz"}).text


def test_what_leaves_the_cold_is_planned_back_without_typing(yard: Store, clock: Clock, ines: Browser) -> None:
    def back(mark: str) -> int | None:
        return ItemState.objects.get(item__mark=mark).back_us

    ines.put("U-4", "CLEAN")
    assert back("U-4") == yard.at(0, "17:00")
    clock(0, "16:00")
    ines.put("U-4", "F1")
    assert back("U-4") is None
    clock(0, "16:30")
    ines.put("U-4", "CLEAN")
    assert back("U-4") == yard.at(0, "17:30"), "an hour at least"
    clock(0, "16:40")
    ines.put("U-4", "F1")
    clock(0, "16:50")
    ines.put("U-4", "CLEAN", back="24")
    assert back("U-4") == yard.at(1, "17:00")
    ines.put("C-12", "CLEAN")
    assert back("C-12") is None, "dry goods have no return"


def test_a_refused_place_tells_why_and_where_it_may_go_and_changes_nothing(yard: Store, ines: Browser) -> None:
    before = Act.objects.count()
    page = ines.put("X4", "RS")
    assert page.status == 409 and page.reasons and page.title.startswith("No – ")
    assert "PX Peroxide cabinet" in page.text and "BK Outdoor bunker" in page.text
    assert Act.objects.count() == before and Refusal.objects.count() == 1


def test_a_kit_cut_the_wrong_way_is_said_at_its_field(yard: Store, ines: Browser) -> None:
    path, before = f"/i/{yard.code('C-12')}/cut/", Act.objects.count()
    assert ines.post(path, {"taken": "six"}).status == 422
    assert 'id="id_taken_error"' in ines.post(path, {"taken": ""}).source
    assert 'id="id_plies_error"' in ines.post(path, {"taken": "1 m", "plies": "one"}).source
    half = ines.post(path, {"taken": "1 m", "length0": "0.90 m"})
    assert half.status == 422 and "A remnant has a length and a width" in half.text and 'value="0.90 m"' in half.source
    assert ines.post(path, {"taken": "1 m", "net": "99 m²"}).status == 422
    assert Act.objects.count() == before
    assert ines.get(f"/i/{yard.code('LA-7')}/cut/").status == 404, "a can is not cut"


def test_what_already_happened_is_stored_and_marked_whatever_it_breaks(yard: Store, clock: Clock, ines: Browser) -> None:
    late = {"already": "on", "happened_at": "2026-03-30T07:20", "why_late": "told at the meeting"}
    page = ines.post(f"/i/{yard.code('U-3')}/cut/", {"taken": "1.00 m", "mark": "K-99", **late})
    assert page.status == 200 and "Stored although it breaks a rule: Tack life is over" in page.text
    kit = ines.scan("K-99").text
    assert "told afterwards" in kit and "held" in kit and "recorded" in kit


@pytest.mark.parametrize("keys", [("1", "2"), ("2", "1")])
def test_of_two_records_of_one_minute_the_one_that_was_told_first_happened_first(
    yard: Store, clock: Clock, ines: Browser, keys: tuple[str, str]
) -> None:
    late = {"already": "on", "happened_at": "2026-03-30T07:35", "why_late": "told at the meeting"}
    for second, (place, key) in enumerate(zip(("CLEAN", "RACK"), keys, strict=True)):
        clock(0, "07:41", second)
        assert ines.post("/do/move/", {"item": yard.code("C-12"), "place": place, "key": str(uuid.UUID(key * 32)), **late}).status == 200
    assert Item.objects.get(mark="C-12").state.location.code == "RACK"
    assert not rebuild(yard.yard.site, clock.now).differences, "and so it is when all is folded again"


def test_a_count_by_one_way_only_and_by_diameter_where_the_thickness_is_known(yard: Store, ines: Browser) -> None:
    path = f"/i/{yard.code('C-12')}/count/"
    two = ines.post(path, {"quantity": "18 m", "gross": "6 kg"})
    assert two.status == 422 and "Count in one way" in two.text
    assert ines.post(path, {"gross": "1.00 kg"}).status == 422, "less than its core"
    same = ines.post(path, {"quantity": "18.40 m"})
    assert "agrees with the book" in same.text


def test_undo_is_offered_for_a_minute_to_the_one_who_did_it(yard: Store, clock: Clock, ines: Browser, bram: Browser) -> None:
    clock(0, "08:00")
    ines.put("C-12", "CLEAN")
    assert "Undo the last" in ines.scan("C-12").text and "Undo the last" not in bram.scan("C-12").text
    clock(0, "08:00", 20)
    page = ines.post("/do/undo/", {"record": str(Act.objects.latest("pk").pk), "next": "/"})
    assert page.status == 200 and ItemState.objects.get(item__mark="C-12").location is not None
    assert "in Dry goods rack" in ines.scan("C-12").text
    ines.put("C-12", "CLEAN")
    clock(0, "08:02")
    assert "Undo the last" not in ines.scan("C-12").text


def test_a_voided_record_is_struck_and_stays_readable_with_who_and_why(yard: Store, clock: Clock, odile: Browser) -> None:
    yard.do(clock.now, "Ines", "count", counting.Count("C-12", "18.06 m"))
    act = Act.objects.latest("pk")
    yard.do(clock.now + 1, "Odile", "void", voiding.Void(act.pk, "wrong core weight"))
    page = odile.scan("C-12")
    assert "18.40 m in Dry goods rack" in page.text
    assert re.search(r"<s><b>.*?Counted.*?</s>", page.source, re.DOTALL) and "Odile" in page.text and "wrong core weight" in page.text


def test_what_a_voided_cut_made_is_no_longer_among_what_it_went_into(yard: Store, clock: Clock, ines: Browser) -> None:
    yard.do(clock.now, "Ines", "cut_kit", cutting.CutKit("C-12", "1.00 m", mark="K-97"))
    assert "Went into K-97" in ines.scan("C-12").text
    yard.do(clock.now + 1, "Odile", "void", voiding.Void(Act.objects.latest("pk").pk, "wrong roll"))
    assert "Went into" not in ines.scan("C-12").text


def test_open_findings_and_unknown_history_are_shown(yard: Store, clock: Clock, odile: Browser) -> None:
    late = {"stance": "observed", "happened_us": clock.now - 60_000_000}
    yard.do(clock.now, "Bram", "cut_kit", cutting.CutKit("U-3", "1.00 m", mark="K-98"), **late)
    page = odile.scan("K-98")
    assert "Open findings" in page.text and "Tack life is over" in page.text
    yard.stock("OLD", "PP-T", 5_000_000, "F1", clock.now, unknown=True)
    assert "Set a starting value" in ways(odile.scan("OLD").source)
    yard.do(clock.now + 1, "Odile", "baseline", deciding.Baseline("OLD", "12 h", "weekly sheet"))
    assert "used 12 h 00 of 504 h" in odile.scan("OLD").text


def test_text_from_people_is_never_markup(yard: Store, clock: Clock, ines: Browser) -> None:
    yard.stock(HOSTILE[:20], "CT-204", 5_000_000, "RACK", clock.now - 5)
    yard.do(clock.now, "Ines", "reserve", counting.Reserve("C-12", HOSTILE))
    yard.do(clock.now + 1, "Ines", "adjust", counting.Adjust("C-12", "-0.10 m", HOSTILE))
    for source in (
        ines.scan("C-12").source,
        ines.scan(HOSTILE[:20]).source,
        ines.get("/records/").source,
        ines.get("/stock/CT-204/").source,
    ):
        assert "<svg onload" not in source


def test_the_page_asks_as_much_for_a_long_history_as_for_a_short_one(yard: Store, clock: Clock, ines: Browser) -> None:
    path = f"/i/{yard.code('C-13')}/"
    for n in range(2):
        yard.do(clock.now + n, "Ines", "cut_kit", cutting.CutKit("C-13", "0.20 m", mark=f"K-A{n}"))
    ines.get(path)
    few = ines.queries(path)
    for n in range(30):
        yard.do(clock.now + 10 + n, "Ines", "cut_kit", cutting.CutKit("C-13", "0.20 m", mark=f"K-B{n}"))
        yard.do(clock.now + 100 + n, "Ines", "move", moving.Move("C-13", "CLEAN" if n % 2 else "RACK"))
    clock.now += 10_000
    assert ines.queries(path) == few


def test_a_decision_asks_for_the_password_and_a_badge_does_not_do(yard: Store, odile: Browser) -> None:
    path = "/do/hold/"
    form = {"item": "C-12", "reason": "odd smell", "scope": "all"}
    assert odile.post(path, {**form, "password": "wrong"}).reasons == ["password.wrong"]
    assert odile.post(path, {**form, "password": PASSWORD}).status == 200
    assert "held" in odile.scan("C-12").text
