"""A temperature log, read from the plain CSV that loggers export: junk above the data, °C or °F, decimal commas or points, several
probes, local time or UTC, lines twice, out of order, or over the clock change.

Whatever was not understood is reported line by line and left out; what would make the rest wrong (two orders of the date, two values
at one time, the wrong unit, another year) is refused with what to do. Instants are µs, temperatures whole m°C. Gaps are not filled:
`readings.gaps` finds them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import islice, pairwise
from typing import Any

from inventory.core import logtimes
from inventory.core.logcolumns import NOTHING, NUMBER, SAMPLE, Layout, cells_of, layout
from inventory.core.numerals import shown
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.spans import Zone
from inventory.core.temperature import ABSOLUTE_ZERO_MC, HOTTEST_MC, display_celsius

MAX_LINES = 2_000_000
MOST_TEXT = 5_000_000
"""Characters of a log that is handed in as text, or read while somebody waits."""
TELL_EVERY = 4_096
_MESSAGES = {
    "tlog.no_value": say("No value."),
    "tlog.not_a_number": say("Not a number that can be read."),
    "tlog.not_a_time": say("Not a time that can be read."),
    "tlog.out_of_range": say("Not a temperature that can be: is the probe broken or unplugged?"),
    "tlog.cells": say("Fewer cells than the line needs."),
}
_SAID = {"C": "C", "F": "F", "K": "K", "°C": "C", "°F": "F", "CELSIUS": "C", "FAHRENHEIT": "F", "KELVIN": "K"}


@dataclass(frozen=True, slots=True)
class Probe:
    """The readings of one probe: rising instants (µs) and m°C, as long as each other."""

    name: str
    at_us: tuple[int, ...]
    mc: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """Lines (both included) from which something was left out: for `probe`, or as a whole (""). `given`: the cell of the first."""

    first_line: int
    last_line: int
    probe: str
    code: str
    text: str
    given: str


@dataclass(frozen=True, slots=True)
class Log:
    """What a file says. `left`: every line that was not understood; `notes`: what was done with the rest; `order`: of the
    date ("ymd", "dmy", "mdy", "" for elapsed time); `layout`: how the file was found to be laid out, in words."""

    probes: tuple[Probe, ...]
    left: tuple[Left, ...]
    notes: tuple[Reason, ...]
    order: str
    layout: str = ""


@dataclass(slots=True)
class _Lines:
    """The data as they are read: line numbers, times (a Stamp, or elapsed µs), and m°C or None by probe."""

    number: list[int]
    time: list[logtimes.Stamp | int]
    values: list[list[int | None]]
    left: list[Left]


def read_log(
    text: str,
    zone: Zone,
    unit: str = "",
    day_first: bool | None = None,
    stated: tuple[int, int] | None = None,
    expected_mc: tuple[int, int] | None = None,
    probes: Sequence[str] = (),
    start_us: int | None = None,
    tell: Callable[[int, int], None] | None = None,
) -> Log:
    """A log from its text. `zone`: of local times that name none; `unit`: °C or °F where the file does not say; `stated`: the period
    (instants µs) that it is said to cover; `expected_mc`: what such a place may be at, by which a wrong unit is found out; `probes`:
    headings of the columns to use; `start_us`: when an elapsed time began; `tell`: is called now and then with (lines read, lines).

    Raises BadInput tlog.empty, .too_many, .no_time, .no_probe, .unknown_probe, .no_unit, .unit_conflict, .decimal_comma, .two_decimals,
    .nothing, .no_such_day, .date_order, .no_such_time, .clock_change, .two_values, .wrong_unit, .other_year, .other_time."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if len(lines) > MAX_LINES:
        raise BadInput(
            "tlog.too_many",
            say("The log has more than {max_lines} lines: hand it in by the month.", max_lines=MAX_LINES),
            "file",
            most=MAX_LINES,
        )
    if not text.strip():
        raise BadInput("tlog.empty", say("The file is empty."), "file")
    plan = layout(lines[:SAMPLE], _said_unit(unit), probes, start_us is not None)
    units = _units(plan, _said_unit(unit))
    found = _read(lines, plan, units, tell)
    at, notes, order = _instants(found, plan, zone, day_first, stated, start_us)
    read = tuple(_probe(plan.probes[n][1], at, [v[n] for v in found.values], found.number, notes) for n in range(len(units)))
    if not any(p.at_us for p in read):
        raise BadInput("tlog.nothing", say("No line of the log has a value: is it the right file?"), "file")
    _check_unit(read, units[0], expected_mc)
    _check_period(read, stated)
    if plan.unused:
        names = strung(", ", (say("“{count}”", count=shown(n)) for n in plan.unused))
        notes.append(Reason("tlog.unused", say("Not used: {names}.", names=names), {"columns": len(plan.unused)}))
    return Log(read, tuple(_merged(found.left)), tuple(notes), order, _laid_out(plan, order))


