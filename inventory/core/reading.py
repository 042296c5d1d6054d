"""What any scan says: one function, from the raw text of a scanner to facts in exact types.

Tried in this order: our own code or link; a GS1 label or link; the envelope of ISO/IEC 15434; single identifiers; what suppliers' own
labels were said to look like; a bare article number. What nobody knows is plain text, and what says that it is one kind and is
not built so is `broken`: this is what was read, nothing is guessed."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from inventory.core import codes, envelope, gs1, gs1_link, identifiers, patterns
from inventory.core.codes import Scan
from inventory.core.gs1 import GS, Broken
from inventory.core.gs1_table import checks
from inventory.core.labeldates import odd
from inventory.core.labelfacts import Facts, Gathering, Mark
from inventory.core.patterns import Pattern
from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.spans import DateText

Kind = Literal["own", "damaged", "empty", "too_long", "gs1", "link", "envelope", "identifiers", "pattern", "gtin", "broken", "plain"]
LABELS = frozenset({"gs1", "link", "envelope", "identifiers", "pattern", "gtin"})
"""Kinds that say something of a thing."""
_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_GS1_SYMBOLS = ("]C1", "]e0", "]e1", "]e2", "]d2", "]d5", "]d8", "]dB", "]Q3", "]Q4", "]J1", "]J4")
"""Symbols that say themselves that they hold GS1 data: square and rectangular, with and without another character set."""


@dataclass(frozen=True, slots=True)
class Reading:
    """`raw` untouched; `scan` what our own codes make of it; `reason` says what to do when nothing can be done with it. `notes` tell
    what a scanner lost and was put right, `warnings` what a person must look at."""

    raw: str
    kind: Kind
    scan: Scan
    facts: Facts = field(default_factory=Facts)
    marks: tuple[Mark, ...] = ()
    notes: tuple[Reason, ...] = ()
    warnings: tuple[Reason, ...] = ()
    reason: Reason | None = None
    pattern: Pattern | None = None

    @property
    def text(self) -> str:
        """What was read, as one line that can be shown."""
        return self.scan.text

    @property
    def is_label(self) -> bool:
        return self.kind in LABELS


@dataclass(frozen=True, slots=True)
class _Raw:
    """The text without what scanners put around it. `symbol`: the symbology identifier, or ""."""

    text: str
    symbol: str
    this_year: int
    patterns: Sequence[Pattern]
    bare: bool


def read(raw: str | bytes, this_year: int, known: Sequence[Pattern] = (), bare: bool = False) -> Reading:
    """What a scan says. Never raises, whatever it is given; the same scan always gives the same answer. `known`: the patterns of
    suppliers' labels; `bare`: whether a single letter may be an identifier here, as on a page where labels are expected."""
    text = raw if isinstance(raw, str) else _decoded(raw)
    scan = codes.normalise(text)
    if scan.kind not in ("plain", "damaged"):
        return Reading(text, scan.kind, scan, reason=scan.reason)
    found = _SYMBOLOGY.match(text.lstrip(" \t\r\n"))
    symbol = found[0] if found else ""
    body = text.strip(" \t\r\n").removeprefix(symbol)
    into = Gathering()
    asked = _Raw(body, symbol, this_year, known, bare)
    for kind, reader in _READERS:
        try:
            said = reader(asked, into)
        except Broken as broken:
            return _broken(text, scan, broken)
        if said is not None:
            return _whole(text, kind, scan, said if isinstance(said, Gathering) else into, asked)
    return Reading(text, scan.kind, scan, reason=scan.reason)


