"""The trace of a thermocouple as a line that runs straight between readings, and the questions that a cure chart is asked.

Instants µs, temperatures m°C. The arrays are numpy's, loaded where they are needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from inventory.core.readings import Span, arrays, gaps, longest_step_us
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.spans import MINUTE_US

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Readings in whole m°C may each be half of one off: so much over the shortest window of five minutes is no rate of the oven.
_NOISE_MC_MIN = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """Readings of one thermocouple: rising instants (µs) and m°C. Between readings straight, outside them nothing."""

    name: str
    at_us: Any
    mc: Any

    @classmethod
    def of(cls, name: str, at_us: Sequence[int], mc: Sequence[int]) -> Trace:
        """Raises BadInput as `readings.arrays`; readings.none for fewer than two readings."""
        at, values = arrays(at_us, mc)
        if at.size < 2:
            raise BadInput("readings.none", say("{name} has a single reading: a chart needs two at least.", name=name), "chart")
        return cls(name, at, values)

    @property
    def first_us(self) -> int:
        return int(self.at_us[0])

    @property
    def last_us(self) -> int:
        return int(self.at_us[-1])

    def cut(self, span: Span) -> tuple[Floats, Floats]:
        """The corners of the line within a stretch, its ends included, as floats; times in µs."""
        import numpy as np

        start, end = max(span.start_us, self.first_us), min(span.end_us, self.last_us)
        if start > end:
            return np.empty(0), np.empty(0)
        inner = self.at_us[(self.at_us > start) & (self.at_us < end)]
        at = np.concatenate([[start], inner, [end]] if end > start else [[start]]).astype(np.float64)
        return at, np.interp(at, self.at_us, self.mc)

    def highest(self, span: Span) -> int:
        """The highest temperature in a stretch (absolute zero where it has none)."""
        _, y = self.cut(span)
        return round(float(y.max())) if y.size else -273_150

    def lowest(self, span: Span) -> int:
        _, y = self.cut(span)
        return round(float(y.min())) if y.size else -273_150

    def run_through(self, region: Span, begin_mc: int | None, end_mc: int | None, falls: bool) -> Span | None:
        """Within `region`, from the last instant on the near side of `begin_mc` to the first at or beyond `end_mc`; an end that is
        None is the region's. None when it does not come through both."""
        start, end = region
        if end_mc is not None:
            beyond = stretches(self, region, high=end_mc) if falls else stretches(self, region, low=end_mc)
            if not beyond:
                return None
            end = beyond[0].start_us
        if begin_mc is not None:
            near = Span(start, end)
            behind = stretches(self, near, low=begin_mc) if falls else stretches(self, near, high=begin_mc)
            start = behind[-1].end_us if behind else start
        return Span(start, end) if end > start else None


def envelope(traces: Sequence[Trace]) -> tuple[Trace, Trace]:
    """The lagging and the leading line: at each instant the lowest and the highest of those that were read then, from the first
    reading of any to the last. Where two lines cross between readings, the crossing becomes a corner. Raises BadInput
    cure.no_overlap when two of them were never read over the same time."""
    import numpy as np

    if max(t.first_us for t in traces) >= min(t.last_us for t in traces):
        raise BadInput(
            "cure.no_overlap", say("The thermocouples were never read over the same time: are these charts of one run?"), "chart"
        )
    at = np.unique(np.concatenate([t.at_us for t in traces]))
    if len(traces) > 1:
        at = np.unique(np.concatenate([at, _meetings(at, _lines(at, traces))]))
    lines = _lines(at, traces)
    return Trace("lagging", at, np.nanmin(lines, axis=0)), Trace("leading", at, np.nanmax(lines, axis=0))


def _lines(at: Any, traces: Sequence[Trace]) -> Any:
    """(traces, instants): each line at each instant, nan where it was not yet or no longer read."""
    import numpy as np

    return np.stack([np.interp(at, t.at_us, t.mc, left=np.nan, right=np.nan) for t in traces])


def _meetings(at: Any, lines: Any) -> Any:
    """Where two lines cross between the instants `at`, to the µs."""
    import numpy as np

    found = [np.empty(0, dtype=np.int64)]
    for n in range(len(lines)):
        apart = lines[n + 1 :] - lines[n]
        row, column = np.nonzero((apart[:, :-1] * apart[:, 1:]) < 0)  # never true of a nan
        before, after = apart[row, column], apart[row, column + 1]
        found.append(at[column] + np.rint(before / (before - after) * (at[column + 1] - at[column])).astype(np.int64))
    return np.concatenate(found)


def stretches(trace: Trace, span: Span, low: int | None = None, high: int | None = None) -> list[Span]:
    """The stretches of `span` in which the line is at or above `low`, or at or below `high` (one of the two); closed at both ends,
    so a touch is a stretch of length 0."""
    at, y = trace.cut(span)
    sign, level = (1, low) if low is not None else (-1, high)
    if level is None or not at.size:
        return []
    return _at_or_above(at, y * sign, level * sign)


