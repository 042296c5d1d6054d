"""GS1 element strings: read strictly, with every length, character, check digit and date tried.

`elements` takes the text between symbology identifier and end; `gather` says what its elements mean. What breaks a rule of the
standard's own is `Broken`; what scanners lose on the way (a separator more or less at an end) is taken."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.gs1_table import DIGITS_CHECKED, TABLE, checks, identifier_at, needs_separator
from inventory.core.labeldates import dated, full_year
from inventory.core.labelfacts import Amount, Gathering, Measure, figure, milli
from inventory.core.numerals import shown
from inventory.core.said import say
from inventory.core.spans import DateText

GS = "\x1d"
_BRACKET = re.compile(r"\((\d{2,4})\)", re.ASCII)
_SHORT_DATES = frozenset({"11", "12", "13", "15", "16", "17", "4326", "7006"})


class Broken(Exception):
    """A label that says it is one kind and is not built so. `text` says what is wrong with it."""

    def __init__(self, code: str, text: str) -> None:
        super().__init__(text)
        self.code, self.text = code, text


@dataclass(frozen=True, slots=True)
class Element:
    ai: str
    value: str


def elements(text: str, this_year: int) -> list[Element]:
    """The elements of an element string. Raises Broken."""
    out: list[Element] = []
    at, end = 0, len(text)
    while at < end:
        if text[at] == GS:
            at += 1
            continue
        ai = identifier_at(text, at)
        if ai is None:
            raise Broken("gs1.unknown", say("“{text}” is no identifier of a GS1 label.", text=shown(text[at : at + 4])))
        start = at + len(ai)
        stop = text.find(GS, start)
        stop = end if stop < 0 else stop
        at = stop if needs_separator(ai) else min(stop, start + TABLE[ai].most)
        out.append(Element(ai, tried(ai, text[start:at], this_year)))
    if not out:
        raise Broken("gs1.empty", say("The label holds no GS1 element."))
    _once(out)
    return out


def bracketed(text: str, this_year: int) -> list[Element]:
    """The elements of a label as it is printed for people, "(01)09520…(10)AB". Raises Broken; so does a value that holds
    something like an identifier in brackets, since nobody can tell it from one."""
    pieces = _BRACKET.split(text)
    if pieces[0] or len(pieces) < 3:
        raise Broken("gs1.brackets", say("This is not a GS1 label in brackets."))
    out = [
        Element(ai, tried(ai, value.strip(" "), this_year) if ai in TABLE else _unknown(ai))
        for ai, value in zip(pieces[1::2], pieces[2::2], strict=True)
    ]
    _once(out)
    return out


def _unknown(ai: str) -> str:
    raise Broken("gs1.unknown", say("({ai}) is no identifier of a GS1 label.", ai=ai))


def _once(found: list[Element]) -> None:
    """An identifier stands once on a label, or again with the same value."""
    seen: dict[str, str] = {}
    for element in found:
        if seen.setdefault(element.ai, element.value) != element.value:
            raise Broken("gs1.twice", say("({ai}) stands on the label twice, with two values: were two labels read as one?", ai=element.ai))


def tried(ai: str, value: str, this_year: int) -> str:
    """The value, if it is one of this identifier. Raises Broken."""
    if not TABLE[ai].fits(value):
        raise Broken(
            "gs1.form",
            say(
                "“{value}” cannot stand after ({ai}): too short, too long, or a character that cannot be there.", value=shown(value), ai=ai
            ),
        )
    digits = DIGITS_CHECKED.get(ai)
    if digits and not checks(value[:digits]):
        raise Broken("gs1.check_digit", say("The check digit of ({ai}) {value} is wrong: scan it again.", ai=ai, value=shown(value)))
    rule = _RULES.get(ai) or _RULES.get(ai[:3] + "*")
    if rule is not None and not rule(value, this_year):
        raise Broken("gs1.value", say("“{value}” after ({ai}) cannot be: no such day, time or piece.", value=shown(value), ai=ai))
    return value


# --- dates and pieces -------------------------------------------------------------------------------


def short_date(value: str, this_year: int) -> DateText | None:
    """YYMMDD; day 00 is the month's last."""
    return dated(full_year(int(value[:2]), this_year), int(value[2:4]), int(value[4:6]))


