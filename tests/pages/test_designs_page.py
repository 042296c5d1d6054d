"""Designs to look at."""

from __future__ import annotations

import pytest

from .browsing import Browser, Clock
from .floor import Floor, clock, floor, made_floor

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]


def test_the_list_says_what_kind_each_laminate_is(floor: Floor, clock: Clock) -> None:
    page = Browser(floor, "Bram").get("/designs/")
    assert page.status == 200 and page.headings == 1
    assert "RUD Rudder blade prepreg" in page.text and "orthotropic" in page.text
    assert "/designs/RUD/" in page.links() and "/designs/" in Browser(floor, "Bram").get("/parts/").links()


def test_a_design_shows_plies_reasons_windows_and_its_schedule(floor: Floor, clock: Clock) -> None:
    page = Browser(floor, "Vera").get("/designs/CAN/")
    assert page.status == 200 and page.headings == 1
    assert "[(±45)f_2:GB-600/core:CORE-80/(±45)f:GB-600]" in page.text
    assert "Not symmetric: the upper half does not mirror the lower" in page.text
    assert page.source.count('<g class="fabric"') == 3 and page.source.count('<g class="core"') == 1
    assert "Change it" not in page.text, "an auditor changes nothing"
    assert "/designs/RUD/" in Browser(floor, "Vera").get("/parts/RUD-073/").links()


def test_no_such_design(floor: Floor, clock: Clock) -> None:
    assert Browser(floor, "Bram").get("/designs/NOPE/").status == 404
