"""A material's certificate values lot by lot, as quality reads them."""

from __future__ import annotations

import pytest

from tests.ledger.bench import Bench
from tests.ledger.test_lot_histories import VALUES, lot

from .browsing import Browser
from .store import Store

pytestmark = pytest.mark.django_db


@pytest.fixture
def filled(yard: Store) -> Bench:
    """Ten good lots of glass, and one that is far too heavy."""
    bench = Bench(yard.yard, yard.at(0, "06:00"))
    for n, value in enumerate((*VALUES, "640")):
        lot(bench, f"L{n}", value, day=n)
    lot(bench, "L11", "clear", day=12, name="colour")
    return bench


def test_the_newest_lot_out_of_control_stands_above_its_chart(filled: Bench, odile: Browser) -> None:
    page = odile.get("/materials/GB-600/values/")
    assert page.status == 200 and page.headings == 1
    assert "Newest lot L10: beyond three sigmas" in page.text and 'class="chart"' in page.source
    assert "Too little data: 11 of 18 lots." in page.text, "of the basis value"
    assert "outside" in page.text and "where 95 % of lots like those before would lie" in page.text
    links = page.links()
    assert all(any(link.startswith("/i/") for link in links) for _ in range(1)) and "/stock/GB-600/" in links
    assert "clear" in page.text and "not a number" in page.text, "what is no number is shown"
    assert "nan" not in page.text.lower().split()


def test_a_material_without_papers_says_so(yard: Store, odile: Browser) -> None:
    page = odile.get("/materials/cu-300/values/")
    assert page.status == 200 and "No lot’s papers state it yet." in page.text.replace("'", "’")
    assert odile.get("/materials/NOTHING/values/").status == 404


def test_the_material_leads_there(yard: Store, odile: Browser) -> None:
    assert "/materials/GB-600/values/" in odile.get("/stock/GB-600/").links()
    assert "3000 filaments, 6.9 µm, fibre 1.79 g/cm³, 5.1 × 5.1 /cm" in odile.get("/stock/CT-204/").text


def test_the_page_asks_as_many_queries_for_eleven_lots_as_for_one(filled: Bench, odile: Browser) -> None:
    many = odile.queries("/materials/GB-600/values/")
    lot(filled, "C1", "204", day=20, material="CT-204")
    assert odile.queries("/materials/CT-204/values/") == many
