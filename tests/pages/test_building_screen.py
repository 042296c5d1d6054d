"""The builder's screen beside his day: what a scan means, several parts at once, what is typed wrong, and what hostile text becomes."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.models import Act, Item, ItemState, Person
from inventory.verbs.mixing import Component, Measure, Mix
from inventory.verbs.moving import Move, Open
from layups.models import Part
from layups.verbs.shipping import Ship
from layups.verbs.starting import StartPart

from .floor import Browser, Clock, Floor, Page, clock, floor, made_floor
from .parts import HOSTILE

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]


@pytest.fixture
def bram(floor: Floor, clock: Clock) -> Browser:
    floor.do(floor.at(0, "08:20"), "Ines", "open", Open("T-2", True))
    clock(0, "08:30")
    return Browser(floor, "Bram")


def scan(browser: Browser, code: str, part: str = "RUD-073", **more: Any) -> Page:
    return browser.post(f"/parts/{part}/", {"code": code, **more})


def qty(mark: str) -> int:
    return ItemState.objects.get(item__mark=mark).qty


# --- what a scan means --------------------------------------------------------------------------------


def test_the_same_form_sent_twice_lays_one_ply(floor: Floor, bram: Browser) -> None:
    sent = {"code": floor.code("T-2"), "key": "00000000-0000-4000-8000-000000000001"}
    first = bram.client.post("/parts/RUD-073/", sent, follow=True)
    again = bram.client.post("/parts/RUD-073/", sent, follow=True)
    assert (first.status_code, again.status_code) == (200, 200)
    assert qty("T-2") == 23_750_000 and Act.objects.filter(kind="lay").count() == 1


def test_a_badge_at_the_box_of_a_part_changes_who_acts_and_stays_there(floor: Floor, bram: Browser) -> None:
    page = scan(bram, floor.yard.badge["Tove"])
    assert page.status == 200 and page.path == "/parts/RUD-073/" and "Tove: the next records carry this name" in page.text


def test_a_badge_shown_at_its_own_page_leads_back_to_the_part(floor: Floor, bram: Browser) -> None:
    page = bram.post("/badge/", {"code": floor.yard.badge["Tove"], "next": "/parts/RUD-073/"})
    assert page.path == "/parts/RUD-073/" and "Tove: the next records carry this name" in page.text


def test_a_wet_bag_is_not_opened(floor: Floor, bram: Browser) -> None:
    assert "Is the bag of K-31 dry all over?" in scan(bram, floor.label("K-31")).text
    assert scan(bram, floor.label("K-31"), dry="no").reasons == ["thaw.bag_wet"]


def test_promoter_and_peroxide_never_meet_and_a_promoted_resin_takes_no_more(floor: Floor, bram: Browser) -> None:
    floor.do(floor.at(0, "08:25"), "Bram", "measure", Measure("BAY1", "18.6"))
    rows = [("PE-8", "2000 g"), ("CB-2", "1.0 g"), ("X4", "30.0 g")]
    sent = {f"{name}{i}": value for i, row in enumerate(rows) for name, value in zip(("code", "mass"), row, strict=True)}
    promoted = bram.post("/mix/", {"n": "3", "place": "BAY1", "recipe": "PE", **sent})
    assert promoted.status == 409 and promoted.reasons
    together = {"n": "2", "place": "BAY1", "code0": "X4", "mass0": "30.0", "code1": "CB-2", "mass1": "1.0"}
    assert bram.post("/mix/", together).reasons == ["compat.never_together"]
    page = bram.post("/mix/", {**together, "mass1": ""})
    assert page.reasons == ["compat.never_together"] and "https://sheets.quillstrand.example/CO-6" in page.links(), "before it is weighed"


def test_a_pot_that_is_over_leads_to_its_scrapping(floor: Floor, clock: Clock, bram: Browser) -> None:
    rows = (Component(floor.label("LA-7"), "400 g"), Component(floor.label("LB-5"), "100 g"))
    floor.do(floor.at(0, "08:30"), "Bram", "mix", Mix(rows, "BAY1", "LAM", "21.0", "M-1"))
    clock(0, "10:40")
    page = scan(bram, floor.label("M-1"), "REP-019")
    assert page.reasons == ["pot.over"] and f"/i/{floor.label('M-1')}/leftover/" in page.links()


def test_more_in_a_filled_line_is_one_tap(floor: Floor, bram: Browser) -> None:
    for _ in range(2):
        scan(bram, floor.label("T-2"))
    page = scan(bram, floor.label("T-2"))
    assert page.reasons == ["ply.filled"] and "Ply 8" in page.text and 'name="extra" value="on"' in page.source
    assert qty("T-2") == 22_900_000


def test_a_place_moves_the_part_and_an_oven_asks_for_its_run(floor: Floor, bram: Browser) -> None:
    page = scan(bram, "BAY1")
    assert "RUD-073 is in Wet layup bay" in page.text
    oven = scan(bram, "OV2")
    assert oven.path.startswith("/parts/RUD-073/load/") and "Load for cure: RUD-073" in oven.text


def test_another_part_leads_to_its_page_and_a_component_into_an_assembly(floor: Floor, bram: Browser) -> None:
    assert scan(bram, floor.code("RUD-074")).path == "/parts/RUD-074/"
    floor.do(floor.at(0, "08:21"), "Bram", "start_part", StartPart("BOAT", "BOAT-099", "FIN"))
    refused = scan(bram, floor.code("RUD-074"), "BOAT-099")
    assert refused.reasons == ["part.not_cured"], "it is asked to be built in, and is not cured"
    assert scan(bram, "RUD-073").reasons == ["code.not_for_here"]


@pytest.mark.parametrize("code", ["", "ZZZ-1", "S0000000000", "x" * 4000, "\x1d\x1e", "<b>T-2</b>", "'; --", "𝕋-𝟚", "－T-2"])
def test_a_code_that_is_not_known_changes_nothing_and_says_what_was_read(floor: Floor, bram: Browser, code: str) -> None:
    before = Act.objects.count()
    page = scan(bram, code)
    assert page.status in (409, 422) and page.headings == 1 and Act.objects.count() == before
    assert "<b>T-2</b>" not in page.source


@pytest.mark.parametrize("plies", ["0", "99", "7, 8, 99", "seven", "7.5", "-7", "9" * 50])
def test_a_line_that_the_schedule_does_not_have_is_told(floor: Floor, bram: Browser, plies: str) -> None:
    page = scan(bram, floor.code("T-2"), plies=plies)
    assert page.status in (409, 422) and qty("T-2") == 24_600_000


@pytest.mark.parametrize("amount", ["-1 m", "0", "1e9 m", "NaN", "0.85 kg of it", "٣ m", "1" * 400])
def test_an_amount_that_is_none_is_told(floor: Floor, bram: Browser, amount: str) -> None:
    page = scan(bram, floor.code("T-2"), qty=amount)
    assert page.status in (409, 422) and page.headings == 1 and qty("T-2") == 24_600_000


def test_what_happens_tomorrow_has_not_happened(floor: Floor, bram: Browser) -> None:
    page = scan(bram, floor.code("T-2"), already="on", happened_at="2026-04-01T08:00")
    assert page.status == 422 and page.reasons == ["time.future"] and qty("T-2") == 24_600_000


def test_an_hour_that_the_clock_change_skipped_is_asked_for_again(floor: Floor, bram: Browser) -> None:
    page = scan(bram, floor.code("T-2"), already="on", happened_at="2026-03-29T02:30")
    assert page.status == 422 and page.reasons == ["time.clock_change"]


def test_undo_takes_back_only_ones_own(floor: Floor, clock: Clock, bram: Browser) -> None:
    scan(bram, floor.code("T-2"))
    act = Act.objects.filter(kind="lay").latest("pk")
    tove = Browser(floor, "Tove")
    assert "Undo the last" not in tove.get("/parts/RUD-073/").text
    assert tove.post("/parts/RUD-073/undo/", {"record": act.pk}).reasons == ["undo.not_yours"]
    assert bram.post("/parts/RUD-073/undo/", {"record": "no number"}).status == 422


# --- begin, and the list ------------------------------------------------------------------------------


def test_a_part_is_begun_and_its_page_says_what_to_fetch(floor: Floor, bram: Browser) -> None:
    form = {"design": "RUD", "number": "RUD-075", "place": "CLEAN", "planned_cure": "2026-03-30T17:00", "customer": "P-07"}
    page = bram.post("/parts/start/", form)
    assert page.path == "/parts/RUD-075/" and "Rudder blade · P-07 · Clean room" in page.text
    assert "Next: ply 1, UD PP-U, 1.10 m too little Nothing here is fit for it now. 3 were passed over" in page.text
    assert "U-4 may be opened from Mon 30 Mar 16:30" in page.text
    assert Part.objects.get(number="RUD-075").planned_cure_us == floor.at(0, "17:00")
    again = bram.post("/parts/start/", form)
    assert again.status == 409 and again.reasons == ["part.number_taken"]


@pytest.mark.parametrize("number", ["RUN 5/6", "lay-many", "start", "..", "a?b#c", "ø-1 å", "x" * 40])
def test_a_part_is_found_whatever_was_written_on_it(floor: Floor, bram: Browser, number: str) -> None:
    page = bram.post("/parts/start/", {"design": "RUD", "number": number, "place": "CLEAN"})
    assert page.status == 200 and f"{number} being built" in page.text
    assert bram.get(page.path).text == bram.get(page.path).text
    listed = next(link for link in bram.get("/parts/").links() if link.startswith("/parts/") and link in page.path)
    assert bram.get(listed).status == 200


def test_the_list_narrows_to_a_number_and_a_design(floor: Floor, bram: Browser) -> None:
    assert "RUD-074" in bram.get("/parts/?q=074").text and "RUD-073" not in bram.get("/parts/?q=074").text
    assert "CAN-066" not in bram.get("/parts/?design=RUD").text
    assert "No part is like that" in bram.get("/parts/?q=nothing").text
    assert bram.get("/parts/?design=NONE").status == 422
    assert bram.get("/parts/?before=x").status == 200


def test_the_list_shows_what_is_in_the_shop_unless_all_is_asked_for(floor: Floor, bram: Browser) -> None:
    told = {"stance": "observed", "happened_us": floor.at(0, "08:25"), "claimed_us": floor.at(0, "08:25")}
    floor.do(floor.at(0, "08:26"), "Ines", "ship", Ship("RUD-074", "P-03"), **told)
    assert "RUD-074" not in bram.get("/parts/").text
    assert "RUD-074 RUD shipped" in bram.get("/parts/?which=all").text
    assert "RUD-074 RUD shipped" in bram.get("/parts/?which=shipped").text and "RUD-073" not in bram.get("/parts/?which=shipped").text
    assert "RUD-073 RUD being built" in bram.get("/parts/?which=in_work").text and "RUD-074" not in bram.get("/parts/?which=in_work").text
    assert bram.get("/parts/?which=lost").status == 422


def test_a_cure_planned_after_the_end_of_a_life_is_told_on_the_page(floor: Floor, bram: Browser) -> None:
    scan(bram, floor.code("T-2"))
    assert "ends before the planned cure" not in bram.get("/parts/RUD-073/").text
    bram.post("/parts/RUD-073/plan/", {"when": "2026-04-30T08:00"})
    page = bram.get("/parts/RUD-073/")
    assert "Something in it ends before the planned cure" in page.text and "cure planned Thu 30 Apr 08:00" in page.text


def test_a_part_that_does_not_exist_is_a_page_that_says_so(floor: Floor, bram: Browser) -> None:
    assert bram.get("/parts/RUD-999/").status == 404
    assert bram.get("/parts/RUD-073/fly/").status == 404
    assert bram.get("/quality/case/99999/").status == 404
    assert bram.get("/quality/nothing/").status == 404
    assert bram.get("/trace/recall/NOTHING/").status == 404


def test_a_test_that_failed_is_told_once(floor: Floor, bram: Browser) -> None:
    page = bram.post("/parts/RUD-073/drop/", {"readings": "14"})
    answer = page.source.split('<section class="verdict')[1].split("</section>")[0]
    assert page.reasons == ["drop_test.failed"] and answer.count("failed.") == 1 and "Tested" in answer


def test_choices_of_a_deed_are_in_the_reader_s_language_and_record_the_same_step(floor: Floor, bram: Browser) -> None:
    Person.objects.filter(name="Bram").update(language="de")
    assert '<option value="debulked">vorverdichtet</option>' in bram.get("/parts/RUD-073/step/").source
    assert '<option value="yes">bestanden</option>' in bram.get("/parts/RUD-073/test/").source
    assert ">wählen</option>" in bram.get("/parts/RUD-073/load/").source
    bram.post("/parts/RUD-073/step/", {"step": "debulked"})
    assert '"debulked"' in Act.objects.latest("pk").body


# --- several ------------------------------------------------------------------------------------------


def test_one_roll_goes_into_two_parts_in_one_record(floor: Floor, bram: Browser) -> None:
    page = bram.post("/parts/lay-many/", {"code": floor.code("RUD-073")})
    page = bram.post("/parts/lay-many/", {"code": floor.code("RUD-074"), "part": [floor.code("RUD-073")]})
    assert page.source.count('name="part"') == 2 and "Ply 1: PP-U" in page.text
    parts = [floor.code("RUD-073"), floor.code("RUD-074")]
    before = Act.objects.count()
    done = bram.post("/parts/lay-many/", {"code": floor.code("T-2"), "part": parts})
    assert "T-2 is in ply 7 of RUD-073, ply 7 of RUD-074" in done.text
    assert Act.objects.count() == before + 1 and qty("T-2") == 22_900_000


def test_amounts_can_differ_from_part_to_part_and_none_is_refused_alone(floor: Floor, bram: Browser) -> None:
    parts = [floor.code("RUD-073"), floor.code("RUD-074")]
    sent = {"code": floor.code("T-2"), "part": parts, f"qty-{parts[0]}": "0.85 m", f"qty-{parts[1]}": "0.90 m"}
    assert bram.post("/parts/lay-many/", sent).status == 200 and qty("T-2") == 22_850_000
    before = Act.objects.count()
    missing = bram.post("/parts/lay-many/", {"code": floor.code("T-2"), "part": parts, f"qty-{parts[0]}": "0.85 m"})
    assert missing.status == 422 and Act.objects.count() == before
    nobody = bram.post("/parts/lay-many/", {"code": floor.code("T-2")})
    assert nobody.status == 422 and nobody.reasons == ["part.needed"]
    assert '<p class="verdict-title"><span class="nb">T-2</span></p>' in nobody.source, "the word No stands beside it already"


def test_the_question_of_the_bag_keeps_the_list(floor: Floor, clock: Clock, bram: Browser) -> None:
    clock(0, "09:00")
    floor.do(floor.at(0, "08:59"), "Ines", "move", Move("U-4", "CLEAN"))
    parts = [floor.code("RUD-073"), floor.code("RUD-074")]
    clock(0, "17:00")
    asked = bram.post("/parts/lay-many/", {"code": floor.code("T-6"), "part": parts})
    assert "T-6" in asked.text and asked.status == 409
    clock(0, "19:31")
    floor.do(floor.at(0, "19:30"), "Bram", "measure", Measure("CLEAN", "21.0", "45"))
    asked = bram.post("/parts/lay-many/", {"code": floor.code("T-6"), "part": parts})
    assert "Is the bag of T-6 dry all over?" in asked.text and asked.source.count(f'value="{parts[1]}"') >= 3


# --- constant work, and text from outside ---------------------------------------------------------------


def test_the_list_of_parts_asks_as_many_queries_for_forty_as_for_six(floor: Floor, bram: Browser) -> None:
    few = bram.queries("/parts/")
    for n in range(34):
        floor.do(floor.at(0, "08:22") + n, "Bram", "start_part", StartPart("RUD", f"RUD-{100 + n}", "CLEAN", customer="P-03"))
    assert bram.queries("/parts/") == few


def test_a_part_asks_as_many_queries_with_everything_in_it_as_with_one_ply(floor: Floor, clock: Clock, bram: Browser) -> None:
    scan(bram, floor.code("T-2"))
    one = bram.queries("/parts/RUD-073/")
    scan(bram, floor.code("T-2"))
    for n in range(6):
        clock(0, "08:40", n)
        scan(bram, floor.code("T-2"), plies="8", extra="on", qty=f"0.1{n} m")
        bram.post("/parts/RUD-073/step/", {"step": "debulked"})
    assert bram.queries("/parts/RUD-073/") <= one


def test_hostile_text_is_shown_and_never_taken_for_markup(floor: Floor, bram: Browser) -> None:
    bram.post("/parts/RUD-073/step/", {"step": "demoulded", "note": HOSTILE})
    bram.post("/parts/RUD-073/defect/", {"defect": "<b>bold</b>", "text": HOSTILE})
    bram.post("/parts/start/", {"design": "RUD", "number": "<i>x</i>", "place": "CLEAN"})
    pages = ["/parts/RUD-073/", "/parts/", "/quality/", "/defects/", f"/trace/?q={HOSTILE}", "/trace/RUD-073/", "/parts/lay-many/"]
    odile = Browser(floor, "Odile")
    for path in pages:
        for browser in (bram, odile):
            source = browser.get(path).source
            assert "<script>alert" not in source and "<img src=x" not in source and "<b>bold</b>" not in source, path
            assert "<i>x</i>" not in source, path
    assert "&lt;script&gt;" in bram.get("/parts/RUD-073/").source
    case = Item.objects.get(mark="RUD-073").nonconformances.get()
    assert "&lt;b&gt;bold" in odile.get(f"/quality/case/{case.pk}/").source
