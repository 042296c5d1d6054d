"""What a purchased material usually comes in: a word for screens and the default when nobody says."""

from __future__ import annotations

from inventory.core.said import say

_BY_KIND = {
    "tow": "spool", "resin": "drum", "gelcoat": "drum", "hardener": "can", "peroxide": "can", "promoter": "can",
    "additive": "can", "paste": "box", "core": "sheet",
}  # fmt: skip
_BY_UNIT = {"um": "roll", "cmm2": "sheet"}
_MANY = {"box": "boxes"}


def usual_kind(material_kind: str, unit: str) -> str:
    """roll, spool, drum, can, box or sheet."""
    return _BY_KIND.get(material_kind) or _BY_UNIT.get(unit, "box")


def counted(number: int, kind: str) -> str:
    """ "1 roll", "3 rolls", "2 boxes"."""
    return say("{number} {kind}", number=number, kind=kind if number == 1 else _MANY.get(kind, kind + "s"))
