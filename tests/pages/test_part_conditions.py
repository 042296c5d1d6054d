"""Windows between steps, and the room, on the part's page and through the interface for machines: what runs, until when, what is
asked, and a scan outside."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.core.spans import HOUR_US, MINUTE_US
from inventory.models import Customer, ItemState, Material
from inventory.verbs.mixing import Measure
from inventory.verbs.moving import Open
from layups.models import Design, RoomLimit, TighterLimit, Window
from tests.api.client import Machine, body, problem, token_for
from tests.api.conftest import EDGES

from .floor import Browser, Clock, Floor, clock, floor, made_floor

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]


@pytest.fixture
def bram(floor: Floor, clock: Clock) -> Browser:
    """Ply 7 of RUD-073 is laid at 08:32; ply 8 may follow after half an hour and within four."""
    rud = Design.objects.get(code="RUD")
    lines = {ply.seq: ply for ply in rud.plies.all()}
    ends = {"first_line": lines[7], "then_line": lines[8], "least_us": 30 * MINUTE_US, "most_us": 4 * HOUR_US}
    Window.objects.create(design=rud, name="twill to twill", remedy="abrade it", again="abraded", **ends)
    floor.do(floor.at(0, "08:20"), "Ines", "open", Open("T-2", True))
    clock(0, "08:32")
    browser = Browser(floor, "Bram")
    browser.post("/parts/RUD-073/", {"code": floor.code("T-2"), "plies": "7"})
    assert qty() == 23_750_000
    return browser


def measured(floor: Floor, when: str) -> None:
    floor.do(floor.at(0, when), "Bram", "measure", Measure("CLEAN", "21.0", "45"))


def qty() -> int:
    return ItemState.objects.get(item__mark="T-2").qty


def scan(browser: Browser, floor: Floor) -> Any:
    return browser.post("/parts/RUD-073/", {"code": floor.code("T-2"), "plies": "8"})


def test_the_page_says_from_when_and_until_when(floor: Floor, clock: Clock, bram: Browser) -> None:
    for when, said in (
        ("08:50", "too early twill to twill: ply 7 18 min ago, ply 8 from 09:02"),
        ("09:02", "open twill to twill: ply 7 30 min ago, before ply 8"),
        ("12:32", "over twill to twill: ply 7 4 h 00 ago: abrade it; then record the step “abraded”."),
    ):
        clock(0, when)
        assert said in bram.get("/parts/RUD-073/").text, when
    clock(0, "09:02")
    assert "stop by 12:32" in bram.get("/parts/RUD-073/").text


def test_a_scan_outside_is_refused_at_the_tool_and_one_within_is_not(floor: Floor, clock: Clock, bram: Browser) -> None:
    clock(0, "08:50")
    measured(floor, "11:50")
    early = scan(bram, floor)
    assert early.reasons == ["window.too_early"] and "18 min ago, at least 30 min" in early.text
    clock(0, "12:32")
    late = scan(bram, floor)
    assert late.reasons == ["window.over"] and "4 h 00 ago, at most 4 h" in late.text and qty() == 23_750_000
    clock(0, "12:31")
    assert scan(bram, floor).reasons == [] and qty() == 22_900_000
    assert "twill to twill" not in bram.get("/parts/RUD-073/").text


def test_the_same_through_the_interface_for_machines(floor: Floor, clock: Clock, bram: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    clock(0, "08:50")
    for edge in EDGES:
        monkeypatch.setattr(f"{edge}.now_us", lambda: clock.now)
    machine = Machine(token_for(floor, "Bram"))  # type: ignore[arg-type]
    (window,) = body(machine.get("parts/RUD-073/"))["windows"]
    assert window == {
        "name": "twill to twill",
        "state": "waits",
        "first": "ply 7",
        "then": "ply 8",
        "since": "2026-03-30T06:32:00Z",
        "opens_at": "2026-03-30T07:02:00Z",
        "ends_at": "2026-03-30T10:32:00Z",
        "when_over": "abrade it",
        "again": "abraded",
    }
    lay = {"item": "T-2", "part": "RUD-073", "plies": [8]}
    found = problem(machine.do("lay", lay), 409, "window.too_early")
    assert [(r["code"], r["numbers"]["used"]) for r in found["reasons"]] == [("window.too_early", 18 * MINUTE_US)]
    happened = {"already_happened": True, "happened_at": "2026-03-30T08:45:00+02:00", "why_late": "the tablet was flat"}
    told = machine.do("lay", lay | happened)
    assert told.status_code == 201 and [r["code"] for r in body(told)["reasons"]] == ["window.too_early"] and qty() == 22_900_000


# --- the room -----------------------------------------------------------------------------------------


def test_the_room_is_shown_judged_and_measured_from_the_part(
    floor: Floor, clock: Clock, bram: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    Window.objects.all().delete()
    assert RoomLimit.objects.get(design__code="RUD").high_mc == 25_000
    clock(0, "13:00")  # whatever was measured in the morning says nothing any more
    for edge in EDGES:
        monkeypatch.setattr(f"{edge}.now_us", lambda: clock.now)
    page = bram.get("/parts/RUD-073/")
    assert "not known Room, asked: 15–25 °C and at most 70 % RH" in page.text
    assert scan(bram, floor).reasons == ["room.unknown"] and qty() == 23_750_000
    (form,) = [link for link in page.links() if link.startswith("/do/measure/")]
    bram.post(form, {"place": "CLEAN", "temperature": "26.5", "humidity": "45"})
    page = bram.get("/parts/RUD-073/")
    assert "does not fit Room 26.5 °C, 45 % RH at 13:00" in page.text
    assert scan(bram, floor).reasons == ["room.too_hot"]
    machine = Machine(token_for(floor, "Bram"))  # type: ignore[arg-type]
    room = body(machine.get("parts/RUD-073/"))["room"]
    assert (room["place"], room["temp_mc"], room["rh_ppm"], room["temp_at"]) == ("CLEAN", 26_500, 450_000, "2026-03-30T11:00:00Z")
    assert [r["code"] for r in room["against"]] == ["room.too_hot"]
    problem(machine.do("lay", {"item": "T-2", "part": "RUD-073", "plies": [8]}), 409, "room.too_hot")
    clock(0, "13:01")
    bram.post(form, {"place": "CLEAN", "temperature": "21", "humidity": "45"})
    assert "fit Room 21 °C, 45 % RH at 13:01" in bram.get("/parts/RUD-073/").text
    assert scan(bram, floor).reasons == [] and qty() == 22_900_000


# --- tightened limits ---------------------------------------------------------------------------------


def test_a_limit_that_the_customer_tightens_is_shown_and_judged_with_their_name(
    floor: Floor, clock: Clock, bram: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """T-2 has 44 h 32 out when ply 7 is laid; Skerrow takes 48 h, the specification 504 h."""
    Window.objects.all().delete()
    skerrow = Customer.objects.get(name="Skerrow Sailing School")
    TighterLimit.objects.create(customer=skerrow, material=Material.objects.get(code="PP-T"), limit="out", limit_us=48 * HOUR_US)
    for edge in EDGES:
        monkeypatch.setattr(f"{edge}.now_us", lambda: clock.now)
    clock(0, "09:00")
    said = "used 45 h 00 of 48 h · ends 12:00 if it stays where it is · judged at the start of cure · tightened by Skerrow Sailing School"
    assert said in bram.get("/parts/RUD-073/").text
    machine = Machine(token_for(floor, "Bram"))  # type: ignore[arg-type]
    lives = [x for x in body(machine.get("parts/RUD-073/"))["lives"] if x["limit"] == "out"]
    assert [(x["by"], x["allowed"]) for x in lives] == [("Skerrow Sailing School", 48 * HOUR_US)]
    page = scan(bram, floor)
    assert page.reasons == ["life.too_short"] and "tightened by Skerrow Sailing School" in page.text
    clock(0, "12:00")
    measured(floor, "11:50")
    page = scan(bram, floor)
    assert page.reasons == ["life.over"] and "48 h 00 of 48 h used (tightened by Skerrow Sailing School)" in page.text
    found = problem(machine.do("lay", {"item": "T-2", "part": "RUD-073", "plies": [8]}), 409, "life.over")
    assert found["reasons"][0]["numbers"]["by"] == "Skerrow Sailing School"
    machine.do("lay", {"item": "T-2", "part": "RUD-074", "plies": [8]})
    assert qty() == 22_900_000
