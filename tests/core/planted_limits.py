"""Bugs planted in the judging of life limits; see `planted.py`. Importing this module adds them to `BUGS`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from inventory.core import limits
from tests.core.planted import BUGS, bug

__all__ = ["BUGS"]


def reader(m: pytest.MonkeyPatch, clock: str, change: Callable[..., Any]) -> None:
    right = limits._READERS[clock]
    m.setitem(limits._READERS, clock, lambda limit, total, source, when: change(right, limit, total, source, when))


@bug("an hours limit still holds at exactly the limit")
def _inclusive(m: pytest.MonkeyPatch) -> None:
    def change(right: Any, limit: Any, total: Any, source: Any, when: Any) -> Any:
        reading = right(limit, total, source, when)
        return replace(reading, over=reading.over and (bool(reading.missing) or reading.used > reading.allowed))

    reader(m, "above", change)


@bug("an hours limit is over a microsecond early")
def _early(m: pytest.MonkeyPatch) -> None:
    reader(m, "above", lambda right, limit, total, source, when: right(replace(limit, limit_us=limit.limit_us - 1), total, source, when))


@bug("time at the threshold counts as out")
def _threshold(m: pytest.MonkeyPatch) -> None:
    reader(m, "above", lambda right, limit, *rest: right(replace(limit, threshold_mc=limit.threshold_mc - 1), *rest))


@bug("a date ends when its day begins")
def _day_begins(m: pytest.MonkeyPatch) -> None:
    right = limits.calendar_end_us
    m.setattr(limits, "calendar_end_us", lambda us, months, zone: right(us, months, zone) - limits.DAY_US)


@bug("a month is thirty days")
def _thirty(m: pytest.MonkeyPatch) -> None:
    m.setattr(limits, "calendar_end_us", lambda us, months, zone: limits._span_end(us, months * 30 * limits.DAY_US, zone))


@bug("a day is twenty-four hours")
def _day(m: pytest.MonkeyPatch) -> None:
    def span_end(start: int, us: int, zone: str) -> int:
        return start + us if us % limits.DAY_US else limits.end_of_day_us(limits.local_date(start + us, zone), zone)

    m.setattr(limits, "_span_end", span_end)


@bug("dates end in UTC")
def _utc(m: pytest.MonkeyPatch) -> None:
    right = limits.calendar_end_us
    m.setattr(limits, "calendar_end_us", lambda us, months, zone: right(us, months, "UTC"))


@bug("a count is over when it reaches its limit")
def _count_reached(m: pytest.MonkeyPatch) -> None:
    reader(m, "heats", lambda right, limit, *rest: right(replace(limit, limit_n=limit.limit_n - 1), *rest))


@bug("only the first failure is told")
def _one_reason(m: pytest.MonkeyPatch) -> None:
    right = limits._once
    m.setattr(limits, "_once", lambda reasons: right(reasons)[:1])


@bug("unknown history is taken for none")
def _trusting(m: pytest.MonkeyPatch) -> None:
    reader(m, "above", lambda right, limit, total, source, when: right(limit, replace(total, unknown=False), source, when))


@bug("a missing day of manufacture limits nothing")
def _no_date(m: pytest.MonkeyPatch) -> None:
    reader(m, "calendar", lambda right, *rest: replace(right(*rest), over=False) if right(*rest).missing else right(*rest))


@bug("extending the storage extends the out life")
def _extends_all(m: pytest.MonkeyPatch) -> None:
    def change(right: Any, limit: Any, total: Any, source: Any, when: Any) -> Any:
        until = when.extended.get((source.id, limit.name))
        return right(limit if until is None else replace(limit, limit_us=10**18), total, source, when)

    reader(m, "above", change)


@bug("an extension may shorten")
def _shortens(m: pytest.MonkeyPatch) -> None:
    right = limits._dated
    m.setattr(
        limits, "_dated", lambda limit, source, when, end: right(limit, source, when, when.extended.get((source.id, limit.name), end))
    )  # fmt: skip


@bug("out life is judged when laid only by what it has used, not by the cure that is planned")
def _plan(m: pytest.MonkeyPatch) -> None:
    m.setattr(limits, "BINDS", {deed: points[:1] for deed, points in limits.BINDS.items()})


@bug("fractions of life are added as rounded numbers")
def _floats(m: pytest.MonkeyPatch) -> None:
    m.setattr(limits, "Fraction", lambda a, b=1: a / b)
