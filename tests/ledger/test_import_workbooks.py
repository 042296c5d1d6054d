"""XLSX files: read as a person sees them, and never trusted (sizes, places, formulas)."""

from __future__ import annotations

import datetime
import io
import time
import tracemalloc
import zipfile
from typing import Any

import pytest
import xlsxwriter

from inventory.core.reasons import BadInput
from inventory.imports import Plan, plan_import, run_import
from inventory.models import Item
from inventory.workbooks import read_workbook
from tests.ledger.bench import Bench, doc, state

HEAD = ["Delivery", "Material", "Lot", "Roll", "Length (m)", "Made", "Out time", "Place"]


def workbook(*rows: list[Any], formula: tuple[int, int, str] | None = None, **options: Any) -> bytes:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, **options}) as book:
        sheet = book.add_worksheet("List")
        day = book.add_format({"num_format": "dd.mm.yyyy"})
        span = book.add_format({"num_format": "[h]:mm"})
        for r, row in enumerate(rows):
            for c, cell in enumerate(row):
                if isinstance(cell, datetime.timedelta):
                    sheet.write_datetime(r, c, cell, span)
                elif isinstance(cell, datetime.date):
                    sheet.write_datetime(r, c, cell, day)
                elif cell is not None:
                    sheet.write(r, c, cell)
        if formula:
            sheet.write_formula(*formula)
        book.add_worksheet("Sums").write_formula(0, 0, "=1+1")
    return out.getvalue()


