"""Labels read with other people's readers: the printed PDF is rendered at the resolution of a printer, and each symbol read by a
program that shares nothing with ours. `dmtxread` (libdmtx) reads DataMatrix; the QR codes of the same pages are read by the
library's reader, since no second one is at hand; and `zint` writes symbols that the library must read, the other way round.

deploy/test names this leg when one of the programs is not on the machine: a leg that did not run is never a pass.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from inventory.core.label_formats import FORMATS, Format
from inventory.core.labels import label
from inventory.printing.drawn import Drawn, draw
from inventory.printing.paper import pdf
from inventory.printing.pictures import DPI, picture
from inventory.printing.symbols import matrix
from tests.core.label_things import ADDRESS, CODE, NOW, THINGS, ZONE
from tests.core.soiled import SOILED, read

pytestmark = [pytest.mark.core, pytest.mark.readers]
PROGRAMS = ("pdftoppm", "dmtxread", "zint")
SMALL = [name for name in THINGS if label(THINGS[name], ZONE, NOW, ADDRESS).symbology == "datamatrix"]


def drawn(name: str, fmt: Format) -> Drawn:
    return draw(label(THINGS[name], ZONE, NOW, ADDRESS), fmt)


def pages(data: bytes, dpi: int, folder: Path) -> list[Path]:
    """The pages of a PDF as pictures, by poppler."""
    source = folder / "labels.pdf"
    source.write_bytes(data)
    subprocess.run(["pdftoppm", "-r", str(dpi), "-png", source, folder / "page"], check=True, timeout=120)
    return sorted(folder.glob("page*.png"))


def dmtx(path: Path, most: int = 1) -> list[str]:
    """What libdmtx reads. Exit code 1 means that it found nothing. A group separator stands for FNC1 (-G 29)."""
    done = subprocess.run(["dmtxread", "-G", "29", "-n", "-N", str(most), "-m", "20000", path], capture_output=True, text=True, timeout=60)
    assert done.returncode in (0, 1), done.stderr
    return done.stdout.split()


def test_the_programs_are_here() -> None:
    """Without them the other tests of this file mean nothing; the leg asks before it begins."""
    assert [name for name in PROGRAMS if not shutil.which(name)] == []


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("fmt", [f for f in FORMATS.values() if f.roll], ids=lambda f: f.name)
def test_a_printed_roll_of_small_labels_is_read_by_another_reader(fmt: Format, dpi: int, tmp_path: Path) -> None:
    found = pages(pdf([drawn(name, fmt) for name in SMALL], fmt), dpi, tmp_path)
    assert len(found) == len(SMALL)
    for name, path in zip(SMALL, found, strict=True):
        assert dmtx(path) == [label(THINGS[name], ZONE, NOW, ADDRESS).payload], (name, path.name)


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("fmt", list(FORMATS.values()), ids=lambda f: f.name)
def test_every_printed_symbol_is_read_in_its_place(fmt: Format, dpi: int, tmp_path: Path) -> None:
    """Sheets too, begun at their second place: as many symbols as labels, each with what it should hold."""
    from PIL import Image

    start = 1 if fmt.roll else 2
    labels = [drawn(name, fmt) for name in THINGS]
    seen: list[str] = []
    for path in pages(pdf(labels, fmt, start), dpi, tmp_path):
        seen += read(Image.open(path).convert("L"))
    assert sorted(seen) == sorted(one.label.payload for one in labels)


@pytest.mark.parametrize("how", list(SOILED))
@pytest.mark.parametrize("name", ["pot", "place"])
def test_another_reader_reads_a_turned_soiled_or_blurred_label(name: str, how: str, tmp_path: Path) -> None:
    path = tmp_path / "label.png"
    fmt = FORMATS["roll-70x35"]
    SOILED[how](picture(drawn(name, fmt), 203)).save(path)
    assert dmtx(path) == [drawn(name, fmt).label.payload]


def test_text_of_a_pdf_is_text(tmp_path: Path) -> None:
    """What is printed can be searched for and copied, letters beyond ASCII among it."""
    source = tmp_path / "labels.pdf"
    source.write_bytes(pdf([drawn("roll", FORMATS["roll-100x50"])], FORMATS["roll-100x50"]))
    words = subprocess.run(["pdftotext", "-layout", source, "-"], check=True, capture_output=True, text=True, timeout=60).stdout
    assert "U-3" in words and "−25 °C to −18 °C" in words and "supplier’s" in words


@pytest.mark.parametrize(("kind", "symbology"), [("71", "datamatrix"), ("58", "qr")])
def test_symbols_of_another_writer_are_read_as_ours_are(kind: str, symbology: str, tmp_path: Path) -> None:
    """The other way round, for the reader that the other tests lean on; and both writers need as many modules."""
    from PIL import Image

    for payload in (CODE, f"{ADDRESS}/i/{CODE}"):
        path = tmp_path / "zint.png"
        extra = ["--secure=2"] if symbology == "qr" else ["--square"]
        subprocess.run(["zint", f"--barcode={kind}", *extra, "--scale=3", f"--data={payload}", "-o", path], check=True, timeout=60)
        image = Image.open(path).convert("L")
        image_with_room = Image.new("L", (image.width + 60, image.height + 60), 255)
        image_with_room.paste(image, (30, 30))
        assert read(image_with_room) == [payload]
        assert len(matrix(symbology, payload)) * 6 == image.width
