"""Lists of parts, narrowed to a state: the database's answer is the one that the page says of each part."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.core.reasons import BadInput
from inventory.verbs.counting import Scrap
from inventory.verbs.holding import Hold, Unhold
from layups.reads.parts import STATES, Row, parts
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureLoad, CureOn
from layups.verbs.shipping import Ship
from layups.verbs.starting import CutParts, Piece

from .day import Day, new_day
from .jobs import boat, cured, tiller

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    """A part in each state; TIL-5 is held through its prepreg, TIL-6 was freed of that, and the run's pieces are as cured as it was."""
    day = new_day()
    at = day.at
    day.start(at("06:00"), "TIL", "TIL-1", "CLEAN")
    tiller(day, "TIL-2", "06:30")
    tiller(day, "TIL-3", "07:00")
    day.do(at("07:30"), "cure_load", CureLoad("CR-9", "OV2", "TIL-3"))
    day.do(at("07:31"), "cure_on", CureOn("CR-9"))
    for n, clock in ((4, "08:00"), (5, "09:00"), (6, "10:00"), (7, "11:00")):
        cured(day, f"TIL-{n}", clock, customer="Skerrow Sailing School")
    boat(day, "BOAT-1", at("12:00"))
    day.do(at("12:10"), "ship", Ship("TIL-4", "Skerrow Sailing School"), "Ines")
    day.do(at("12:20"), "scrap", Scrap("TIL-7", "cracked"))
    day.do(at("12:25"), "cure_on", CureOn(parts=("TIL-5",)))  # a second time: a post-cure
    day.start(at("12:30"), "ROD", "RUN-9", "BAY1", length="10.0 m")
    day.do(at("12:40"), "cut_parts", CutParts("RUN-9", "ROD", "1.20 m", (Piece("ROD-901"), Piece("ROD-902")), "BAY1"))
    return day


def numbers(day: Day, state: str = "") -> list[str]:
    return [row.number for row in parts(day.yard.site, state=state).rows]


def said(row: Row, state: str) -> bool:
    """What the row itself says."""
    in_work = row.word in ("building", "bagged", "curing")
    held, finding = row.held and row.word != "scrapped", row.findings > 0
    return {"in_work": in_work, "held": held, "finding": finding}.get(state, row.word == state)


def test_each_state_lists_what_is_in_that_state(day: Day) -> None:
    lot = day.item("T-1").lot
    assert lot is not None
    day.do(day.at("13:00"), "hold", Hold(lot.code, "soft"), "Odile")
    day.do(day.at("13:10"), "unhold", Unhold("TIL-6", "tested"), "Odile")
    day.do(day.at("13:20"), "bag", Bag("TIL-1"), happened=day.at("13:15"))  # bagged with nothing in it: a finding or none, as it is
    rows = parts(day.yard.site, limit=500).rows
    assert {row.word for row in rows} == {"bagged", "curing", "cured", "assembled", "shipped", "scrapped", "building"}
    for state in STATES:
        assert numbers(day, state) == [row.number for row in rows if said(row, state)], state
    assert numbers(day, "held") == ["TIL-5", "TIL-4", "TIL-3", "TIL-2"]
    assert {"ROD-901", "TIL-6"} <= set(numbers(day, "cured")) and "TIL-4" not in numbers(day, "cured")


def test_a_state_that_there_is_not_is_told(day: Day) -> None:
    with pytest.raises(BadInput) as bad:
        parts(day.yard.site, state="lost")
    assert bad.value.reason.code == "parts.state" and "in_work" in bad.value.reason.text


def test_a_page_of_a_state_is_full_and_asks_as_many_queries_for_many(day: Day) -> None:
    page = parts(day.yard.site, state="cured", limit=2)
    rest = parts(day.yard.site, state="cured", limit=50, before=page.before)
    assert len(page.rows) == 2 and [*(r.number for r in page.rows), *(r.number for r in rest.rows)] == numbers(day, "cured")
    tiller(day, "TIL-8", "12:50")
    for mark in ("TIL-2", "TIL-8"):
        day.do(day.at("13:00"), "hold", Hold(mark, "soft"), "Odile")
    few = {state: asked(day, state) for state in STATES}
    for n in range(20, 24):
        tiller(day, f"TIL-{n}", f"{n - 6}:00")
        day.do(day.at(f"{n - 6}:30"), "hold", Hold(f"TIL-{n}", "soft"), "Odile")
    assert few == {state: asked(day, state) for state in STATES}


def asked(day: Day, state: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        parts(day.yard.site, state=state)
    return len(queries)