def _timed(value: str, this_year: int) -> bool:
    """YYMMDD, hours, minutes and seconds, as far as they are there."""
    clock = value[6:]
    sound = not clock or (int(clock[:2] or 0) < 24 and int(clock[2:4] or 0) < 60 and int(clock[4:6] or 0) < 60)
    return int(value[4:6]) > 0 and short_date(value[:6], this_year) is not None and sound


def _due(value: str, this_year: int) -> bool:
    """When something is to be delivered: the day may be open, and so may the time."""
    day_open = value[:4] + "01" if value[4:6] == "00" else value[:6]
    return _timed(day_open, this_year) if value[6:] == "9999" else _timed(day_open + value[6:], this_year)


def _produced(value: str, this_year: int) -> bool:
    return len(value) % 2 == 0 and _timed(value, this_year)


def _span(value: str, this_year: int) -> bool:
    """One day, or a first and a last."""
    days = [short_date(value[i : i + 6], this_year) for i in range(0, len(value), 6)]
    return all(day is not None for day in days) and all(value[i + 4 : i + 6] != "00" for i in range(0, len(value), 6))


def _piece(value: str, this_year: int) -> bool:
    """Piece n of m."""
    return 1 <= int(value[14:16]) <= int(value[16:18])


_RULES: dict[str, Callable[[str, int], bool]] = {
    **dict.fromkeys(_SHORT_DATES - {"4326", "7006"}, lambda v, y: short_date(v, y) is not None),
    "4326": _span, "7006": _span, "7007": _span, "7011": _timed,
    "7003": _timed, "8008": _produced, "4324": _due, "4325": _due,
    "8006": _piece, "8026": _piece,
    "8001": lambda v, y: v[12] in "019",
    "8003": lambda v, y: v[0] == "0",
}  # fmt: skip


# --- what they mean ----------------------------------------------------------------------------------

_TEXTS = {
    "01": "gtin", "02": "gtin", "03": "gtin", "8006": "gtin", "8026": "gtin", "10": "lot", "21": "serial", "240": "part",
    "241": "customer_part", "400": "order",
}  # fmt: skip
_DATES = {"11": "made", "15": "best_before", "17": "expires", "7003": "expires", "8008": "made"}
_MEASURES: dict[str, tuple[Measure, str]] = {
    "310": ("mass", "kg"), "320": ("mass", "lb"), "311": ("length", "m"), "321": ("length", "in"), "322": ("length", "ft"),
    "323": ("length", "yd"), "314": ("area", "m²"), "350": ("area", "in²"), "351": ("area", "ft²"), "352": ("area", "yd²"),
    "315": ("volume", "l"),
}  # fmt: skip
_TEMPERATURES = {"4331": "warmest_mc", "4333": "coldest_mc", "4330": "warmest_mc", "4332": "coldest_mc"}


def gather(found: list[Element], this_year: int, into: Gathering) -> None:
    """What the elements say, put into the facts."""
    for element in found:
        _put(element.ai, element.value, this_year, into)
    look_together(found, into)