def _decoded(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def _broken(raw: str, scan: Scan, broken: Broken) -> Reading:
    return Reading(raw, "broken", scan, reason=Reason(broken.code, broken.text, {"read": scan.text[:200]}))


def _whole(raw: str, kind: Kind, scan: Scan, into: Gathering, asked: _Raw) -> Reading:
    facts = into.facts()
    if kind == "gs1" and GS not in asked.text:
        _look_for_swallowed(facts, asked.this_year, into)
    _look_at_dates(facts, asked.this_year, into)
    used = next((p for p in asked.patterns if kind == "pattern" and patterns.match(asked.text, p, asked.this_year) is not None), None)
    return Reading(raw, kind, scan, facts, tuple(into.marks), tuple(into.notes), tuple(into.warnings), pattern=used)


# --- readers: the facts, None for "not mine", or Broken -------------------------------------------------


def _link(asked: _Raw, into: Gathering) -> bool | None:
    found = gs1_link.elements(asked.text, asked.this_year)
    if found is None:
        return None
    gs1.gather(found, asked.this_year, into)
    return True


def _gs1(asked: _Raw, into: Gathering) -> bool | None:
    """With the symbology identifier of a GS1 symbol it is one, and has to be right. Without, it must begin as one does, or every
    element of it must be right."""
    text, declared = asked.text, asked.symbol in _GS1_SYMBOLS
    if text.startswith("(") and not declared:
        return _bracketed(asked, into)
    if text.startswith(GS):
        text = text.lstrip(GS)
        into.note("label.leading_separator", say("The scanner sent a separator before the label: it was left out."))
    if not declared and not gs1.looks_whole(text) and GS not in text:
        return None
    try:
        found = gs1.elements(text, asked.this_year)
    except Broken:
        if declared or gs1.looks_whole(text):
            raise
        into.notes.clear()
        return None
    if not declared:
        into.note("label.no_symbology", say("The scanner does not say what kind of symbol this is; it was read as a GS1 label."))
    gs1.gather(found, asked.this_year, into)
    return True


def _bracketed(asked: _Raw, into: Gathering) -> bool | None:
    try:
        found = gs1.bracketed(asked.text, asked.this_year)
    except Broken as broken:
        if broken.code in ("gs1.brackets", "gs1.unknown"):
            return None
        raise
    into.note("label.as_printed", say("Read from the printed form with brackets."))
    gs1.gather(found, asked.this_year, into)
    return True


def _envelope(asked: _Raw, into: Gathering) -> bool | None:
    if not envelope.is_envelope(asked.text):
        return None
    envelope.gather(asked.text, asked.this_year, into)
    return True


def _identifiers(asked: _Raw, into: Gathering) -> bool | None:
    """Fields without their envelope, or a single one that has figures before its letter."""
    fields = [field for field in asked.text.split(GS) if field]
    split = [identifiers.alone(part) for part in fields]
    if not split or None in split or (len(split) == 1 and split[0] is not None and len(split[0][0]) == 1):
        return None
    identifiers.gather([pair for pair in split if pair is not None], asked.this_year, into)
    return True


def _pattern(asked: _Raw, into: Gathering) -> Gathering | None:
    return next((said for p in asked.patterns if (said := patterns.match(asked.text, p, asked.this_year)) is not None), None)


def _letter(asked: _Raw, into: Gathering) -> bool | None:
    """A single letter, where labels are expected; after the patterns, since it may be the beginning of anything."""
    found = identifiers.alone(asked.text) if asked.bare else None
    if found is None:
        return None
    identifiers.gather([found], asked.this_year, into)
    into.note(
        "label.single",
        say("Taken as one field of a label, {found}: what follows the letter is “{found_2}”.", found=found[0], found_2=found[1][:40]),
    )
    return True


def _gtin(asked: _Raw, into: Gathering) -> bool | None:
    text = asked.text
    lengths = (8, 12, 13, 14) if asked.symbol.startswith("]E") else (12, 13, 14)
    if len(text) not in lengths or not checks(text):
        return None
    into.put("01", "gtin", text, text.zfill(14))
    return True


_READERS: tuple[tuple[Kind, Callable[[_Raw, Gathering], Gathering | bool | None]], ...] = (
    ("link", _link),
    ("gs1", _gs1),
    ("envelope", _envelope),
    ("identifiers", _identifiers),
    ("pattern", _pattern),
    ("identifiers", _letter),
    ("gtin", _gtin),
)


# --- what a person must look at --------------------------------------------------------------------------


def _look_for_swallowed(facts: Facts, this_year: int, into: Gathering) -> None:
    for name, value in (("lot", facts.lot), ("serial", facts.serial), ("part", facts.part), ("customer_part", facts.customer_part)):
        tail = gs1.swallowed(value, this_year)
        if tail:
            text = say(
                "“{value}” may be two fields run together (… {tail}): the scanner sent no separator. Compare it with the print.",
                value=value,
                tail=tail,
            )
            into.warn("label.swallowed", text, field=name, tail=tail)


def _look_at_dates(facts: Facts, this_year: int, into: Gathering) -> None:
    dates: tuple[tuple[str, DateText | None], ...] = (
        ("expires", facts.expires),
        ("best_before", facts.best_before),
        ("made", facts.made),
    )
    for name, day in dates:
        if day is not None and odd(day, this_year):
            text = say("The label's date reads as {day}, which can hardly be meant: type it as it is printed.", day=day)
            into.warn("label.odd_date", text, field=name, date=str(day))
    if facts.made and facts.expires and facts.expires.last_day < facts.made.last_day:
        text = say(
            "The label says made {made} and expires {expires}, which is before: read it yourself.", made=facts.made, expires=facts.expires
        )
        into.warn("label.ends_before_made", text, field="expires")
