"""A supplier's own way of printing, told once in a plain form: "GF{lot}/{serial}/E{expires:DDMMYY}".

What stands outside the braces must be there as it is. A piece takes all up to what stands next, or so many characters as are given
("{lot:6}"); a date names its form, a quantity its unit ("{quantity:m}"). Matching is one walk from left to right."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

from inventory.core.gs1_table import checks
from inventory.core.labeldates import FORMS, date_in
from inventory.core.labelfacts import Amount, Gathering
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.units import unit_named

TEXTS = ("lot", "serial", "part", "order")
DATES = ("made", "expires", "best_before")
OTHERS = ("quantity", "gtin", "skip")
MAX_CHARS = 200
_PIECE = re.compile(r"\{([a-z_]+)(?::([^{}:]{1,12}))?\}")
_NUMBER = re.compile(r"\d{1,9}(?:\.\d{1,6}|,\d{1,2})?", re.ASCII)
"""A comma before three figures may part thousands: nobody knows, so it is not read."""
_MEASURE = {"um": "length", "cmm2": "area", "ug": "mass", "ul": "volume", "pc": "count"}


@dataclass(frozen=True, slots=True)
class Piece:
    """One step of a pattern: a fixed text, or a named piece with its length, its date's form or its unit."""

    text: str = ""
    name: str = ""
    length: int = 0
    form: str = ""


@dataclass(frozen=True, slots=True)
class Pattern:
    said: str
    pieces: tuple[Piece, ...]


def pattern(said: str) -> Pattern:
    """Read a pattern. BadInput pattern.* says what to change."""
    said = said.strip(" ")
    if not said or len(said) > MAX_CHARS or not said.isprintable():
        raise BadInput("pattern.form", say("Type the pattern as one line of at most {max_chars} characters.", max_chars=MAX_CHARS), "value")
    pieces, at = [], 0
    for found in _PIECE.finditer(said):
        pieces += [Piece(text=said[at : found.start()])] if found.start() > at else []
        pieces.append(_named(found[1], found[2] or ""))
        at = found.end()
    pieces += [Piece(text=said[at:])] if at < len(said) else []
    _sound(pieces)
    return Pattern(said, tuple(pieces))


def _named(name: str, more: str) -> Piece:
    if name in DATES:
        if more not in FORMS:
            raise BadInput(
                "pattern.date",
                say("Say how the date is written, one of {forms}: {{{name}:YYMMDD}}.", forms=strung(", ", FORMS), name=name),
                "value",
            )
        return Piece(name=name, form=more, length=len(more))
    if name == "quantity":
        if more and _unit(more) is None:
            raise BadInput("pattern.unit", say("“{more}” is no unit: write for example {{quantity:m}}.", more=more), "value")
        return Piece(name=name, form=more)
    if name not in TEXTS + OTHERS:
        known = strung(", ", (*TEXTS, *DATES, *OTHERS))
        raise BadInput("pattern.name", say("“{name}” cannot stand in braces; what can is {known}.", name=name, known=known), "value")
    if more and not (more.isascii() and more.isdecimal() and 1 <= int(more) <= 60):
        raise BadInput("pattern.length", say("“{more}” is no length: {{{name}:6}} takes six characters.", more=more, name=name), "value")
    return Piece(name=name, length=int(more or 0))


def _sound(pieces: list[Piece]) -> None:
    """A pattern says for certain where each piece ends, and has something fixed by which the label is known."""
    fixed = sum(len(piece.text) for piece in pieces)
    if any("{" in piece.text or "}" in piece.text for piece in pieces):
        raise BadInput("pattern.braces", say("A brace stands alone: write pieces as {{lot}} or {{made:YYMMDD}}."), "value")
    if not any(piece.name and piece.name != "skip" for piece in pieces):
        raise BadInput("pattern.nothing", say("Put at least one piece such as {{lot}} in braces."), "value")
    if fixed < 2:
        raise BadInput("pattern.too_open", say("Leave at least two characters of the label as they are: it is known by them."), "value")
    for left, right in pairwise(pieces):
        if left.name and right.name and not left.length:
            text = say("Nobody could tell where {{{left}}} ends: give its length, as {{{left}:6}}.", left=left.name)
            raise BadInput("pattern.run_on", text, "value")


def _unit(text: str) -> str | None:
    try:
        return _MEASURE.get(unit_named(text).base)
    except BadInput:
        return None


def match(text: str, wanted: Pattern, this_year: int) -> Gathering | None:
    """What the text says by this pattern; None where it is not built so."""
    into, at = Gathering(), 0
    for n, piece in enumerate(wanted.pieces):
        if piece.text:
            if not text.startswith(piece.text, at):
                return None
            at += len(piece.text)
            continue
        end = at + piece.length if piece.length else _until(text, at, wanted.pieces[n + 1 :])
        value = text[at:end]
        if end > len(text) or end < at or not value or not value.isprintable() or not _put(piece, value, this_year, into):
            return None
        at = end
    return into if at == len(text) else None


def _until(text: str, at: int, rest: tuple[Piece, ...]) -> int:
    return text.find(rest[0].text, at + 1) if rest else len(text)


def _put(piece: Piece, value: str, this_year: int, into: Gathering) -> bool:
    if piece.name in DATES:
        day = date_in(value, piece.form, this_year)
        if day is None:
            return False
        into.put(piece.name, piece.name, value, day)
    elif piece.name == "quantity":
        if not _NUMBER.fullmatch(value):
            return False
        number = value.replace(",", ".")
        measure = _unit(piece.form) if piece.form else "plain"
        into.put("quantity", "amount", value, Amount(measure or "plain", f"{number} {piece.form}".strip()))  # type: ignore[arg-type]
    elif piece.name == "gtin":
        if not (value.isascii() and value.isdecimal() and len(value) in (8, 12, 13, 14) and checks(value)):
            return False
        into.put("gtin", "gtin", value, value.zfill(14))
    else:
        into.put(piece.name, "" if piece.name == "skip" else piece.name, value)
    return True