# --- units and values ------------------------------------------------------------------------------


def _said_unit(unit: str) -> str:
    said = "".join(unit.split()).upper()
    if said and said not in _SAID:
        raise BadInput(
            "tlog.no_unit", say("“{unit}” is no unit of temperature: say °C or °F.", unit=shown(unit)), "unit", given=shown(unit)
        )
    return _SAID.get(said, "")


def _units(plan: Layout, said: str) -> list[str]:
    for _, name, own in plan.probes:
        if not own:
            raise BadInput(
                "tlog.no_unit",
                say("Nothing says whether “{name}” is in °C or °F: say which.", name=shown(name)),
                "unit",
                column=shown(name),
            )
        if said and own != said:
            text = say(
                "“{name}” says °{own}, and °{said} was said: leave the unit out, or correct it.", name=shown(name), own=own, said=said
            )
            raise BadInput("tlog.unit_conflict", text, "unit", column=shown(name))
    return [own for _, _, own in plan.probes]


def to_mc(cell: str, unit: str) -> int | str | None:
    """A cell as m°C, rounded half-even; None for a word that says "no value"; else the code of what is wrong."""
    found = NUMBER.fullmatch(cell)
    if not found or not (found[2] or found[4]):
        return None if cell.strip().casefold() in NOTHING else "tlog.not_a_number"
    own = (found[5] or {"℃": "C", "℉": "F"}.get(found[6] or "", "")).upper()
    digits, part = found[2] or "0", found[4] or ""
    value = Fraction(int(digits + part), 10 ** len(part)) * (1 if found[1] in ("", "+") else -1)
    scale = own or unit
    celsius = value if scale == "C" else (value - 32) * Fraction(5, 9) if scale == "F" else value - Fraction(27315, 100)
    mc = round(celsius * 1000)
    return mc if ABSOLUTE_ZERO_MC < mc <= HOTTEST_MC else "tlog.out_of_range"


def _read(lines: Sequence[str], plan: Layout, units: Sequence[str], tell: Callable[[int, int], None] | None = None) -> _Lines:
    found = _Lines([], [], [], [])
    seen: dict[tuple[str, str], int | str | None] = {}
    stamps = logtimes.Stamps()
    clock, alone = max(plan.time), len(plan.time) == 1 and not plan.elapsed_us
    width = max(*plan.time, *(c for c, _, _ in plan.probes)) + 1
    wide = 0
    for number, cells in _rows(lines, plan):
        if tell and number % TELL_EVERY == 0:
            tell(number, len(lines))
        size = len(cells)
        time = (_time(cells, plan, stamps) if not alone else stamps(cells[clock])) if size > clock else None
        if time is None:
            found.left.append(_left(number, "", "tlog.not_a_time", plan.delimiter.join(cells)))
            continue
        if size > plan.width > 1:
            wide += len([c for c in cells if c.strip()]) > plan.width
        if size < width:
            found.left.append(_left(number, "", "tlog.cells", plan.delimiter.join(cells)))
        found.number.append(number)
        found.time.append(time)
        known: list[Any] = [seen.get((cells[c], unit)) for c, _, unit in plan.probes] if size >= width else [None]
        if None in known or str in map(type, known):  # a figure for the first time, or none: worked out, or told
            known = [_value(cells, number, *probe, found.left, seen) for probe in plan.probes]
        found.values.append(known)
    if wide and plan.delimiter == ",":
        text = say(
            "The lines have more cells than the heading: a comma parts the cells and the decimals alike. Export with ; between the cells."
        )
        raise BadInput("tlog.decimal_comma", text, "file", lines=wide)
    signs = {m[3] for cell, _ in seen if (m := NUMBER.fullmatch(cell)) and m[3]}
    if len(signs) > 1:
        text = say(
            "Some numbers have a decimal comma and some a point: which of them parts the thousands cannot be told. Export the log again."
        )
        raise BadInput("tlog.two_decimals", text, "file")
    if not found.number:
        raise BadInput("tlog.nothing", say("No line of the log could be read: is it the right file?"), "file")
    return found


