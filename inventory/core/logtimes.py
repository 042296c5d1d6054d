"""The times of a logger's file: from what stands in its cells to instants.

A date is read in whatever order the whole file allows; where two orders are possible it is asked for, never guessed. Local time is turned
into instants by the zone, over the clock change as well: the hour that comes twice is told apart by the order of the lines.
Instants and wall-clock times are µs; "wall" is what a clock on the wall shows, counted as if it were UTC.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import NamedTuple
from zoneinfo import ZoneInfo

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import FIRST_YEAR, LAST_YEAR, MONTHS, Zone, zone_of

SECOND_US, DAY_US = 1_000_000, 86_400_000_000
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_SLOT_US = 900 * SECOND_US  # clocks are changed on a quarter of an hour
_MONTH = {name.lower(): n for n, name in enumerate(MONTHS, start=1)}
_DATE = r"(\d{1,4})([-/. ])(\d{1,2}|[A-Za-z]{3,9})\2(\d{4}|\d{2})"
_CLOCK = r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,6})\d*)?)?\s*([AaPp]\.?[Mm]\.?)?"
_ZONE = r"(Z|UTC|GMT|(?:UTC|GMT)?[+\-\u2212]\d{1,2}(?::?\d{2})?)?"
_STAMP = re.compile(rf"\s*{_DATE}(?:\s*[T,]\s*|\s+){_CLOCK}\s*{_ZONE}\s*", re.ASCII)
_HEAD_ZONE = re.compile(r"\b(?:UTC|GMT)\s*([+\-\u2212]\s*\d{1,2}(?::?\d{2})?)?(?![A-Za-z])|\b(Zulu)\b", re.IGNORECASE)


class Stamp(NamedTuple):
    """A time as written: three figures of the date in their order, whether the middle one was a month's name, the sign between
    them, the time of day (µs) and the offset from UTC (µs) where the cell names one."""

    first: int
    second: int
    third: int
    named: bool
    sign: str
    of_day_us: int
    offset_us: int | None


def stamp(text: str) -> Stamp | None:
    """A cell with date and time, or None when it is none."""
    found = _STAMP.fullmatch(text)
    return _read(found) if found else None


class Stamps:
    """`stamp` of many cells. A log has few dates and few times of day, in many combinations, so what was read of each half is kept.

    It is the same reading: where A+B and C+D were both read with their date ending at the same place, A+D is a date and a time as well,
    since what follows a date never begins with a figure, and each half means by itself what it means."""

    _MOST = 200_000

    def __init__(self) -> None:
        self._dates: dict[str, tuple[int, int, int, bool, str]] = {}
        self._clocks: dict[str, tuple[int, int | None]] = {}
        self._at = 0

    def __call__(self, text: str) -> Stamp | None:
        at = self._at
        date_, clock = self._dates.get(text[:at]), self._clocks.get(text[at:])
        if date_ is not None and clock is not None:
            return Stamp._make(date_ + clock)
        found = _STAMP.fullmatch(text)
        read = _read(found) if found else None
        if found is None or read is None:
            return None
        at = found.end(4)
        if at != self._at or len(self._clocks) > self._MOST:
            self._at, self._dates, self._clocks = at, {}, {}
        self._dates[text[:at]], self._clocks[text[at:]] = read[:5], read[5:]
        return read


def _read(found: re.Match[str]) -> Stamp | None:
    first, sign, middle, third, hour, minute, second, part, half, zone = found.groups()
    month = _MONTH.get(middle[:3].lower()) if middle.isalpha() else int(middle)
    hours = int(hour)
    if half:
        if not 1 <= hours <= 12:
            return None
        hours = hours % 12 + (12 if half[0] in "pP" else 0)
    if month is None or hours > 23 or int(minute) > 59 or int(second or 0) > 59:
        return None
    of_day = (hours * 3600 + int(minute) * 60 + int(second or 0)) * SECOND_US + int((part or "0").ljust(6, "0"))
    return Stamp(int(first), month, int(third), middle.isalpha(), sign if len(first) < 3 else "y", of_day, offset_of(zone))


def offset_of(text: str | None) -> int | None:
    """ "Z", "UTC", "+02:00", "GMT-7" as µs; None for nothing."""
    if not text:
        return None
    found = re.search(r"([+\-\u2212])\s*(\d{1,2})(?::?(\d{2}))?", text)
    if not found:
        return 0
    size = (int(found[2]) * 3600 + int(found[3] or 0) * 60) * SECOND_US
    return size if found[1] == "+" else -size


def heading_offset(header: str) -> int | None:
    """The offset that a column's heading names ("Time, GMT+02:00", "Time (UTC)"), µs."""
    found = _HEAD_ZONE.search(header)
    return offset_of(found[0]) if found else None


