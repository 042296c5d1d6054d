"""The wall: what a whole bay sees at once, under a sign-in that only reads, and nothing of anybody's own; and what a builder goes on
with."""

from __future__ import annotations

import pytest
from django.conf import settings
from django.test import Client

from inventory.verbs import mixing
from inventory.verbs.holding import Hold
from inventory.verbs.moving import Move, Open
from layups.models import Part, Ply
from layups.pages.wall import PARTS, POTS
from layups.reads.underway import under_way
from layups.verbs.laying import Lay
from layups.verbs.starting import StartPart

from .floor import Browser, Clock, Floor, clock, floor, made_floor

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]
WHY = "smells of smoke, says Tove"


@pytest.fixture
def vera(floor: Floor, clock: Clock) -> Browser:
    """10:20 on Monday: plies 1 to 6 and a twill are in RUD-073, whose kit's roll is held; a pot runs; U-3 lies where it was left."""
    floor.do(floor.at(0, "08:16"), "Bram", "lay", Lay("K-31", "RUD-073", dry=True))
    floor.do(floor.at(0, "08:20"), "Ines", "open", Open("T-2", True))
    floor.do(floor.at(0, "08:32"), "Bram", "lay", Lay("T-2", "RUD-073"))
    floor.do(floor.at(0, "09:30"), "Odile", "hold", Hold("U-4", WHY))
    pot(floor, "M-1", "10:00")
    clock(0, "10:20")
    return Browser(floor, "Vera")


def pot(floor: Floor, mark: str, at: str) -> None:
    parts = (mixing.Component("LA-7", "400.0 g"), mixing.Component("LB-5", "100.2 g"))
    floor.do(floor.at(0, at), "Bram", "mix", mixing.Mix(parts, "BAY1", temperature="21.0", mark=mark))


def test_the_wall_says_what_runs_what_is_out_what_thaws_and_what_is_on_the_tools(floor: Floor, vera: Browser) -> None:
    page = vera.get("/wall/")
    assert (page.status, page.headings) == (200, 1)
    assert "as of 10:20" in page.text
    assert "M-1 running LAM, Wet layup bay. 500.2 g left. stop by 10:33" in page.text
    assert "T-4 thawing PP-T, Clean room open from 18:30" in page.text
    assert "T-2 out PP-T, Clean room. tack life 193 h 40 left back by 18:00" in page.text
    assert "U-3 overdue PP-U, Clean room. tack life over back by Fri 27 Mar 17:30" in page.text
    assert page.text.index("U-3 overdue") < page.text.index("T-2 out"), "the most urgent first"


def test_a_part_on_the_wall_says_its_next_step_its_governing_clock_and_what_holds_it(floor: Floor, vera: Browser) -> None:
    page = vera.get("/wall/")
    assert "RUD-073 being built held Rudder blade, Clean room. Next: ply 8, twill: PP-T, 0.85 m." in page.text
    assert (
        "Out life of PP-U lot U26-02 governs: it ends Fri 3 Apr 19:05. U-4, which is in it, is held since 09:30. cure planned 17:00"
        in page.text
    )


def test_nobody_s_own_matters_stand_on_the_wall(floor: Floor, vera: Browser) -> None:
    """Neither who did what, nor for whom a part is, nor what was typed as a reason."""
    shown = vera.get("/wall/").source
    customer = Part.objects.get(number="RUD-073").customer
    assert customer is not None
    people = ("Vera", "Bram", "Tove", "Odile", "Ines", "Marek")
    assert [word for word in (*people, customer.name, WHY, "smoke") if word in shown] == []
    assert WHY in vera.get("/parts/RUD-073/").source, "on the part's page it does"


def test_what_is_over_is_told_by_word_and_shape(floor: Floor, clock: Clock, vera: Browser) -> None:
    clock(0, "10:34")
    page = vera.get("/wall/")
    assert "M-1 over LAM, Wet layup bay. 500.2 g left. It may be hot: outside, in an open container. stopped 10:33" in page.text
    clock(0, "17:00")
    assert "RUD-073 being built cure is late held" in vera.get("/wall/").text
    clock(4, "19:05")
    late = vera.get("/wall/").text
    assert "RUD-073 being built over held" in late and "Out life of PP-U lot U26-02 is over since 19:05. Ask quality." in late


def test_a_plan_beyond_the_life_of_what_is_laid_is_told(floor: Floor, clock: Clock, vera: Browser) -> None:
    Part.objects.filter(number="RUD-073").update(planned_cure_us=floor.at(5, "08:00"))
    page = vera.get("/wall/")
    assert "RUD-073 being built ends before the cure held" in page.text
    assert "it ends Fri 3 Apr 19:05. U-4, which is in it, is held since 09:30. heat before Fri 3 Apr 19:05" in page.text


