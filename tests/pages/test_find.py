"""One box for any code: straight to what was scanned, a list for a part of a name, and a page of its own for the rest."""

from __future__ import annotations

import pytest

from inventory.core import codes
from inventory.verbs import counting
from layups.demo.yard import badge_code

from .browsing import Browser, Clock
from .store import Store


def test_a_label_a_mark_and_a_link_lead_to_the_thing(yard: Store, ines: Browser) -> None:
    code = yard.code("C-12")
    for scanned in (code, codes.grouped(code), code.lower(), f"https://anywhere.example/i/{code}", "C-12", "c-12", " C-12 "):
        page = ines.scan(scanned)
        assert page.path == f"/i/{code}/" and "Roll C-12" in page.text, scanned


def test_a_further_label_leads_to_the_same_thing_and_its_one_address(yard: Store, clock: Clock, ines: Browser) -> None:
    new = yard.do(clock.now, "Ines", "relabel", counting.Relabel("C-12")).data["code"]
    assert ines.scan(new).path == f"/i/{yard.code('C-12')}/"
    assert ines.get(f"/i/{new}/").path == f"/i/{yard.code('C-12')}/"


def test_a_place_a_lot_a_material_and_a_delivery_are_found(yard: Store, ines: Browser) -> None:
    assert ines.scan("F1").path == "/places/F1/" and ines.scan("f1").path == "/places/F1/"
    assert "Lot CT-88" in ines.scan("CT-88").text and "Lot CT-88" in ines.scan("ct–88").text
    assert ines.scan("PP-T").path == "/stock/PP-T/"
    assert ines.scan("D-118").path == "/receive/delivery/?number=D-118"


def test_where_something_is_is_answered_with_place_amount_and_state_in_a_sentence(yard: Store, clock: Clock, ines: Browser) -> None:
    page = ines.scan("where is C-12?")
    assert page.status == 200 and "C-12 (CT-204): 18.40 m in Dry goods rack (RACK). It may be used." in page.text
    roll = ines.scan("Where is u-3").text
    assert (
        "U-3 (PP-U): 41.50 m in Clean room (CLEAN), planned back Fri 27 Mar 17:30. It may not be used: " in roll
        and "Tack life is over" in roll
    )
    assert (
        "T-4 (PP-T): 50.00 m in Clean room (CLEAN), planned back Mon 30 Mar 17:00. It thaws, and may be opened from"
        in ines.scan("where is T-4").text
    )
    several = ines.scan("where are PP-T").text
    assert all(f"{mark} (PP-T):" in several for mark in ("T-2", "T-4", "T-6"))
    assert "C-12 (CT-204): 18.40 m" in ines.scan("where is ct-88").text, "a lot: each piece of it"
    yard.do(clock.now, "Ines", "scrap", counting.Scrap("X4", "expired"))
    assert "X4 (MEKP) is scrapped" in ines.scan("where is X4").text
    assert "18.40 m in Dry goods rack (RACK)" in ines.scan("C-1").text, "a list says it too"
    assert ines.scan("where is " + " " * 3000).status == 404 and ines.scan("where is zzz-9").status == 404


def test_a_badge_at_the_box_says_who_does_the_next_thing(yard: Store, ines: Browser) -> None:
    page = ines.scan(badge_code("Bram"))
    assert "Bram: the next records carry this name" in page.text
    assert "Bram" in page.source and "on Ines’s sign-in" in page.source


def test_part_of_a_name_lists_what_has_it(ines: Browser) -> None:
    page = ines.scan("prepreg")
    assert page.status == 200 and page.headings == 1
    assert "Material PP-T" in page.text and "Material PP-U" in page.text


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        ("zzz-9", "zzz-9"),
        ("\x1d0104150999999996\x1d", "␝0104150999999996␝"),
        ("<script>alert(1)</script>", "<script>alert(1)</script>"),
        ("日本語 اختبار", "日本語 اختبار"),
        ("' OR 1=1 --", "' OR 1=1 --"),
        ("%_", "%_"),
    ],
)
def test_what_nobody_knows_is_shown_as_it_was_read(ines: Browser, raw: str, shown: str) -> None:
    page = ines.scan(raw)
    assert page.status == 404 and page.headings == 1 and "Not understood" in page.text
    assert shown in page.text and "<script>alert(1)" not in page.source


def test_nothing_a_damaged_label_and_a_flood_of_text_each_say_what_to_do(yard: Store, ines: Browser) -> None:
    assert "Nothing was read" in ines.scan("").text
    damaged = yard.code("C-12")[:-1] + ("2" if yard.code("C-12")[-1] != "2" else "3")
    assert "a character is wrong or missing" in ines.scan(damaged).text
    long = ines.scan("A" * 5000)
    assert long.status == 404 and "5000 characters" in long.text and "A" * 200 not in long.text


def test_a_search_finds_nothing_of_another_shop(yard: Store, ines: Browser) -> None:
    from inventory.models import Item, Site

    other = Site.objects.create(code="ELSE", name="Another shop", zone="UTC")
    Item.objects.create(site=other, code="S222222223", mark="SECRET-1", kind="roll", unit="um")
    assert ines.scan("SECRET-1").status == 404 and ines.scan("SECRET").status == 404
    assert ines.get("/i/S222222223/").status == 404


def test_an_auditor_finds_too_and_somebody_signed_out_does_not(yard: Store, vera: Browser) -> None:
    assert "Roll C-12" in vera.scan("C-12").text
    vera.client.logout()
    assert "Sign in" in vera.scan("C-12").text


def test_a_search_asks_a_constant_number_of_questions(yard: Store, clock: Clock, ines: Browser) -> None:
    ines.get("/find/?q=C")  # the process has read the lots: it keeps them
    few = ines.queries("/find/?q=C")
    for n in range(30):
        yard.stock(f"C-9{n}", "CT-204", 30_000_000, "RACK", yard.at(-2, "10:00", n), lot=f"CT-9{n}")
    ines.get("/find/?q=C")
    assert ines.queries("/find/?q=C") == few
