"""Odile's Monday through the pages, where it needs only the things with a name: Q2 to Q4 and Q13. (Q1 and Q5 to Q12 need the
yard's history and stand in test_day_quality_history.) Facts and numbers stand in the yard's day script.

Left out of Q14, because this service cannot do it yet: the signed dossier with its print, and the verifier of a bundle. That the
auditor reads everything and changes nothing is in test_part_roles."""

from __future__ import annotations

import re

import pytest

from inventory.balance import balance
from inventory.core.units import display
from inventory.models import Act, Extension, Item, ItemState, Refusal
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.counting import Count
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.voiding import Void

from .floor import Browser, Clock, Floor, Page, clock, floor, made_floor, signed

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]
KG, M = 10**9, 10**6


@pytest.fixture
def odile(floor: Floor, clock: Clock) -> Browser:
    """Her day begins after S7 and S8: T-7 and T-8 are in, with their papers."""
    arrive(floor)
    clock(0, "09:01")
    return Browser(floor, "Odile")


def arrive(floor: Floor) -> None:
    """S7 and S8."""
    pieces = tuple(ReceivedPiece("50.00 m", mark, transport="9 h 20", warmest="-3.1 °C", out_time="6 h 00") for mark in ("T-7", "T-8"))
    lot = ReceivedLot("T26-031", pieces, made="2026-03-02")
    floor.do(floor.at(0, "08:40"), "Ines", "receive", Receive("D-119", (lot,), place="QUARF"))
    values = (
        PaperValue("areal mass", "203", "T-7"),
        PaperValue("resin", "42.3", "T-7"),
        PaperValue("areal mass", "205", "T-8"),
        PaperValue("resin", "45.1", "T-8"),
    )
    floor.do(floor.at(0, "09:00"), "Ines", "certify", Certify("T26-031", values))


def accept(floor: Floor, clock: Clock, odile: Browser) -> Page:
    """Q2, first half."""
    clock(0, "09:02")
    return signed(odile, "/quality/transport/", {"delivery": "D-119", "evidence": "logger file L-119.csv, product probe"})


def test_q2_the_transport_is_accepted_with_its_time_charged_and_the_good_roll_released(floor: Floor, clock: Clock, odile: Browser) -> None:
    inbox = odile.get("/quality/").text
    assert "D-119: PP-T" in inbox and "9 h 20 above the line, −3.1 °C at most" in inbox
    assert "42.3 passed" in inbox and "45.1 failed" in inbox and "resin 40.0–44.0 %" in inbox
    assert "Transport of T-7 and T-8" in accept(floor, clock, odile).text.replace("T-7, T-8", "T-7 and T-8")
    clock(0, "09:03")
    page = signed(odile, "/quality/release/", {"items": "T-7", "evidence": "papers within limits"})
    assert "T-7 released" in page.text
    roll = odile.scan("T-7").text
    assert "Roll T-7 fit frozen" in roll and "not released" not in roll and "15 h 20 of 504 h" in roll
    assert "Released" in roll and "Odile" in roll and "papers within limits" in roll


def test_q3_a_roll_outside_its_limits_is_not_released_and_goes_back(floor: Floor, clock: Clock, odile: Browser) -> None:
    accept(floor, clock, odile)
    signed(odile, "/quality/release/", {"items": "T-7"})
    clock(0, "09:05")
    before = Act.objects.count()
    page = signed(odile, "/quality/release/", {"items": "T-8"})
    assert page.status == 409 and page.reasons == ["certificate.outside"]
    assert "45.1" in page.text and "40.0–44.0" in page.text
    assert Act.objects.count() == before
    back = odile.post("/quality/return/", {"item": "T-8", "reason": "resin 45.1, limits 40.0–44.0", "reference": "claim 17"})
    assert "50.00 m of T-8 returned to the supplier" in back.text
    lot = Item.objects.get(mark="T-7").lot_id
    assert lot is not None
    found = balance(lot)
    assert (found.received, found.on_hand, found.returned, found.scrapped) == (100 * M, 50 * M, 50 * M, 0)
    assert "T-8" not in odile.get("/quality/").text


def test_q3_a_disposition_of_use_as_is_needs_a_reference(floor: Floor, clock: Clock, odile: Browser) -> None:
    page = signed(odile, "/quality/decide/", {"item": "T-8", "meaning": "use_as_is"})
    assert page.reasons == ["dispose.reference_needed"] and "approval reference" in page.text
    page = signed(odile, "/quality/decide/", {"item": "T-8", "meaning": "accept", "reason": "it looks fine"})
    assert page.reasons == ["dispose.use_as_is_needed"]


