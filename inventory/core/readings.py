"""Readings of a probe over time: where nothing was read, and when the line between two readings crosses a temperature.

Instants are ints, µs, rising; temperatures ints, m°C. Between two readings the temperature is taken to run straight, unless they are
so far apart that nobody can say: that is a gap, and what lies in it is unknown, neither warm nor cold. Arrays are numpy's int64, which
is imported where it is needed, so that a process that shows no chart never loads it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from inventory.core.reasons import BadInput
from inventory.core.said import say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

# A reading that comes later than this many usual steps after the last was not taken in time. Common practice, no source.
STEPS_TO_A_GAP = 3
_STEPS_ASKED = 4_096


class Span(NamedTuple):
    """A stretch of time [start, end), µs."""

    start_us: int
    end_us: int

    @property
    def length_us(self) -> int:
        return self.end_us - self.start_us


@dataclass(frozen=True, slots=True)
class Excursion:
    """A stretch above (or below) a threshold, and the furthest temperature read in it (m°C)."""

    start_us: int
    end_us: int
    peak_mc: int


def arrays(at_us: Sequence[int] | Ints, mc: Sequence[int] | Ints) -> tuple[Ints, Ints]:
    """Both as int64 arrays. Raises BadInput readings.none, readings.lengths, readings.order (times must rise), readings.cold (a
    reading at or below absolute zero)."""
    import numpy as np

    at, values = np.asarray(at_us, dtype=np.int64), np.asarray(mc, dtype=np.int64)
    if at.ndim != 1 or at.shape != values.shape:
        raise BadInput("readings.lengths", say("Every reading needs a time and a temperature."), "readings")
    if at.size == 0:
        raise BadInput("readings.none", say("There are no readings."), "readings")
    if at.size > 1 and bool((at[1:] <= at[:-1]).any()):
        raise BadInput("readings.order", say("The times of the readings must rise."), "readings")
    if int(values.min()) <= -273_150:
        raise BadInput("readings.cold", say("A reading lies at or below absolute zero: check the probe and the unit."), "readings")
    return at, values


def usual_step_us(at_us: Sequence[int] | Ints) -> int | None:
    """The median time between readings, of at most 4 096 steps spread evenly over the log; None for fewer than two readings."""
    import numpy as np

    at = np.asarray(at_us, dtype=np.int64)
    if at.size < 2:
        return None
    some = np.linspace(0, at.size - 2, min(at.size - 1, _STEPS_ASKED)).astype(np.int64)
    return int(np.median(at[some + 1] - at[some]))


def longest_step_us(at_us: Sequence[int] | Ints, most_us: int | None = None) -> int:
    """How far apart two readings may be: `most_us` where a rule says so, else three usual steps. Raises BadInput
    readings.step unless above zero."""
    if most_us is not None and most_us <= 0:
        raise BadInput("readings.step", say("The longest time between two readings must be above zero."), "gap", most_us=most_us)
    return most_us if most_us is not None else STEPS_TO_A_GAP * (usual_step_us(at_us) or 0)


def gaps(at_us: Sequence[int] | Ints, most_us: int | None = None) -> list[Span]:
    """The stretches between two readings that lie further apart than `longest_step_us`."""
    import numpy as np

    at = np.asarray(at_us, dtype=np.int64)
    wide = np.flatnonzero(np.diff(at) > longest_step_us(at, most_us))
    return [Span(int(at[n]), int(at[n + 1])) for n in wide]


def crossing_us(at_0: int, mc_0: int, at_1: int, mc_1: int, level_mc: int) -> int:
    """When the straight line between two readings meets `level_mc`, which lies between them; exact, rounded to the µs."""
    if mc_0 == mc_1:
        return at_0
    return at_0 + round((level_mc - mc_0) * (at_1 - at_0) / (mc_1 - mc_0)) if at_1 > at_0 else at_0


def above(at_us: Sequence[int] | Ints, mc: Sequence[int] | Ints, level_mc: int, most_us: int | None = None) -> list[Excursion]:
    """The stretches in which the probe was above `level_mc` (a reading of exactly it is not above), gaps left out: a
    stretch ends where a gap begins. Times to the µs."""
    at, values = arrays(at_us, mc)
    return _beyond(at, values, level_mc, longest_step_us(at, most_us))


def below(at_us: Sequence[int] | Ints, mc: Sequence[int] | Ints, level_mc: int, most_us: int | None = None) -> list[Excursion]:
    """The stretches in which the probe was below `level_mc`, as `above`."""
    at, values = arrays(at_us, mc)
    found = _beyond(at, -values, -level_mc, longest_step_us(at, most_us))
    return [Excursion(e.start_us, e.end_us, -e.peak_mc) for e in found]


def _beyond(at: Ints, values: Ints, level: int, most_us: int) -> list[Excursion]:
    """Runs of steps (pairs of neighbours that are no gap) of which an end is above; each is cut at its crossings."""
    import numpy as np

    if at.size < 2:
        return []
    over = values > level
    live = (over[:-1] | over[1:]) & (np.diff(at) <= most_us)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], live.astype(np.int8), [0]])))
    found: list[Excursion] = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        found.extend(_runs(at, values, over, level, int(first), int(last)))
    return found


def _runs(at: Ints, values: Ints, over: NDArray[np.bool_], level: int, first: int, last: int) -> list[Excursion]:
    """Excursions between the readings `first` and `last`, every step of which has an end above."""
    import numpy as np

    inside = over[first : last + 1].astype(np.int8)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside, [0]])))
    found = []
    for up, down in zip(edges[::2] + first, edges[1::2] + first, strict=True):
        start = _cross(at, values, int(up) - 1, level) if up > first else int(at[up])
        end = _cross(at, values, int(down) - 1, level) if down <= last else int(at[down - 1])
        if end > start:
            found.append(Excursion(start, end, int(values[up:down].max())))
    return found


def _cross(at: Ints, values: Ints, n: int, level: int) -> int:
    return crossing_us(int(at[n]), int(values[n]), int(at[n + 1]), int(values[n + 1]), level)
