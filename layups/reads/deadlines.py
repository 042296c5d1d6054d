"""Until when a part must be in the heat: the clock that governs what lies in it (R8), beside the cure that is planned."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .lives import Life

OVER, UNKNOWN, EARLY, LATE, HOLDS, FREE = "over", "unknown", "early", "late", "holds", "free"
UNTIL_CURE = {"building": ("bagged", "cure"), "bagged": ("cure",)}
"""What still binds, by what the part is: what was judged when it was bagged is behind it then."""


@dataclass(frozen=True, slots=True)
class Deadline:
    """`governs`: the limit that is over, or else ends first; None when nothing that is in it ends. `unknown`: one of which nobody
    can tell."""

    governs: Life | None
    unknown: Life | None
    planned_us: int | None

    def word(self, now_us: int) -> str:
        """over: a limit has passed. unknown: nobody can tell. early: it ends before the planned cure. late: the planned time is
        past. holds: it lives until then, or none is planned. free: nothing in it ends."""
        g = self.governs
        if g is not None and (g.over or (g.ends_us is not None and g.ends_us <= now_us)):
            return OVER
        if self.unknown is not None:
            return UNKNOWN
        if g is not None and g.ends_us is not None and self.planned_us is not None and g.ends_us <= self.planned_us:
            return EARLY
        if self.planned_us is not None and self.planned_us <= now_us:
            return LATE
        return HOLDS if g is not None else FREE

    @property
    def by_us(self) -> int | None:
        """The instant that everybody works to: the planned cure, or the end of a life where that comes first or none is planned."""
        ends = self.governs.ends_us if self.governs is not None else None
        found = [us for us in (ends, self.planned_us) if us is not None]
        return min(found) if found else None


def deadline(lives: Iterable[Life], planned_us: int | None) -> Deadline:
    """From what must live until the cure, the most urgent first."""
    found = list(lives)
    ending = [x for x in found if not x.missing and (x.over or x.ends_us is not None)]
    return Deadline(ending[0] if ending else None, next((x for x in found if x.missing), None), planned_us)
