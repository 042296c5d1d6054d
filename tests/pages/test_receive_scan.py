"""Receiving by scan: a supplier's label fills the form, says what differs, is told once, and never overwrites what was typed."""

from __future__ import annotations

import html
import json
import re
from typing import Any
from urllib.parse import quote

import pytest

from inventory.models import Act, Item, Leg, SupplierLabel
from tests.core.hostile import labels
from tests.core.labels import EOT, GS, GTIN, RS

from .browsing import Browser, Page
from .store import Store

DELIVERY = "/receive/delivery/?number=D-118"
ROLL = f"]d201{GTIN}1126030210G7{GS}21R0007{GS}3112010000"
MILL = f"[)>{RS}06{GS}1PPW-200{GS}1TG7{GS}SR0001{GS}7Q50MR{GS}16D20260302{GS}13Q2/5{GS}2E30{RS}{EOT}"


def values(page: Page) -> dict[str, str]:
    """What stands in the form."""
    out = {}
    for tag in re.findall(r"<input[^>]+>", page.source):
        name, value = re.search(r' name="([^"]+)"', tag), re.search(r' value="([^"]*)"', tag)
        if name:
            out[name[1]] = html.unescape(value[1]) if value else ""
    return out


def scan(browser: Browser, page: Page, raw: str, **typed: str) -> Page:
    sent = {k: v for k, v in values(page).items() if k not in ("q", "csrfmiddlewaretoken", "key", "already", "remember_raw", "next")}
    return browser.post("/receive/delivery/", {**sent, **typed, "scan": raw})


def test_a_suppliers_label_fills_the_form_and_nothing_is_recorded(yard: Store, ines: Browser) -> None:
    before = Act.objects.count()
    page = scan(ines, ines.get(DELIVERY), ROLL)
    got = values(page)
    assert page.status == 200 and Act.objects.count() == before
    assert (got["lot"], got["serial"], got["made"], got["quantity"]) == ("G7", "R0007", "2026-03-02", "100 m")
    assert got["scan"] == "" and json.loads(got["labels"]) == [ROLL]
    assert "label.unmapped" in page.source and "Remember: such labels of Aldervane Weavers are GB-600" in page.text


def test_a_label_is_told_once_with_one_press_and_is_known_from_then_on(yard: Store, ines: Browser) -> None:
    page = scan(ines, ines.get(DELIVERY), ROLL, core="1.60 kg")
    sent = {k: v for k, v in values(page).items() if k not in ("q", "csrfmiddlewaretoken", "key", "already", "next")}
    page = ines.post("/receive/delivery/", {**sent, "remember": "yes"})
    assert "Remembered" in page.text and values(page)["lot"] == "G7" and values(page)["core"] == "1.60 kg"
    assert SupplierLabel.objects.get().material.code == "GB-600"
    page = scan(ines, ines.get(DELIVERY), ROLL)
    assert "label.unmapped" not in page.source and "Label read" in page.text
    assert "Aldervane Weavers" in ines.get("/receive/labels/").text


def test_the_piece_keeps_its_label_as_it_was_scanned_and_the_next_scan_of_it_says_already_here(yard: Store, ines: Browser) -> None:
    page = scan(ines, ines.get(DELIVERY), ROLL)
    taken = scan(ines, page, "", mark="G7-1")
    assert "1 of 3 rolls" in taken.text
    assert json.loads(Leg.objects.get(item__mark="G7-1", act__kind="receive").body)["labels"] == [ROLL]
    again = scan(ines, taken, ROLL)
    assert "Already here" in again.text and values(again)["serial"] == "" and Item.objects.filter(supplier_serial="R0007").count() == 1
    assert ines.scan(ROLL).path == f"/i/{yard.code('G7-1')}/"


def test_what_was_typed_stays_and_the_next_label_replaces_what_the_page_had_filled(yard: Store, ines: Browser) -> None:
    page = scan(ines, ines.get(DELIVERY), ROLL, lot="G8", quantity="99 m")
    got = values(page)
    assert (got["lot"], got["quantity"], got["serial"]) == ("G8", "99 m", "R0007")
    assert page.source.count("label.typed_stays") == 2
    page = scan(ines, scan(ines, ines.get(DELIVERY), ROLL), ROLL.replace("10G7", "10G9").replace("R0007", "R0008"))
    assert (values(page)["lot"], values(page)["serial"]) == ("G9", "R0008") and "label.typed_stays" not in page.source


