"""Broken and hostile labels from a seed: control characters, other scripts, look-alike letters, markup, very long texts, and real labels
that were spoiled."""

from __future__ import annotations

import random
from collections.abc import Iterator

from .labels import GS, GTIN, RS, bracketed, rolled

MARKUP = (
    "<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "javascript:alert(1)", "{{7*7}}", "{% csrf_token %}", "${7*7}",
    "%00", "%0d%0a", "'; DROP TABLE inventory_act;--", '" OR ""="', "../../etc/passwd", "=HYPERLINK(1)", "\\x00", "&lt;b&gt;", "https://x.example/?q=<svg/onload=1>",
    "http://[::1", "https://x.example/01/%ff%fe/10/A", "data:text/html,<b>", "\u202eABC", "\ufeffABC", "A\u0301" * 20, "𝟙𝟚", "١٢٣",
    "日本語",
)  # fmt: skip
ALIKE = str.maketrans({"A": "А", "B": "В", "E": "Е", "0": "О", "1": "l", "P": "Р", "T": "Т"})
HEADS = (
    "",
    "",
    "",
    "]d2",
    "]C1",
    "]Q3",
    "]Q1",
    "]E0",
    "]zz",
    "[)>",
    "[)>\x1e06\x1d",
    "[)>\x1e05\x1d",
    "01",
    "10",
    "(01)",
    "https://a.example/01/",
    "/i/S",
    "S",
    "1T",
)


def labels(count: int, seed: int = 10_000) -> Iterator[str]:
    chance = random.Random(seed)
    makers = (_noise, _spoiled, _markup, _alike, _scripts, _long, _envelope, _digits)
    for n in range(count):
        yield chance.choice(HEADS) + makers[n % len(makers)](chance) + chance.choice(("", "", GS, "\r\n", RS + "\x04", "\x00"))


def _noise(chance: random.Random) -> str:
    return "".join(
        chr(chance.choice((chance.randrange(32), chance.randrange(127), chance.randrange(0x250)))) for _ in range(chance.randint(0, 60))
    )


def _spoiled(chance: random.Random) -> str:
    text = list("".join(ai + value + GS for ai, value in rolled(chance)))
    for _ in range(chance.randint(1, 4)):
        text[chance.randrange(len(text))] = chance.choice(("", "\x00", "\x1b", "\n", "~", "é", GS, "9", "(", "\ud800"))
    return "".join(text)


def _markup(chance: random.Random) -> str:
    return chance.choice(("", f"01{GTIN}10", f"(01){GTIN}(10)", "1T", "LOT ")) + chance.choice(MARKUP)


def _alike(chance: random.Random) -> str:
    return bracketed(rolled(chance)).translate(ALIKE)


def _scripts(chance: random.Random) -> str:
    block = chance.choice((0x370, 0x400, 0x590, 0x600, 0x900, 0x3040, 0x4E00, 0xFF00, 0x1F600, 0x1D7CE))
    return "".join(chr(block + chance.randrange(80)) for _ in range(chance.randint(1, 40)))


def _long(chance: random.Random) -> str:
    return chance.choice(("A", "10", "\x1d", "(", "1T", "{", "/01", "%", "9")) * chance.randint(1_000, 5_000)


def _envelope(chance: random.Random) -> str:
    fields = [
        chance.choice(("1T", "Q", "7Q", "14D", "2E", "13Q", "9D", "S", "1P", "")) + _noise(chance)[:12] for _ in range(chance.randint(0, 6))
    ]
    return "[)>" + chance.choice((RS, "")) + chance.choice(("05", "06", "12", "07", "")) + GS + GS.join(fields)


def _digits(chance: random.Random) -> str:
    return "".join(chance.choice("0123456789") for _ in range(chance.randint(1, 48)))
