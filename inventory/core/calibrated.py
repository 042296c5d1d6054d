"""Is a probe calibrated for all the time of its log? Days are those of the site; both ends of a calibration belong to it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import NamedTuple

from inventory.core.said import say


class Cover(NamedTuple):
    """A calibration holds from the day it was done to the day it is due, both included."""

    done: date
    due: date


def uncovered(covers: Iterable[Cover], first: date, last: date) -> date | None:
    """The first day of [first, last] that no calibration covers; None when all are covered. Calibrations may follow each other."""
    day = first
    for done, due in sorted(covers):
        if done > day:
            break
        if due >= last:
            return None
        day = max(day, due + timedelta(days=1))
    return day


def calibration_text(covers: Iterable[Cover], first: date, last: date) -> str:
    """Why a log is not evidence, as a sentence; "" when it is."""
    known = sorted(covers)
    day = uncovered(known, first, last)
    if day is None:
        return ""
    if not known:
        return say("No calibration of this probe is on record, so its log is not evidence by itself.")
    past = [c.due for c in known if c.due < day]
    since = (
        say(": it was due on {past}", past=max(past).isoformat())
        if past
        else say(": its first calibration on record is of {done}", done=known[0].done.isoformat())
    )
    return say("On {day} the probe was not in calibration{since}. Its log is not evidence by itself.", day=day.isoformat(), since=since)
