"""What happens to a label in a shop, done to its picture; and a reader."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any


def read(image: Any) -> list[str]:
    """What the library's own reader finds, each symbol once."""
    import zxingcpp

    found = zxingcpp.read_barcodes(image, formats=[zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.DataMatrix])
    return [b.text for b in found]


def on_a_table(image: Any) -> Any:
    """The label on a grey table, so that turning it has room."""
    from PIL import Image

    side = int(max(image.size) * 1.5)
    table = Image.new("L", (side, side), 200)
    table.paste(image, ((side - image.width) // 2, (side - image.height) // 2))
    return table


def turned(degrees: float) -> Callable[[Any], Any]:
    from PIL import Image

    return lambda image: on_a_table(image).rotate(degrees, Image.Resampling.BICUBIC, fillcolor=200)


def noisy(image: Any) -> Any:
    """A fixed sprinkle: three dots of a thousand are another, and all of it is a little grey."""
    chance = random.Random(7)
    data = bytes(255 - v if chance.random() < 0.003 else min(235, max(25, v + chance.randint(-20, 20))) for v in image.tobytes())
    from PIL import Image

    return Image.frombytes("L", image.size, data)


def blurred(image: Any) -> Any:
    from PIL import ImageFilter

    return image.filter(ImageFilter.GaussianBlur(1.2))


def faded(image: Any) -> Any:
    """Thermal paper that lay in the sun."""
    return image.point(lambda v: 120 + v // 2)


SOILED: dict[str, Callable[[Any], Any]] = {
    "upside down": turned(180),
    "a quarter": turned(90),
    "askew": turned(17),
    "noisy": noisy,
    "blurred": blurred,
    "faded": faded,
}
