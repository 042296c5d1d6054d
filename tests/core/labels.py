"""Labels for tests: the example prefix 952 of GS1, made-up lots; random ones from a seed, and a writer and a reader of symbols that
are not ours."""

from __future__ import annotations

import random
from typing import Any

from inventory.core.gs1_table import TABLE, check_digit

GTIN = "09520000000004"
GS, RS, EOT = "\x1d", "\x1e", "\x04"
YEAR = 2026
TEXT = "ABCDEFGHJKLMNPQRSTUVWXYZabcdefghij0123456789-./_+%"
USED = (
    "01", "10", "11", "15", "17", "21", "240", "241", "30", "310", "311", "314", "320", "321", "322", "323", "350", "351", "352",
    "400", "7003", "8001", "8008", "4331", "4333", "422", "90", "251", "3120", "8200",
)  # fmt: skip


def rolled(chance: random.Random) -> list[tuple[str, str]]:
    """The elements of a label as a mill would print it: an article number, and some others in any order."""
    names = chance.sample([ai for ai in USED if ai != "01"], chance.randint(0, 6))
    out = [("01", gtin(chance)), *((ai, value(ai, chance)) for ai in (full(name, chance) for name in names))]
    chance.shuffle(out)
    return [pair for n, pair in enumerate(out) if pair[0][:3] not in {ai[:3] for ai, _ in out[:n] if len(ai) == 4}]


def full(ai: str, chance: random.Random) -> str:
    return ai + str(chance.randint(0, 3)) if len(ai) == 3 and ai[0] == "3" else ai


def gtin(chance: random.Random) -> str:
    body = f"{chance.randint(0, 9)}952{chance.randint(0, 999_999_999):09d}"
    return body + check_digit(body)


def value(ai: str, chance: random.Random) -> str:
    """A value that may stand behind the identifier."""
    day = f"{chance.randint(20, 40):02d}{chance.randint(1, 12):02d}"
    if ai in ("11", "15", "17"):
        return f"{day}{chance.randint(0, 28):02d}"
    if ai in ("7003", "8008"):
        return f"{day}{chance.randint(1, 28):02d}{chance.randint(0, 23):02d}" + (f"{chance.randint(0, 59):02d}" if ai == "7003" else "")
    if ai == "8001":
        return f"{chance.randint(1, 9999):04d}{chance.randint(1, 99999):05d}{chance.randint(1, 999):03d}{chance.choice('019')}1"
    if ai == "422":
        return chance.choice(("208", "276", "250", "578"))
    form = TABLE[ai]
    if form.parts[0].characters == frozenset("0123456789"):
        length = chance.randint(max(form.least, 1), form.parts[0].most)
        return "".join(chance.choice("0123456789") for _ in range(length))
    return "".join(chance.choice(TEXT) for _ in range(chance.randint(1, form.most)))


def bracketed(pairs: list[tuple[str, str]]) -> str:
    return "".join(f"({ai}){text}" for ai, text in pairs)


def scanned(content: str, kind: str = "DataMatrix", gs1: bool = True) -> Any:
    """What a reader of symbols gives back of a symbol that a writer made of the content."""
    import zxingcpp

    made = zxingcpp.create_barcode(content, getattr(zxingcpp.BarcodeFormat, kind), **({"gs1": True} if gs1 else {}))
    return zxingcpp.read_barcode(zxingcpp.write_barcode_to_image(made, scale=3))
