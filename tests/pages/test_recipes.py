"""Resin systems on their pages: ratio, plausibility, time, kinetics, what gels taught, and a look before mixing."""

from __future__ import annotations

from urllib.parse import urlencode

import pytest

from inventory.models import Act, Kinetics, Material, Recipe
from inventory.verbs import mixing

from .browsing import Browser, Clock
from .store import Store


@pytest.mark.parametrize("who", ["Bram", "Ines", "Odile", "Marek", "Vera"])
@pytest.mark.parametrize("path", ["/recipes/", "/recipes/LAM/", "/recipes/inf/", "/recipes/PE/", "/recipes/PU/"])
def test_everybody_reads_them_with_one_heading_and_the_caution(yard: Store, clock: Clock, who: str, path: str) -> None:
    page = Browser(yard, who).get(path)
    assert page.status == 200 and page.headings == 1
    assert "burn, sensitise and react violently" in page.text


def test_the_list_says_ratio_time_and_whether_kinetics_are_known(bram: Browser) -> None:
    page = bram.get("/recipes/")
    assert "25 (24 to 26) per 100" in page.text and "25 min for 500.0 g at 25.0 °C" in page.text
    assert "version 1" in page.text and "gel points" in page.text and 'href="/recipes/LAM/"' in page.source


def test_a_system_says_its_ratio_by_weight_and_by_volume_and_its_order(bram: Browser) -> None:
    """By volume: times the resin's density over the hardener's, 1 150 over 950."""
    page = bram.get("/recipes/LAM/")
    assert "24 – 25 – 26 per 100" in page.text and "29.05 – 30.26 – 31.47 per 100" in page.text
    assert "250 g (240 to 260)" in page.text, "into a kilogram"
    assert "LAM-A → SIL (at most 20 %) → MB (at most 60 %) → LAM-B" in page.text
    assert "25 phr by EEW 190.0 and AHEW 47.5 g/mol" in page.text and "1.00" in page.text
    assert "no peak temperature is told" in page.text and "No gel of its pots has been recorded" in page.text


def test_a_ratio_that_the_groups_do_not_bear_out_is_told(yard: Store, bram: Browser) -> None:
    Material.objects.filter(code="LAM-B").update(ahew_mg_mol=30_000)
    page = bram.get("/recipes/LAM/")
    assert "does not fit the equivalent weights" in page.text and "The supplier's ratio governs" in page.text
    Material.objects.filter(code="LAM-B").update(density_mg_cm3=None)
    assert "no density of LAM-B" in bram.get("/recipes/LAM/").text


def test_a_peroxide_system_shows_its_points_as_a_chart_and_a_table(bram: Browser) -> None:
    page = bram.get("/recipes/PE/")
    assert '<svg class="chart"' in page.source and "Gel points as a table" in page.text
    assert "Never over" in page.text and "15 g (10 to 20)" in page.text and "26 min" in page.text


def test_versions_of_kinetics_say_their_source_and_their_range(yard: Store, bram: Browser) -> None:
    Kinetics.objects.create(
        recipe=Recipe.objects.get(code="INF"), version=2, name="own <b>fit</b>", source="our calorimetry", form="nth order",
        constants='{"a": 200000, "e": 60000, "n": 1.5}', gel_ppm=600_000, low_mc=20_000, high_mc=60_000, strict=True,
    )  # fmt: skip
    page = bram.get("/recipes/INF/")
    assert "20 to 60 °C, refused outside" in page.text and "our calorimetry" in page.text and "<b>fit" not in page.source
    assert "Nobody said at which temperatures" in page.text and "450 kJ/kg" in page.text


def test_a_look_from_the_recipes_page_shows_the_three_clocks(bram: Browser) -> None:
    asked = {"resin": "1000", "hardener": "", "others": "", "temperature": "21", "vessel": "cup", "size": "12 cm"}
    before = Act.objects.count()
    page = bram.get("/recipes/INF/?" + urlencode(asked))
    assert page.status == 200 and Act.objects.count() == before
    assert "Before you mix" in page.text and page.source.count('<svg class="chart"') == 2 and 'value="1000"' in page.source
    wrong = bram.get("/recipes/INF/?" + urlencode(asked | {"size": "9 kg"}))
    assert wrong.status == 422 and "is no unit of length" in wrong.text
    missing = bram.get("/recipes/INF/?" + urlencode(asked | {"temperature": ""}))
    assert missing.status == 422


def test_gels_are_listed_with_what_each_taught_and_one_that_stands_apart_is_named(yard: Store, clock: Clock, bram: Browser) -> None:
    at = yard.at(-60, "10:00")
    for n, (mark, material) in enumerate((("IA-1", "INF-A"), ("IB-1", "INF-B"))):
        yard.stock(mark, material, 90 * 10**9, "RS", at + n, "can")
    for n, end in enumerate(("10:20", "10:22", "10:18", "10:21", "10:19", "23:30")):
        day, parts = n - 20, (mixing.Component("IA-1", "1000 g"), mixing.Component("IB-1", "300 g"))
        pot = mixing.Mix(parts, "BAY1", temperature="21", mark=f"Z-{n}")
        code = yard.do(yard.at(day, "08:00"), "Bram", "mix", pot).data["items"]["mix"]
        yard.do(yard.at(day, end), "Bram", "gel", mixing.GelSeen(code))
    page = bram.get("/recipes/INF/")
    assert "6 gels say:" in page.text and "Student's t" in page.text and "stands apart" in page.text
    assert ">Z-5</a>" in page.source and page.text.index("Z-5") < page.text.index("Z-4")
    bram.get("/recipes/INF/")
    assert bram.queries("/recipes/INF/") <= bram.queries("/recipes/LAM/") + 3


@pytest.mark.parametrize("path", ["/recipes/NOPE/", "/recipes/%00/", "/recipes/" + "x" * 300 + "/", "/recipes/<script>/"])
def test_no_such_recipe_is_a_page_that_says_so(bram: Browser, path: str) -> None:
    assert bram.get(path).status == 404


def test_mix_materials_and_designs_lead_to_it(bram: Browser) -> None:
    for path in ("/mix/?recipe=LAM", "/stock/LAM-A/", "/stock/SIL/", "/designs/CAN/"):
        code = "VE" if "CAN" in path else "LAM"
        assert f'href="/recipes/{code}/"' in bram.get(path).source, path
    assert 'href="/recipes/"' in bram.get("/mix/").source
