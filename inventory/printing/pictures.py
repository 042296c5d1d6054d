"""Labels as pictures of dots: what a thermal printer burns, and what the page shows before it is printed."""

from __future__ import annotations

import io
from functools import lru_cache
from typing import Any

from inventory.core.label_layout import Box
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung

from .drawn import SIGN, Drawn, runs

DPI = (203, 300)


def checked_dpi(dpi: int) -> int:
    """BadInput label.dpi."""
    if dpi not in DPI:
        raise BadInput("label.dpi", say("A picture has {map} dots an inch.", map=strung(say(" or "), map(str, DPI))), "dpi")
    return dpi


def picture(drawn: Drawn, dpi: int) -> Any:
    """A grey picture. Modules are whole dots and never larger than laid out, so the quiet zone only grows."""
    from PIL import Image, ImageDraw

    layout, scale = drawn.layout, dpi / 25.4
    image = Image.new("L", (round(layout.width * scale), round(layout.height * scale)), 255)
    pen = ImageDraw.Draw(image)
    _symbol(pen, drawn, scale)
    for box in layout.boxes:
        _box(pen, box, scale, str(drawn.face.bold))
    for text in layout.texts:
        font = _font(str(drawn.face.path(text.bold)), round(text.size * scale * 4))
        pen.text((text.x * scale, text.y * scale), text.text, fill=255 if text.white else 0, font=font, anchor="ls")
    return image


def _symbol(pen: Any, drawn: Drawn, scale: float) -> None:
    x, y, module, _ = drawn.layout.symbol
    dots = max(1, int(module * scale + 0.02))
    spare = (module * scale - dots) * len(drawn.matrix) / 2
    left, top = round(x * scale + spare), round(y * scale + spare)
    for row, first, many in runs(drawn.matrix):
        pen.rectangle((left + first * dots, top + row * dots, left + (first + many) * dots - 1, top + (row + 1) * dots - 1), fill=0)


def _box(pen: Any, box: Box, scale: float, face: str) -> None:
    if not box.sign:
        right, bottom = round((box.x + box.width) * scale) - 1, round((box.y + box.height) * scale) - 1
        pen.rectangle((round(box.x * scale), round(box.y * scale), right, bottom), fill=0)
        return
    pen.polygon([((box.x + x * box.width) * scale, (box.y + y * box.height) * scale) for x, y in SIGN], fill=0)
    at = ((box.x + box.width / 2) * scale, (box.y + box.height * 0.9) * scale)
    pen.text(at, "!", fill=255, font=_font(face, round(box.height * 0.72 * scale * 4)), anchor="ms")


@lru_cache(maxsize=256)
def _font(path: str, quarters: int) -> Any:
    """A face at so many quarters of a dot."""
    from PIL import ImageFont

    return ImageFont.truetype(path, quarters / 4, layout_engine=ImageFont.Layout.BASIC)


def png(drawn: Drawn, dpi: int) -> bytes:
    out = io.BytesIO()
    picture(drawn, checked_dpi(dpi)).save(out, "PNG", dpi=(dpi, dpi))
    return out.getvalue()
