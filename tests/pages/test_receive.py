"""Receiving through the pages: piece by piece, many rows, a file, opening stock, and the papers."""

from __future__ import annotations

import io
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.models import Act, Attachment, Delivery, Item, Refusal

from .browsing import Browser, Clock, Page
from .store import Store

HOSTILE = "<img src=x onerror=alert(1)>"
PAGES = (
    "/receive/",
    "/receive/new/",
    "/receive/delivery/?number=D-118",
    "/receive/rows/?number=D-119",
    "/receive/opening/",
    "/receive/file/",
)
D118 = {"number": "D-118", "quantity": "100.00 m", "lot": "G7", "place": "RACK"}


@pytest.mark.parametrize("who", ["Ines", "Odile", "Marek", "Bram", "Vera"])
@pytest.mark.parametrize("path", PAGES)
def test_every_page_of_receiving_is_there_with_one_heading(yard: Store, clock: Clock, path: str, who: str) -> None:
    page = Browser(yard, who).get(path)
    assert page.status == 200 and page.headings == 1


def test_expected_deliveries_stand_in_the_order_in_which_they_are_due(yard: Store, ines: Browser) -> None:
    yard.expect("D-099", "CT-204", -2)
    text = ines.get("/receive/").text
    assert text.index("D-099") < text.index("D-118") < text.index("D-121")
    assert "Sat 28 Mar" in text and "overdue" in text


def test_the_order_fills_the_form_and_the_next_piece_keeps_what_the_lot_said(ines: Browser) -> None:
    page = ines.get("/receive/delivery/?number=D-118")
    assert 'value="100.00 m"' in page.source and 'value="G7"' in page.source
    after = ines.post("/receive/delivery/", D118 | {"mark": "G7-1", "core": "1.60 kg"})
    assert "1 of 3 rolls, 100.00 m of 300.00 m" in after.text
    for kept in ('value="G7"', 'value="RACK"', 'value="100.00 m"', 'value="1.60 kg"'):
        assert kept in after.source
    assert 'value="G7-1"' not in after.source, "the next piece has a name of its own"
    assert Item.objects.get(mark="G7-1").core_ug == 1_600_000_000


def test_the_same_press_twice_brings_in_one_roll(ines: Browser) -> None:
    form = D118 | {"mark": "G7-1", "key": "0b0f1f5e-8c1e-4f0a-9a55-5e1fed6e0009"}
    ines.post("/receive/delivery/", form)
    again = ines.post("/receive/delivery/", form)
    assert again.status == 200 and Item.objects.filter(delivery__number="D-118").count() == 1


def test_what_cannot_be_read_is_said_at_its_field_and_nothing_is_recorded(ines: Browser) -> None:
    before = Act.objects.count()
    for wrong, field in (
        ({"quantity": "a lot"}, "quantity"),
        ({"place": "NOWHERE"}, "place"),
        ({"lot": ""}, "lot"),
        ({"quantity": "-3 m"}, "quantity"),
    ):
        page = ines.post("/receive/delivery/", D118 | {"mark": "G7-1"} | wrong)
        assert page.status == 422 and f'id="id_{field}_error"' in page.source, wrong
    assert Act.objects.count() == before and Item.objects.filter(mark="G7-1").count() == 0


def test_a_refusal_tells_every_reason_and_changes_nothing(yard: Store, clock: Clock, ines: Browser) -> None:
    form = {"number": "D-120", "mark": "C-12", "quantity": "5 kg", "lot": "X6", "printed": "2026-09", "place": "AC"}
    before = Act.objects.count()
    page = ines.post("/receive/delivery/", form)
    assert page.status == 409 and "receive.mark_taken" in page.reasons and any(code.startswith("place.") for code in page.reasons)
    assert Act.objects.count() == before and Refusal.objects.count() == 1
    assert page.title.startswith("No – ") and 'value="X6"' in page.source, "the form keeps what was typed"


def test_a_builder_sees_the_delivery_but_has_no_form_and_is_refused_by_hand(yard: Store, bram: Browser) -> None:
    page = bram.get("/receive/delivery/?number=D-118")
    assert "Take it in" not in page.text
    typed = bram.post("/receive/delivery/", D118 | {"mark": "G7-1"})
    assert typed.status == 403 and typed.reasons == ["role.not_allowed"]
    assert Item.objects.filter(mark="G7-1").count() == 0


def rows(*pieces: dict[str, str]) -> dict[str, str]:
    return {f"{name}-{i}": value for i, piece in enumerate(pieces) for name, value in piece.items()}