def _rows(lines: Sequence[str], plan: Layout) -> Iterator[tuple[int, list[str]]]:
    for number, line in enumerate(islice(lines, plan.first_line, None), start=plan.first_line + 1):
        if line.strip(" ;,|\t"):
            yield number, cells_of(line, plan.delimiter)


def _time(cells: Sequence[str], plan: Layout, stamps: logtimes.Stamps) -> logtimes.Stamp | int | None:
    text = cells[plan.time[0]] if len(plan.time) == 1 else strung(" ", (cells[c] for c in plan.time))
    if not plan.elapsed_us:
        return stamps(text)
    found = NUMBER.fullmatch(text)
    if not found or not (found[2] or found[4]) or found[1] not in ("", "+"):
        return None
    return round(Fraction(int((found[2] or "0") + (found[4] or "")), 10 ** len(found[4] or "")) * plan.elapsed_us)


def _value(
    cells: Sequence[str], number: int, column: int, name: str, unit: str, left: list[Left], seen: dict[tuple[str, str], int | str | None]
) -> int | None:
    """A logger writes the same few figures over and over, so each is worked out once."""
    cell = cells[column] if column < len(cells) else ""
    key = cell, unit
    if key not in seen:
        seen[key] = to_mc(cell, unit)
    value = seen[key]
    if isinstance(value, int):
        return value
    left.append(_left(number, name, value or "tlog.no_value", cell))
    return None


def _left(line: int, probe: str, code: str, cell: str) -> Left:
    return Left(line, line, probe, code, _MESSAGES[code], shown(cell.strip()))


def _merged(left: Sequence[Left]) -> list[Left]:
    """Neighbouring lines with the same thing wrong as one entry."""
    out: list[Left] = []
    for one in sorted(left, key=lambda e: (e.probe, e.first_line)):
        last = out[-1] if out else None
        if last and (last.probe, last.code, last.last_line + 1) == (one.probe, one.code, one.first_line):
            out[-1] = Left(last.first_line, one.last_line, last.probe, last.code, last.text, last.given)
        else:
            out.append(one)
    return sorted(out, key=lambda e: (e.first_line, e.probe))


# --- times -----------------------------------------------------------------------------------------


def _instants(
    found: _Lines, plan: Layout, zone: Zone, day_first: bool | None, stated: tuple[int, int] | None, start_us: int | None
) -> tuple[list[int], list[Reason], str]:
    """An instant for each line, notes, and the order of the date."""
    if plan.elapsed_us:
        return [(start_us or 0) + t for t in found.time if isinstance(t, int)], [], ""
    stamps = [t for t in found.time if isinstance(t, logtimes.Stamp)]
    wall, order = logtimes.walls(stamps, day_first, stated)
    offsets = [s.offset_us if s.offset_us is not None else plan.offset_us for s in stamps]
    known = [o for o in offsets if o is not None]
    if len(known) == len(offsets):
        return [w - o for w, o in zip(wall, known, strict=True)], [], order
    if known:
        text = say("Some times name their offset from UTC and some do not: export the log with all of them in one way.")
        raise BadInput("tlog.mixed_offsets", text, "time")
    falling = sum(b < a for a, b in pairwise(wall)) > len(wall) / 2
    turn = slice(None, None, -1 if falling else 1)  # newest first: the hour that comes twice is sorted out forwards
    at, notes = logtimes.instants(wall[turn], zone, found.number[turn])
    return at[turn], notes, order


