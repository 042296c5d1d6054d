"""Codes in a picture: a frame of a device's camera, or a photo, for browsers that read no codes themselves.

A picture is judged by its first bytes before any of it is unpacked: its kind, its length, its sides."""

from __future__ import annotations

import io
import threading
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import BadInput
from inventory.core.said import say

MOST_BYTES = 1_000_000
MOST_SIDE, MOST_PIXELS = 2_000, 2_500_000
"""A page sends at most 1 600 dots a side."""
FORMS = ("JPEG", "PNG")
MOST_CODES = 8
AT_ONCE = 2
"""Pictures that one process reads at the same time: reading one keeps a processor busy."""
WAIT_S = 2.0
GS1 = ("]C1", "]e0", "]d2", "]Q3", "]J1")
"""Symbols whose identifier says that they hold GS1 data. Of others it says nothing that the text does not."""
_turns = threading.BoundedSemaphore(AT_ONCE)


@dataclass(frozen=True, slots=True)
class Seen:
    """One symbol: its text as a scanner would send it, and the kind of symbol."""

    text: str
    symbology: str


class Busy(Exception):
    """Others are being read."""


def codes_in(data: bytes) -> tuple[Seen, ...]:
    """The codes in a picture, each once. BadInput picture.empty, picture.large, picture.form, picture.broken, picture.pixels; Busy."""
    grey = _grey(data)
    if not _turns.acquire(timeout=WAIT_S):
        raise Busy
    try:
        return _read(grey)
    finally:
        _turns.release()


def _grey(data: bytes) -> Any:
    """The picture in grey."""
    from PIL import Image, UnidentifiedImageError

    if not data:
        raise BadInput("picture.empty", say("There is no picture in the call: send a JPEG or PNG as its body."), "body")
    if len(data) > MOST_BYTES:
        text = say("The picture is larger than {most} MB: send it smaller.", most=f"{MOST_BYTES / 1e6:g}")
        raise BadInput("picture.large", text, "body", most=MOST_BYTES)
    try:
        image = Image.open(io.BytesIO(data), formats=FORMS)  # reads the head only
        width, height = image.size
        if max(width, height) > MOST_SIDE or width * height > MOST_PIXELS:
            raise _too_many(width, height)
        image.draft("L", None)
        return image.convert("L")
    except BadInput:
        raise
    except Image.DecompressionBombError:  # beyond the library's own limit it does not say how large
        raise _too_many() from None
    except UnidentifiedImageError:
        raise BadInput("picture.form", say("That is no JPEG and no PNG: send one of these."), "body") from None
    except Exception:  # a broken file ends in whatever its reader ran into
        raise BadInput("picture.broken", say("The picture is broken: take it again."), "body") from None


def _too_many(width: int = 0, height: int = 0) -> BadInput:
    most = {"side": MOST_SIDE, "million": f"{MOST_PIXELS / 1e6:g}"}
    if width:
        text = say(
            "The picture is {width} × {height} dots: at most {side} a side and {million} million are read. Send it smaller.",
            width=width, height=height, **most,
        )  # fmt: skip
    else:
        text = say("The picture has far too many dots: at most {side} a side and {million} million are read. Send it smaller.", **most)
    return BadInput("picture.pixels", text, "body")


def _read(grey: Any) -> tuple[Seen, ...]:
    import zxingcpp

    found = zxingcpp.read_barcodes(grey, text_mode=zxingcpp.TextMode.Plain)
    seen = {Seen(_text(code.text, code.symbology_identifier), code.format.name) for code in found if code.valid and code.text}
    return tuple(sorted(seen, key=lambda one: (one.symbology, one.text)))[:MOST_CODES]


def _text(text: str, identifier: str) -> str:
    return identifier + text if identifier in GS1 else text