def _at_or_above(at: Floats, y: Floats, level: float) -> list[Span]:
    import numpy as np

    inside = y >= level
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(np.int8), [0]])))
    found = []
    for up, down in zip(edges[::2], edges[1::2], strict=True):
        start = _meet(at, y, up - 1, level) if up > 0 else int(at[up])
        end = _meet(at, y, down - 1, level) if down < at.size else int(at[down - 1])
        found.append(Span(start, end))
    return found


def _meet(at: Floats, y: Floats, n: int, level: float) -> int:
    """When the line between the corners n and n + 1, which lie on either side of `level`, meets it.

    Where the line bends alike before and after (a part that comes slowly to its temperature) the bend is taken along, so that a
    reading a minute finds the same second as a reading a second; at a kink, or beside one, the line is straight."""
    before, after = _bend(at, y, n), _bend(at, y, n + 1)
    low, high = float(at[n]), float(at[n + 1])
    y_low, slope = float(y[n]), float((y[n + 1] - y[n]) / (high - low))
    if before * after <= 0 or not 0.5 <= before / after <= 2:
        return round(low + (level - y_low) / slope)
    start, whole, rising = low, high - low, y[n + 1] > y[n]
    for _ in range(60):
        t = (low + high) / 2
        part = t - start
        there = y_low + slope * part - part * (whole - part) * (before + (after - before) * part / whole)
        low, high = (t, high) if (there < level) == rising else (low, t)
    return round(low)


def _bend(at: Floats, y: Floats, n: int) -> float:
    """The second divided difference about corner n; 0 at the ends."""
    if not 0 < n < at.size - 1:
        return 0.0
    left, right = (y[n] - y[n - 1]) / (at[n] - at[n - 1]), (y[n + 1] - y[n]) / (at[n + 1] - at[n])
    return float((right - left) / (at[n + 1] - at[n - 1]))


def both(one: Sequence[Span], two: Sequence[Span]) -> list[Span]:
    """The overlaps of two rising lists of stretches, touches included."""
    found, n, m = [], 0, 0
    while n < len(one) and m < len(two):
        start, end = max(one[n].start_us, two[m].start_us), min(one[n].end_us, two[m].end_us)
        if start <= end:
            found.append(Span(start, end))
        if one[n].end_us <= two[m].end_us:
            n += 1
        else:
            m += 1
    return found


def crossings(trace: Trace, span: Span, high: int) -> tuple[list[Span], int]:
    """Where the line was above `high` within `span`, and the highest it came to (m°C)."""
    at, y = trace.cut(span)
    if not at.size or y.max() <= high:
        return [], high
    over = moved(trace, span, high, above=True)
    return over, round(float(y.max()))


def moved(trace: Trace, span: Span, level: int, above: bool = False) -> list[Span]:
    """The stretches of `span` in which the line was below `level` (above it); exactly at it is neither."""
    kept = stretches(trace, span, high=level) if above else stretches(trace, span, low=level)
    at, _ = trace.cut(span)
    if not at.size:
        return []
    ends = [round(float(at[0])), *(end for s in kept for end in s), round(float(at[-1]))]
    return [Span(a, b) for a, b in zip(ends[::2], ends[1::2], strict=True) if b > a]


def rates_outside(trace: Trace, span: Span, window_us: int, limit: int, sign: int, slow: bool) -> tuple[list[Span], int]:
    """Where the rate over a moving window (m°C a minute, times `sign`) was under (`slow`) or over `limit`, as the union of those
    windows, and the worst rate. A stretch shorter than the window is averaged as a whole.

    The mean rate over a window is itself a line that runs straight between the readings and the readings less a window, so it is
    known everywhere from there."""
    import numpy as np

    window = min(window_us, span.length_us)
    at, _ = trace.cut(span)
    corners = np.unique(np.concatenate([at, at - window]))
    corners = corners[(corners >= span.start_us) & (corners + window <= span.end_us)]
    if not corners.size:
        return [], limit
    rise = np.interp(corners + window, trace.at_us, trace.mc) - np.interp(corners, trace.at_us, trace.mc)
    rates = sign * rise / (window / MINUTE_US)
    side = -1 if slow else 1
    worst = round(float((rates * side).max()) * side)
    bad = _at_or_above(corners, rates * side, limit * side + _NOISE_MC_MIN)
    return joined([Span(s.start_us, s.end_us + window) for s in bad]), worst


def joined(spans: Sequence[Span]) -> list[Span]:
    out: list[Span] = []
    for s in spans:
        if out and s.start_us <= out[-1].end_us:
            out.append(Span(out[-1].start_us, max(out.pop().end_us, s.end_us)))
        else:
            out.append(s)
    return out


def when_unread(trace: Trace, whole: Trace, gap_us: int | None) -> list[Span]:
    """The gaps of one thermocouple; also from the first reading of any to its own first, and from its own last to the last of any, where
    that is too long to be the step between two readings."""
    first, last, start, end = trace.first_us, trace.last_us, whole.first_us, whole.last_us
    most = longest_step_us(trace.at_us, gap_us)
    early = [Span(start, first)] if first - start > most else []
    late = [Span(last, end)] if end - last > most else []
    return [*early, *gaps(trace.at_us, gap_us), *late]
