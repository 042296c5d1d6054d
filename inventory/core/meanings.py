"""What a supplier's identifiers mean where they differ from the standard, or where it leaves them open: "T=serial; 9D=made DDMMYY"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

from inventory.core.labeldates import FORMS, date_in
from inventory.core.labelfacts import Facts, Mark
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung

TEXTS = ("lot", "serial", "part", "customer_part", "order")
DATES = ("made", "expires", "best_before")
_ONE = re.compile(r"([0-9A-Z]{1,4})\s*=\s*([a-z_]+)(?:\s+(\S{1,12}))?", re.ASCII)
_DEFAULTS = {f.name: f.default for f in fields(Facts)}


@dataclass(frozen=True, slots=True)
class Meaning:
    name: str
    form: str = ""


def meanings(said: str) -> dict[str, Meaning]:
    """The meanings by identifier. BadInput meaning.*."""
    out = {}
    for piece in filter(None, (part.strip() for part in said.split(";"))):
        found = _ONE.fullmatch(piece)
        if not found or found[2] not in (*TEXTS, *DATES, "skip"):
            known = strung(", ", (*TEXTS, *DATES, say("skip")))
            raise BadInput(
                "meaning.form", say("Write an identifier and one of {known}, as T=serial; 9D=made DDMMYY.", known=known), "means"
            )
        if (found[2] in DATES) != bool(found[3]) or (found[3] and found[3] not in FORMS):
            raise BadInput(
                "meaning.date", say("A date says how it is written, one of {forms}; nothing else does.", forms=strung(", ", FORMS)), "means"
            )
        out[found[1]] = Meaning(found[2], found[3] or "")
    return out


def as_meant(facts: Facts, marks: Sequence[Mark], said: dict[str, Meaning], this_year: int) -> Facts:
    """The facts with these meanings put in place of the standard's."""
    changed: dict[str, Any] = {}
    for mark in marks:
        meaning = said.get(mark.id)
        if meaning is None:
            continue
        if mark.name in TEXTS + DATES:
            changed.setdefault(mark.name, _DEFAULTS[mark.name])
        if meaning.name == "skip":
            continue
        value = date_in(mark.value, meaning.form, this_year) if meaning.form else mark.value
        if value is not None:
            changed[meaning.name] = value
    return replace(facts, **changed)
