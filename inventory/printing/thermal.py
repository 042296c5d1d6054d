"""Labels for a printer that takes commands instead of pages: each label as one picture of dots in ZPL, the language that many
label printers read. From memory, and not tried on a printer: the commands are the fewest that print a picture.

^XA begins a label, ^PW its width and ^LL its length in dots, ^FO the corner, ^GFA a picture in hexadecimal figures (bytes in
all twice, bytes a row), ^FS ends a field, ^XZ the label.
"""

from __future__ import annotations

from collections.abc import Iterable

from inventory.core.said import say

from .drawn import Drawn
from .pictures import checked_dpi, picture


def commands(labels: Iterable[Drawn], dpi: int) -> bytes:
    """One file for all of them."""
    return "".join(_label(drawn, checked_dpi(dpi)) for drawn in labels).encode("ascii")


def _label(drawn: Drawn, dpi: int) -> str:
    image = picture(drawn, dpi)
    width, height = image.size
    data = image.point(lambda value: 255 if value < 128 else 0).convert("1", dither=0).tobytes()  # a bit that is set is burnt
    row = (width + 7) // 8
    return say(
        "^XA^PW{width}^LL{height}^FO0,0^GFA,{data},{data},{row},{hex}^FS^XZ\n",
        width=width,
        height=height,
        data=len(data),
        row=row,
        hex=data.hex().upper(),
    )