def _probe(name: str, at: Sequence[int], values: Sequence[int | None], lines: Sequence[int], notes: list[Reason]) -> Probe:
    """One probe in order of time, with what stands twice taken once. Raises BadInput tlog.two_values."""
    rows = [(t, v, n) for t, v, n in zip(at, values, lines, strict=True) if v is not None]
    kept = sorted(rows, key=lambda row: row[0])
    disorder = sum(b[0] < a[0] for a, b in pairwise(rows))
    out: list[tuple[int, int, int]] = []
    for row in kept:
        if not out or row[0] > out[-1][0]:
            out.append(row)
        elif row[1] != out[-1][1]:
            both = say("{out} and {row}", out=display_celsius(out[-1][1]), row=display_celsius(row[1]))
            text = say(
                "Lines {out} and {row} give {both} for one time of “{name}”: export it with seconds, or one logger alone.",
                out=out[-1][2],
                row=row[2],
                both=both,
                name=shown(name),
            )
            raise BadInput("tlog.two_values", text, "file", first_line=out[-1][2], second_line=row[2])
    if disorder:
        notes.append(
            Reason(
                "tlog.sorted",
                say("{name}: put in order of time ({disorder} times the time went back).", name=shown(name), disorder=disorder),
                {"times": disorder},
            )
        )
    if len(kept) > len(out):
        text = say("{name}: {kept} lines said what another had said, and were left out.", name=shown(name), kept=len(kept) - len(out))
        notes.append(Reason("tlog.twice", text, {"lines": len(kept) - len(out)}))
    return Probe(name, tuple(t for t, _, _ in out), tuple(v for _, v, _ in out))


# --- is it the right log -----------------------------------------------------------------------------


def _check_unit(probes: Sequence[Probe], unit: str, expected: tuple[int, int] | None) -> None:
    """By the middle reading: outside what the place may be at, but inside when read in the other unit."""
    every = sorted(v for p in probes for v in p.mc)
    if expected is None or unit == "K":
        return
    low, high = expected
    middle = every[len(every) // 2]
    other = round(Fraction(middle - 32_000) * 5 / 9) if unit == "C" else round(Fraction(middle) * 9 / 5 + 32_000)
    if not low <= middle <= high and low <= other <= high:
        name = "F" if unit == "C" else "C"
        text = say(
            "Read in °{unit} the log lies about {middle}, which such a place is not; read in °{name} it would "
            "lie about {other}. Say the unit: °{name}, or °{unit} if it really was so. Or is it another place's "
            "log?",
            unit=unit,
            middle=display_celsius(middle),
            name=name,
            other=display_celsius(other),
        )
        raise BadInput("tlog.wrong_unit", text, "unit", middle_mc=middle, other_mc=other)


def _check_period(probes: Sequence[Probe], stated: tuple[int, int] | None) -> None:
    first, last = min(p.at_us[0] for p in probes if p.at_us), max(p.at_us[-1] for p in probes if p.at_us)
    if stated is None or (first <= stated[1] and last >= stated[0]):
        return
    days = say(
        "from {day} to {day_2}, and {day_3} to {day_4} was said",
        day=_day(first),
        day_2=_day(last),
        day_3=_day(stated[0]),
        day_4=_day(stated[1]),
    )
    year = any(abs((first - stated[0]) - n * 365.25 * logtimes.DAY_US) < 45 * logtimes.DAY_US for n in range(-30, 31) if n)
    if year and _day(first)[:4] != _day(stated[0])[:4]:
        text = say("The log is of another year: it runs {days}. Set the logger's clock, or hand in the right file.", days=days)
        raise BadInput("tlog.other_year", text, "file", first_us=first, last_us=last)
    raise BadInput("tlog.other_time", say("The log is of another time: it runs {days}.", days=days), "file", first_us=first, last_us=last)


def _laid_out(plan: Layout, order: str) -> str:
    signs = {";": say("semicolons"), ",": say("commas"), "\t": say("tabs"), "|": say("bars")}
    dates = {"ymd": say("year first"), "dmy": say("day first"), "mdy": say("month first"), "": say("counted from a start")}
    probes = strung(", ", (say("“{name}” in °{unit}", name=shown(name), unit=unit) for _, name, unit in plan.probes))
    where = strung(say(" and "), (str(n + 1) for n in plan.time))
    utc = "" if plan.offset_us is None else say(", {offset} h from UTC", offset=f"{plan.offset_us / 3600000000.0:+g}").replace("-", "−")
    begins = say("Cells parted by {signs}; data from line {first_line}", signs=signs[plan.delimiter], first_line=plan.first_line + 1)
    return say(
        "{begins}; time in column {where}, {dates}{utc}; {probes}.", begins=begins, where=where, dates=dates[order], utc=utc, probes=probes
    )


def _day(us: int) -> str:
    return f"{datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=us):%Y-%m-%d}"