def test_a_label_of_another_material_is_refused_and_fills_nothing(yard: Store, ines: Browser) -> None:
    supplier = yard.yard.material["CT-204"].supplier
    SupplierLabel.objects.create(
        supplier=supplier, material=yard.yard.material["CT-204"], known_by="gtin", value=GTIN, told_by=yard.yard.person["Ines"], told_us=1
    )
    page = scan(ines, ines.get(DELIVERY), ROLL)
    assert "This label is CT-204, the delivery is GB-600" in page.text and values(page)["serial"] == ""


def known(yard: Store) -> None:
    SupplierLabel.objects.create(
        supplier=yard.yard.supplier["Aldervane Weavers"], material=yard.yard.material["GB-600"], known_by="gtin", value=GTIN,
        told_by=yard.yard.person["Ines"], told_us=1,
    )  # fmt: skip


def test_a_label_that_says_everything_takes_its_piece_in_at_once_where_that_is_asked_for(yard: Store, ines: Browser) -> None:
    known(yard)
    page = ines.get(DELIVERY)
    assert Item.objects.filter(delivery__number="D-118").count() == 0
    for n in (1, 2):
        page = scan(ines, page, ROLL.replace("R0007", f"R000{n}"), at_once="on")
        assert f"{n} of 3 rolls" in page.text and values(page)["serial"] == "", "the next scan goes on"
    assert json.loads(Leg.objects.get(item__supplier_serial="R0002", act__kind="receive").body)["labels"] == [
        ROLL.replace("R0007", "R0002")
    ]
    assert "checked" in re.search(r"<input[^>]+id_at_once[^>]*>", page.source)[0]  # type: ignore[index]
    again = scan(ines, page, ROLL.replace("R0007", "R0002"), at_once="on")
    assert "Already here" in again.text and Item.objects.filter(delivery__number="D-118").count() == 2
    for odd in (ROLL.replace("1126", "1177").replace("R0007", "R0008"), ROLL.replace(f"{GS}21R0007", ""), ROLL.replace("3112", "3100")):
        look = scan(ines, page, odd, at_once="on")
        assert "2 of 3 rolls" in look.text, "what has to be looked at waits, and what is not known by a number of its own"
    assert "1 of 3" not in scan(ines, ines.get(DELIVERY), ROLL).text, "without the tick nothing is taken in by itself"


def test_a_short_name_in_the_box_is_the_name_on_the_piece(yard: Store, ines: Browser) -> None:
    page = scan(ines, ines.get(DELIVERY), "G7-1")
    assert values(page)["mark"] == "G7-1" and "It is taken in as G7-1" in page.text
    assert values(scan(ines, page, "G7-2"))["mark"] == "G7-1", "what stands there stays"


def test_packages_add_up_and_missing_ones_are_named(yard: Store, ines: Browser) -> None:
    page = scan(ines, ines.get(DELIVERY), MILL)
    assert values(page)["package"] == "2 of 5" and "label.warmest_differs" in page.source
    page = scan(ines, page, "")
    assert "Package 2 of 5 is here; 1, 3, 4 and 5 are missing." in page.text
    page = scan(ines, scan(ines, page, MILL.replace("SR0001", "SR0002").replace("2/5", "4/5")), "")
    assert "Packages 2 and 4 of 5 are here; 1, 3 and 5 are missing." in page.text


def test_an_odd_year_and_a_swallowed_separator_are_shown(yard: Store, ines: Browser) -> None:
    page = scan(ines, ines.get(DELIVERY), f"01{GTIN}1777030110AB21X77")
    assert "label.odd_date" in page.source and "label.swallowed" in page.source and "1977-03-01" in page.text


def test_a_label_scanned_into_the_field_for_the_name_is_read_as_a_label(yard: Store, ines: Browser) -> None:
    page = scan(ines, ines.get(DELIVERY), "", mark=ROLL)
    assert values(page)["mark"] == "" and values(page)["serial"] == "R0007"


def test_a_place_in_the_box_fills_the_place(yard: Store, ines: Browser) -> None:
    assert values(scan(ines, ines.get(DELIVERY), "RACK"))["place"] == "RACK"


