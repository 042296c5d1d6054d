"""Files for spreadsheets: nothing in them is taken for a formula."""

from __future__ import annotations

import csv

import pytest

from layups.core.cells import csv_lines, safe

pytestmark = pytest.mark.core


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r=", " =", "\n+", "＝"])
def test_a_cell_that_would_start_a_formula_is_text(start: str) -> None:
    text = safe(f"{start}HYPERLINK(1)")
    assert text.startswith("'")
    assert not text[1:].startswith(("\t", "\r", "\n"))


def test_an_ordinary_cell_is_left_as_it_is() -> None:
    assert [safe(v) for v in ("V6", "REP-014", "0.50 kg", None, 40)] == ["V6", "REP-014", "0.50 kg", "", "40"]


def test_lines_read_back_as_the_cells_that_were_written() -> None:
    rows: list[list[object]] = [["CAN-046", 'say "soft", then hold', "Lunn Island Canoe Hire"], ["=1+1", "a\nb", None]]
    lines = list(csv_lines(["mark", "note", "customer"], rows))
    assert all(not line.startswith(("=", "+", "-", "@", "\t")) for line in lines)
    back = list(csv.reader(lines))
    assert back[1] == rows[0]
    assert back[2] == ["'=1+1", "a b", ""]
