"""What follows for a part: the deeds that come next in the order of the work, by where it stands."""

from __future__ import annotations

from dataclasses import dataclass

BUILDING, BAGGED, CURING, CURED = "building", "bagged", "curing", "cured"


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a part stands. `word`: building, bagged, curing, cured, assembled, shipped, scrapped; `loaded`: it stands where it was
    last loaded for cure; `to_drop`: a drop test is asked for and not passed since it was bagged; `to_test`: a hardness is asked for
    and not measured; `run`: a length that is cut into pieces."""

    word: str
    assembly: bool = False
    loaded: bool = False
    to_drop: bool = False
    to_test: bool = False
    run: bool = False


def following(s: Stand) -> tuple[str, ...]:
    """The deeds that come next, the most usual first; empty when nothing does. Lines of the schedule come before all of them."""
    if s.word == CURING:
        return ("off", "abort")
    if s.word in ("shipped", "scrapped"):
        return ()
    if s.assembly:
        return ("ship",)
    if s.word == CURED:
        return (*(["test"] if s.to_test else []), "step", *(["cut"] if s.run else []), "join", "ship")
    if s.loaded:
        return ("on",)
    if s.word == BAGGED:
        return (*(["drop"] if s.to_drop else []), "load")
    return ("bag",)
