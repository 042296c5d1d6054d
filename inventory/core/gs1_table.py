"""GS1 application identifiers: which there are, and how what follows each is built. Facts of the GS1 General Specifications.

A form is a chain of parts: n digits, x the 82 characters of the invariant set, y the 39 of a component's number, z base 64 for the
web; "n14" is exactly so many, "n..8" at most so many, a part in brackets may be missing. A name such as 310* stands for 3100
to 3105: the last figure tells how many of the digits are decimals.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_DIGITS = frozenset("0123456789")
_X = frozenset("!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz")
_Y = frozenset("#-/0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ")
_Z = frozenset("-=0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz")
CHARACTERS = {"n": _DIGITS, "x": _X, "y": _Y, "z": _Z}

_FORMS = """
n18: 00 8017 8018
n14: 01 02 03 8001
x..20: 10 21 22 243 254 420 4318 7020 7021 7022 710 711 712 713 714 715 716 717 7240 8002 8012
n6: 11 12 13 15 16 17 4326 7006 8005
n6: 310* 311* 312* 313* 314* 315* 316* 320* 321* 322* 323* 324* 325* 326* 327* 328* 329* 330* 331* 332* 333* 334* 335* 336* 337*
n6: 340* 341* 342* 343* 344* 345* 346* 347* 348* 349* 350* 351* 352* 353* 354* 355* 356* 357* 360* 361* 362* 363* 364* 365* 366*
n6: 367* 368* 369* 395*
n2: 20 7241
x..28: 235
x..30: 240 241 250 251 400 401 403 4308 4319 7002 7023 8004 90
n..6: 242
n13 [x..17]: 253
n13 [n..12]: 255
n..8: 30 37
n..15: 390+ 392+
n3 n..15: 391+ 393+
n4: 3940 3941 3942 3943 8111
n17: 402
n13: 410 411 412 413 414 415 416 417 7001
n3 x..9: 421
n3: 422 424 426
n3 n..12: 423 425
x..3: 427 7008
x..35: 4300 4301 4310 4311 4320
x..70: 4302 4303 4304 4305 4306 4312 4313 4314 4315 4316 7257 8110 8112 8200
x2: 4307 4317
n20: 4309
n1: 4321 4322 4323 7252
n10: 4324 4325 7003
n6 [-]: 4330 4331 4332 4333
n..4: 7004
x..12: 7005
n6 [n6]: 7007
x..10: 7009 7255
x..2: 7010
n6 [n4]: 7011
n3 x..27: 703+
n1 x3: 7040
x..4: 7041
x2 x..28: 723+
x..25: 7242 8013 8014 8020
n8: 7250
n12: 7251
x..40: 7253 7254 7259
x..90: 7256 91 92 93 94 95 96 97 98 99
n1 x1 n1: 7258
n14 [x..16]: 8003
n14 n2 n2: 8006 8026
x..34: 8007
n8 [n..4]: 8008
x..50: 8009
y..30: 8010
n..12: 8011
n..10: 8019
z..90: 8030
n15: 8040 8041
n32: 8042
n18 [n..2]: 8043
"""
_PART = re.compile(r"(\[)?(?:([nxyz])(\.\.)?(\d+)|(-))\]?")
DIGITS_CHECKED = {
    "00": 18, "01": 14, "02": 14, "03": 14, "253": 13, "255": 13, "402": 17, "410": 13, "411": 13, "412": 13, "413": 13, "414": 13,
    "415": 13, "416": 13, "417": 13, "8003": 14, "8006": 14, "8017": 18, "8018": 18, "8026": 14,
}  # fmt: skip
"""How many of its first digits carry a check digit at their end."""


@dataclass(frozen=True, slots=True)
class Part:
    characters: frozenset[str]
    least: int
    most: int


@dataclass(frozen=True, slots=True)
class Form:
    """How the value of one identifier is built."""

    parts: tuple[Part, ...]

    @property
    def least(self) -> int:
        return sum(max(part.least, 0) for part in self.parts)

    @property
    def most(self) -> int:
        return sum(part.most for part in self.parts)

    def fits(self, value: str) -> bool:
        """Whether the value is built so. Every part but the last has one length, or is there whole or not at all."""
        rest = value
        for part in self.parts[:-1]:
            if len(rest) < part.least:
                return False
            taken, rest = rest[: part.most], rest[part.most :]
            if not part.characters.issuperset(taken):
                return False
        last = self.parts[-1]
        return len(rest) in _lengths(last) and last.characters.issuperset(rest)


def _lengths(part: Part) -> range | tuple[int, ...]:
    """A part of a fixed length that may be missing is there whole or not at all: its least is negative."""
    return (0, part.most) if part.least < 0 else range(part.least, part.most + 1)


def _part(found: re.Match[str]) -> Part:
    optional = bool(found[1])
    if found[5]:
        return Part(frozenset("-"), 0, 1)
    most = int(found[4])
    if found[3]:
        return Part(CHARACTERS[found[2]], 0 if optional else 1, most)
    return Part(CHARACTERS[found[2]], -1 if optional else most, most)


def _named(name: str) -> list[str]:
    if name[-1] == "*":
        return [name[:-1] + str(n) for n in range(6)]
    return [name[:-1] + str(n) for n in range(10)] if name[-1] == "+" else [name]


def _table() -> dict[str, Form]:
    out: dict[str, Form] = {}
    for line in _FORMS.strip().splitlines():
        form, names = line.split(": ")
        parts = tuple(_part(found) for found in _PART.finditer(form))
        out |= {ai: Form(parts) for name in names.split() for ai in _named(name)}
    return out


TABLE: dict[str, Form] = _table()
_UNPARTED = frozenset(["00", "01", "02", "03", "04", *(str(n) for n in range(11, 21)), *(str(n) for n in range(31, 37)), "41"])


def needs_separator(ai: str) -> bool:
    """Whether another element may only follow after a separator: all but those whose first two digits fix their length."""
    return ai[:2] not in _UNPARTED


def identifier_at(text: str, at: int) -> str | None:
    """The identifier that stands at a place of the text: two, three or four digits, never more than one of them."""
    for length in (2, 3, 4):
        ai = text[at : at + length]
        if ai in TABLE:
            return ai
    return None


def check_digit(digits: str) -> str:
    """The check digit that belongs behind these digits: weights 3, 1, 3 … from the right, what is missing to the next ten."""
    total = sum(int(d) * (3 if n % 2 == 0 else 1) for n, d in enumerate(reversed(digits)))
    return str(-total % 10)


def checks(digits: str) -> bool:
    """Whether the last digit is the check digit of the others."""
    return len(digits) > 1 and _DIGITS.issuperset(digits) and check_digit(digits[:-1]) == digits[-1]
