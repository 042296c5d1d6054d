"""Ines's Monday through the pages: what she scans, what must happen. Facts and numbers stand in the yard's day script; the
clock is frozen at the times that it names."""

from __future__ import annotations

import pytest

from inventory.balance import balance
from inventory.models import Act, Item, Nonconformance, Refusal
from inventory.reads.needs import needs
from layups.verbs.starting import StartPart

from .browsing import Browser, Clock, frozen
from .morning import early, morning
from .store import Store

pytestmark = pytest.mark.django_db


@pytest.fixture
def store() -> Store:
    return morning()


@pytest.fixture
def clock(store: Store, monkeypatch: pytest.MonkeyPatch) -> Clock:
    return frozen(monkeypatch, store)


@pytest.fixture
def ines(store: Store, clock: Clock) -> Browser:
    return Browser(store, "Ines")


def acts() -> int:
    return Act.objects.count()


def test_s1_the_morning_list_says_what_needs_her_most_urgent_first(store: Store, ines: Browser) -> None:
    early(store)
    page = ines.get("/")
    text = page.text
    order = [text.index(f"{word} {name}") for word, name in (("Now", "U-3:"), ("Today", "T-2 may"), ("Today", "D-118:"), ("Soon", "X4"))]
    assert order == sorted(order)
    assert "U-3: out since Fri 27 Mar 16:30 in Clean room, overdue" in text
    assert "114 h 00 of 120 h out life used" in text
    assert "tack life 72 h passed Sat 28 Mar 12:30" in text
    for thing, since in (("T-2", "07:00"), ("T-4", "18:30"), ("T-6", "19:30"), ("K-31", "08:15")):
        assert f"{thing} may be opened from {since}" in text
    assert "FA-9): storage life, last day today" in text
    assert "X4 (MEKP lot X4): printed date, last day Tue 31 Mar" in text
    assert "PEEL-85: 38.00 m usable, reorder at 60.00 m; 100.00 m ordered (PO 2291), due Wed 1 Apr" in text
    assert "PEEL-85: 38.00 m usable, reorder at 60.00 m. To buy" not in text
    assert [f"D-{n}" in text for n in (118, 119, 120)] == [True] * 3 and text.count("due today") == 3


def test_s2_and_s3_a_forgotten_roll_comes_back_once_and_its_hours_are_elapsed_hours(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "07:40")
    page = ines.put("U-3", "F1")
    assert page.status == 200 and "U-3 is in Chest freezer" in page.text
    assert "114 h 10 of 120 h out life used; tack life 72 h passed Sat 28 Mar 12:30" in page.text
    assert "5 h 50 of out life left" in page.text
    assert "115 h" not in page.text, "wall-clock arithmetic over the clock change"
    assert "U-3 may not be used now" in page.text
    clock(0, "07:40", 20)
    before = acts()
    again = ines.put("U-3", "F1")
    assert "U-3 is already in Chest freezer" in again.text
    assert acts() == before
    told = [n for n in needs(store.site.pk, store.zone, clock.now, ["quality"]) if "U-3" in n.text]
    assert len(told) == 1 and "tack life 72 h passed" in told[0].text
    assert Nonconformance.objects.count() == 0, "a return breaks no rule: what is told is told by the list"


def take_in(ines: Browser, number: str, mark: str, **more: str) -> None:
    form = {"number": number, "mark": mark, "quantity": "100.00 m", "lot": "G7", "place": "RACK", **more}
    assert ines.post("/receive/delivery/", form).status == 200


def test_s4_and_s5_three_rolls_come_in_unreleased_and_a_second_scan_adds_none(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "08:00")
    assert "0 of 3 rolls" in ines.get("/receive/delivery/?number=D-118").text
    take_in(ines, "D-118", "G7-1")
    ticket = {"flaw_kind0": "bad", "flaw_at0": "31.0 m", "flaw_end0": "31.4 m", "flaw_kind1": "splice", "flaw_at1": "72.0 m"}
    page = ines.post(
        "/receive/delivery/", {"number": "D-118", "mark": "G7-2", "quantity": "100.00 m", "lot": "G7", "marks_from": "outer", **ticket}
    )
    assert "G7-2: usable 99.60 m, longest clear piece 40.60 m" in page.text
    take_in(ines, "D-118", "G7-3")
    page = ines.get("/receive/delivery/?number=D-118")
    assert "3 of 3 rolls, 300.00 m of 300.00 m" in page.text and page.text.count("not released") == 3
    roll = ines.scan("G7-2").text
    assert "usable 99.60 m" in roll.lower() and "longest clear piece 40.60 m, between 31.40 m and 72.00 m" in roll
    before = acts()
    again = ines.post("/receive/delivery/", {"number": "D-118", "mark": "G7-1", "quantity": "100.00 m", "lot": "G7"})
    assert again.status == 409 and again.reasons == ["receive.already_here"]
    assert acts() == before and Item.objects.filter(delivery__number="D-118").count() == 3


