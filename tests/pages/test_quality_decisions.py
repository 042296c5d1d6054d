"""Decisions of quality on Odile's Monday, beside those of her day in test_browser_day_quality."""

from __future__ import annotations

import re

import pytest

from inventory.models import Act, Extension, Nonconformance, Person, Refusal
from inventory.verbs.voiding import Void
from layups.verbs.inspecting import Inspect

from .floor import Browser, Clock, Floor, Page, arrive, clock, floor, made_floor, signed

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]
KG, M = 10**9, 10**6


@pytest.fixture
def odile(floor: Floor, clock: Clock) -> Browser:
    """Her day begins after S7 and S8: T-7 and T-8 are in, with their papers."""
    arrive(floor)
    clock(0, "09:01")
    return Browser(floor, "Odile")


def accept(floor: Floor, clock: Clock, odile: Browser) -> Page:
    """Q2, first half."""
    clock(0, "09:02")
    return signed(odile, "/quality/transport/", {"delivery": "D-119", "evidence": "logger file L-119.csv, product probe"})


def test_a_disposition_of_use_as_is_needs_a_reference(floor: Floor, clock: Clock, odile: Browser) -> None:
    page = signed(odile, "/quality/decide/", {"item": "T-8", "meaning": "use_as_is"})
    assert page.reasons == ["dispose.reference_needed"] and "approval reference" in page.text
    page = signed(odile, "/quality/decide/", {"item": "T-8", "meaning": "accept", "reason": "it looks fine"})
    assert page.reasons == ["dispose.use_as_is_needed"]


def test_the_way_to_decide_is_named_in_the_reader_s_language(floor: Floor, odile: Browser) -> None:
    floor.do(floor.at(0, "09:00"), "Bram", "inspect", Inspect("RUD-073", "visual", "void at the tip", passed=False))
    path = f"/quality/case/{Nonconformance.objects.latest('pk').pk}/"
    assert ">Decide</a>" in odile.get(path).source
    Person.objects.filter(name="Odile").update(language="de")
    assert ">Entscheiden</a>" in odile.get(path).source


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
