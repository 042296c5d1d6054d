"""Designs in the admin: their windows are typed as people write times, and what makes no sense is told."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from inventory.core.spans import HOUR_US
from inventory.models import Customer, Material
from layups.models import Design, RoomLimit, TighterLimit, Window

from .morning import morning

pytestmark = pytest.mark.django_db


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
