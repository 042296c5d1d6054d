"""Labels as a PDF: vectors and embedded faces, the same layout as in the picture."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from inventory.core.label_formats import Format, slots
from inventory.core.label_layout import Box

from .drawn import SIGN, Drawn, runs
from .faces import name_of

POINT = 72 / 25.4


def pdf(labels: Sequence[Drawn], fmt: Format, start: int = 1, title: str = "Labels") -> bytes:
    """One PDF: on a sheet from place `start` on, on a roll a page each. The same labels give the same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    width, height = fmt.page
    canvas = Canvas(out, pagesize=(width * POINT, height * POINT), invariant=True, pageCompression=1)
    canvas.setTitle(title)
    canvas.setCreator("Selvedge")
    page = 0
    for drawn, (at, slot) in zip(labels, slots(fmt, len(labels), start), strict=True):
        while page < at:
            canvas.showPage()
            page += 1
        left, top = fmt.corner(slot)
        canvas.saveState()
        # From here on mm, from the label's upper left corner downwards.
        canvas.transform(POINT, 0, 0, -POINT, left * POINT, (height - top) * POINT)
        _label(canvas, drawn)
        canvas.restoreState()
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _label(canvas: Any, drawn: Drawn) -> None:
    layout = drawn.layout
    x0, y0, module, _ = layout.symbol
    path = canvas.beginPath()
    for row, first, many in runs(drawn.matrix):
        path.rect(x0 + first * module, y0 + row * module, many * module, module)
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
    for box in layout.boxes:
        _box(canvas, box, name_of(drawn.face, True))
    for text in layout.texts:
        _text(canvas, text.x, text.y, text.size, name_of(drawn.face, text.bold), text.text, 1 if text.white else 0)


def _text(canvas: Any, x: float, y: float, size: float, name: str, text: str, gray: int) -> None:
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(1, -1)
    canvas.setFillGray(gray)
    canvas.setFont(name, size)
    canvas.drawString(0, 0, text)
    canvas.restoreState()


def _box(canvas: Any, box: Box, name: str) -> None:
    canvas.setFillGray(0)
    if not box.sign:
        canvas.rect(box.x, box.y, box.width, box.height, stroke=0, fill=1)
        return
    path = canvas.beginPath()
    for n, (x, y) in enumerate(SIGN):
        (path.lineTo if n else path.moveTo)(box.x + x * box.width, box.y + y * box.height)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)
    size = box.height * 0.72
    _text(canvas, box.x + box.width / 2 - 0.228 * size, box.y + box.height * 0.9, size, name, "!", 1)
