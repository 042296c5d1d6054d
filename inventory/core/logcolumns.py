"""The columns of a logger's file: which sign parts the cells, where the data begin, which column is the time and which a temperature.

Loggers write what they like above their data. The data begin where a line has a time and a number; the heading is the line above.
Nothing is guessed in silence: a unit that nobody names is asked for, and a column that was not used is told.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from inventory.core.logtimes import heading_offset, stamp
from inventory.core.numerals import shown
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung

SAMPLE = 400
LONGEST_LINE = 20_000
DELIMITERS = (";", "\t", ",", "|")
NUMBER = re.compile(r"\s*([+\-\u2212]?)(\d*)(?:([.,])(\d+))?\s*(?:(?:°|º|deg|\u00c2°|\ufffd)?\s*([CFK])|(℃|℉))?\s*", re.IGNORECASE)
NOTHING = frozenset(
    {"", "-", "--", "---", "----", "nan", "n/a", "na", "#n/a", "null", "none", "ol", "open", "err", "error", "fault", "invalid"}
)
_UNIT = re.compile(
    r"(?:°|º|\u00c2°|\ufffd|\bdeg\.?)\s*([CFK])\b|\b(celsius|fahrenheit|kelvin)\b|[(\[]\s*([CFK])\s*[)\]]|(?:^|\btemp(?:erature)?[\s_,.]*)([CFK])$|(℃|℉)",
    re.IGNORECASE,
)
_BARE_UNIT = re.compile(
    r"\s*(?:°|º|\u00c2°|\ufffd|deg)?\s*[CFK]\s*|%\s*(?:rh|r\.h\.)?|\s*|[(\[][^()\[\]]{1,8}[)\]]|h{1,2}:mm(:ss)?", re.IGNORECASE
)
_OTHER = re.compile(
    r"humid|\brh\b|%|dew|batter|volt|\bpress|vacuum|\bm?bar\b|\bkpa\b|index|record|sample|\bno\b|^#|\bcount|set[ -]?point|\bsp\b|"
    r"target|alarm|limit|co2|light|door|signal|rssi|state|status|elapsed",
    re.IGNORECASE,
)
_WARM = re.compile(r"temp|probe|\btc\b|thermo|\btc ?\d|sensor|chan|\bch ?\d|\bt ?\d|pt ?100|air|product|oven|part", re.IGNORECASE)
_DATE_ONLY = re.compile(r"\s*\d{1,4}([-/.])(?:\d{1,2}|[A-Za-z]{3,9})\1\d{2,4}\s*", re.ASCII)
_CLOCK_ONLY = re.compile(r"\s*\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?\s*(?:[AaPp]\.?[Mm]\.?)?\s*", re.ASCII)
_ELAPSED = re.compile(r"(?:elapsed|time|runtime)\b.*?[(\[ ]\s*(s|sec|seconds|min|minutes|h|hours)\s*[)\]]?\s*$", re.IGNORECASE)
_ELAPSED_US = {"s": 1_000_000, "m": 60_000_000, "h": 3_600_000_000}


@dataclass(frozen=True, slots=True)
class Layout:
    """How a file is laid out. `time`: the columns of the time, one or two (date, clock); `elapsed_us`: what one unit of an elapsed
    time is, 0 for a time of day; `offset_us`: what the heading says of UTC; `probes`: (column, name, unit "C", "F", "K" or "");
    `unused`: headings of other columns; `width`: how many cells the heading has, 0 without one."""

    delimiter: str
    first_line: int
    time: tuple[int, ...]
    elapsed_us: int
    offset_us: int | None
    probes: tuple[tuple[int, str, str], ...]
    unused: tuple[str, ...]
    width: int


def cells_of(line: str, delimiter: str) -> list[str]:
    """The cells of one line, so that a stray quotation mark spoils no other."""
    if '"' not in line or len(line) > LONGEST_LINE:
        return line.split(delimiter)
    return next(csv.reader([line], delimiter=delimiter), [])


def is_number(cell: str) -> bool:
    found = NUMBER.fullmatch(cell)
    return bool(found and (found[2] or found[4]))


def unit_in(text: str) -> str:
    """ "C", "F" or "K" where a text names a unit of temperature, else ""."""
    found = _UNIT.search(text)
    if not found:
        return ""
    word = next(g for g in found.groups() if g)
    return {"℃": "C", "℉": "F"}.get(word, word[0].upper())


def layout(lines: Sequence[str], unit: str, wanted: Sequence[str], elapsed: bool) -> Layout:
    """The layout of a file by its first lines. `unit`: as said by the person ("" when not); `wanted`: headings of the columns to use,
    none for all; `elapsed`: whether a start is known, from which an elapsed time counts.

    Raises BadInput tlog.no_time, tlog.no_probe, tlog.unknown_probe."""
    best: tuple[int, str, list[list[str]], tuple[int, ...]] = (0, "", [], ())
    for delimiter in DELIMITERS:
        rows = [cells_of(line, delimiter) for line in lines]
        time, count = _time_columns(rows, elapsed)
        if count > best[0]:
            best = (count, delimiter, rows, time)
    count, delimiter, rows, time = best
    if not count:
        raise BadInput(
            "tlog.no_time",
            say("No column with a date and a time stands beside one with numbers: export the log with dates as 2026-03-30 08:15:00."),
            "file",
        )
    first = next(n for n, row in enumerate(rows) if _is_data(row, time))
    header = _header(rows, first)
    body = [row for row in rows[first:] if _is_data(row, time)]
    found = _ELAPSED.search(header[time[0]]) if header and not stamp(_joined(body[0], time)) else None
    above = unit_in(strung(" ", (cell for row in rows[:first] for cell in row if "unit" in " ".join(row).lower())))
    probes, unused = _probes(header, body, time, unit or above, wanted)
    offset = heading_offset(strung(" ", (header[c] for c in time))) if header else None
    step = _ELAPSED_US[found[1][0].lower()] if found else 0
    return Layout(delimiter, first, time, step, offset, probes, unused, len(header))


def _joined(row: Sequence[str], time: tuple[int, ...]) -> str:
    return strung(" ", (row[c] for c in time if c < len(row)))


def _is_data(row: Sequence[str], time: tuple[int, ...]) -> bool:
    if max(time) >= len(row):
        return False
    cell = _joined(row, time)
    return bool(stamp(cell) or (len(time) == 1 and is_number(cell))) and any(is_number(c) for n, c in enumerate(row) if n not in time)


def _time_columns(rows: Sequence[Sequence[str]], elapsed: bool) -> tuple[tuple[int, ...], int]:
    """The columns of the time, and in how many rows they hold one beside a number."""
    width = max((len(row) for row in rows), default=0)
    pairs = [(n,) for n in range(width)] + [(n, m) for n in range(width) for m in (n + 1, n - 1) if 0 <= m < width]
    best: tuple[tuple[int, ...], int] = ((), 0)
    for time in pairs[: 3 * 12 + width]:
        if len(time) == 2:
            fits = [r for r in rows if max(time) < len(r) and _DATE_ONLY.fullmatch(r[time[0]]) and _CLOCK_ONLY.fullmatch(r[time[1]])]
        else:
            fits = [r for r in rows if time[0] < len(r) and stamp(r[time[0]])]
        count = sum(1 for r in fits if _is_data(r, time))
        better = count > best[1] or (count == best[1] > 0 and _says_utc(rows, time) and not _says_utc(rows, best[0]))
        if better:
            best = (time, count)
    if not best[1] and elapsed:
        for head in rows:
            for n in (n for n, cell in enumerate(head) if _ELAPSED.search(cell)):
                count = sum(1 for r in rows if r is not head and _is_data(r, (n,)))
                if count:
                    return (n,), count
    return best


def _says_utc(rows: Sequence[Sequence[str]], time: tuple[int, ...]) -> bool:
    return any(heading_offset(row[time[0]]) == 0 for row in rows[:SAMPLE] if time and time[0] < len(row) and not stamp(row[time[0]]))


def _header(rows: Sequence[Sequence[str]], first: int) -> list[str]:
    """The heading above the data, with a line of units below it joined to it; empty when there is none."""
    above = [row for row in rows[:first] if any(c.strip() for c in row)]
    width = len(rows[first])
    if not above or len(above[-1]) < 2 or any(is_number(c) for c in above[-1]):
        return []
    last = [c.strip() for c in above[-1]]
    if all(_BARE_UNIT.fullmatch(c) for c in last) and len(above) > 1 and len(above[-2]) > 1:
        names = [c.strip() for c in above[-2]]
        return [say("{a} {value}", a=a, value=b).strip() for a, b in zip(names + [""] * width, last, strict=False)]
    return last


def _probes(
    header: Sequence[str], body: Sequence[Sequence[str]], time: tuple[int, ...], unit: str, wanted: Sequence[str]
) -> tuple[tuple[tuple[int, str, str], ...], tuple[str, ...]]:
    width = max(len(header), max(len(r) for r in body))
    names = [header[n] if n < len(header) and header[n] else say("column {count}", count=n + 1) for n in range(width)]
    keys = {w.strip().casefold() for w in wanted}
    if missing := keys - {n.casefold() for n in names}:
        raise BadInput(
            "tlog.unknown_probe",
            say("The log has no column “{missing}”.", missing=shown(min(missing))),
            "probes",
            column=shown(min(missing)),
        )
    taken, unused = [], []
    for n in (n for n in range(width) if n not in time):
        cells = [r[n] for r in body if n < len(r)]
        numeric = [c for c in cells if is_number(c)]
        own = unit_in(header[n]) if n < len(header) else ""
        inside = next((m[5] or m[6] for c in numeric if (m := NUMBER.fullmatch(c)) and (m[5] or m[6])), "")
        own = own or {"℃": "C", "℉": "F"}.get(inside, inside.upper())
        if names[n].casefold() in keys if keys else _is_warm(names[n], own, unit, bool(header), numeric):
            taken.append((n, names[n], own or unit))
        elif n < len(header) and header[n] and cells:
            unused.append(header[n])
    if not taken:
        raise BadInput("tlog.no_probe", say("No column is headed as a temperature: say which columns are the probes."), "probes")
    return tuple(taken), tuple(unused)


def _is_warm(name: str, own: str, unit: str, headed: bool, numeric: Sequence[str]) -> bool:
    """Whether a column is taken for a temperature, when nobody says which are."""
    if not numeric or (_OTHER.search(name) and headed):
        return False
    if not headed:
        return not _counts(numeric)
    return bool(own or _WARM.search(name) or (unit and not _counts(numeric)))


def _counts(numeric: Sequence[str]) -> bool:
    """Whether a column only numbers its lines."""
    whole = [int(c) for c in numeric if c.strip().isascii() and c.strip().isdigit()]
    return len(whole) == len(numeric) > 1 and all(b - a == 1 for a, b in pairwise(whole))
