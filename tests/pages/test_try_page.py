"""A designer types a notation and sees its class, its plot and its shopping list."""

from __future__ import annotations

from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Act
from layups.models import CuredPly, Design

from .browsing import Browser, Clock, Page
from .floor import Floor, clock, floor, made_floor

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]
SKINS = {"layup": "[(0/90)f/(±45)f]s", "material": "CT-204", "parts": "1"}
LIST = {"area": "1.25 m²", "loss": "10", "parts": "3", "recipe": "INF", "waste": "20 %", "cure": "2026-04-01T17:00"}


def tried(floor: Floor, **typed: str) -> Page:
    return Browser(floor, "Bram").get("/layup/?" + urlencode(typed))


def test_a_notation_shows_its_class_its_plot_and_its_shopping_list(floor: Floor, clock: Clock) -> None:
    before = Act.objects.count(), Design.objects.count()
    page = tried(floor, **SKINS | LIST)
    assert page.status == 200 and page.headings == 1
    assert "[(0/90)f:CT-204/(±45)f:CT-204]s: quasi-isotropic in plane, symmetric, balanced." in page.text
    assert page.source.count('class="chart polar"') == 1 and page.source.count('class="plies"') == 1
    assert "As stiff in each direction" in page.text and "Stiffness A, B, D" in page.text
    # 1.25 m² over 0.9 and a width of 1.25 m is 1.112 m (rounded up to a µm), 4 plies in each of 3 parts
    assert "CT-204 Carbon 3K twill 2×2 13.33 m 12 × 1.11 m C-12: 13.33 m (12 pieces)" in page.text
    assert "INF-A" in page.text and "INF-B" in page.text
    assert (Act.objects.count(), Design.objects.count()) == before
    assert "/layup/" in Browser(floor, "Bram").get("/designs/").links()


def test_the_empty_form_asks_and_a_layup_alone_has_no_list(floor: Floor, clock: Clock) -> None:
    page = Browser(floor, "Vera").get("/layup/")
    assert page.status == 200 and page.headings == 1 and "field-error" not in page.source
    page = tried(floor, **SKINS)
    assert page.status == 200 and "With an area there is a shopping list, too." in page.text and "Shopping list" not in page.text


def test_each_ply_may_name_its_material_by_code_or_by_a_name(floor: Floor, clock: Clock) -> None:
    page = tried(floor, layup="[0:A/(±45)f:b/core/0:pp-u]", names="A = PP-U, B = PP-T", core="CORE-80", parts="1")
    assert page.status == 200 and "[0:PP-U/(±45)f:PP-T/core:CORE-80/0:PP-U]" in page.text
    assert "warps as it cools" in page.text


def test_without_data_the_class_and_the_list_stay_and_the_rest_is_named(floor: Floor, clock: Clock) -> None:
    CuredPly.objects.filter(material__code="CT-204").delete()
    page = tried(floor, **SKINS | LIST)
    assert page.status == 200 and "quasi-isotropic" in page.text and "Not known of CT-204: E1" in page.text
    assert "12 × 1.11 m" in page.text and "what the plies drink is not computed, for want of ply 1: its resin by weight" in page.text


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"layup": ""}, "required"),
        ({"layup": "[0//90]"}, "at character 4"),
        ({"layup": "[0_2000]"}, "at most 200 plies"),
        ({"layup": "[0/90]"}, "CT-204, which is a fabric: write (0/90)f"),
        ({"layup": "[mat/(0/90)f]"}, "Say of which material the mat"),
        ({"material": ""}, "Say of which material the plies"),
        ({"material": "NOPE<script>"}, "is no material of the stock"),
        ({"material": "LAM-A"}, "no ply is made of it"),
        ({"material": "%00\x00"}, ""),
        ({"names": "A GB-600"}, "write each as A = GB-600"),
        ({"area": "1 kg"}, "measures mass"),
        ({"area": "1e99"}, ""),
        ({"area": "-1"}, "below zero"),
        ({"loss": ""}, "Say what is lost in cutting"),
        ({"loss": "100"}, "below 100"),
        ({"loss": "nan"}, "not a number"),
        ({"parts": "0"}, "from 1 to 1000"),
        ({"parts": "٣"}, "from 1 to 1000"),
        ({"recipe": "NOPE"}, "is no recipe here"),
        ({"waste": ""}, "left in cups and lines"),
        ({"cure": "2020-01-01T00:00"}, "lies in the past"),
        ({"cure": "2026-03-29T02:30"}, "does not exist that night"),
    ],
)
def test_what_is_typed_wrongly_is_told_beside_its_field(floor: Floor, clock: Clock, change: dict[str, str], said: str) -> None:
    page = tried(floor, **SKINS | LIST | change)
    assert page.status == 422 and page.headings == 1 and said in page.text
    assert "NOPE<script>" not in page.source


def test_many_plies_ask_as_often_as_few(floor: Floor, clock: Clock) -> None:
    def asked(layup: str, parts: str) -> int:
        tried(floor, **SKINS | LIST | {"layup": layup, "parts": parts})
        with CaptureQueriesContext(connection) as seen:
            assert tried(floor, **SKINS | LIST | {"layup": layup, "parts": parts}).status == 200
        return len(seen)

    assert asked("[(0/90)f:CT-204]", "1") == asked("[(0/90)f_60:CT-204/(±45)f_60:GB-600/0_60:PP-U]", "900")
