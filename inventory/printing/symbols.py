"""QR codes and DataMatrix symbols as rows of modules. The library is loaded when the first symbol is made."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

Matrix = tuple[tuple[bool, ...], ...]
LEVEL = "M"
"""Error correction of a QR code: a label gets scratched, and a shop's link still stands in a symbol of 29 modules."""


@lru_cache(maxsize=1024)
def matrix(symbology: str, payload: str) -> Matrix:
    """True: a dark module. Without the quiet zone, which the layout keeps."""
    import zxingcpp

    if symbology == "qr":
        made = zxingcpp.create_barcode(payload, zxingcpp.BarcodeFormat.QRCode, ec_level=LEVEL)
    else:
        made = zxingcpp.create_barcode(payload, zxingcpp.BarcodeFormat.DataMatrix, force_square=True)
    image: Any = made.to_image(scale=1, add_quiet_zones=False)  # a buffer, which its types do not say
    rows: Any = memoryview(image).tolist()
    return tuple(tuple(value < 128 for value in row) for row in rows)
