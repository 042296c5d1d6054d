"""Our own scan codes, and what a scan means.

A code is ten characters: a letter for what it is on (S a thing in stock, P a place, B a person's badge), eight random
ones, and a check character after ISO/IEC 7064, hybrid system MOD M+1,M over our alphabet of 28. The alphabet leaves
out 0 O 1 I L (look-alikes) and all vowels (no words), so any one wrong character is found, and codes can be made on a
tablet that has no network. Eight random characters are 38 bits: among a million things a new one collides once in 370 000.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from inventory.core.reasons import Reason
from inventory.core.said import say

ALPHABET = "23456789BCDFGHJKMNPQRSTVWXYZ"
LENGTH = 10
MAX_CHARS = 4096
On = Literal["item", "place", "person"]
LETTER: dict[On, str] = {"item": "S", "place": "P", "person": "B"}
_ON: dict[str, On] = {letter: on for on, letter in LETTER.items()}
_ALIKE = frozenset("0O1ILU")
_MAX_ALIKE = 2

Kind = Literal["own", "damaged", "plain", "empty", "too_long"]


@dataclass(frozen=True, slots=True)
class Scan:
    """What came out of the scanner. `raw` is untouched. `text` is one line that can be shown and searched for: white
    space collapsed, control characters visible. `code` (ten characters) and `on` are set for our own codes only;
    `reason` says what to do when nothing can be done with it. Look for a mark or a supplier's label with this `text`
    before you show the reason of a damaged code: ten characters on a stranger's label may look like ours."""

    raw: str
    kind: Kind
    text: str = ""
    code: str | None = None
    on: On | None = None
    link: bool = False
    reason: Reason | None = None

    @property
    def mark(self) -> str:
        """`text` for comparing with marks such as "U-3": dashes are one kind, case does not matter."""
        return re.sub("[\u2010-\u2015\u2212]", "-", self.text).casefold()


def check_character(payload: str) -> str:
    """The check character of `payload` (characters of ALPHABET): ISO/IEC 7064, hybrid recursive system."""
    size = len(ALPHABET)
    carry = size
    for ch in payload:
        carry = (carry + ALPHABET.index(ch)) % size or size
        carry = carry * 2 % (size + 1)
    return ALPHABET[(1 - carry) % size]


def make(entropy: bytes, on: On = "item") -> str:
    """A new code from at least 16 random bytes (the caller's: there is no randomness here). ValueError if fewer: the
    surplus is what makes every code equally likely."""
    if len(entropy) < 16:
        raise ValueError("make() needs at least 16 random bytes")
    rest, payload = int.from_bytes(entropy, "big"), LETTER[on]
    for _ in range(LENGTH - 2):
        rest, digit = divmod(rest, len(ALPHABET))
        payload += ALPHABET[digit]
    return payload + check_character(payload)


def is_code(text: str) -> bool:
    """Whether `text` is one of our codes in its stored form: ten capitals and figures, check character right."""
    return _well_formed(text) and check_character(text[:-1]) == text[-1]


def grouped(code: str) -> str:
    """The code as printed for reading: "S7KFM-3XDQR"."""
    return f"{code[:5]}-{code[5:]}"


def _well_formed(text: str) -> bool:
    return len(text) == LENGTH and text[0] in _ON and all(ch in ALPHABET for ch in text)


def visible(raw: str) -> str:
    """One line that can be shown: ends trimmed, white space collapsed, control characters as symbols (U+001D, which
    separates fields on industrial labels and which Python takes for white space, becomes ␝)."""
    pictured = "".join(chr(0x2400 + ord(ch)) if ord(ch) < 32 and ch not in "\t\n\r" else ch for ch in raw)
    spaced = " ".join(pictured.split())
    return "".join(ch if ch.isprintable() else "\ufffd" for ch in spaced)


_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_LINK = re.compile(r"(?:https?://[^/\s?#]+)?(?:/[^/\s?#]+)*/i/([^/\s?#]+)/?(?:[?#]\S*)?", re.IGNORECASE)
_GAPS = re.compile("[\\s\\-\u2010-\u2015\u2212]+")


def _tight(text: str) -> str:
    """Without the spaces and dashes that are printed or typed for reading; capitals."""
    return _GAPS.sub("", text).upper()


def _reason(text: str, alike: bool) -> Reason:
    if alike:
        return Reason("code.look_alike", say("Our codes have no 0, O, 1, I, L or U in them: read it again, or scan it."), {"given": text})
    return Reason(
        "code.damaged", say("That is one of our codes, but a character is wrong or missing: read it again, or scan it."), {"given": text}
    )


def _own(raw: str, text: str) -> Scan | None:
    """Our own code, whole or damaged."""
    tight = _tight(text)
    if is_code(tight):
        return Scan(raw, "own", text, code=tight, on=_ON[tight[0]])
    alike = sum(ch in _ALIKE for ch in tight)
    if len(tight) == LENGTH and tight[0] in _ON and alike <= _MAX_ALIKE and all(ch in ALPHABET or ch in _ALIKE for ch in tight):
        return Scan(raw, "damaged", text, reason=_reason(tight, alike > 0))
    return None


def _own_link(raw: str, text: str) -> Scan | None:
    """Our link, as our QR labels carry it: …/i/<code>. The host does not matter: labels outlive host names."""
    match = _LINK.fullmatch(text)
    if not match:
        return None
    tight = _tight(match[1])
    if is_code(tight):
        return Scan(raw, "own", text, code=tight, on=_ON[tight[0]], link=True)
    return Scan(raw, "damaged", text, link=True, reason=_reason(tight[:24], any(ch in _ALIKE for ch in tight)))


# Tried in this order (own code or link, then what suppliers print); what nobody knows is plain text.
READERS: tuple[Callable[[str, str], Scan | None], ...] = (_own, _own_link)


def normalise(raw: str) -> Scan:
    """What a scan or a typed code means. Never raises, whatever the text; the same text always gives the same answer."""
    if len(raw) > MAX_CHARS:
        text = say("That is {raw} characters long; no label here is. Scan one label at a time.", raw=len(raw))
        return Scan(raw, "too_long", visible(raw[:80]), reason=Reason("scan.too_long", text, {"length": len(raw), "limit": MAX_CHARS}))
    text = visible(raw)
    if not text:
        return Scan(raw, "empty", reason=Reason("scan.empty", say("Nothing was read: scan it again, or type what stands under it.")))
    bare = _SYMBOLOGY.sub("", text, count=1) if _SYMBOLOGY.match(text) else text
    for reader in READERS:
        found = reader(raw, bare)
        if found:
            return found
    return Scan(raw, "plain", text)
