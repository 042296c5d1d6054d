"""GS1 Digital Link: a web address whose path or query says what is on the label, "https://any.example/01/09520…/10/AB?17=260331".

The host does not matter and nothing is fetched. The path ends in pairs of identifier and value, of which the first is a key."""

from __future__ import annotations

import re
from urllib.parse import unquote

from inventory.core.gs1 import Broken, Element, tried
from inventory.core.gs1_table import TABLE
from inventory.core.said import say

KEYS = {
    "01": ("22", "10", "21", "235"), "8006": ("22", "10", "21"), "8010": ("8011",), "00": (), "253": (), "255": (), "401": (),
    "402": (), "414": ("254", "7040"), "415": ("8020",), "417": ("7040",), "8003": (), "8004": ("7040",),
    "8013": (), "8017": ("8019",), "8018": ("8019",),
}  # fmt: skip
"""What a path may begin with, and what may follow it, in this order."""
_URL = re.compile(r"https?://[^/\s?#]+(/[^?#\s]*)?(?:\?([^#\s]*))?(?:#\S*)?", re.IGNORECASE)


def elements(text: str, this_year: int) -> list[Element] | None:
    """The elements of a link; None: it is no such link. Raises Broken where it is one, with a value that cannot be."""
    found = _URL.fullmatch(text)
    if not found:
        return None
    path = [part for part in (found[1] or "").split("/") if part]
    start = _start(path)
    if start is None:
        return None
    out = [Element(ai, _tried(ai, value, this_year)) for ai, value in zip(path[start::2], path[start + 1 :: 2], strict=True)]
    for pair in re.split("[&;]", found[2] or ""):
        name, _, value = pair.partition("=")
        if name in TABLE:
            out.append(Element(name, _tried(name, value.replace("+", " "), this_year)))
    if len({element.ai for element in out}) != len(out):
        raise Broken("gs1.twice", say("The link names one identifier twice."))
    return out


def _start(path: list[str]) -> int | None:
    """Where the pairs begin: a key, then only what may follow it, to the end of the path."""
    for at in range(len(path) % 2, len(path), 2):
        if path[at] in KEYS:
            follow = [name for name in KEYS[path[at]] if name in path[at + 2 :: 2]]
            if path[at + 2 :: 2] == follow:
                return at
    return None


def _tried(ai: str, value: str, this_year: int) -> str:
    try:
        text = unquote(value, errors="strict")
    except UnicodeDecodeError:
        raise Broken("gs1.form", say("The link holds characters that cannot be read.")) from None
    if ai in ("01", "02") and len(text) in (8, 12, 13) and text.isdecimal():
        text = text.zfill(14)
    return tried(ai, text, this_year)
