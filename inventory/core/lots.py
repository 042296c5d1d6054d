"""A supplier's lot number: kept as printed, compared without what a keyboard or a label printer changes."""

from __future__ import annotations

import re
import unicodedata

from inventory.core.codes import visible
from inventory.core.numerals import shown
from inventory.core.reasons import BadInput
from inventory.core.said import say

MAX_CHARS = 56
"""Four fewer than are kept: a number may get a suffix that tells two lots of one number apart."""
_BLANKS = frozenset("\t\n\r\u00a0\u2007\u2009\u202f\u3000")
"""Blanks that are not printable to Python but are to a person; U+001D, which parts the fields of a label, is not one."""
_DASHES = re.compile("[\u2010-\u2015\u2212\ufe58\ufe63\uff0d]")


def number_key(number: str) -> str:
    """The number folded for comparison: case, blanks, kinds of dash and wide letters do not matter ("t26–031" is T26-031).
    It holds no blank, so a blank can be used to tell apart what must not be compared."""
    text = _DASHES.sub("-", unicodedata.normalize("NFKC", number))
    return "".join(ch for ch in text if ch.isprintable() and not ch.isspace()).casefold()


def lot_number(text: str) -> str:
    """The number as it is kept: one printable line. Raises BadInput lot.number_needed, lot.number_too_long,
    lot.number_unreadable (control characters: two labels were scanned into one field, or a label of another kind)."""
    stripped = text.strip()
    if not any(ch.isalnum() for ch in stripped):
        raise BadInput("lot.number_needed", say("Type or scan the lot number on the label."), "lot")
    if any(not ch.isprintable() and ch not in _BLANKS for ch in stripped):
        raise BadInput(
            "lot.number_unreadable",
            say("“{stripped}” has characters that no lot number has: scan it alone.", stripped=shown(stripped)),
            "lot",
        )
    clean = visible(stripped)
    if len(clean) > MAX_CHARS or len(number_key(clean)) > MAX_CHARS:
        raise BadInput(
            "lot.number_too_long",
            say("A lot number has at most {max_chars} characters; this has {clean}.", max_chars=MAX_CHARS, clean=len(clean)),
            "lot",
            length=len(clean),
        )
    return clean