def test_q4_an_extension_climbs_the_ladder_and_needs_a_second_person(floor: Floor, clock: Clock, odile: Browser) -> None:
    clock(0, "09:05")
    six = signed(odile, "/quality/extend/", {"item": "FA-9", "months": "6", "value": "24.1 MPa", "sample": "FA-9-2"})
    assert "extend.not_the_next_step" in six.reasons and "3 then 1 months, then discard" in six.text
    asked = signed(odile, "/quality/extend/", {"item": "FA-9", "months": "3", "value": "24.1 MPa", "sample": "FA-9-2"})
    assert "a second person must approve it" in asked.text and "You asked; another person approves" in asked.text
    own = signed(odile, "/quality/approve/", {"item": "FA-9"})
    assert own.status == 409 and "approval.same_person" in own.reasons
    marek = Browser(floor, "Marek")
    assert "lap shear 24.1 MPa" in marek.get("/quality/").text
    assert signed(marek, "/quality/approve/", {"item": "FA-9"}).status == 200
    row = Extension.objects.get()
    assert (str(row.item), row.asked_by.name, row.approved_by.name) == ("FA-9-2", "Odile", "Marek")
    assert (row.old_us, row.until_us) == (floor.at(1, "00:00"), floor.at(93, "00:00")), "through 30 March, now through 30 June"
    assert "through Tue 30 Jun" in odile.scan("FA-9-2").text and "extended from Mon 30 Mar" in odile.scan("FA-9-2").text
    assert "30 Jun" not in odile.scan("FA-9-1").text


def test_an_extension_that_was_voided_is_struck_and_its_asking_waits_again(floor: Floor, clock: Clock, odile: Browser) -> None:
    clock(0, "09:05")
    marek = Browser(floor, "Marek")
    signed(odile, "/quality/extend/", {"item": "FA-9", "months": "3", "value": "24.1 MPa", "sample": "FA-9-2"})
    assert signed(marek, "/quality/approve/", {"item": "FA-9"}).status == 200
    act = Extension.objects.get().approved_id
    clock(0, "09:10")
    floor.do(floor.at(0, "09:10"), "Odile", "void", Void(act, "coupons of another lot"))
    page = odile.scan("FA-9-2")
    assert re.search(r"<s>[^/]*extended from.*?</s> void", page.source, re.DOTALL) and "through Tue 30 Jun" not in page.text
    assert "lap shear 24.1 MPa" in marek.get("/quality/").text, "it waits for its approval again"
    assert signed(marek, "/quality/approve/", {"item": "FA-9"}).status == 200
    page = odile.scan("FA-9-2")
    assert "through Tue 30 Jun" in page.text and page.source.count("extended from") == 2 and page.source.count("</s> void") == 1


def test_a_wrong_password_decides_nothing_and_leaves_its_trace(floor: Floor, clock: Clock, odile: Browser) -> None:
    accept(floor, clock, odile)
    before, refused = Act.objects.count(), Refusal.objects.count()
    page = signed(odile, "/quality/release/", {"items": "T-7"}, password="copper-kettle-14")
    assert page.status == 403 and page.reasons == ["password.wrong"]
    assert Act.objects.count() == before and Refusal.objects.count() == refused + 1


def test_a_badge_decides_nothing(floor: Floor, clock: Clock, odile: Browser) -> None:
    bram = Browser(floor, "Bram")
    bram.post("/badge/", {"code": floor.yard.badge["Odile"]})
    page = signed(bram, "/quality/release/", {"items": "T-7"})
    assert page.status == 403 and page.reasons == ["password.badge"]


def test_q13_a_wrong_count_is_voided_once_with_its_reason_and_stays_readable(floor: Floor, clock: Clock, odile: Browser) -> None:
    """S10 first: 6.28 kg less the core's 1.60 kg is 4.68 kg ÷ (0.204 × 1.270) = 18.06 m of 18.40 m."""
    floor.do(floor.at(0, "10:00"), "Ines", "count", Count("C-12", gross="6.28 kg", core="1.60 kg"))
    assert display(ItemState.objects.get(item__mark="C-12").qty, "um") == "18.06 m"
    act = Act.objects.filter(kind="count").latest("pk")
    clock(0, "10:30")
    form = odile.get(f"/quality/void/?record={act.pk}")
    assert "Ines" in form.text and "C-12" in form.text
    page = signed(odile, "/quality/void/", {"record": act.pk, "reason": "wrong core weight"})
    assert f"Record {act.pk} (count) is void" in page.text
    assert ItemState.objects.get(item__mark="C-12").qty == 18_400_000
    roll = odile.scan("C-12")
    assert "<s>" in roll.source and "wrong core weight" in roll.text and "18.06 m" in roll.text
    again = signed(odile, "/quality/void/", {"record": act.pk, "reason": "once more"})
    assert again.status == 409 and again.reasons == ["void.already"]
