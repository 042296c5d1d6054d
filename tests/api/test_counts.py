"""Counting a place through the interface for machines: begun, seen, looked at, ended, each by the same verbs as on the page."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.api.client import Machine, body, problem, token_for
from tests.ledger.bench import Bench, clock

pytestmark = [pytest.mark.django_db, pytest.mark.once]


def test_a_reader_counts_a_place_and_what_it_did_not_find_is_told(set_clock: Callable[[int], None]) -> None:
    set_clock(clock("08:00"))
    bench = Bench()
    bench.roll("G7-1")
    bench.roll("G7-2")
    code = "RACK"
    ines = Machine(token_for(bench, "Ines"))
    sheet = body(ines.do("count_begin", {"place": code}))["data"]["sheet"]
    assert body(ines.do("count_begin", {"place": code}))["data"] == {"sheet": sheet, "place": code, "rev": 0, "begun": False}
    seen = body(ines.do("count_see", {"sheet": sheet, "item": "G7-1", "quantity": "90 m", "reason": "cut without a record"}))
    assert seen["data"]["saw"] == "here" and seen["data"]["difference"] < 0 and seen["acts"] == []
    now = body(ines.get(f"counts/{sheet}/"))
    assert [s["mark"] for s in now["here"]] == ["G7-1"] and [s["mark"] for s in now["waiting"]] == ["G7-2"] and now["state"] == "under way"
    problem(ines.do("count_finish", {"sheet": sheet, "rev": now["rev"] - 1}), 409, "count.changed")
    done = body(ines.do("count_finish", {"sheet": sheet, "rev": now["rev"]}))
    assert done["data"]["written"] == 1 and len(done["acts"]) == 1 and len(done["data"]["missing"]) == 1
    over = body(ines.get(f"counts/{sheet}/"))
    assert over["state"] == "done" and over["here"][0]["act"] == done["acts"][0] and over["missing"][0]["mark"] == "G7-2"
    problem(ines.do("count_see", {"sheet": sheet, "item": "G7-2"}), 409, "count.over")
    problem(ines.do("count_see", {"sheet": 2**53, "item": "G7-2"}), 400, "count.unknown")
    problem(ines.get("counts/999/"), 404, "code.unknown")
    due = {d["place"]: d for d in body(ines.get("places/counts/"))["results"]}
    assert due[code]["last_count"] == sheet and due[code]["days_over"] is None
    assert [c["id"] for c in body(ines.get(f"counts/?place={code}"))["results"]] == [sheet]
    assert body(ines.get("counts/?under_way=yes"))["results"] == []
