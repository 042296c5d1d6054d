"""Labels on the pages: choose, look, print; each print is recorded, and stands on the thing's page."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from inventory.core import spans
from inventory.core.label_formats import FORMATS
from inventory.models import Act, Item, LabelPrint

from .browsing import Browser
from .store import Store
from .test_mix import mix

pytestmark = pytest.mark.django_db
SIZE = "roll-100x50"


def sent(browser: Browser, **data: Any) -> Any:
    """The answer itself, not as text: a file."""
    return browser.client.post("/labels/", {"size": SIZE, "copies": "1", "start": "1", **data})


def test_the_page_shows_each_label_before_it_is_printed(ines: Browser, yard: Store) -> None:
    page = ines.get("/labels/?things=T-6,F1")
    assert page.status == 200 and "2 labels" in page.text
    assert re.search(rf'src="/labels/{yard.code("T-6")}/picture.png\?size={SIZE}"', page.source)
    alts = re.findall(r'alt="(Label: [^"]+)"', page.source)
    assert len(alts) == 2 and "T26-014" in alts[0] and "Use by" not in alts[0] and "left, as of 30 Mar 2026 07:40" in alts[0]
    assert not LabelPrint.objects.exists(), "a look is no print"


def test_a_picture_is_a_png_of_the_label(ines: Browser, yard: Store) -> None:
    for code, size in ((yard.code("U-3"), SIZE), ("F1", "roll-50x25"), ("U-3", "")):
        answer = ines.client.get(f"/labels/{code}/picture.png", {"size": size})
        assert answer.status_code == 200 and answer["Content-Type"] == "image/png" and answer.content.startswith(b"\x89PNG")
    assert ines.client.get("/labels/NOPE/picture.png").status_code == 404
    assert ines.client.get("/labels/F1/picture.png", {"size": "a9"}).status_code == 404


def test_a_print_gives_a_pdf_and_is_recorded_once_for_each_thing(ines: Browser, yard: Store) -> None:
    acts = Act.objects.count()
    answer = sent(ines, things="U-3, F1", copies="2")
    assert answer.status_code == 200 and answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    assert answer["X-Content-Type-Options"] == "nosniff"
    rows = list(LabelPrint.objects.order_by("pk"))
    assert [(r.item == yard["U-3"] if r.item else r.location.code, r.copies, r.person.name) for r in rows] == [  # type: ignore[union-attr]
        (True, 2, "Ines"),
        ("F1", 2, "Ines"),
    ]
    assert len({r.key for r in rows}) == 1 and "U25-118" in rows[0].text and rows[0].device.kind == "browser"
    assert Act.objects.count() == acts, "a print changes nothing about the thing"


def test_a_reprint_is_counted_and_shown_with_its_reason(ines: Browser, bram: Browser, yard: Store) -> None:
    sent(ines, things="U-3")
    page = ines.get("/labels/?things=U-3")
    assert "printed once before" in page.text and "Why again" in page.text
    sent(bram, things="U-3", reason="torn off")
    item = ines.get(f"/i/{yard.code('U-3')}/")
    assert re.search(r"printed .*? by Ines, again .*? by Bram \(torn off\)", item.text)
    assert "Print again" in item.text


def test_a_thing_without_a_label_offers_to_print_it(ines: Browser, vera: Browser, yard: Store) -> None:
    for path in (f"/i/{yard.code('U-4')}/", "/places/F1/"):
        assert "Print it" in ines.get(path).text
        assert "Print it" not in vera.get(path).text
    kit = ines.get(f"/i/{yard.code('K-31')}/")
    assert f"/labels/?things={yard.code('K-31')}" in kit.links()


def test_the_label_of_a_kit_names_its_job_and_plies(ines: Browser) -> None:
    alt = re.findall(r'alt="(Label: [^"]+)"', ines.get("/labels/?things=K-31").source)[0]
    assert "For: RUD-073, plies 1 2 3 4 5 6" in alt


def test_cutting_leads_straight_to_the_labels_of_all_that_was_cut(ines: Browser, yard: Store) -> None:
    data = {"taken": "2.00 m", "net": "0.50 m²", "mark": "K-77", "length0": "0.50 m", "width0": "0.60 m", "name0": "R-77"}
    roll = next(i for i in Item.objects.filter(kind="roll", material__kind="fabric", mark__gt="") if i.state.qty > 5_000_000)  # type: ignore[attr-defined]
    page = ines.post(f"/i/{roll.code}/cut/", data)
    link = next(found for found in page.links() if found.startswith("/labels/"))
    assert "Print the 2 labels" in page.text
    assert {yard.code("K-77"), yard.code("R-77")} <= set(link.replace("%2C", ",").split("=")[1].split(","))


def came(browser: Browser, mark: str) -> dict[str, str]:
    """A roll is taken in: the fields of the form that the next page offers, by name, with its own marks."""
    page = browser.post(
        "/receive/delivery/",
        {"number": "D-118", "material": "GB-600", "lot": "G7", "quantity": "100 m", "mark": mark, "place": "RACK"},
    )
    form = re.search(r'<form class="banner[^>]*fresh-labels"([^>]*)>(.*?)</form>', page.source, re.DOTALL)
    assert form is not None, page.text
    return dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[2])) | {"now": "data-print-now" in form[1]}


def test_what_came_in_is_printed_with_one_press_and_counted_once(ines: Browser, yard: Store) -> None:
    came(ines, "G7-1")
    offer = came(ines, "G7-2")
    assert offer["things"] == f"{yard.code('G7-1')},{yard.code('G7-2')}", "one print for all that have no label yet"
    assert not offer["now"]
    assert "fresh-labels" not in ines.get("/receive/delivery/?number=D-118").source, "a page that is looked at again prints nothing"
    pressed = {name: offer[name] for name in ("things", "size", "copies", "start", "key")}
    for _ in range(2):
        answer = ines.client.post("/labels/", pressed)
        assert answer.content.startswith(b"%PDF") and LabelPrint.objects.count() == 2
    offer = came(ines, "G7-3")
    assert offer["things"] == yard.code("G7-3"), "what was printed waits no more"
    assert ines.client.post("/labels/", pressed | {"things": offer["things"]}).status_code == 422, "another print under the same key"


def test_a_browser_that_was_told_so_prints_at_once_in_its_size_and_only_this_browser(ines: Browser, yard: Store, settings: Any) -> None:
    said = {"things": "U-3", "size": "roll-50x25", "copies": "1", "start": "1"}
    assert "prints new labels at once" in ines.post("/labels/", {**said, "once": "pdf"}).text and not LabelPrint.objects.exists()
    offer = came(ines, "G7-1")
    assert (offer["now"], offer["size"], "zpl" in offer) == (True, "roll-50x25", False)
    assert not came(Browser(yard, "Ines"), "G7-2")["now"]
    assert "asks before" in ines.post("/labels/", {**said, "once": "zpl"}).text, "there is no such printer here"
    settings.SELVEDGE_LABEL_DPI = 203
    ines.post("/labels/", {**said, "once": "zpl"})
    offer = came(ines, "G7-3")
    assert offer["now"] and ines.client.post("/labels/", {k: v for k, v in offer.items() if isinstance(v, str)}).content.startswith(b"^XA")
    ines.client.cookies["labels_at_once"] = "roll-9x9 pdf"
    assert ines.get("/labels/").status == 200, "a cookie that somebody wrote means nothing"


def test_a_lot_prints_its_pieces_and_is_no_thing_itself(ines: Browser, yard: Store) -> None:
    lot = yard["U-3"].lot
    assert lot is not None
    page = ines.get(f"/i/{lot.code}/")
    assert f"/labels/?lot={lot.code}" in page.links()
    shown = ines.get(f"/labels/?lot={lot.code}")
    assert shown.status == 200 and "U-3" in shown.source and "U-4" in shown.source
    told = ines.get(f"/labels/?things={lot.code}")
    assert told.status == 422 and "A lot is not a thing that can carry a label" in told.text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"things": "U-3, NOPE-1"}, "NOPE-1"),
        ({"things": ""}, "Nothing is named"),
        ({"things": "U-3", "size": "sheet-8", "start": "9"}, "places 1 to 8"),
        ({"things": "U-3", "start": "2"}, "begin at 1"),
        ({"things": "U-3", "copies": "0"}, "greater than or equal to 1"),
        ({"things": "U-3", "copies": "x"}, "whole number"),
        ({"things": "U-3", "size": "a9"}, "not one of the available choices"),
        ({"delivery": "D-NONE"}, "no delivery"),
        ({"things": ",".join(f"X{n}" for n in range(500))}, "at most 400"),
        ({"things": "\u202e\x1d\x00'; --"}, ""),
        ({"things": "U-3", "zpl": "1"}, "SELVEDGE_LABEL_DPI"),
        ({"things": "U-3", "reason": "x" * 300}, "200 characters"),
    ],
)
def test_what_cannot_be_printed_is_told_and_nothing_is_recorded(ines: Browser, data: dict[str, str], words: str) -> None:
    answer = sent(ines, **data)
    assert answer.status_code == 422, answer.content[:200]
    text = " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())
    assert words in text
    assert not LabelPrint.objects.exists()


def test_the_auditor_may_look_and_not_print(vera: Browser) -> None:
    page = vera.get("/labels/?things=U-3")
    assert page.status == 200 and ">Print<" not in page.source
    refused = sent(vera, things="U-3")
    assert refused.status_code == 403 and '<p class="verdict-title">Labels</p>' in refused.content.decode(), "No stands beside it already"
    assert not LabelPrint.objects.exists()


def test_nobody_sees_a_label_without_signing_in(yard: Store) -> None:
    for path in ("/labels/?things=U-3", f"/labels/{yard.code('U-3')}/picture.png", f"/i/{yard.code('U-3')}/"):
        assert Client().get(path).status_code == 302


def test_the_page_asks_no_more_for_many_things_than_for_one(ines: Browser) -> None:
    few = ines.queries("/labels/?things=U-3")
    assert ines.queries("/labels/?things=U-3,U-4,T-2,T-4,T-6") == few


def test_a_label_printer_gets_commands_where_one_is_set_up(ines: Browser, settings: Any) -> None:
    settings.SELVEDGE_LABEL_DPI = 203
    assert "For the label printer" in ines.get("/labels/?things=U-3").text
    answer = sent(ines, things="U-3", zpl="1")
    assert answer.status_code == 200 and answer.content.startswith(b"^XA") and "attachment" in answer["Content-Disposition"]
    assert sent(ines, things="U-3", zpl="1", size="sheet-8").status_code == 422
    assert [r.form for r in LabelPrint.objects.all()] == ["zpl"]


def test_links_lead_to_the_address_that_is_set_up(ines: Browser, settings: Any, yard: Store) -> None:
    from inventory.printing.symbols import matrix

    matrix.cache_clear()
    settings.SELVEDGE_ADDRESS = "https://yard.example"
    sent(ines, things="U-3")
    assert len(matrix("qr", f"https://yard.example/i/{yard.code('U-3')}")) and matrix.cache_info().hits == 1


def test_a_link_from_a_label_without_its_slash_leads_to_the_thing(ines: Browser, yard: Store) -> None:
    page = ines.get(f"/i/{yard.code('U-3')}")
    assert page.status == 200 and page.path == f"/i/{yard.code('U-3')}/"


def test_the_format_of_last_time_is_offered_again(ines: Browser) -> None:
    sent(ines, things="U-3", size="sheet-24")
    assert '<option value="sheet-24" selected>' in ines.get("/labels/?things=U-4").source
    assert len(FORMATS) == 6


def test_show_sends_the_page_round_and_prints_nothing(ines: Browser) -> None:
    page = ines.post("/labels/", {"things": "U-3", "size": "sheet-8", "copies": "3", "start": "5", "show": "1"})
    assert page.status == 200 and "3 labels" in page.text and 'value="5"' in page.source
    assert not LabelPrint.objects.exists()


def test_a_mixed_pot_leads_straight_to_its_label_with_the_stop_time_and_the_caution(bram: Browser, yard: Store) -> None:
    mixed = mix(bram, ("LA-7", "400.0"), ("LB-5", "100.0"))
    link = next((found for found in mixed.links() if found.startswith("/labels/")), "")
    assert link and "Print its label" in mixed.text, mixed.text[:400]
    alt = re.findall(r'alt="(Label: [^"]+)"', bram.get(link).source)[0]
    stop = spans.clock_text(yard.doc("M-1")["stop"], yard.zone)
    assert f"Stop {stop}, 30 Mar 2026" in alt and "It heats itself" in alt and "Recipe: LAM" in alt
