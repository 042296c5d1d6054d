"""The envelope of ISO/IEC 15434: "[)>", then parts that each begin with a format number: 05 holds GS1 elements, 06 data identifiers,
12 text identifiers. Real scanners lose its record separators and its end; the group separators they must not lose."""

from __future__ import annotations

import re

from inventory.core import gs1, identifiers
from inventory.core.gs1 import GS, Broken
from inventory.core.gs1_table import identifier_at
from inventory.core.labelfacts import Gathering
from inventory.core.numerals import shown
from inventory.core.said import say

RS, EOT = "\x1e", "\x04"
HEAD = "[)>"
_PART = re.compile(r"(05|06|12)\x1d(.*)", re.DOTALL)
_TEXT = re.compile(r"([A-Z]{3}) ?([ -~]+)", re.ASCII)
_TEXTS = {
    "PNO": "part",
    "PNR": "part",
    "SER": "serial",
    "SEQ": "serial",
    "LOT": "lot",
    "MFR": "supplier",
    "SPL": "supplier",
    "CAG": "supplier",
}
"""Text identifiers that mean something here (from memory); the others are shown as they stand."""


def is_envelope(text: str) -> bool:
    return text.startswith(HEAD)


def gather(text: str, this_year: int, into: Gathering) -> None:
    """What all parts of the envelope say. Raises Broken."""
    body = text[len(HEAD) :]
    if not body.startswith(RS):
        into.note(
            "label.no_record_separator", say("The scanner lost a separator of the label's envelope; what it holds was read all the same.")
        )
    if not body.endswith(RS + EOT):
        into.note("label.no_end", say("The scanner lost the end of the label's envelope: check that nothing is missing."))
    parts = [part for part in body.rstrip(EOT + RS).split(RS) if part]
    if not parts:
        raise Broken("envelope.empty", say("The label's envelope is empty."))
    for part in parts:
        _gather(part, this_year, into)


def _gather(part: str, this_year: int, into: Gathering) -> None:
    found = _PART.fullmatch(part)
    if not found:
        if GS not in part:
            raise Broken("envelope.no_separators", say("The scanner sent no separators between the label's fields: set it to send them."))
        raise Broken("envelope.format", say("“{part}” is a format of label that is not read here.", part=shown(part[:4])))
    fields = [field for field in found[2].split(GS) if field]
    if found[1] == "05":
        gs1.gather(_gs1(fields, this_year), this_year, into)
    elif found[1] == "06":
        split = [_split(field) for field in fields]
        identifiers.gather(split, this_year, into)
    else:
        for field in fields:
            text = _TEXT.fullmatch(field)
            if not text:
                raise Broken("envelope.field", say("“{field}” has no text identifier.", field=shown(field)))
            into.put(text[1], _TEXTS.get(text[1], ""), text[2].strip(" "))


def _gs1(fields: list[str], this_year: int) -> list[gs1.Element]:
    for field in fields:
        if identifier_at(field, 0) is None:
            raise Broken("gs1.unknown", say("“{field}” is no identifier of a GS1 label.", field=shown(field[:4])))
    return gs1.elements(GS.join(fields), this_year)


def _split(field: str) -> tuple[str, str]:
    found = identifiers.split(field)
    if found is None:
        raise Broken("envelope.field", say("“{field}” has no data identifier.", field=shown(field)))
    return found