def test_many_rows_are_taken_in_whole_or_not_at_all(ines: Browser) -> None:
    head = {"number": "D-119", "lot": "T26-031", "made": "2026-03-02", "place": "F1", "n": "6"}
    good = [{"mark": f"T-{n}", "quantity": "50 m", "out_time": "6 h 00"} for n in (7, 8)]
    bad = ines.post("/receive/rows/", head | rows(*good, {"mark": "U-3", "quantity": "50 m"}))
    assert bad.status == 409 and bad.reasons == ["receive.mark_taken"]
    assert Item.objects.filter(mark__in=("T-7", "T-8")).count() == 0
    page = ines.post("/receive/rows/", head | rows(*good))
    assert "2 of 2 rolls, 100.00 m of 100.00 m" in page.text


def test_more_rows_are_given_without_recording_and_without_losing_what_was_typed(ines: Browser) -> None:
    before = Act.objects.count()
    page = ines.post("/receive/rows/", {"number": "D-119", "lot": "T26-031", "n": "6", "more": "1", "mark-0": "T-7", "quantity-0": "50 m"})
    assert page.status == 200 and Act.objects.count() == before
    assert 'name="mark-11"' in page.source and 'value="T-7"' in page.source and 'value="T26-031"' in page.source


def test_something_not_expected_gets_a_delivery_of_its_own(ines: Browser) -> None:
    page = ines.post("/receive/new/", {"number": "DN 77/26", "material": "CT-204", "supplier": "", "order": "PO 9"})
    assert "Delivery DN 77/26" in page.text
    form = {"number": "DN 77/26", "material": "CT-204", "order": "PO 9", "mark": "C-77", "quantity": "50 m", "lot": "CT-99"}
    assert "1 roll, 50.00 m" in ines.post("/receive/delivery/", form).text
    assert Delivery.objects.get(number="DN 77/26").order_number == "PO 9"


def test_opening_stock_without_out_time_is_unknown_and_not_zero(yard: Store, ines: Browser) -> None:
    head = {"material": "PP-T", "lot": "T24-9", "made": "2025-11-03", "place": "F1", "n": "6"}
    page = ines.post("/receive/opening/", head | rows({"mark": "OLD-1", "quantity": "12 m"}))
    assert page.status == 200
    roll = ines.scan("OLD-1").text
    assert "not known" in roll and "not released" in roll and "may not be used" in roll


# --- papers -------------------------------------------------------------------------------------------


def papers_of(ines: Browser, yard: Store) -> tuple[str, dict[str, str]]:
    ines.post("/receive/delivery/", D118 | {"mark": "G7-1"})
    lot = yard["G7-1"].lot
    assert lot is not None
    return f"/receive/papers/?lot={lot.code}", {need.name: f"v-{need.pk}" for need in yard.material_limits("GB-600")}


def test_papers_take_the_values_and_the_file_and_the_file_comes_back_to_be_saved(yard: Store, ines: Browser) -> None:
    path, names = papers_of(ines, yard)
    file = SimpleUploadedFile("certificate G7.pdf", b"%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer<<>>\n%%EOF", "application/pdf")
    values = {names["areal mass"]: "601", names["moisture"]: "0.10 %", names["size"]: "0.6"}
    page = ines.post(path, {**values, "file": file})
    assert "What is stated is within its limits" in page.text
    roll = ines.scan("G7-1")
    assert "areal mass 601 g/m² passed" in roll.text and "certificate G7.pdf" in roll.text
    kept = Attachment.objects.get()
    response = ines.client.get(f"/files/{kept.pk}/")
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Content-Disposition"].startswith("attachment;") and "sandbox" in response.headers["Content-Security-Policy"]
    assert b"".join(getattr(response, "streaming_content", ())).startswith(b"%PDF-1.4")
    ines.client.logout()
    assert ines.client.get(f"/files/{kept.pk}/").status_code == 302


def test_a_file_that_is_not_what_it_says_is_refused_at_its_field(yard: Store, ines: Browser) -> None:
    path, _ = papers_of(ines, yard)
    page = ines.post(path, {"file": SimpleUploadedFile("a.pdf", b"<html><script>alert(1)</script></html>", "application/pdf")})
    assert page.status == 422 and "This kind of file is not taken" in page.text
    assert Attachment.objects.count() == 0