def test_s6_a_thawed_roll_opens_with_a_dry_bag_and_one_still_cold_is_refused(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "08:20")
    page = ines.post(f"/i/{store.code('T-2')}/open/", {"dry": "yes"})
    assert "T-2 is open" in page.text and "44 h 20 of 504 h" in page.text
    before = acts()
    refused = ines.post(f"/i/{store.code('T-4')}/open/", {"dry": "yes"})
    assert refused.status == 409 and refused.reasons == ["thaw.short"]
    assert "1 h 50 of 12 h, from Mon 30 Mar 18:30" in refused.text and "roll T-2" in refused.text
    assert acts() == before
    assert "1 h 50 of 504 h" in ines.scan("T-4").text, "its out time runs meanwhile"


def receive_prepreg(ines: Browser) -> None:
    for mark in ("T-7", "T-8"):
        form = {"number": "D-119", "mark": mark, "quantity": "50.00 m", "lot": "T26-031", "made": "2026-03-02", "place": "QUARF"}
        page = ines.post("/receive/delivery/", {**form, "out_time": "6 h 00", "transport": "9 h 20", "warmest": "-3.1 °C"})
        assert page.status == 200, page.text


def test_s7_out_time_of_label_and_journey_is_charged_and_quality_must_look_at_it(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "08:40")
    receive_prepreg(ines)
    for mark in ("T-7", "T-8"):
        roll = ines.scan(mark).text
        assert "used 15 h 20 of 504 h" in roll and "through Tue 2 Mar 2027" in roll and "not released" in roll
    quality = [n.text for n in needs(store.site.pk, store.zone, clock.now, ["quality"])]
    assert any("D-119: T-7 and T-8 of PP-T wait for quality: transport (9 h 20 too warm)" in text for text in quality)
    assert "T-8 is in Chest freezer" in ines.put("T-8", "F1").text
    shown = ines.get("/stock/PP-T/").text
    assert "T-7" in shown and shown.index("Fetch first: T-2") < shown.index("T-7 waits for release")


def test_s8_papers_within_and_outside_the_limits_and_no_release_for_a_storekeeper(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "08:40")
    receive_prepreg(ines)
    clock(0, "09:00")
    lot = store["T-7"].lot
    assert lot is not None
    page = ines.get(f"/receive/papers/?lot={lot.code}")
    names = {}
    for mark in ("T-7", "T-8"):
        for need in store.yard.material["PP-T"].cert_limits.all():
            names[(mark, need.name)] = f"p-{store[mark].pk}-{need.pk}"
            assert f'name="{names[(mark, need.name)]}"' in page.source
    values = {("T-7", "areal mass"): "203", ("T-7", "resin"): "42.3", ("T-8", "areal mass"): "205", ("T-8", "resin"): "45.1"}
    done = ines.post(f"/receive/papers/?lot={lot.code}", {names[key]: value for key, value in values.items()})
    assert "resin 45.1, limits 40.0–44.0 %" in done.text
    assert "areal mass 203 g/m² passed" in ines.scan("T-7").text and "not released" in ines.scan("T-7").text
    assert "resin 45.1 % failed" in ines.scan("T-8").text
    assert not any("/do/release/" in link for link in ines.scan("T-7").links())
    before = acts()
    typed = ines.post("/do/release/", {"items": "T-7", "password": "copper-kettle-41"})
    assert typed.status == 403 and typed.reasons == ["role.not_allowed"] and acts() == before


def test_s9_peroxide_goes_only_where_it_may_and_only_as_much_as_fits(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "09:15")
    for n in range(1, 5):
        form = {"number": "D-120", "mark": f"X6-{n}", "quantity": "5 kg", "lot": "X6", "printed": "2026-09"}
        assert ines.post("/receive/delivery/", form).status == 200
    before = acts()
    never = ines.put("X6-1", "AC")
    assert never.status == 409 and any(code.startswith("place.") for code in never.reasons)
    cold = ines.put("X6-1", "F1")
    assert cold.status == 409 and "5 °C" in cold.text
    assert acts() == before and Refusal.objects.count() == 2
    for n in range(1, 4):
        assert ines.put(f"X6-{n}", "PX").status == 200
    full = ines.put("X6-4", "PX")
    assert full.status == 409 and "26.50 kg" in full.text and "25.00 kg" in full.text
    assert "BK Outdoor bunker" in full.text, "what would take it is offered"
    assert ines.put("X6-4", "BK").status == 200
    fire = ines.get("/peroxides/").text
    assert "PX Peroxide cabinet 21.50 kg 25.00 kg" in fire and "BK Outdoor bunker 5.00 kg 60.00 kg" in fire
    assert "in all: 26.50 kg" in fire


