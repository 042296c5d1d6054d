"""A table's text, cells and headings, without a shop behind it."""

from __future__ import annotations

import pytest

from inventory.core import table
from inventory.core.reasons import BadInput
from inventory.core.table import Column, Row

pytestmark = pytest.mark.core


@pytest.mark.parametrize(
    ("header", "field", "unit"),
    [
        ("Lot No.", "lot", ""),
        ("LOT-NR", "lot", ""),
        ("batch number", "lot", ""),
        ("Length (m)", "quantity", "m"),
        ("Net weight [kg]", "quantity", "kg"),
        ("Qty", "quantity", ""),
        ("Roll No", "mark", ""),
        ("Use-by", "printed", ""),
        ("Date of manufacture", "made", ""),
        ("Out time (h)", "out_time", "h"),
        ("Tare in kg", "core", "kg"),
        ("Colour", "", ""),
        ("", "", ""),
        ("no", "", ""),
    ],
)
def test_a_heading_is_taken_for_what_its_words_say(header: str, field: str, unit: str) -> None:
    assert table.columns_of([header]) == [Column(0, header, field, unit)]


def test_every_word_means_one_field_only() -> None:
    words = [word for words in table.FIELDS.values() for word in words]
    assert len(words) == len(set(words))
    assert all(table.fold_header(word) == word for word in words), "a word that folds otherwise is never found"


@pytest.mark.parametrize("cell", ["=1+1", " =A1", "@SUM(A1)", "+A1", "-A1", "-cmd|' /C calc'!A0", "+x", "--1"])
def test_a_cell_that_a_spreadsheet_would_compute_is_a_formula(cell: str) -> None:
    assert table.is_formula(cell)


@pytest.mark.parametrize("cell", ["", "-", "+", "-3.1 °C", "+3,8", "- 4", "T26-031", "a=b", "−12", "-.5", "1+1", "x@y"])
def test_a_value_is_no_formula(cell: str) -> None:
    assert not table.is_formula(cell)


@pytest.mark.parametrize(
    ("line", "delimiter"),
    [("a;b;c", ";"), ("a,b,c", ","), ("a\tb", "\t"), ("a|b", "|"), ("a", ""), ('"a;b",c', ","), ("", ""), ("a;b,c;d", ";")],
)
def test_the_first_line_says_what_parts_the_cells(line: str, delimiter: str) -> None:
    assert table.delimiter_of(f"\n{line}\n1,5;2,5;3,5\n" if line else "") == delimiter


def test_quoted_cells_keep_their_signs_and_lines_and_rows_keep_their_numbers() -> None:
    rows = table.read_csv('a;b\r\n"x;1";"two\nlines"\r\n\r\n;;\r\nlast;"say ""so"""', ";")
    assert rows == [Row(1, ("a", "b")), Row(2, ("x;1", "two\nlines")), Row(5, ("last", 'say "so"'))]


def test_an_endless_cell_is_broken_and_a_long_one_is_told() -> None:
    with pytest.raises(BadInput) as wrong:
        table.read_csv("a;b\n" + "x" * 200_000 + ";1", ";")
    assert wrong.value.reason.code == "import.broken"
    columns = table.columns_of(["Lot"])
    assert [r.code for _, r in table.problems_of(Row(2, ("x" * 501,)), columns)] == ["import.cell_too_long"]


def test_a_bare_number_takes_the_unit_of_its_heading_and_one_with_a_unit_keeps_its_own() -> None:
    columns = table.columns_of(["Length (m)", "Lot (m)"], {"Lot (m)": "lot"})
    assert table.said_by(Row(2, ("99,5", "G7")), columns) == {"quantity": "99,5 m", "lot": "G7"}
    assert table.said_by(Row(2, ("100 yd",)), columns) == {"quantity": "100 yd"}


def test_a_chosen_column_wins_over_a_guessed_one() -> None:
    columns = table.columns_of(["Length", "Weight"], {"Weight": "quantity"})
    assert [c.field for c in columns] == ["", "quantity"]
    assert table.notes_of(columns) == ["Not used: Length."]


def test_text_that_no_encoding_reads_is_refused() -> None:
    for data in (b"\xff\xfea", b"a\x00b", b"\x81", b"\xef\xbb\xbf\xff"):
        with pytest.raises(BadInput) as wrong:
            table.decode(data)
        assert wrong.value.reason.code == "import.encoding"