def test_a_builder_cannot_hand_in_papers_and_no_file_is_kept(yard: Store, ines: Browser, bram: Browser) -> None:
    path, names = papers_of(ines, yard)
    page = bram.post(path, {names["areal mass"]: "601", "file": SimpleUploadedFile("a.pdf", b"%PDF-1.4 x", "application/pdf")})
    assert page.status == 403 and Attachment.objects.count() == 0


# --- a file of many rows -------------------------------------------------------------------------------

GOOD = "delivery;material;lot;roll;length (m);place\nDN-5;CT-204;CT-95;C-95;50.0;RACK\nDN-5;CT-204;CT-95;C-96;48.5;RACK\n"


def hand_in(browser: Browser, text: str, name: str = "rolls.csv", into: str = "receive") -> Page:
    file = io.BytesIO(text.encode())
    file.name = name
    return browser.post("/receive/file/", {"file": file, "into": into})


def run(browser: Browser, page: Page, **more: Any) -> Page:
    sha = page.path.split("file=")[1].split("&")[0]
    return browser.post("/receive/file/", {"sha": sha, "into": "receive", **more})


def test_a_file_is_looked_at_row_by_row_first_and_then_taken_in(ines: Browser) -> None:
    before = Act.objects.count()
    page = hand_in(ines, GOOD)
    assert "2 rows" in page.text and "Every row can be recorded" in page.text and Act.objects.count() == before
    done = run(ines, page)
    assert "2 rolls of CT-204 received" in done.text
    assert Item.objects.filter(mark__in=("C-95", "C-96")).count() == 2
    again = hand_in(ines, GOOD)
    assert "imported before" in again.text and "Take all of it in" not in again.text


def test_every_bad_row_is_listed_with_its_reasons_and_nothing_is_half_imported(ines: Browser) -> None:
    bad = GOOD + "DN-5;CT-204;CT-95;C-12;10;RACK\nDN-5;CT-204;CT-95;C-97;ten;NOWHERE\n"
    page = hand_in(ines, bad)
    assert "2 of 4 rows cannot be recorded" in page.text
    assert "C-12 is on another roll already" in page.text and "quantity" in page.source
    assert run(ines, page).status == 422 and Item.objects.filter(mark="C-95").count() == 0


def test_headings_that_nobody_knows_are_mapped_by_hand_and_one_value_given_for_all(ines: Browser) -> None:
    page = hand_in(ines, "Rolle;Menge\nC-95;50 m\n")
    assert "No column was found for" in page.text
    mapped = ines.get(page.path + "&c1=mark&c2=quantity&d_delivery=DN-6&d_material=CT-204&d_lot=CT-95")
    assert "Every row can be recorded" in mapped.text
    done = run(ines, page, c1="mark", c2="quantity", d_delivery="DN-6", d_material="CT-204", d_lot="CT-95")
    assert "1 roll of CT-204 received" in done.text or "received" in done.text
    assert Item.objects.get(mark="C-95").delivery is not None


def test_two_columns_for_one_thing_can_be_chosen_again(ines: Browser) -> None:
    page = hand_in(ines, GOOD)
    wrong = ines.get(page.path + "&c1=mark&c4=mark")
    assert wrong.status == 422 and "Say which one it is" in wrong.text and 'name="c1"' in wrong.source


def test_a_file_with_markup_in_it_is_shown_as_text(ines: Browser) -> None:
    page = hand_in(ines, GOOD.replace("C-95", HOSTILE))
    assert "<img src=x" not in page.source and "&lt;img src=x" in page.source


def test_no_table_no_file_and_a_made_up_file_each_say_so(ines: Browser) -> None:
    assert hand_in(ines, "<html>no table</html>", "x.csv").status == 422
    assert ines.post("/receive/file/", {"into": "receive"}).status == 422
    assert ines.get("/receive/file/?file=" + "0" * 64).status == 422
    assert ines.get("/receive/file/?file=../../etc/passwd").status == 422


def test_a_builder_may_not_import(bram: Browser) -> None:
    assert hand_in(bram, GOOD).status == 422 and Attachment.objects.count() == 0


def test_a_delivery_asks_as_much_for_thirty_pieces_as_for_three(yard: Store, ines: Browser) -> None:
    for n in range(3):
        ines.post("/receive/delivery/", D118 | {"mark": f"G7-{n}", "quantity": "1 m"})
    few = ines.queries("/receive/delivery/?number=D-118")
    for n in range(3, 33):
        ines.post("/receive/delivery/", D118 | {"mark": f"G7-{n}", "quantity": "1 m"})
    ines.get("/receive/")  # shows the messages
    assert ines.queries("/receive/delivery/?number=D-118") == few
