"""What a bare number counts in is the unit beside its field, and that is the reader's own; a number with a unit stands as typed.

Sources: °F = °C × 9/5 + 32, inch 25.4 mm, pound 0.45359237 kg, conventional inch of mercury 3386.389 Pa (NIST SP 811, app. B).
"""

from __future__ import annotations

import re
from dataclasses import fields
from fractions import Fraction
from pathlib import Path

import pytest
from django import forms
from django.template import Context, Template

from inventory import readers
from inventory.core.label_formats import FORMATS
from inventory.core.ownunits import INSTEAD
from inventory.core.reasons import BadInput
from inventory.core.said import read_out
from inventory.core.temperature import parse_celsius
from inventory.core.units import parse
from inventory.core.vessel_text import stand_of
from inventory.models import Act, Item, Person
from inventory.pages import numbers, ownsheets
from inventory.pages.looking import SIZES, VesselForm
from inventory.pages.measures import Measure
from inventory.pages.verbforms import form_class
from inventory.verbs.registry import VERBS
from inventory.worksheets.registry import WORKSHEETS, Chart, Series
from layups.core.verdicts import DROP, judge, pressure_pa
from layups.pages.deedforms import AbortForm, DropForm

from .browsing import Browser
from .store import Store

pytestmark = [pytest.mark.django_db, pytest.mark.once]
APPS = Path(__file__).parents[2]


def typed(text: str, unit: str, system: str) -> str:
    with readers.reading("en", system):
        found: str = Measure(unit=unit).clean(text)
        return found


def test_a_bare_number_counts_in_the_readers_unit_and_one_with_a_unit_as_typed() -> None:
    assert parse_celsius(typed("70.5", "°C", "us"), "°C") == 21_389, "70.5 °F"
    assert parse_celsius(typed("70.5", "°C", "metric"), "°C") == 70_500
    assert parse_celsius(typed("−0.4", "°C", "us"), "°C") == -18_000
    for system in ("metric", "us"):
        assert parse_celsius(typed("21 °C", "°C", system), "°C") == 21_000
        assert parse_celsius(typed("70.5 F", "°C", system), "°C") == 21_389
        assert pressure_pa(typed("4 mbar", "mbar", system)) == 400
        assert parse(typed("600 mm", "m", system), None, "um") == 600_000
    assert parse(typed("10", "kg", "us"), "kg", "ug") == 4_535_923_700
    assert parse(typed("10", "mm", "us"), "mm", "um") == 254_000
    assert parse(typed("10", "m", "us"), "m", "um") == 9_144_000
    assert Measure(unit="°C", required=False).clean("") == "", "nothing stays nothing"


@pytest.mark.parametrize("text", ["5.", "5²", "five", "1,234", "1e3"])
def test_what_is_no_number_is_never_read_in_the_other_system(text: str) -> None:
    with pytest.raises(BadInput):
        parse_celsius(typed(text, "°C", "us"), "°C")
    with pytest.raises(BadInput):
        pressure_pa(typed(text, "mbar", "us"))


def test_pressure_is_read_in_every_unit_that_is_shown() -> None:
    assert pressure_pa("1 inHg") == Fraction("3386.389") and round(float(pressure_pa("1 psi")), 3) == 6894.757
    assert not judge(DROP, typed("0.15", "mbar", "us"), None, 500, "").passed, "0.15 inHg are 5.08 mbar"
    assert judge(DROP, typed("0.14", "mbar", "us"), None, 500, "").passed, "4.74 mbar"
    assert judge(DROP, typed("0.15", "mbar", "metric"), None, 500, "").passed


def test_the_unit_stands_beside_the_field_and_the_limit_is_in_it() -> None:
    for form, name in ((DropForm, "readings"), (AbortForm, "reached")):
        found = form.base_fields[name]
        assert isinstance(found, Measure)
        bare = type("F", (forms.Form,), {name: found})
        page = Template("{% load selvedge %}{% field form." + name + " %}")
        for system, unit in (("metric", found.unit), ("us", INSTEAD[found.unit])):
            with readers.reading("en", system):
                assert f'_unit">{unit}</span>' in page.render(Context({"form": bare()}))


def test_no_template_names_a_metric_unit_beside_a_field() -> None:
    """The unit is the field's own, so that no page shows one and reads another. The gallery shows parts, and reads nothing."""
    for path in [*APPS.glob("inventory/templates/**/*.html"), *APPS.glob("layups/templates/**/*.html")]:
        if path.name != "parts_gallery.html":
            units = re.findall(r'{% field [^%]*unit="([^"]*)"', path.read_text())
            assert not set(units) & set(INSTEAD), path.name