# --- the order of the date -----------------------------------------------------------------------------


def _day(s: Stamp, order: str) -> int | None:
    """The day (from 1970-01-01) in one order; None when there is no such day."""
    figures = dict(zip(order, (s.first, s.second, s.third), strict=True))
    year = figures["y"] + (2000 if figures["y"] < 100 else 0)
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return None
    try:
        return date(year, figures["m"], figures["d"]).toordinal() - _EPOCH_DAY
    except ValueError:
        return None


def _orders(s: Stamp) -> tuple[str, ...]:
    if s.sign == "y":
        return ("ymd",)
    if s.named or s.sign == ".":  # with points between, the day stands first: common practice, no source
        return ("dmy",)
    return ("dmy", "mdy") if s.third > 99 or s.sign == "/" else ("dmy", "mdy", "ymd")


def walls(stamps: Sequence[Stamp], day_first: bool | None, stated: tuple[int, int] | None) -> tuple[list[int], str]:
    """(wall-clock times, the order of the date they were read in).

    Raises BadInput tlog.no_such_day (no order fits all lines) and tlog.date_order (more than one does)."""
    orders = [o for o in _orders(stamps[0]) if all(o in _orders(s) for s in stamps)]
    if day_first is not None:
        orders = [o for o in orders if o == "ymd" or (o == "dmy") == day_first]
    read: dict[str, list[int]] = {}
    days: dict[tuple[int, int, int], int | None] = {}
    for order in orders:
        days.clear()
        got = [days.setdefault(s[:3], _day(s, order)) if s[:3] not in days else days[s[:3]] for s in stamps]
        if None not in got:
            read[order] = [(d or 0) * DAY_US + s.of_day_us for d, s in zip(got, stamps, strict=True)]
    if not read:
        text = say("The dates cannot all be read in one order of day, month and year: export the log with dates as 2026-03-30.")
        raise BadInput("tlog.no_such_day", text, "time")
    order = _likely(read, stated)
    return read[order], order


