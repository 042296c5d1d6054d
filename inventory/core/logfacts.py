"""What a temperature log comes to, in figures; its picture with few points; its readings as bytes to be kept.

Instants are ints, µs, rising; temperatures ints, m°C. A gap is left out of every figure, and said.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from inventory.core.readings import Span, arrays, gaps, longest_step_us, usual_step_us
from inventory.core.warmth import MEDICINE_EA, Warmth, weighted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

Point = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Facts:
    """`known_us`: the time that readings cover; `mean_mc` over that time; `kinetic_mc`: the mean kinetic temperature by the
    pharmacopoeia's convention (83.144 kJ/mol), None where fewer than two readings belong together."""

    readings: int
    first_us: int
    last_us: int
    step_us: int | None
    least_mc: int
    most_mc: int
    known_us: int
    gaps: tuple[Span, ...]
    mean_mc: int | None
    kinetic_mc: int | None


def facts_of(at_us: Sequence[int] | Ints, mc: Sequence[int] | Ints) -> Facts:
    """Raises BadInput of `readings.arrays`."""
    at, values = arrays(at_us, mc)
    found = weighted(at, values, 20_000, MEDICINE_EA)
    warm = found if isinstance(found, Warmth) else None
    return Facts(
        readings=int(at.size),
        first_us=int(at[0]),
        last_us=int(at[-1]),
        step_us=usual_step_us(at),
        least_mc=int(values.min()),
        most_mc=int(values.max()),
        known_us=warm.known_us if warm else 0,
        gaps=tuple(gaps(at)),
        mean_mc=round(warm.mean_mc) if warm else None,
        kinetic_mc=round(warm.kinetic_mc) if warm else None,
    )


# --- a picture with few points -------------------------------------------------------------------------


def thinned(at_us: Sequence[int] | Ints, mc: Sequence[int] | Ints, most: int = 600) -> list[list[Point]]:
    """The log as lines of about `most` points in all, one line for each stretch without a gap. Of every slice of time the first,
    the coldest, the warmest and the last reading stay, so that no peak is lost however short it was."""
    import numpy as np

    at, values = arrays(at_us, mc)
    breaks = np.flatnonzero(np.diff(at) > longest_step_us(at)) + 1 if at.size > 1 else np.array([], dtype=np.int64)
    if at.size <= most:
        kept = np.arange(at.size)
    else:
        slices = max(1, most // 4)
        where = (at - at[0]) * slices // (at[-1] - at[0] + 1)
        edges = np.flatnonzero(np.diff(where)) + 1
        kept = _kept(values, [0, *edges.tolist(), at.size])
    lines: list[list[Point]] = [[]]
    bounds = set(breaks.tolist())
    passed = np.searchsorted(breaks, kept, side="right") if bounds else np.zeros(kept.size, dtype=np.int64)
    for n, stretch in zip(kept.tolist(), passed.tolist(), strict=True):
        while len(lines) <= stretch:
            lines.append([])
        lines[stretch].append((int(at[n]), int(values[n])))
    return [line for line in lines if line]


def _kept(values: Ints, edges: Sequence[int]) -> Ints:
    """The places that stay, rising, each once."""
    import numpy as np

    found: set[int] = set()
    for start, end in pairwise(edges):
        inside = values[start:end]
        found |= {start, end - 1, start + int(inside.argmin()), start + int(inside.argmax())}
    return np.array(sorted(found), dtype=np.int64)


# --- as bytes --------------------------------------------------------------------------------------------


def packed(at_us: Sequence[int] | Ints, mc: Sequence[int] | Ints) -> bytes:
    """Readings as bytes: steps and differences, which a steady log repeats over and over, pressed together."""
    import numpy as np

    at, values = arrays(at_us, mc)
    steps = np.diff(at, prepend=0).astype("<i8")
    changes = np.diff(values, prepend=0).astype("<i4")
    return zlib.compress(steps.tobytes() + changes.tobytes(), 6)


def unpacked(data: bytes) -> tuple[Ints, Ints]:
    """The readings again, exactly."""
    import numpy as np

    raw = zlib.decompress(data)
    size = len(raw) // 12
    at = np.cumsum(np.frombuffer(raw, dtype="<i8", count=size))
    values = np.cumsum(np.frombuffer(raw, dtype="<i4", count=size, offset=8 * size).astype(np.int64))
    return at, values
