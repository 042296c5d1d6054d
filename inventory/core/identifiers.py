"""Data identifiers of ASC MH10.8.2: a letter with up to three figures before it, "1TAB-77", as industrial mills print them.

Inside an envelope each field has one. Alone, in a Code 128 or Code 39, such a text may as well be a plain word: `alone` is careful."""

from __future__ import annotations

import re

from inventory.core.gs1 import Broken
from inventory.core.labeldates import date_in
from inventory.core.labelfacts import Amount, Gathering, Measure, milli
from inventory.core.numerals import shown
from inventory.core.said import say

_FIELD = re.compile(r"(\d{0,3}[A-Z])([ -~]+)", re.ASCII)
_NUMBER = re.compile(r"\d{1,12}(?:\.\d{1,6})?", re.ASCII)
_CELSIUS = re.compile(r"[+-]?\d{1,4}(?:\.\d{1,2})?", re.ASCII)
TEXTS = {
    "P": "customer_part", "1P": "part", "T": "lot", "1T": "lot", "S": "serial", "K": "order", "V": "supplier", "1V": "supplier",
    "17V": "supplier",
}  # fmt: skip
DATES = {
    "14D": ("expires", "YYYYMMDD"), "15D": ("expires", "DDMMYYYY"), "16D": ("made", "YYYYMMDD"), "17D": ("made", "DDMMYYYY"),
    "25D": ("best_before", "YYYYMMDD"),
}  # fmt: skip
UNITS: dict[str, tuple[Measure, str]] = {
    "EA": ("count", "pc"), "PC": ("count", "pc"), "RL": ("count", "pc"), "CN": ("count", "pc"),
    "KG": ("mass", "kg"), "GR": ("mass", "g"), "LB": ("mass", "lb"), "OZ": ("mass", "oz"),
    "MR": ("length", "m"), "LM": ("length", "m"), "CM": ("length", "cm"), "MM": ("length", "mm"),
    "FT": ("length", "ft"), "LF": ("length", "ft"),
    "YD": ("length", "yd"), "LY": ("length", "yd"), "IN": ("length", "in"),
    "SM": ("area", "m²"), "SF": ("area", "ft²"), "SY": ("area", "yd²"), "LT": ("volume", "l"), "ML": ("volume", "ml"),
    # what Rec 20 of UN/ECE calls them, which the same labels use as well
    "MTR": ("length", "m"), "MTK": ("area", "m²"), "KGM": ("mass", "kg"), "GRM": ("mass", "g"), "C62": ("count", "pc"),
    "LTR": ("volume", "l"), "FOT": ("length", "ft"), "YRD": ("length", "yd"), "LBR": ("mass", "lb"),
}  # fmt: skip
"""Codes of units on labels: two characters after ANSI X12 element 355 (from memory), three after UN/ECE Rec 20."""
_OPEN = frozenset({"P", "T", "S", "Q", "K"})
"""Single letters that count alone, and only before something with a figure in it: else they are the beginning of a word."""
_KNOWN = {*TEXTS, *DATES, "Q", "7Q", "3Q", "13Q", "6Q", "2E", "3E"}


def split(text: str) -> tuple[str, str] | None:
    """Identifier and value of one field."""
    found = _FIELD.fullmatch(text)
    return (found[1], found[2].strip(" ")) if found else None


def alone(text: str) -> tuple[str, str] | None:
    """Identifier and value, where a text that stands by itself can hardly be anything else."""
    found = split(text)
    if found is None or found[0] not in _KNOWN:
        return None
    di, value = found
    if len(di) == 1 and (di not in _OPEN or len(value) < 3 or not value[0].isalnum() or not any(ch.isdigit() for ch in value)):
        return None
    return found if value and (di not in ("Q",) or _NUMBER.fullmatch(value)) else None


def gather(fields: list[tuple[str, str]], this_year: int, into: Gathering) -> None:
    """What the fields say, put into the facts. Raises Broken where a field cannot be what it says."""
    unit = next((UNITS.get(value.upper()) for di, value in fields if di == "3Q"), None)
    for di, value in fields:
        if di in TEXTS:
            into.put(di, TEXTS[di], value)
        elif di in DATES:
            name, form = DATES[di]
            day = date_in(value, form, this_year)
            if day is None:
                raise Broken("di.date", say("“{value}” after {di} is no date as {form}.", value=shown(value), di=di, form=form))
            into.put(di, name, value, day)
        elif di == "Q":
            into.put(di, "amount", value, _amount(value, unit))
        elif di == "7Q":
            number, code = value[:-2].strip(), value[-2:].upper()
            into.put(di, "amount", value, _amount(number, UNITS.get(code)))
        elif di in ("13Q", "6Q"):
            into.put(di, "package", value, *_package(di, value))
        elif di in ("2E", "3E"):
            into.put(di, "warmest_mc" if di == "2E" else "coldest_mc", value, _temperature(di, value))
        else:
            into.put(di, "", value)


def _amount(number: str, unit: tuple[Measure, str] | None) -> Amount:
    if not _NUMBER.fullmatch(number):
        raise Broken("di.quantity", say("“{number}” is no quantity.", number=shown(number)))
    return Amount(unit[0], f"{number} {unit[1]}") if unit else Amount("plain", number)


def _package(di: str, value: str) -> tuple[tuple[int, int]]:
    n, _, of = value.partition("/")
    if not (n.isascii() and of.isascii() and n.isdecimal() and of.isdecimal() and len(n) < 6 and len(of) < 6 and 1 <= int(n) <= int(of)):
        raise Broken("di.package", say("“{value}” after {di} is not “this one/of how many”.", value=shown(value), di=di))
    return ((int(n), int(of)),)


def _temperature(di: str, value: str) -> int:
    if not _CELSIUS.fullmatch(value) or not -273_150 <= milli(value) <= 1_000_000:
        raise Broken("di.temperature", say("“{value}” after {di} is no temperature in °C.", value=shown(value), di=di))
    return milli(value)