def changed(data: bytes, name: str, part: bytes) -> bytes:
    """The same archive with one part replaced."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            new.writestr(info.filename, part if info.filename == name else old.read(info.filename))
    return out.getvalue()


def plan(bench: Bench, data: bytes) -> Plan:
    return plan_import(data, "list.xlsx", None, bench.call())


def refused(data: bytes) -> BadInput:
    with pytest.raises(BadInput) as wrong:
        read_workbook(data)
    return wrong.value


@pytest.mark.django_db
def test_numbers_dates_and_spans_are_read_as_they_are_shown() -> None:
    bench = Bench()
    row = ["D-119", "PP-T", "T26-031", "T-7", 49.7, datetime.date(2026, 3, 2), datetime.timedelta(hours=26, minutes=30), "QUARF"]
    made = plan(bench, workbook(HEAD, row))
    assert made.ok, [p.reason for r in made.rows for p in r.problems]
    assert (made.encoding, made.rows[0].values["quantity"], made.rows[0].values["made"]) == ("XLSX", "49.7 m", "2026-03-02")
    assert made.rows[0].values["out_time"] == "26 h 30"
    run_import(made, bench.call())
    assert state("T-7").qty == 49_700_000 and doc("T-7")["spent"] == [[25_000, 26 * 3_600_000_000 + 30 * 60_000_000]]


@pytest.mark.django_db
def test_a_lot_number_that_is_a_number_keeps_its_figures_and_gets_no_point() -> None:
    made = plan(Bench(), workbook(HEAD, ["D-119", "PP-T", 20260301, "T-7", 50, "2026-03-02", "0 h", "QUARF"]))
    assert made.rows[0].values["lot"] == "20260301"


def test_small_and_large_numbers_come_without_exponent() -> None:
    (row,) = read_workbook(workbook([1e-7, 1e15, 100.0, True, 41.5]))
    assert row.cells == ("0.0000001", "1000000000000000", "100", "yes", "41.5")


def test_rows_keep_the_numbers_that_the_spreadsheet_shows() -> None:
    rows = read_workbook(workbook([None], ["Lot"], [None], ["G7"]))
    assert [(r.number, r.cells[0]) for r in rows] == [(2, "Lot"), (4, "G7")]


def test_a_formula_in_a_cell_is_refused_with_the_cell_and_on_another_sheet_it_does_not_matter() -> None:
    assert len(read_workbook(workbook(["Lot"], ["G7"]))) == 2
    wrong = refused(workbook(["Lot"], ["G7"], formula=(1, 1, "=A2*2")))
    assert wrong.reason.code == "import.formula" and wrong.reason.numbers["cell"] == "B2"


def test_a_cell_far_out_is_refused_before_a_table_is_set_up_for_it() -> None:
    started = time.process_time()
    sheet = b'<worksheet xmlns="x"><sheetData><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData></worksheet>'
    data = changed(workbook(["Lot"]), "xl/worksheets/sheet1.xml", sheet)
    assert refused(data).reason.code == "import.too_many_rows"
    wide = sheet.replace(b"1048576", b"1")
    assert refused(changed(data, "xl/worksheets/sheet1.xml", wide)).reason.code == "import.too_many_columns"
    assert time.process_time() - started < 2


def test_a_bomb_is_not_unpacked() -> None:
    bomb = changed(workbook(["Lot"]), "xl/worksheets/sheet1.xml", b"<worksheet>" + b" " * 240_000_000)
    assert len(bomb) < 500_000
    theme = changed(workbook(["Lot"]), "xl/theme/theme1.xml", b" " * 5_000_000)
    tracemalloc.start()
    try:
        assert refused(bomb).reason.code == "import.too_much_inside"
        assert refused(theme).reason.code == "import.too_much_inside"
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 100_000_000, "it was unpacked before it was measured"


def test_a_part_that_claims_to_be_small_is_measured_all_the_same() -> None:
    data = bytearray(changed(workbook(["Lot"]), "xl/theme/theme1.xml", b" " * 60_000_000))
    with zipfile.ZipFile(io.BytesIO(bytes(data))) as archive:
        size = archive.getinfo("xl/theme/theme1.xml").file_size
    small = bytes(data).replace(size.to_bytes(4, "little"), (100).to_bytes(4, "little"))
    assert refused(small).reason.code == "import.too_much_inside"


def test_too_many_parts_and_broken_parts_and_entities_are_refused() -> None:
    out = io.BytesIO(workbook(["Lot"]))
    with zipfile.ZipFile(out, "a") as archive:
        for n in range(600):
            archive.writestr(f"x{n}", b"")
    assert refused(out.getvalue()).reason.code == "import.too_much_inside"
    good = workbook(["Lot"])
    assert refused(good[: len(good) // 2]).reason.code == "import.broken"
    entity = b'<!DOCTYPE x [<!ENTITY a "aaaa">]><worksheet><sheetData><row r="1"><c r="A1"><v>1</v></c></row></sheetData></worksheet>'
    assert refused(changed(good, "xl/worksheets/sheet1.xml", entity)).reason.code == "import.broken"
    assert refused(changed(good, "xl/worksheets/sheet1.xml", b"not xml <<<")).reason.code == "import.broken"
    other = io.BytesIO()
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("readme.txt", "no workbook")
    assert refused(other.getvalue()).reason.code == "import.broken"


@pytest.mark.parametrize("at", range(0, 100, 7))
def test_a_workbook_damaged_anywhere_is_told_and_never_crashes(at: int) -> None:
    data = bytearray(workbook(HEAD, ["D-119", "PP-T", "T26", "T-7", 50, "2026-03-02", "0 h", "QUARF"]))
    place = len(data) * at // 100
    data[place : place + 24] = b"\xff" * 24
    try:
        read_workbook(bytes(data))
    except BadInput as wrong:
        assert wrong.reason.code.startswith("import.")


@pytest.mark.django_db
def test_a_whole_page_of_rows_is_recorded() -> None:
    bench = Bench()
    rows = [["D-118", "GB-600", "G7", f"G7-{n}", 100, None, None, "RACK"] for n in range(1, 41)]
    run_import(plan(bench, workbook(HEAD, *rows)), bench.call())
    assert Item.objects.filter(kind="roll").count() == 40