def test_a_part_whose_lines_are_filled_says_what_is_done_next_and_in_the_heat_when_that_began(
    floor: Floor, clock: Clock, vera: Browser
) -> None:
    part = Part.objects.get(number="RUD-073")
    Ply.objects.filter(design=part.design, seq__gt=7).delete()
    bram = Browser(floor, "Bram")
    steps = [
        ("bag/", {}, "being built held", "Next: bag it."),
        ("drop/", {"readings": "4"}, "bagged held", "Next: test the bag for leaks."),
        ("load/", {"place": "OV2", "run": "CR-311"}, "bagged held", "Next: load it for cure."),
        ("on/", {"run": "CR-311"}, "bagged held", "Next: start the heat."),
    ]
    for n, (deed, sent, state, following) in enumerate(steps):
        told = vera.get("/wall/").text
        assert f"RUD-073 {state}" in told and following in told
        clock(0, "10:21", n)
        assert bram.post(f"/parts/RUD-073/{deed}", sent).status == 200
    assert "RUD-073 in cure held Rudder blade, Oven 2 in the heat since 10:21" in vera.get("/wall/").text


def test_it_asks_again_by_itself_without_script_too_and_can_be_held_still(floor: Floor, vera: Browser) -> None:
    page = vera.get("/wall/")
    assert '<noscript><meta http-equiv="refresh" content="20"></noscript>' in page.source and 'data-fresh-s="20"' in page.source
    still = vera.get("/wall/?still=1")
    assert "refresh" not in still.source and "data-fresh-s" not in still.source and "fresh.js" not in still.source


def test_a_screen_that_only_reads_stays_signed_in_and_one_that_may_record_does_not(floor: Floor, vera: Browser) -> None:
    assert settings.SESSION_COOKIE_NAME in vera.client.get("/wall/").cookies
    answer = Browser(floor, "Bram").client.get("/wall/")
    assert settings.SESSION_COOKIE_NAME not in answer.cookies and b"use a sign-in that only reads" in answer.content
    assert b"use a sign-in that only reads" not in vera.client.get("/wall/").content
    bram = Browser(floor, "Bram")
    bram.client.post("/badge/", {"code": floor.yard.badge["Vera"]})
    assert settings.SESSION_COOKIE_NAME not in bram.client.get("/wall/").cookies, "a reader's badge lengthens nobody else's sign-in"
    assert Client().get("/wall/").headers["Location"].startswith("/sign-in/")


def test_the_wall_asks_as_many_queries_for_forty_things_as_for_a_few_and_says_what_it_leaves_out(floor: Floor, vera: Browser) -> None:
    vera.get("/wall/")
    few = vera.queries("/wall/")
    fetched = floor.at(-60, "10:00")
    for n in range(12):
        floor.do(floor.at(0, "10:01") + n, "Bram", "start_part", StartPart("RUD", f"RUD-{100 + n}", "CLEAN", customer="P-03"))
        floor.stock(f"N-{n}", "PP-U", 30_000_000, "F1", fetched + n, lot="U25-118")
        floor.do(floor.at(0, "08:00", n), "Ines", "move", Move(f"N-{n}", "CLEAN", floor.at(0, "17:00")))
        pot(floor, f"P-{n}", "10:02")
    assert vera.queries("/wall/") <= few
    page = vera.get("/wall/")
    begun = len(under_way(floor.yard.site, floor.at(0, "10:20")))
    assert page.source.count("running") == POTS and f"and {13 - POTS} more" in page.text
    assert f"and {begun - PARTS} more" in page.text and page.text.count("RUD-1") <= PARTS


# --- what a builder goes on with ----------------------------------------------------------------------


def test_a_builder_s_first_page_says_which_part_to_go_on_with_their_own_newest_first(floor: Floor, clock: Clock, vera: Browser) -> None:
    bram = Browser(floor, "Bram")
    page = bram.get("/")
    assert "Go on with RUD-073 being built held Next: ply 8, twill: PP-T, 0.85 m. Out life of PP-U lot U26-02 governs" in page.text
    clock(0, "10:25")
    bram.post("/parts/RUD-074/step/", {"step": "surface prepared"})
    assert "Go on with RUD-074" in bram.get("/").text
    tove = Browser(floor, "Tove").get("/")
    assert "Go on with" in tove.text and 'href="/parts/RUD-074/"' in tove.source
    for other in ("Ines", "Odile", "Vera"):
        assert "Go on with" not in Browser(floor, other).get("/").text, other


def test_the_first_page_asks_as_many_queries_for_many_parts_as_for_a_few(floor: Floor, vera: Browser) -> None:
    bram = Browser(floor, "Bram")
    bram.get("/")
    few = bram.queries("/")
    for n in range(10):
        floor.do(floor.at(0, "10:01") + n, "Bram", "start_part", StartPart("RUD", f"RUD-{100 + n}", "CLEAN", customer="P-03"))
    assert bram.queries("/") <= few


# --- the part's own page ------------------------------------------------------------------------------


def test_a_part_s_page_names_the_clock_that_governs_beside_the_next_line(floor: Floor, vera: Browser) -> None:
    page = Browser(floor, "Bram").get("/parts/RUD-073/")
    assert (
        "Until the cure in time 104 h 45 left Out life of PP-U lot U26-02 governs: it ends Fri 3 Apr 19:05. The cure is planned for"
        in page.text
    )
    assert "Fetch roll T-2, Clean room It goes first: tack life 193 h 40 left" in page.text