def _likely(read: dict[str, list[int]], stated: tuple[int, int] | None) -> str:
    """The one order whose times are the same in all, lie in the stated period, or run on without jumps of weeks."""
    if len({tuple(w[:: max(1, len(w) // 50)]) for w in read.values()}) == 1:
        return next(iter(read))
    if stated is not None:
        within = [o for o, w in read.items() if any(stated[0] - DAY_US <= t <= stated[1] + DAY_US for t in (min(w), max(w)))]
        if len(within) == 1:
            return within[0]
    jumps = {o: max((b - a for a, b in pairwise(s)), default=0) for o, s in ((o, sorted(w)) for o, w in read.items())}
    best, *others = sorted(jumps, key=lambda o: jumps[o])
    if jumps[best] <= 2 * DAY_US and all(jumps[o] >= 20 * DAY_US for o in others):
        return best
    raise BadInput("tlog.date_order", say("The dates can be read with the day or with the month first: say which."), "day_first")


# --- local time ------------------------------------------------------------------------------------------


def instants(wall_us: Sequence[int], zone: Zone, lines: Sequence[int]) -> tuple[list[int], list[Reason]]:
    """Local times, in the order of the file, as instants. The hour that the clocks go through twice is split where the times go
    back; when they do not, the side is taken on which the log runs on, and that is told.

    Raises BadInput tlog.no_such_time for a time that the clocks jumped over, and tlog.clock_change where the hour that comes twice
    cannot be sorted out."""
    tz = zone_of(zone)
    slots: dict[int, tuple[int, int]] = {}
    first: list[int] = []
    notes: list[Reason] = []
    twice: list[int] = []
    skipped: list[int] = []
    for n, wall in enumerate(wall_us):
        slot = wall // _SLOT_US
        if slot not in slots:
            slots[slot] = _offsets(slot * _SLOT_US, tz)
        early, late = slots[slot]
        if early < late:
            skipped.append(n)
        if early > late:
            twice.append(n)
        first.append(wall - early)
    for run in _runs(skipped):
        notes.append(_over(first, wall_us, run, tz, lines))
    for run in _runs(twice):
        shift = slots[wall_us[run[0]] // _SLOT_US]
        notes += _split(first, wall_us, run, shift[0] - shift[1], lines)
    return first, notes


def _over(at: Sequence[int], wall: Sequence[int], run: range, tz: ZoneInfo, lines: Sequence[int]) -> Reason:
    """Times in the hour that the clocks jump over, read by the clock as it was before. That cannot be where others of the log lie at the
    same instants: then the logger's clock was never put forward, and all that follows is an hour wrong."""
    low, high = min(at[n] for n in run), max(at[n] for n in run)
    line = lines[run.start]
    if any(low <= t <= high for n, t in enumerate(at) if n not in run):
        text = say(
            "Line {line}: there was no {clock} in {key}, the clocks were put forward. The logger's was not: hand "
            "the log in with the offset of its clock, such as +01:00.",
            line=line,
            clock=_clock(wall[run.start]),
            key=tz.key,
        )
        raise BadInput("tlog.no_such_time", text, "zone", line=line)
    text = say(
        "Line {line}: there was no {clock} in {key}; it was read by the clock as it was before.",
        line=line,
        clock=_clock(wall[run.start]),
        key=tz.key,
    )
    return Reason("tlog.hour_skipped", text, {"from_line": line, "to_line": lines[run.stop - 1]})


def _offsets(wall: int, tz: ZoneInfo) -> tuple[int, int]:
    naive = (_EPOCH + timedelta(microseconds=wall)).replace(tzinfo=tz)
    both = (naive.replace(fold=fold).utcoffset() or timedelta() for fold in (0, 1))
    early, late = (offset // timedelta(microseconds=1) for offset in both)
    return early, late


def _runs(places: Sequence[int]) -> list[range]:
    """Neighbouring places as ranges."""
    runs: list[range] = []
    for n in places:
        runs.append(range(runs.pop().start, n + 1) if runs and runs[-1].stop == n else range(n, n + 1))
    return runs


def _split(at: list[int], wall: Sequence[int], run: range, shift: int, lines: Sequence[int]) -> list[Reason]:
    """Put the second pass of the hour later by `shift`; `at` holds every time as of the first pass."""
    back = [n for n in run if n > run.start and wall[n] < wall[n - 1]]
    if len(back) > 1:
        text = say(
            "From line {lines} on the hour that comes twice is out of order: export the log in UTC, or in order of time.",
            lines=lines[run.start],
        )
        raise BadInput("tlog.clock_change", text, "time", line=lines[run.start])
    steps = sorted(b - a for a, b in pairwise(wall) if b > a)
    usual = steps[len(steps) // 2] if steps else shift
    same = [n for n in run if n > run.start and wall[n] == wall[n - 1]]
    if not back and len(same) == 1 and usual >= shift:
        back = same  # read by the hour: the same time twice is the two passes
    if back:
        begin = back[0]
    else:
        ahead = wall[run.start] - wall[run.start - 1] if run.start else None
        behind = wall[run.stop] - wall[run.stop - 1] if run.stop < len(wall) else None
        begin = run.start if behind is not None and behind <= 2 * usual and (ahead is None or ahead > 2 * usual) else run.stop
    for n in range(begin, run.stop):
        at[n] += shift
    if back:
        return []
    passed = "second" if begin == run.start else "first"
    text = say(
        "Lines {lines} to {lines_2} lie in the hour that comes twice, and were taken for its {passed} pass.",
        lines=lines[run.start],
        lines_2=lines[run.stop - 1],
        passed=passed,
    )
    return [Reason("tlog.hour_once", text, {"from_line": lines[run.start], "to_line": lines[run.stop - 1]})]


def _clock(wall: int) -> str:
    return f"{_EPOCH + timedelta(microseconds=wall):%Y-%m-%d %H:%M}"
