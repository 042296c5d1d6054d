"""What defective parts share and good ones do not: counts of lots among bad and good, worst first.

Only counted here. How the list is ranked is a function that the caller may give (`rank`): the difference of shares for
now, a test corrected for the number of candidates later (R29). Candidates are whatever the caller names as a part's
inputs; people are never among them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Shared:
    """One candidate: in how many of the bad and of the good parts it is."""

    candidate: int
    bad_with: int
    bad: int
    good_with: int
    good: int

    @property
    def bad_without(self) -> int:
        return self.bad - self.bad_with

    @property
    def good_without(self) -> int:
        return self.good - self.good_with

    @property
    def parts_with(self) -> int:
        return self.bad_with + self.good_with


Rank = Callable[[Shared], Fraction]
"""How suspect a candidate is; the highest comes first."""


def difference_of_shares(s: Shared) -> Fraction:
    """The share of the bad parts that have it, less the share of the good ones: 1 when all bad and no good one has it."""
    return _share(s.bad_with, s.bad) - _share(s.good_with, s.good)


def _share(part: int, whole: int) -> Fraction:
    return Fraction(part, whole) if whole else Fraction(0)


def count_shared(
    bad: Mapping[int, Iterable[int]], good: Mapping[int, Iterable[int]], rank: Rank = difference_of_shares
) -> list[tuple[Shared, Fraction]]:
    """Candidates that are in at least one bad part, with their rank, worst first. `bad` and `good`: part → candidates in it.

    A part named both bad and good counts as bad. Equals go by how many bad parts have them, then by candidate."""
    held: dict[int, list[int]] = {}
    good = {part: found for part, found in good.items() if part not in bad}
    for side, parts in enumerate((bad, good)):
        for found in parts.values():
            for candidate in set(found):
                held.setdefault(candidate, [0, 0])[side] += 1
    rows = [Shared(c, with_bad, len(bad), with_good, len(good)) for c, (with_bad, with_good) in held.items() if with_bad]
    ranked = [(row, rank(row)) for row in rows]
    return sorted(ranked, key=lambda pair: (-pair[1], -pair[0].bad_with, pair[0].candidate))
