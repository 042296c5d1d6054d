"""Worksheets as pages: what people type in, what they read, and what is refused beside its field."""

from __future__ import annotations

from urllib.parse import quote

import pytest

from inventory.models import Act
from inventory.pages import charts
from inventory.worksheets.registry import MORE, SECTIONS, WORKSHEETS, Chart, Series

from .browsing import Browser
from .store import Store

pytestmark = pytest.mark.django_db


def test_the_list_names_every_worksheet(yard: Store, bram: Browser) -> None:
    page = bram.get("/numbers/")
    assert page.status == 200 and page.headings == 1
    assert {f"/numbers/{name}/" for name in WORKSHEETS} <= set(page.links())
    for section in SECTIONS[:-1]:
        assert f"<h2>{section}</h2>" in page.source
    assert not [sheet.name for sheet in WORKSHEETS.values() if sheet.section == MORE], "each has its place"


def test_what_may_be_left_out_is_left_out(yard: Store, bram: Browser) -> None:
    page = bram.get("/numbers/tow/?filaments=&diameter=&density=&linear_density=7516+ft%2Flb")
    assert page.status == 200 and "7 516 ft/lb" in page.text and "198 tex" in page.text
    assert bram.get("/numbers/dose/?resin=1000&peroxide_low=&peroxide=1.5&peroxide_high=2").status == 422


@pytest.mark.parametrize("name", sorted(WORKSHEETS))
def test_each_opens_with_an_example_that_it_can_compute(yard: Store, vera: Browser, name: str) -> None:
    before = Act.objects.count()
    page = vera.get(f"/numbers/{name}/")
    assert page.status == 200 and page.headings == 1 and "The figures are an example" in page.text
    assert "nan" not in page.text.lower().split() and "field-error" not in page.source
    assert Act.objects.count() == before


def test_a_designer_types_a_notation_and_sees_its_class_its_figures_and_its_plot(yard: Store, bram: Browser) -> None:
    page = bram.get("/numbers/laminate/?layup=" + quote("[0/45/90/-45]s") + "&thickness=0.125&e1=181&e2=10.3&g12=7.17&nu12=0.28")
    assert "[0/45/90/−45]s: quasi-isotropic in plane, symmetric, balanced." in page.text
    assert "69.68 GPa" in page.text and "26.88 GPa" in page.text
    assert "As stiff in each direction: 69.7 GPa." in page.text
    assert 'class="chart polar"' in page.source and "Stiffness A, B, D" in page.text


def test_a_mistake_stands_beside_its_field_and_the_rest_is_kept(yard: Store, bram: Browser) -> None:
    page = bram.get("/numbers/laminate/?layup=" + quote("[0//90]") + "&thickness=0.2&e1=50&e2=10&g12=4&nu12=0.3")
    assert page.status == 422 and "at character 4" in page.text and 'value="50"' in page.source
    page = bram.get("/numbers/laminate/?layup=" + quote("[(0/90)f]") + "&thickness=0.2&e1=50&e2=10&g12=4&nu12=0.3")
    assert page.status == 422 and "enter this figure for it" in page.text
    assert bram.get("/numbers/nothing/").status == 404


def test_a_chart_of_lines_stays_inside_its_frame() -> None:
    for points in (((0.0, 1.0), (10.0, 5.0)), ((0.0, 0.0), (0.0, 0.0)), ((5.0, -3.0), (5.5, 2e9))):
        drawn = str(charts.svg(Chart("t", "line", "x", "y", (Series("s", points),), "says")))
        path = drawn.split('class="line l0" d="M')[1].split('"')[0]
        for pair in path.split("L"):
            x, y = map(float, pair.split())
            assert 0 <= x <= charts.WIDE and 0 <= y <= charts.HIGH
