"""The face of labels, and what it cannot show.

Bitstream Vera comes with the library that makes the pages and shows the languages of western Europe. DejaVu has the same shapes
and widths and far more characters; it is taken where the machine has it (Debian: fonts-dejavu-core), so that Greek, Cyrillic and
all of Latin print too. A character that the face does not have never vanishes: a letter with an accent loses the accent,
anything else is printed as "?", and the page says which.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

WIDER = Path("/usr/share/fonts/truetype/dejavu")
MISSING = "?"


@dataclass(frozen=True, slots=True)
class Face:
    """Two files of one face, by weight."""

    regular: Path
    bold: Path

    def path(self, bold: bool) -> Path:
        return self.bold if bold else self.regular


@lru_cache(maxsize=1)
def face() -> Face:
    """The widest face that this machine has."""
    wide = Face(WIDER / "DejaVuSans.ttf", WIDER / "DejaVuSans-Bold.ttf")
    return wide if wide.regular.is_file() and wide.bold.is_file() else own_face()


def own_face() -> Face:
    """The face that is always there."""
    import reportlab

    folder = Path(reportlab.__file__).parent / "fonts"
    return Face(folder / "Vera.ttf", folder / "VeraBd.ttf")


def name_of(found: Face, bold: bool) -> str:
    """The name under which the page library knows it; it is read in at first use."""
    name = found.path(bold).stem
    _font(str(found.path(bold)), name)
    return name


@lru_cache(maxsize=8)
def _font(path: str, name: str) -> Any:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    font = TTFont(name, path)
    pdfmetrics.registerFont(font)
    return font


def measure_with(found: Face) -> Any:
    """How wide a text is, in the same unit as its size."""
    from reportlab.pdfbase import pdfmetrics

    names = {bold: name_of(found, bold) for bold in (False, True)}
    return lambda text, size, bold: float(pdfmetrics.stringWidth(text, names[bold], size))


def shows(found: Face, character: str) -> bool:
    """Whether both weights have it."""
    return all(ord(character) in _font(str(found.path(b)), found.path(b).stem).face.charToGlyph for b in (False, True))


def printable(text: str, found: Face) -> tuple[str, str]:
    """(the text as it can be printed, the characters that it cannot show, each once)."""
    out, lost = [], []
    for ch in unicodedata.normalize("NFC", text):
        if ch.isspace():
            out.append(" ")
            continue
        if unicodedata.category(ch) in ("Cc", "Cf", "Cs"):  # what is invisible has no picture to lose, and may turn the line round
            continue
        if shows(found, ch):
            out.append(ch)
            continue
        base = unicodedata.normalize("NFKD", ch)[0]
        out.append(base if base != ch and shows(found, base) else MISSING)
        lost.append(ch)
    return "".join(out), "".join(dict.fromkeys(lost))