def test_a_pattern_is_told_with_the_scan_at_hand_and_goes_back_to_the_delivery(yard: Store, ines: Browser) -> None:
    raw = "GW-G7/R0042*020327"
    page = scan(ines, ines.get(DELIVERY), raw)
    assert "Not understood" in page.text
    link = next(url for url in page.links() if url.startswith("/receive/labels/new/"))
    form = ines.get(link)
    assert raw in form.text and values(form)["value"] == raw
    wrong = ines.post(link, {"raw": raw, "supplier": "Aldervane Weavers", "material": "GB-600", "known_by": "pattern", "value": "XX{lot}"})
    assert wrong.status == 422 and "does not fit what was scanned" in wrong.text
    said: dict[str, Any] = {"raw": raw, "number": "D-118", "supplier": "Aldervane Weavers", "material": "GB-600", "known_by": "pattern"}
    page = ines.post("/receive/labels/new/", {**said, "value": "GW-{lot}/{serial}*{expires:DDMMYY}"})
    assert page.path.startswith("/receive/delivery/") and values(page)["serial"] == "R0042"
    label = SupplierLabel.objects.get()
    page = ines.post("/receive/labels/", {"label": str(label.pk)})
    label.refresh_from_db()
    assert label.ended_us is not None and "no longer known" in page.text


def test_a_label_leads_from_the_page_of_receiving_to_the_one_delivery_that_expects_it(yard: Store, ines: Browser) -> None:
    known(yard)
    page = ines.get(f"/receive/?scan={quote(ROLL)}")
    assert page.path.startswith("/receive/delivery/?number=D-118") and values(page)["serial"] == "R0007"
    assert ines.get(f"/find/?q={quote(ROLL)}").path.startswith("/receive/delivery/?number=D-118")


@pytest.mark.parametrize("path", ["/receive/labels/", "/receive/labels/new/", "/receive/labels/new/?raw=%3Cb%3E%1D%00"])
@pytest.mark.parametrize("who", ["Ines", "Odile", "Bram", "Vera"])
def test_every_page_of_labels_is_there_for_everybody_with_one_heading(yard: Store, clock: Any, path: str, who: str) -> None:
    page = Browser(yard, who).get(path)
    assert page.status == 200 and page.headings == 1 and "<b>\x1d" not in page.source


def test_hostile_labels_are_each_answered_and_never_run_and_never_stored(yard: Store, ines: Browser) -> None:
    before = (Act.objects.count(), Item.objects.count(), SupplierLabel.objects.count())
    form = ines.get(DELIVERY)
    for n, raw in enumerate(labels(160, seed=77)):
        text = raw.encode("utf-8", "replace").decode()
        page = scan(ines, form, text) if n % 2 else ines.get(f"/find/?q={quote(text)}")
        assert page.status in (200, 404, 422), (page.status, raw)
        for bad in ("<script>alert", "<img src=x", "onerror=alert(1)>", "<svg/onload"):
            assert bad not in page.source, raw
    assert (Act.objects.count(), Item.objects.count(), SupplierLabel.objects.count()) == before


def test_the_field_for_a_name_takes_a_place_another_delivery_and_a_badge(yard: Store, ines: Browser) -> None:
    """Whatever the scanner reads while the focus stands there: nothing of it becomes the name of a roll."""
    before = Act.objects.count()
    sent = {"number": "D-118", "quantity": "100.00 m", "lot": "G7"}
    page = ines.post("/receive/delivery/", {**sent, "mark": "RACK"})
    assert page.status == 200 and "It is put away in" in page.text and (values(page)["place"], values(page)["mark"]) == ("RACK", "")
    assert "Delivery D-119" in ines.post("/receive/delivery/", {**sent, "mark": "d-119"}).text
    assert "Bram: the next records carry this name" in ines.post("/receive/delivery/", {**sent, "mark": yard.yard.badge["Bram"]}).text
    assert Act.objects.count() == before


def test_receiving_begins_in_the_box_and_what_was_read_is_looked_at_first(ines: Browser) -> None:
    box = r'<input[^>]+name="scan"[^>]+autofocus'
    assert re.search(box, ines.get("/receive/").source)
    read = ines.get(f"/receive/?scan={quote(MILL)}")
    assert "label.unmapped" in read.source or "tone-" in read.source
    assert not re.search(box, read.source)
