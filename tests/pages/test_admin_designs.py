"""Designs in the admin: their windows are typed as people write times, and what makes no sense is told."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from inventory.core.spans import HOUR_US
from inventory.models import Customer, Material
from layups.models import CuredPly, CureRecipe, Design, RoomLimit, TighterLimit, Window

from .morning import morning

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture
def marek() -> Client:
    return morning().browser("Marek")


def filled(page: str) -> dict[str, str]:
    """What the browser would send back: every field of the page as it stands."""
    out: dict[str, str] = {}
    for tag in re.findall(r"<input [^>]*>", page):
        parts = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        if parts.get("name") and (parts.get("type") != "checkbox" or " checked" in tag) and parts.get("type") != "submit":
            out[parts["name"]] = unescape(parts.get("value", ""))
    for name, more, body in re.findall(r'<select name="([^"]+)"([^>]*)>(.*?)</select>', page, re.DOTALL):
        chosen = re.findall(r'<option value="([^"]*)" selected', body)
        if chosen or "multiple" not in more:
            out[name] = chosen[0] if chosen else ""
    return out


def change(browser: Client, code: str, **typed: str) -> str:
    """Open a design, type something, save; the page that answers (empty when it was saved)."""
    address = reverse("admin:layups_design_change", args=[Design.objects.get(code=code).pk])
    data = filled(browser.get(address).content.decode()) | typed
    answer = browser.post(address, data)
    return (
        ""
        if answer.status_code == 302
        else "\n".join(re.findall(r'<ul class="errorlist.*?</ul>', unescape(answer.content.decode()), re.DOTALL))
    )


def row(number: int, **values: str) -> dict[str, str]:
    return {f"windows-{number}-{name}": value for name, value in values.items()}


def test_a_window_is_typed_in_hours_and_shown_so_again(marek: Client) -> None:
    til = Design.objects.get(code="TIL")
    first, then = til.plies.order_by("seq")
    values = {"name": "wrap to wrap", "first_line": str(first.pk), "then_line": str(then.pk), "least_us": "30 min", "most_us": "24 h"}
    assert change(marek, "TIL", **row(0, **values, remedy="abrade", again="abraded")) == ""
    window = Window.objects.get(design=til)
    assert (window.least_us, window.most_us, window.first_line, window.then_line) == (HOUR_US // 2, 24 * HOUR_US, first, then)
    page = marek.get(reverse("admin:layups_design_change", args=[til.pk])).content.decode()
    assert (filled(page)["windows-0-least_us"], filled(page)["windows-0-most_us"]) == ("30 min", "24 h")
    assert change(marek, "TIL", **row(0, most_us="1.5 min", least_us="")) == ""
    assert change(marek, "TIL") == ""
    assert Window.objects.get(design=til).most_us == 90_000_000


def test_what_makes_no_sense_is_told_and_nothing_is_kept(marek: Client) -> None:
    til, rud = Design.objects.get(code="TIL"), Design.objects.get(code="RUD")
    first, then = til.plies.order_by("seq")
    good = {"name": "w", "first_line": str(first.pk), "then_line": str(then.pk), "most_us": "4 h", "remedy": "abrade", "again": "abraded"}
    for wrong, told in (
        ({"most_us": "4"}, "hours or minutes"),
        ({"most_us": ""}, "states a time"),
        ({"least_us": "5 h"}, "shorter than the most"),
        ({"first_step": "prepared"}, "begins the window"),
        ({"then_line": ""}, "closes the window"),
        ({"again": ""}, "by which step"),
        ({"first_line": str(then.pk)}, "comes after"),
        ({"first_line": str(rud.plies.order_by("seq")[0].pk)}, "Select a valid choice"),
    ):
        assert told in change(marek, "TIL", **row(0, **(good | wrong))), wrong
    assert not Window.objects.filter(design=til).exists()


def test_a_room_is_typed_in_degrees_and_per_cent_and_shown_so_again(marek: Client) -> None:
    assert change(marek, "TIL", **{"rooms-0-low_mc": "15", "rooms-0-high_mc": "77 °F", "rooms-0-rh_high_ppm": "70 %"}) == ""
    til = Design.objects.get(code="TIL")
    room = RoomLimit.objects.get(design=til)
    assert (room.line, room.low_mc, room.high_mc, room.rh_low_ppm, room.rh_high_ppm) == (None, 15_000, 25_000, None, 700_000)
    page = filled(marek.get(reverse("admin:layups_design_change", args=[til.pk])).content.decode())
    assert [page[f"rooms-0-{name}"] for name in ("low_mc", "high_mc", "rh_high_ppm")] == ["15 °C", "25 °C", "70 % RH"]
    assert change(marek, "TIL") == ""
    room.refresh_from_db()
    assert (room.low_mc, room.high_mc, room.rh_high_ppm) == (15_000, 25_000, 700_000)
    for typed, told in (({"rooms-0-low_mc": "26"}, "lies below"), ({"rooms-0-rh_high_ppm": "170"}, "between 0 and 100")):
        assert told in change(marek, "TIL", **typed)
    assert "not a number" in change(marek, "TIL", **{"rooms-0-high_mc": "warm"})


def test_a_data_sheet_is_typed_with_its_units_and_shown_so_again(marek: Client) -> None:
    address = reverse("admin:layups_curedply_add")
    assert marek.get(address).status_code == 200
    typed = {"material": str(Material.objects.get(code="TPT").pk), "source": "Kestrow, TPT, issue 2"} | {
        "e1_pa": "38", "e2_pa": "9500 MPa", "g12_pa": "4.1 GPa", "nu12_ppm": "0.31", "alpha1_e12": "-0.5", "alpha2_e12": "28 µm/m/K",
        "cured_nm": "0.2325 mm", "fibre_mg_cm3": "2.6", "resin_mg_cm3": "1140 kg/m³", "fibre_volume_ppm": "47.5 %", "resin_weight_ppm": "",
    }  # fmt: skip
    for wrong, told in (
        ({"e1_pa": "38 kg"}, "no unit of pressure"),
        ({"e1_pa": "-38"}, "above zero"),
        ({"nu12_ppm": "9"}, "lies between"),
        ({"resin_weight_ppm": "30"}, "by volume or the resin by weight"),
        ({"fibre_volume_ppm": "130"}, "between 0 and 100"),
        ({"source": ""}, "required"),
        ({"cured_nm": "3 m"}, "at most 100 mm thick"),
        ({"e2_pa": "1e30 GPa"}, "check the unit"),
    ):
        assert told in unescape(marek.post(address, typed | wrong).content.decode()), wrong
    assert marek.post(address, typed).status_code == 302
    row = CuredPly.objects.get(material__code="TPT")
    assert (row.e1_pa, row.e2_pa, row.nu12_ppm, row.alpha1_e12, row.alpha2_e12) == (38 * 10**9, 95 * 10**8, 310_000, -500_000, 28_000_000)
    assert (row.cured_nm, row.fibre_mg_cm3, row.resin_mg_cm3, row.fibre_volume_ppm) == (232_500, 2_600, 1_140, 475_000)
    again = filled(marek.get(reverse("admin:layups_curedply_change", args=[row.pk])).content.decode())
    shown = [again[name] for name in ("e2_pa", "alpha1_e12", "cured_nm", "fibre_volume_ppm")]
    assert shown == [
        "9.5 GPa",
        "-0.5 ppm/K",
        "0.2325 mm",
        "47.5 %",
    ]
    kept = {name: again[name] for name in again if not name.startswith("_")} | {"material": typed["material"]}
    assert marek.post(reverse("admin:layups_curedply_change", args=[row.pk]), kept).status_code == 302
    assert CuredPly.objects.values().get(pk=row.pk) == {f.attname: getattr(row, f.attname) for f in CuredPly._meta.concrete_fields}


def test_areas_losses_and_an_infusion_are_typed_with_their_units(marek: Client) -> None:
    rows = {"plies-0-net_cmm2": "0.55 m²", "plies-0-loss_ppm": "12.5", "loss_ppm": "8 %", "resin_extra_ug": "250 g"}
    flow = {
        "infusion-0-length_um": "2.4",
        "infusion-0-permeability_e18": "1.5e-10",
        "infusion-0-pressure_pa": "0.9 bar",
        "infusion-0-starts_us": "8 min",
    }
    assert change(marek, "TIL", **rows, **flow) == ""
    til = Design.objects.get(code="TIL")
    first = til.plies.order_by("seq")[0]
    assert (first.net_cmm2, first.loss_ppm, til.loss_ppm, til.resin_extra_ug) == (55_000_000, 125_000, 80_000, 250_000_000)
    assert (til.infusion.length_um, til.infusion.permeability_e18, til.infusion.pressure_pa) == (2_400_000, 150_000_000, 90_000)
    assert change(marek, "TIL") == ""
    first.refresh_from_db()
    assert (first.net_cmm2, first.loss_ppm) == (55_000_000, 125_000)
    for typed, told in (
        ({"plies-0-net_cmm2": "0.55 kg"}, "measures mass"),
        ({"plies-0-net_cmm2": "0"}, "above zero"),
        ({"loss_ppm": "100"}, "below 100"),
        ({"plies-0-wets": "on"}, "with a recipe"),
        ({"infusion-0-porosity_ppm": "100"}, "between 0 and 100"),
        ({"infusion-0-permeability_e18": "-1e-10"}, "above zero"),
        ({"infusion-0-runners": "1"}, "2 to 50"),
    ):
        assert told in change(marek, "TIL", **typed), typed


def test_a_customer_tightens_a_limit_and_never_loosens_it(marek: Client) -> None:
    address = reverse("admin:layups_tighterlimit_add")
    assert marek.get(address).status_code == 200
    whose = {"customer": str(Customer.objects.get(name="Skerrow Sailing School").pk), "design": ""}
    typed = whose | {
        "material": str(Material.objects.get(code="PP-U").pk),
        "limit": "tack",
        "limit_us": "72 h",
        "months": "",
        "limit_n": "",
    }
    assert "never loosened" in unescape(marek.post(address, typed).content.decode())
    assert "no limit of that name" in unescape(marek.post(address, typed | {"limit": "gloss"}).content.decode())
    assert "for which customer" in unescape(marek.post(address, typed | {"customer": "", "limit_us": "48 h"}).content.decode())
    assert not TighterLimit.objects.exists()
    assert marek.post(address, typed | {"limit_us": "48 h"}).status_code == 302
    assert TighterLimit.objects.get().limit_us == 48 * HOUR_US
    assert "48 h" in marek.get(reverse("admin:layups_tighterlimit_change", args=[TighterLimit.objects.get().pk])).content.decode()


def test_a_cure_recipe_is_typed_a_stage_a_line_and_a_change_is_a_new_version(marek: Client) -> None:
    add = reverse("admin:layups_curerecipe_add")
    assert "180 −0/+5 °C" in marek.get(add).content.decode()
    typed = {"code": "OVEN-180", "name": "oven, 180 °C", "text": "dwell 180 −0/+5 °C for 2 h", "source": "data sheet"}
    refused = unescape(marek.post(add, typed).content.decode())
    assert "Line 1" in refused and "at least" in refused
    assert not CureRecipe.objects.filter(code="OVEN-180").exists()
    for text in ("dwell 180 −0/+5 °C for at least 2 h", "dwell 180 −0/+5 °C for 120 −0/+30 min"):
        assert marek.post(add, typed | {"text": text, "code": "oven-180" if "120" in text else "OVEN-180"}).status_code == 302
    first, second = CureRecipe.objects.filter(code="OVEN-180").order_by("version")
    assert (str(first), str(second)) == ("OVEN-180 v1", "OVEN-180 v2")
    page = marek.get(reverse("admin:layups_curerecipe_change", args=[second.pk])).content.decode()
    assert "dwell 180 to 185 °C for 120 to 150 min" in page and 'name="_save"' not in page
    assert change(marek, "TIL", cure_recipe=str(second.pk)) == ""
    assert Design.objects.get(code="TIL").cure_recipe == second