def _put(ai: str, value: str, this_year: int, into: Gathering) -> None:
    measure = _MEASURES.get(ai[:3])
    if ai in ("8006", "8026"):
        into.put(ai, "gtin", value, value[:14])
        into.said.setdefault("package", []).append((int(value[14:16]), int(value[16:18])))
    elif ai in _TEXTS:
        into.put(ai, _TEXTS[ai], value)
    elif ai in _DATES:
        into.put(ai, _DATES[ai], value, short_date(value[:6], this_year))
    elif measure is not None:
        into.put(ai, "amount", value, Amount(measure[0], f"{figure(value, int(ai[3]))} {measure[1]}"))
    elif ai in ("30", "37"):
        into.put(ai, "amount", value, Amount("count", f"{int(value)} pc"))
    elif ai == "8001":
        into.put(ai, "amount", value, Amount("length", f"{int(value[4:9])} m"))
        into.said["width_um"] = [int(value[:4]) * 1000]
    elif ai[:3] == "312":
        into.put(ai, "width_um", value, milli(figure(value, int(ai[3]))) * 1000)
    elif ai in _TEMPERATURES:
        into.put(ai, _TEMPERATURES[ai], value, _celsius(ai, value))
    else:
        into.put(ai, "", value)


def _celsius(ai: str, value: str) -> int:
    """Hundredths of a degree, a minus sign behind them; in °F for the even two."""
    degrees = ("-" if value.endswith("-") else "") + figure(value.rstrip("-"), 2)
    return milli(degrees) if ai in ("4331", "4333") else round(Fraction((milli(degrees) - 32_000) * 5, 9))


_ITEMS = frozenset({"01", "02", "03", "255", "8006", "8026"})
_OF_ITEMS = ("10", "11", "13", "15", "16", "17", "20", "21", "22", "240", "241", "242", "250", "251", "30", "7003", "8001")
_OF_CONTENT = ("31", "32", "35", "36")


def look_together(found: list[Element], into: Gathering) -> None:
    """What belongs together on a label: said where it does not, since then only a part of it was scanned, or it is printed wrong."""
    there = {element.ai for element in found}
    of_items = {ai for ai in there if ai in _OF_ITEMS or (len(ai) == 4 and ai[:2] in _OF_CONTENT)}
    if of_items and not there & _ITEMS:
        into.note("label.part_of", say("The label has no article number in this symbol: scan its other symbol too, if it has one."))
    if ("02" in there) != ("37" in there) or ("37" in there and "00" not in there):
        into.note("label.part_of", say("The label tells of several articles in a package, and a part of that is missing: count them."))
    apart = [(a, b) for a, b in (("01", "02"), ("01", "37"), ("01", "03"), ("4331", "4330"), ("4333", "4332")) if {a, b} <= there]
    apart += [(a, b) for a in there for b in there if a < b and a[:3] == b[:3] and len(a) == 4 and a[:3] in _MEASURES]
    for a, b in sorted(apart):
        into.warn(
            "label.together",
            say("({a}) and ({value}) do not stand on one label: were two labels read as one?", a=a, value=b),
            first=a,
            second=b,
        )


# --- separators that were lost -----------------------------------------------------------------------


def swallowed(value: str, this_year: int) -> str:
    """The part at the end of a text that looks like further elements, because the scanner sent no separator; or "". What has a
    check, a date or a fixed length convinces; a serial number only behind at least two characters."""
    for at in range(1, len(value) - 2):
        tail = value[at:]
        ai = identifier_at(tail, 0)
        if ai is None or (needs_separator(ai) and (at < 2 or ai not in ("10", "21", "240", "241") or len(tail) < len(ai) + 2)):
            continue
        try:
            found = elements(tail, this_year)
        except Broken:
            continue
        if ai in _SHORT_DATES or ai in ("01", "02", "10", "21", "240", "241") or (ai[:3] in _MEASURES and found):
            return tail
    return ""


def looks_whole(text: str) -> bool:
    """Whether a text without any sign of its kind begins as a GS1 label does: a key with its right check digit."""
    for ai, length in (("01", 14), ("02", 14), ("00", 18), ("8006", 14)):
        value = text[len(ai) : len(ai) + length]
        if text.startswith(ai) and len(value) == length and checks(value):
            return True
    return False


__all__ = ["GS", "Broken", "Element", "bracketed", "elements", "gather", "look_together", "looks_whole", "short_date", "swallowed", "tried"]
