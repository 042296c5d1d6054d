"""Labels as dots are read back: all kinds and sizes at 203 and 300 dpi, turned, soiled and out of focus.

The reader here belongs to the library that made the symbols; tests/printing reads them with other people's readers."""

from __future__ import annotations

import pytest

from inventory.core.label_formats import FORMATS
from inventory.core.labels import label
from inventory.core.reasons import BadInput
from inventory.printing.drawn import draw, runs
from inventory.printing.paper import pdf
from inventory.printing.pictures import DPI, picture, png
from inventory.printing.symbols import matrix
from inventory.printing.thermal import commands
from tests.core.label_things import ADDRESS, CODE, NOW, THINGS, ZONE
from tests.core.soiled import SOILED, read

pytestmark = pytest.mark.core
ROLLS = [f for f in FORMATS.values() if f.roll]


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("fmt", list(FORMATS))
def test_every_label_is_read_back_at_the_resolution_of_a_printer(fmt: str, dpi: int) -> None:
    for name in THINGS:
        found = draw(label(THINGS[name], ZONE, NOW, ADDRESS), FORMATS[fmt])
        assert read(picture(found, dpi)) == [found.label.payload], (name, fmt, dpi)


@pytest.mark.parametrize("how", list(SOILED))
@pytest.mark.parametrize("name", ["roll", "pot", "place"])
def test_a_turned_soiled_or_blurred_label_is_read_back(name: str, how: str) -> None:
    for fmt in ROLLS:
        found = draw(label(THINGS[name], ZONE, NOW, ADDRESS), fmt)
        assert read(SOILED[how](picture(found, 203))) == [found.label.payload], (fmt.name, how)


def test_a_symbol_with_a_wrong_module_pattern_is_not_read() -> None:
    """That reading back can fail at all: without its finder a symbol is nothing."""
    image = picture(draw(label(THINGS["roll"], ZONE, NOW, ADDRESS), FORMATS["roll-100x50"]), 203)
    x, y, module, _ = draw(label(THINGS["roll"], ZONE, NOW, ADDRESS), FORMATS["roll-100x50"]).layout.symbol
    corner, side = (int(x * 8), int(y * 8)), int(29 * module * 8)
    image.paste(255, (*corner, corner[0] + side, corner[1] + side // 2))
    assert read(image) == []


def test_the_error_correction_is_the_one_that_was_asked_for() -> None:
    """A misspelt option is ignored in silence: 29 modules hold 42 bytes at level M and 53 at level L (ISO/IEC 18004, from memory)."""
    assert len(matrix("qr", "x" * 42)) == 29 and len(matrix("qr", "x" * 43)) == 33


def test_symbols_are_square_for_any_code_of_a_place() -> None:
    for n in range(1, 25):
        rows = matrix("datamatrix", ("F" + "1" * 23)[:n])
        assert {len(row) for row in rows} == {len(rows)}


def test_runs_cover_exactly_the_dark_modules() -> None:
    rows = matrix("datamatrix", CODE)
    covered = {(y, x) for y, first, many in runs(rows) for x in range(first, first + many)}
    assert covered == {(y, x) for y, row in enumerate(rows) for x, dark in enumerate(row) if dark}


def test_a_picture_has_the_dots_of_its_size() -> None:
    assert picture(draw(label(THINGS["kit"], ZONE, NOW, ADDRESS), FORMATS["roll-100x50"]), 203).size == (799, 400)
    with pytest.raises(BadInput):
        png(draw(label(THINGS["kit"], ZONE, NOW, ADDRESS), FORMATS["roll-100x50"]), 72)


def test_the_same_labels_give_the_same_pdf_with_a_page_for_each_sheet() -> None:
    one = draw(label(THINGS["kit"], ZONE, NOW, ADDRESS), FORMATS["sheet-8"])
    data = pdf([one] * 3, FORMATS["sheet-8"], 7)
    assert data == pdf([one] * 3, FORMATS["sheet-8"], 7)
    assert data.startswith(b"%PDF-") and data.count(b"/Type /Page\n") == 2


def test_the_commands_for_a_thermal_printer_hold_the_same_picture() -> None:
    """A second reading of the file, by hand: figures back into dots, dots back into the code."""
    import re

    from PIL import Image

    found = draw(label(THINGS["pot"], ZONE, NOW, ADDRESS), FORMATS["roll-70x35"])
    text = commands([found, found], 203).decode("ascii")
    blocks = re.findall(r"\^XA\^PW(\d+)\^LL(\d+)\^FO0,0\^GFA,(\d+),(\d+),(\d+),([0-9A-F]+)\^FS\^XZ\n", text)
    assert len(blocks) == 2
    width, height, total, again, row = map(int, blocks[0][:5])
    data = bytes.fromhex(blocks[0][5])
    assert len(data) == total == again == row * height and row == (width + 7) // 8
    image = Image.frombytes("1", (width, height), bytes(255 - b for b in data)).convert("L")
    assert read(image) == [CODE]
