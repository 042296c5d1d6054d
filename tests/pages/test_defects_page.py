"""Defects: recorded on one part or several, and what bad parts share counted from the records."""

from __future__ import annotations

import pytest

from inventory.models import Act, Finding
from inventory.verbs.moving import Open
from layups.models import Defect
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureOff, CureOn
from layups.verbs.inspecting import Inspect
from layups.verbs.laying import Lay
from layups.verbs.starting import StartPart

from .floor import Browser, Clock, Floor, clock, floor, made_floor

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]
M = 1_000_000


@pytest.fixture
def odile(floor: Floor, clock: Clock) -> Browser:
    clock(0, "12:00")
    return Browser(floor, "Odile")


def tillers(floor: Floor) -> None:
    """Four tillers: two with T-2's lot, two with T-6's."""
    at = floor.at(0, "08:21")
    floor.do(at - M, "Ines", "open", Open("T-2", True))
    for n, roll in enumerate(("T-2", "T-2", "T-4", "T-4")):
        number = f"TIL-09{n}"
        late = {"stance": "observed", "happened_us": at + n * 10 * M, "claimed_us": at + n * 10 * M}
        floor.do(at + n * 10 * M, "Bram", "start_part", StartPart("TIL", number, "CLEAN"))
        floor.do(at + n * 10 * M + M, "Bram", "lay", Lay(roll, number, qty="0.40 m"), **(late | {"happened_us": at + n * 10 * M + M}))
        floor.do(at + n * 10 * M + 2 * M, "Bram", "bag", Bag(number))
        floor.do(at + n * 10 * M + 3 * M, "Bram", "inspect", Inspect(number, "drop test", "4"))
        floor.do(at + n * 10 * M + 4 * M, "Bram", "cure_on", CureOn(parts=(number,)))
        floor.do(at + n * 10 * M + 5 * M, "Bram", "cure_off", CureOff(parts=(number,)))
        floor.do(at + n * 10 * M + 6 * M, "Odile", "inspect", Inspect(number, "tap test", "", n >= 2))


def test_what_bad_parts_share_is_counted_against_the_good_ones(floor: Floor, odile: Browser) -> None:
    tillers(floor)
    page = odile.get("/defects/")
    assert "hollow sound TIL 2" in page.text
    asked = odile.get("/defects/?design=TIL&defect=hollow+sound&months=18")
    assert "TIL: 4 tested, 2 with “hollow sound”" in asked.text
    assert "T25-19 2 of 2 0 of 2 PP-T Kestrow Prepreg" in asked.text
    assert "T26-014" not in asked.text, "in no bad part"
    assert "Counts only; statistics come later" in asked.text and "People are never listed" in asked.text
    hold = next(link for link in asked.links() if link.startswith("/quality/hold/"))
    assert odile.get(hold).status == 200


def test_a_window_that_ends_before_the_defect_finds_none(floor: Floor, clock: Clock, odile: Browser) -> None:
    tillers(floor)
    clock(200, "12:00")
    assert "No part of this sort has that defect in that time" in odile.get("/defects/?design=TIL&defect=hollow+sound&months=3").text
    assert "TIL: 4 tested" in odile.get("/defects/?design=TIL&defect=hollow+sound&months=0").text


def test_a_defect_is_recorded_on_several_parts_and_each_counts_once(floor: Floor, odile: Browser) -> None:
    sent = {"parts": "RUD-073\nRUD-074", "defect": "Void", "text": "near the tip", "key": "00000000-0000-4000-8000-000000000002"}
    page = odile.post("/defects/", sent)
    assert page.status == 200 and Defect.objects.filter(code="void").count() == 2
    odile.post("/defects/", sent)
    assert Defect.objects.filter(code="void").count() == 2, "the same form sent twice"
    assert Finding.objects.filter(code__startswith="defect.found", closed_us=None).count() == 2
    assert "void RUD 2" in odile.get("/defects/").text


def test_a_part_that_is_not_there_stays_in_the_form_and_the_others_are_stored(floor: Floor, odile: Browser) -> None:
    before = Act.objects.count()
    page = odile.post("/defects/", {"parts": "RUD-073, RUD-999", "defect": "void"})
    assert page.status == 422 and page.reasons == ["code.unknown"]
    assert Act.objects.count() == before + 1
    assert ">RUD-999</textarea>" in page.source.replace("\n", "") and "RUD-073</textarea>" not in page.source


@pytest.mark.parametrize("query", ["design=NONE&defect=x&months=18", "design=RUD&defect=&months=x", "design=&defect=&months="])
def test_a_question_that_cannot_be_read_is_the_form_again(floor: Floor, odile: Browser, query: str) -> None:
    page = odile.get(f"/defects/?{query}")
    assert page.status == 200 and page.headings == 1


def test_the_page_asks_as_many_queries_for_two_bad_parts_as_for_twenty(floor: Floor, odile: Browser) -> None:
    tillers(floor)
    few = odile.queries("/defects/?design=TIL&defect=hollow+sound&months=18")
    for n in range(18):
        floor.do(floor.at(0, "10:00") + n * M, "Bram", "start_part", StartPart("TIL", f"TIL-1{n:02d}", "CLEAN"))
        floor.do(floor.at(0, "10:30") + n * M, "Odile", "inspect", Inspect(f"TIL-1{n:02d}", "tap test", "", False))
    assert odile.queries("/defects/?design=TIL&defect=hollow+sound&months=18") == few
