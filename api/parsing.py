"""JSON as it should be: one value for each key, numbers that are numbers, UTF-8, not endlessly deep."""

from __future__ import annotations

import codecs
import json
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser

from inventory.core.reasons import BadInput

MAX_DEPTH = 12
MOST_BODY = 2_500_000
"""Bytes that are read of a body, unless its view says another figure (`most_body`)."""


class StrictJSONParser(BaseParser):
    """Refuses what other readers would each take differently: a key twice, NaN and Infinity, a wrong charset, deep nesting. Reads
    the body itself: the framework's own parser would read all of it first, by one limit for every address."""

    media_type = "application/json"

    def parse(self, stream: IO[bytes], media_type: str | None = None, parser_context: Any = None) -> Any:
        charset = _charset(media_type or "")
        if charset.lower().replace("_", "-") not in ("utf-8", "utf8"):
            raise ParseError("Send the body as UTF-8.")
        most = getattr((parser_context or {}).get("view"), "most_body", MOST_BODY)
        raw = stream.read(most + 1)
        if len(raw) > most:
            raise BadInput("body.too_large", f"The body is larger than {most / 1e6:g} MB, which is the most that is read here.", "body")
        try:
            text = codecs.decode(raw, "utf-8", "strict")
        except UnicodeDecodeError:
            raise ParseError("The body is not UTF-8.") from None
        if "\x00" in text or "\\u0000" in text:
            raise ParseError("The body contains a NUL character.")
        try:
            value = json.loads(text, object_pairs_hook=_no_twins, parse_constant=_no_constant, parse_float=_finite)
        except RecursionError:
            raise ParseError("The body is nested too deeply.") from None
        except ValueError as error:
            raise ParseError(f"The body is not JSON: {error}"[:300]) from None
        if _deeper(value, MAX_DEPTH):
            raise ParseError("The body is nested too deeply.")
        return value


def _charset(media_type: str) -> str:
    """The charset parameter of a content type; JSON's own is UTF-8."""
    for part in media_type.split(";")[1:]:
        name, _, value = part.partition("=")
        if name.strip().lower() == "charset":
            return value.strip().strip('"')
    return "utf-8"


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) != len(pairs):
        raise ParseError("A key stands twice in the body.")
    return out


def _no_constant(name: str) -> Any:
    raise ParseError(f"{name} is not a number.")


def _finite(text: str) -> float:
    value = float(text)
    if value in (float("inf"), float("-inf")):
        raise ParseError("A number in the body is too large.")
    return value


def _deeper(value: Any, left: int) -> bool:
    if not isinstance(value, (dict, list)):
        return False
    if left == 0:
        return True
    return any(_deeper(v, left - 1) for v in (value.values() if isinstance(value, dict) else value))