def test_s10_a_count_by_weight_corrects_the_book_and_the_lot_still_closes(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "10:00")
    page = ines.post(f"/i/{store.code('C-12')}/count/", {"gross": "6.28 kg", "core": "1.60 kg"})
    assert "C-12: 18.06 m; −0.34 m, by weight" in page.text or "18.06 m; −0.34 m" in page.text
    lot = store["C-12"].lot_id
    assert lot is not None and balance(lot).closes


def test_s11_a_kit_with_its_remnant_and_waste_and_then_more_than_there_is(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "10:00")
    ines.post(f"/i/{store.code('C-12')}/count/", {"gross": "6.28 kg"})
    clock(0, "10:20")
    cut = {"taken": "6.20 m", "net": "5.94 m²", "mark": "K-40", "job": "DAG-041", "length0": "0.90 m", "width0": "0.60 m", "name0": "R-51"}
    page = ines.post(f"/i/{store.code('C-12')}/cut/", cut)
    assert "Kit K-40" in page.text and "waste 1.27 m² (16.4 %)" in page.text
    assert "11.86 m" in ines.scan("C-12").text
    remnant = ines.scan("R-51")
    assert "0.54 m²" in remnant.text and "CT-88" in remnant.text
    before = acts()
    refused = ines.post(f"/i/{store.code('C-12')}/cut/", {"taken": "12.00 m"})
    assert refused.status == 409 and "11.86 m left" in refused.text and "roll C-13, 48.00 m" in refused.text
    assert acts() == before
    assert balance(store["C-12"].lot_id or 0).closes


def test_s12_a_length_in_one_piece_lies_between_bad_metres_and_splice(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "10:40")
    shown = ines.get("/stock/GB-600/?amount=42+m&one_piece=on").text
    assert "in one piece only 40.60 m; 42.00 m needed" in shown
    refused = ines.post("/do/cut_off/", {"item": "G6-4", "taken": "42.00 m"})
    assert refused.status == 409 and "40.6" in refused.text
    assert ines.post("/do/cut_off/", {"item": "G6-4", "taken": "30.00 m"}).status == 200
    roll = ines.scan("G6-4").text
    assert "70.00 m" in roll and "bad from 1.00 m to 1.40 m" in roll and "splice at 42.00 m" in roll and "Usable 69.60 m" in roll


def test_s13_a_customers_roll_is_issued_only_to_that_customers_jobs(store: Store, ines: Browser, clock: Clock) -> None:
    clock(0, "11:00")
    club = store.yard.customer["Ferrel"].name
    store.do(store.at(-3, "15:32"), "Bram", "start_part", StartPart("CAN", "CAN-066", "BAY2"))
    store.do(store.at(-3, "15:33"), "Bram", "start_part", StartPart("CAN", "CAN-067", "BAY2", club))
    before = acts()
    refused = ines.post("/do/reserve/", {"item": "CO-1", "job": "CAN-066"})
    assert refused.status == 409 and refused.reasons == ["owner.other"]
    assert "CO-1 belongs to Ferrel Rowing Club: only for its jobs" in refused.text
    kit = ines.post(f"/i/{store.code('CO-1')}/cut/", {"taken": "1.00 m", "job": "CAN-066"})
    assert kit.status == 409 and kit.reasons == ["owner.other"]
    assert acts() == before
    assert ines.post("/do/reserve/", {"item": "CO-1", "job": "CAN-067"}).status == 200
    assert "Kept for CAN-067" in ines.scan("CO-1").text


def test_s14_a_roll_put_back_half_thawed_starts_again_and_signing_out_leaves_nothing(store: Store, ines: Browser, clock: Clock) -> None:
    early(store)
    clock(0, "16:25")
    back = ines.put("T-4", "F1")
    assert "9 h 55 of 504 h out life used" in back.text
    assert "Frozen: 12 h thaw" in back.text, "next time the whole 12 h again"
    out = ines.get("/").text
    listed = out[out.index("What is out") :]
    for thing in ("T-2", "T-6", "K-31", "FK-12"):
        assert thing in listed
    assert "T-4" not in listed and "17:00" in listed
    response = ines.client.get("/")
    assert response.headers["Cache-Control"] == "no-store", "the back button shows nothing"
    ines.client.post("/sign-out/")
    assert ines.client.get("/").status_code == 302
