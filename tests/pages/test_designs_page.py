"""Designs to look at."""

from __future__ import annotations

import pytest

from layups.models import CuredPly, Infusion

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


def test_a_design_has_its_numbers_and_its_plot_where_the_data_are_there(floor: Floor, clock: Clock) -> None:
    page = Browser(floor, "Bram").get("/designs/RUD/")
    assert page.status == 200 and page.headings == 1
    assert "Stiffness and weight" in page.text and "Ex bending" in page.text and "along x to a radius of" in page.text
    assert page.source.count('class="chart polar"') == 1 and page.source.count('class="plies"') == 1
    CuredPly.objects.filter(material__code="PP-U").delete()
    page = Browser(floor, "Bram").get("/designs/RUD/")
    assert page.status == 200 and "Not known of PP-U: E1, ν12, E2, G12, cured thickness" in page.text
    assert 'class="chart polar"' not in page.source
    CuredPly.objects.filter(material__code="PP-T").update(nu12_ppm=40_000_000)
    page = Browser(floor, "Bram").get("/designs/RUD/")
    assert page.status == 200 and "PP-T: ν12 lies between" in page.text


def test_a_design_says_whether_its_panel_fills_by_each_way(floor: Floor, clock: Clock) -> None:
    page = Browser(floor, "Bram").get("/designs/CAN/")
    assert page.status == 200 and page.headings == 1
    assert "Fills in" in page.text and "of the 18 min you have" in page.text and "at 21 °C." in page.text
    assert "inlet at the middle point not in time" in page.text and "Permeability ± 32 %" in page.text
    link = next(link for link in page.links() if link.startswith("/numbers/infusion/?"))
    sheet = Browser(floor, "Bram").get(link)
    assert sheet.status == 200 and "field-error" not in sheet.source
    Infusion.objects.update(permeability_e18=None, doubles_us=None)
    page = Browser(floor, "Bram").get("/designs/CAN/")
    assert page.status == 200 and "It cannot be said. Not known: permeability." in page.text
    assert "Does it fill in time?" not in Browser(floor, "Bram").get("/designs/RUD/").text


def test_no_such_design(floor: Floor, clock: Clock) -> None:
    for code in ("NOPE", "%00", "x" * 500):
        assert Browser(floor, "Bram").get(f"/designs/{code}/").status == 404