def test_a_vessel_is_sized_in_the_readers_units() -> None:
    def size(vessel: str, text: str, system: str) -> int:
        with readers.reading("en", system):
            form = VesselForm({"vessel": vessel, "size": text})
            assert form.is_valid()
            found = stand_of(vessel, form.cleaned_data["size"])
            assert found is not None
            return found.size

    assert size("cup", "4", "us") == 101_600 and size("cup", "90", "metric") == 90_000 == size("cup", "90 mm", "us")
    assert size("tray", "8 × 12", "us") == 96 * 64_516 == size("tray", "96", "us")
    assert size("tray", "20 × 30", "metric") == 600 * 10_000 == size("tray", "600", "metric")
    assert size("own", "0.25", "us") == 250
    with readers.reading("en", "us"):
        assert VesselForm()["size"].help_text == SIZES["us"]
    assert VesselForm()["size"].help_text == SIZES["metric"]


def test_the_page_that_every_verb_has_knows_its_measures_too() -> None:
    found = form_class(VERBS["count"]).base_fields
    units = {name: field.unit for name, field in found.items() if isinstance(field, Measure)}
    assert units == {"gross": "kg", "core": "kg", "diameter": "mm", "core_diameter": "mm"}, "never a gross in lb beside a core in kg"


def test_label_stock_is_named_in_mm_for_everybody() -> None:
    words = [str.__str__(f.words) for f in FORMATS.values()]
    with readers.reading("en", "us"):
        assert [read_out(f.words) for f in FORMATS.values()] == words
        assert [readers.shown(text) for text in words] == words
    assert "Roll, 70 × 35 mm" in words


# --- at the doors ---------------------------------------------------------------------------------------------


def test_a_count_by_weight_in_pounds_is_kept_as_it_was_typed(yard: Store, bram: Browser) -> None:
    Person.objects.filter(name="Bram").update(units="us")
    item = next(i for i in Item.objects.filter(site__isnull=False, unit="ug") if i.state.qty > 0)
    path = f"/i/{item.code}/count/"
    page = bram.client.get(path)
    if page.status_code == 404:
        path = next(p for p in (f"/items/{item.code}/count/", f"/item/{item.code}/count/") if bram.client.get(p).status_code == 200)
        page = bram.client.get(path)
    source = page.content.decode()
    assert '_unit">lb</span>' in source and '_unit">kg</span>' not in source
    before = Act.objects.count()
    key = "0b9a3b6e-7f0c-4f5e-9a53-6c6e2f3f1d11"
    answer = bram.client.post(path, {"gross": "11", "core": "1", "key": key})
    assert answer.status_code == 302, answer.content.decode()[:2000]
    assert Act.objects.count() == before + 1
    item.state.refresh_from_db()
    assert item.state.qty == 4_535_923_700, "10 lb"


# --- worksheets -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(WORKSHEETS))
def test_a_worksheet_reads_the_same_in_either_system(name: str) -> None:
    """The example, typed bare in each system: the same quantities to four figures, so the same kind of answer."""
    found = WORKSHEETS[name]
    for f in fields(found.params):
        if not numbers._measured(f) or not f.default:
            continue
        with readers.reading("en", "us"):
            shown = numbers._own_example(f)
            bare = shown.removesuffix(INSTEAD[f.metadata["usual"]]).strip()
            assert numbers.form_class(found)().fields[f.name].label.endswith(INSTEAD[f.metadata["usual"]])
            again = numbers.form_class(found)().fields[f.name].clean(bare)
        assert again == shown != f.default, f.name


def test_an_address_says_whose_units_its_bare_numbers_are_in() -> None:
    found = WORKSHEETS["pot"]
    with readers.reading("en", "us"):
        assert numbers._whose(found, {"resin": "70"})["resin"] == "70 °C", "a metric address"
        assert numbers._whose(found, {"resin": "70", "in_units": "us"})["resin"] == "70"
    assert numbers._whose(found, {"resin": "70", "in_units": "us"})["resin"] == "70 °F"
    assert numbers._whose(found, {"resin": "70 °C", "in_units": "us", "mass": "5"})["mass"] == "5 oz"
    assert numbers._whose(found, {"resin": "70"})["resin"] == "70"


def test_every_worksheet_opens_in_us_units(yard: Store, bram: Browser) -> None:
    Person.objects.filter(name="Bram").update(units="us")
    for name in WORKSHEETS:
        answer = bram.client.get(f"/numbers/{name}/")
        assert answer.status_code == 200, name
        assert 'name="in_units" value="us"' in answer.content.decode(), name


def test_a_table_and_a_chart_are_turned_with_their_names_or_not_at_all() -> None:
    columns = ["Minutes", "Temperature, °C"]
    chart = Chart("", "line", "minutes", "°C", (Series("a", ((0.0, 100.0),)),), "")
    assert ownsheets.table(columns, [[1, "21"]]) == (columns, [[1, "21"]]) and ownsheets.chart(chart) is chart
    with readers.reading("en", "us"):
        assert ownsheets.table(columns, [[1, "21"], [2, 100.0], [3, ""]]) == (
            ["Minutes", "Temperature, °F"],
            [[1, "69.8"], [2, 212.0], [3, ""]],
        )
        assert ownsheets.table(columns, [[1, "21"], [2, "never"]]) == (columns, [[1, "21"], [2, "never"]])
        turned = ownsheets.chart(chart)
        assert (turned.x, turned.y, turned.series[0].points) == ("minutes", "°F", ((0.0, 212.0),))
