"""What parts take, as a page: the list, what is passed over and why, what is typed wrongly, and a number of queries that stands still."""

from __future__ import annotations

from urllib.parse import quote

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from layups.models import Design, Ply

from .browsing import Browser, Clock
from .floor import Floor, clock, floor, made_floor

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]


def test_a_list_for_three_parts_says_what_to_fetch_and_what_to_buy(floor: Floor, clock: Clock) -> None:
    page = Browser(floor, "Bram").get("/designs/DAG/demand/?parts=3&cure=2026-04-01T17:00")
    assert page.status == 200 and page.headings == 1
    assert "For 3 parts, cured Wed 1 Apr 17:00" in page.text and "3 × 6.20 m" in page.text
    assert "C-12: 12.40 m (2 pieces), Dry goods rack" in page.text
    assert "Missing: INF-A, INF-B" in page.text and "18 pots of that size" in page.text
    assert "By areas and data one part has 1.35 kg fibre" in page.text
    assert "/designs/DAG/demand/" in Browser(floor, "Bram").get("/designs/DAG/").links()
    assert sum("file=xlsx" in link for link in page.links()) == page.source.count('<table class="cloth"') == 3


def test_the_list_is_had_as_a_file(floor: Floor, clock: Clock) -> None:
    rows = Browser(floor, "Vera").get("/designs/DAG/demand/?parts=3&file=csv&table=1").source.splitlines()
    assert rows[0].endswith('Material,Needed,In pieces,"Fetch, in this order",Missing,On order,To buy')
    assert any(row.startswith("CT-204 Carbon 3K twill 2×2,18.60 m,3 × 6.20 m,") for row in rows)


def test_what_is_passed_over_stands_with_every_reason(floor: Floor, clock: Clock) -> None:
    page = Browser(floor, "Bram").get("/designs/RUD/demand/?parts=40")
    assert page.status == 200 and "Passed over, and why" in page.text and "U-3" in page.text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("parts=0", "greater than or equal to 1"),
        ("parts=1001", "less than or equal to 1000"),
        ("parts=x", "whole number"),
        ("parts=" + "9" * 400, ""),
        ("parts=", "required"),
        ("parts=1&cure=2026-03-29T02:30", "does not exist that night"),
        ("parts=1&cure=2020-01-01T00:00", "lies in the past"),
        ("parts=1&cure=soon", "valid date"),
        ("parts=1&cure=0001-01-01T00:00", ""),
        ("parts=1&cure=9999-12-31T23:59", None),
        ("parts=%00&cure=%F0%9F%92%A9", ""),
    ],
)
def test_what_is_typed_wrongly_is_told_beside_its_field(floor: Floor, clock: Clock, query: str, said: str | None) -> None:
    page = Browser(floor, "Bram").get(f"/designs/DAG/demand/?{query}")
    assert page.headings == 1
    if said is None:
        assert page.status == 200
        return
    assert page.status == 422 and 'class="field-error"' in page.source.replace("errorlist", "field-error") and said in page.text


def test_a_design_that_is_not_there_and_one_without_anything(floor: Floor, clock: Clock) -> None:
    bram = Browser(floor, "Bram")
    for code in ("NOPE", "%00", "x" * 500, quote("ÄÖ/..")):
        assert bram.get(f"/designs/{code}/demand/").status == 404
    page = bram.get("/designs/BOAT/demand/")
    assert page.status == 200 and "Nothing that it takes is known." in page.text


def test_a_page_asks_as_often_for_many_lines_as_for_few(floor: Floor, clock: Clock) -> None:
    bram = Browser(floor, "Bram")

    def asked(path: str) -> int:
        bram.get(path)
        with CaptureQueriesContext(connection) as seen:
            bram.get(path)
        return len(seen)

    few = asked("/designs/RUD/demand/")
    rud = Design.objects.get(code="RUD")
    first = Ply.objects.filter(design=rud)[0]
    Ply.objects.bulk_create(
        Ply(design=rud, seq=100 + n, step="ply", material=first.material, qty=1_000_000 + n, angle=n, net_cmm2=20_000_000)
        for n in range(40)
    )
    assert asked("/designs/RUD/demand/?parts=900") == few
