"""What a tablet takes along: whole once, then by difference, told of what went, and never short of a record."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api import shelf
from inventory.core.kinds import DECISIONS
from inventory.models import Act, Block, Item, Material
from inventory.reads.frontier import OWN
from inventory.verbs.counting import Scrap
from inventory.verbs.cutting import CutKit
from inventory.verbs.holding import Hold
from inventory.verbs.moving import Move
from inventory.verbs.receiving import ReceivedPiece
from layups.verbs.laying import Lay
from layups.verbs.starting import StartPart
from tests.api.client import Machine, body, problem, token_for
from tests.ledger.bench import Bench, clock, prepreg

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(set_clock: Callable[[int], None], monkeypatch: pytest.MonkeyPatch) -> Bench:
    set_clock(clock("08:00"))
    monkeypatch.setattr("api.reads.now_us", lambda: clock("08:00"))
    bench = Bench()
    for n in range(3):
        bench.roll(f"G7-{n}", delivery=f"D-{n}", at=clock("06:00") + n)
    bench.do("receive", prepreg(ReceivedPiece("50.00 m", "T-4"), printed="2026-10-06"), at=clock("06:30"))
    return bench


def released() -> None:
    """All that waits, without papers."""
    Block.objects.filter(to_us__isnull=True).update(to_us=clock("07:00"), closed=Act.objects.order_by("pk").last())


class Tablet:
    """Keeps a list the way a tablet does."""

    def __init__(self, bench: Bench, who: str = "Bram") -> None:
        self.machine = Machine(token_for(bench, who, "read"))
        self.things: dict[str, dict[str, Any]] = {}
        self.parts: dict[str, dict[str, Any]] = {}
        self.gone: dict[str, str] = {}
        self.cursor, self.pages, self.rows = "", 0, 0

    def sync(self) -> Tablet:
        self.pages = self.rows = 0
        more = True
        while more:
            response = self.machine.get(f"shelf/?since={self.cursor}")
            assert response.status_code == 200, response.content
            page = body(response)
            if page["begin"]:
                self.things, self.parts, self.gone = {}, {}, {}
                self.shared = page["shared"]
            self.things |= {row["code"]: row for row in page["things"]}
            self.parts |= {row["code"]: row for row in page["parts"]}
            for code, mark, word in page["gone"]:
                self.things.pop(code, None)
                self.parts.pop(code, None)
                self.gone[mark or code] = word
            self.cursor, more = page["cursor"], page["more"]
            self.pages, self.rows = self.pages + 1, self.rows + len(page["things"]) + len(page["parts"])
        return self

    def __getitem__(self, mark: str) -> dict[str, Any]:
        return next(row for row in self.things.values() if row.get("mark") == mark)


def plain(tablet: Tablet) -> str:
    return json.dumps([sorted(tablet.things.items()), sorted(tablet.parts.items())])


def test_the_list_has_what_is_there_with_its_state_and_the_ends_of_its_lives(bench: Bench) -> None:
    tablet = Tablet(bench).sync()
    assert {r["mark"] for r in tablet.things.values()} == {"G7-0", "G7-1", "G7-2", "T-4"}
    row = tablet["T-4"]
    assert (row["kind"], row["material"], row["qty"], row["unit"], row["text"]) == ("roll", "PP-T", 50_000_000, "um", "50.00 m")
    assert row["frozen"] and row["place"] == "QUARF" and row["against"][0][0] == "incoming"
    found = {tablet.shared["limits"][str(n)][0]: rest for n, *rest in row["lives"]}
    assert found["Out life"] == [None, 504 * 3_600_000], "it stands still in the cold, with all of it left"
    assert found["Storage life"] == [clock("00:00", date(2027, 3, 3)) // 1000], "12 months from 2 March last through that day"
    assert tablet.shared["places"]["QUARF"][2] <= -18_000 and tablet.shared["materials"]["PP-T"][1] > 0
    assert tablet.shared["designs"]["RUD"][6][:5] == [7, "ply 7", "PP-T", ["PP-T"], 850_000]


def test_a_difference_tells_what_was_touched_and_what_went_and_nothing_else(bench: Bench) -> None:
    tablet = Tablet(bench).sync()
    assert tablet.sync().rows == 0
    bench.do("move", Move("G7-1", "BAY1"))
    assert tablet.sync().rows == 1 and tablet["G7-1"]["place"] == "BAY1"
    bench.do("scrap", Scrap("G7-2", "wet"))
    assert tablet.sync().rows == 0 and tablet.gone == {"G7-2": "scrapped"}
    assert plain(tablet) == plain(Tablet(bench).sync())


def test_a_hold_reaches_what_was_cut_of_the_roll_also_in_the_difference(bench: Bench) -> None:
    released()
    bench.do("cut_kit", CutKit("G7-1", "2.00 m", mark="K-1"))
    tablet = Tablet(bench).sync()
    assert "against" not in tablet["K-1"]
    bench.do("hold", Hold("G7-1", "soft spot"), "Odile")
    tablet.sync()
    assert "put on hold by Odile: soft spot" in tablet["K-1"]["against"][0][1]
    assert plain(tablet) == plain(Tablet(bench).sync())


def test_a_part_is_told_with_what_its_schedule_still_wants(bench: Bench) -> None:
    released()
    tablet = Tablet(bench).sync()
    bench.do("start_part", StartPart("RUD", "RUD-9", "BAY1"), "Bram")
    tablet.sync()
    (part,) = tablet.parts.values()
    assert (part["number"], part["design"], part["place"]) == ("RUD-9", "RUD", "BAY1") and "filled" not in part
    bench.do("lay", Lay("G7-1", "RUD-9", (1,), qty="1.10 m"), "Bram", stance="observed", happened_us=clock("08:00"))
    tablet.sync()
    assert next(iter(tablet.parts.values()))["filled"] == [1]
    assert plain(tablet) == plain(Tablet(bench).sync())


def test_pages_follow_one_another_and_a_record_made_between_them_is_not_lost(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shelf, "SIZE", 2)
    tablet = Tablet(bench)
    first = body(tablet.machine.get("shelf/?since="))
    assert first["more"] and len(first["things"]) == 2
    bench.do("move", Move("G7-0", "BAY1"))  # told on the first page already
    second = body(tablet.machine.get(f"shelf/?since={first['cursor']}"))
    assert not second["more"] and not second["begin"] and len(second["things"]) == 2
    third = body(tablet.machine.get(f"shelf/?since={second['cursor']}"))
    assert [r["place"] for r in third["things"]] == ["BAY1"]
    assert tablet.sync().pages == 2


def test_nothing_new_is_told_by_its_tag_alone_and_with_the_servers_clock(bench: Bench) -> None:
    tablet = Tablet(bench).sync()
    again = tablet.machine.get(f"shelf/?since={tablet.cursor}")
    assert body(again)["things"] == []
    same = body(again)["cursor"]
    once = tablet.machine.get(f"shelf/?since={same}")
    nothing = tablet.machine.get(f"shelf/?since={same}", **{"If-None-Match": once["ETag"]})
    assert (nothing.status_code, nothing.content) == (304, b"")
    assert nothing["Selvedge-Now"] == str(clock("08:00") // 1000) and nothing["Cache-Control"] == "no-store"
    bench.do("move", Move("G7-1", "BAY1"))
    assert tablet.machine.get(f"shelf/?since={same}", **{"If-None-Match": once["ETag"]}).status_code == 200


def test_an_edit_of_what_all_rows_share_and_a_database_that_was_put_back_begin_anew(bench: Bench) -> None:
    tablet = Tablet(bench).sync()
    Material.objects.filter(code="PP-T").update(thaw_roll_us=1)
    assert body(tablet.machine.get(f"shelf/?since={tablet.cursor}"))["begin"]
    tablet.sync()
    cursor = shelf.read_cursor(tablet.cursor)
    assert cursor is not None
    other = shelf.Cursor(cursor.since, cursor.upto, "deadbeef", cursor.shared, -1)
    assert body(tablet.machine.get(f"shelf/?since={other.text()}"))["begin"], "these numbers are of other acts"


@pytest.mark.parametrize("text", ["x", "MS4x", "MS4xLjIuMy40LjU2Nzg5MDEyMzQ1Njc4OTAxMjM0NTY3ODkw", "%F0%9F%92%A9", "a" * 300])
def test_a_cursor_of_somebody_elses_is_not_understood(bench: Bench, text: str) -> None:
    response = Machine(token_for(bench, "Bram", "read")).get(f"shelf/?since={text}")
    assert response.status_code == 400, response.content


def test_a_token_needs_the_scope_to_read(bench: Bench) -> None:
    problem(Machine(token_for(bench, "Bram", "replay")).get("shelf/"), 403, "scope.missing")


def test_the_number_of_queries_does_not_grow_with_the_rows(bench: Bench) -> None:
    def asked() -> int:
        machine = Machine(token_for(bench, "Bram", "read"))
        with CaptureQueriesContext(connection) as found:
            assert machine.get("shelf/").status_code == 200
        return len(found)

    asked()  # what a process keeps of lots
    before = asked()
    for n in range(10, 16):
        bench.roll(f"G7-{n}", delivery=f"D-{n}", at=clock("06:00") + n)
    asked()
    assert asked() == before


def test_what_reaches_further_is_never_taken_for_what_names_all_it_changes() -> None:
    assert not OWN & DECISIONS


def test_random_days_by_difference_give_the_same_list_as_the_whole(bench: Bench) -> None:
    """After each of a day's records, also late ones and voids, a tablet that syncs now and then holds what a new one would get."""
    import random

    from inventory.core.reasons import BadInput, Refused
    from inventory.verbs.voiding import Void

    dice = random.Random(7)
    released()
    tablet, done = Tablet(bench).sync(), 0
    for n in range(60):
        marks = list(Item.objects.filter(kind__in=("roll", "kit")).order_by("pk").values_list("mark", flat=True))
        mark = dice.choice(marks)
        late: dict[str, Any] = {"stance": "observed", "happened_us": clock("07:00") + n * 10**6} if dice.random() < 0.4 else {}
        verb, who, params = dice.choice(
            [
                ("move", "Ines", Move(mark, dice.choice(["CLEAN", "F1", "BAY1", "RACK"]))),
                ("cut_kit", "Ines", CutKit(mark, "1.00 m", mark=f"K-{n}")),
                ("hold", "Odile", Hold(mark, "look")),
                ("scrap", "Ines", Scrap(mark, "wet", "0.10 m")),
                ("void", "Odile", Void(dice.choice(list(Act.objects.order_by("-pk").values_list("pk", flat=True)[:12])), "wrong")),
            ]
        )
        late = {} if verb in ("hold", "void") else late
        try:
            bench.do(verb, params, who, at=clock("08:00") + n * 10**6, **late)
            done += 1
        except (Refused, BadInput):
            continue
        if dice.random() < 0.6:
            assert plain(tablet.sync()) == plain(Tablet(bench).sync()), (n, verb)
    assert done > 25
    assert plain(tablet.sync()) == plain(Tablet(bench).sync())
