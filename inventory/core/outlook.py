"""What the stock will be, and how full the cold is: sums over what is known, with the rule beside each."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


def expected(living: int, arriving: int, used: int, used_days: int, days: int) -> int:
    """What is likely to be usable in so many days: what will still be alive then, and what arrives, less what goes at the rate of
    the days past. Never below nothing. All in one base unit.

    What is used comes out of what would otherwise have ended as well as out of what lives on: the rule errs on the low side."""
    if used_days <= 0 or days < 0:
        raise ValueError("a rate needs days")
    return max(0, living + arriving - round(used * days / used_days))


@dataclass(frozen=True, slots=True)
class Stay:
    """A thing in a place over [from, to); `to_us` None: still there."""

    place: int
    from_us: int
    to_us: int | None


def stays(moves: Iterable[tuple[int, int, int | None]]) -> list[Stay]:
    """`moves`: (thing, instant, place or None when it is gone), in the order in which they happened, for any number of things."""
    here: dict[int, tuple[int, int]] = {}
    found: list[Stay] = []
    for thing, at, place in moves:
        before = here.get(thing)
        if before is not None and before[0] == place:
            continue
        if before is not None:
            found.append(Stay(before[0], before[1], at))
            del here[thing]
        if place is not None:
            here[thing] = (place, at)
    found += [Stay(place, at, None) for place, at in here.values()]
    return found


def occupancy(found: Sequence[Stay], places: Iterable[int], instants: Sequence[int]) -> dict[int, list[int]]:
    """How many things stood in each place at each instant: those that had come, less those that had gone."""
    out: dict[int, list[int]] = {}
    for place in places:
        came = sorted(s.from_us for s in found if s.place == place)
        went = sorted(s.to_us for s in found if s.place == place and s.to_us is not None)
        out[place] = [bisect_right(came, at) - bisect_right(went, at) for at in instants]
    return out
