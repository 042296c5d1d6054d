"""Numbers as people type them: read exactly, or refused with what to type instead.

A point is always decimal (it is what our screens print). A comma is decimal too, unless exactly three digits follow one
to three ("1,234"): that is 1.234 to one reader and 1234 to another, so it is asked for again. Spaces may group
thousands. Powers of ten are refused: nobody types them on purpose, and 1e999 would fill the memory.
"""

from __future__ import annotations

import re
from fractions import Fraction

from inventory.core.reasons import BadInput
from inventory.core.said import say

MAX_CHARS = 64
_SPACES = " \u00a0\u2009\u202f"
_LEAD = re.compile(rf"([+\-\u2212]?)([0-9.,](?:[0-9.,{_SPACES}]*[0-9.,])?)(.*)", re.DOTALL)
_PLAIN = re.compile(rf"([0-9]+|[0-9]{{1,3}}(?:[{_SPACES}][0-9]{{3}})+)?(?:[.,]([0-9]+))?")
_ONE_COMMA = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:(?:,[0-9]{3})+(?:\.[0-9]+)?|(?:\.[0-9]{3})+(?:,[0-9]+)?)")
_POWER = re.compile(r"[eE][+\-\u2212]?[0-9]")


def shown(text: str) -> str:
    """What was typed, short and printable, to be repeated in a message."""
    cut = "".join(ch if ch.isprintable() else "\ufffd" for ch in text[:24])
    return cut + ("…" if len(text) > 24 else "")


def _not_a_number(topic: str, text: str, hint: str) -> BadInput:
    return BadInput(
        f"{topic}.not_a_number", say("“{text}” is not a number that can be read. {hint}", text=shown(text), hint=hint), given=shown(text)
    )


def _body(topic: str, body: str) -> Fraction:
    """The value of a number without sign; refuses what can be read in two ways."""
    if _ONE_COMMA.fullmatch(body):
        point, plain = body.replace(",", "."), body.replace(",", "")
        raise BadInput(
            f"{topic}.ambiguous",
            say("“{body}” can be read in two ways: type {point} or {plain}.", body=body, point=point, plain=plain),
            given=body,
        )
    plain_match = _PLAIN.fullmatch(body)
    if plain_match:
        whole = re.sub(f"[{_SPACES}]", "", plain_match[1] or "")
        part = plain_match[2] or ""
        return Fraction(int(whole + part), 10 ** len(part))
    if _GROUPED.fullmatch(body):
        kinds = [ch for ch in body if ch in ".,"]
        last = kinds[-1] if kinds[-1] != kinds[0] else ""
        clean = "".join("." if ch == last else ch for ch in body if ch.isdigit() or ch == last)
        raise BadInput(
            f"{topic}.ambiguous",
            say("“{body}” has two kinds of separator or groups of thousands: type {clean}.", body=body, clean=clean),
            given=body,
        )
    raise _not_a_number(topic, body, say("Type it like 6.20 or 6,20."))


def leading_number(text: str, topic: str = "number") -> tuple[Fraction, str]:
    """The number that a text begins with, and the rest of the text (a unit, perhaps).

    Raises BadInput with code `<topic>.not_a_number` or `<topic>.ambiguous`; the sentence says what to type."""
    trimmed = text.strip()
    if len(trimmed) > MAX_CHARS:
        raise _not_a_number(topic, trimmed, say("It is longer than {max_chars} characters.", max_chars=MAX_CHARS))
    match = _LEAD.fullmatch(trimmed)
    if not match:
        raise _not_a_number(topic, trimmed, say("Type it like 6.20 or 6,20."))
    sign, body, rest = match.groups()
    if _POWER.match(rest):
        raise _not_a_number(topic, trimmed, say("Write it out in full: 1000, not 1e3."))
    value = _body(topic, body)
    return (value if sign in ("", "+") else -value), rest.strip()


def number(text: str, topic: str = "number") -> Fraction:
    """A number and nothing else, exactly. Raises BadInput as `leading_number` does."""
    value, rest = leading_number(text, topic)
    if rest:
        raise _not_a_number(topic, text, say("Type the number alone."))
    return value


def plain(value: Fraction, places: int) -> str:
    """`value` with that many decimals (≥ 0), rounded half-even, a real minus sign, and never "−0.0"."""
    scaled = round(abs(value) * 10**places)
    digits = str(scaled).rjust(places + 1, "0")
    body = f"{digits[:-places]}.{digits[-places:]}" if places else digits
    return f"−{body}" if value < 0 and scaled else body
