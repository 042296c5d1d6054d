"""Life limits that somebody tightens: a customer, or a design (R8). A limit of the specification is never loosened by it.

The tightened limit is read beside the specification's own, and the tighter of the two counts at each reading; its name of
who tightened it stands in the reason. A retest extends the supplier's date, not what a customer asks for. What cannot be
applied (the specification has no such limit, or counts it in another unit) is not known, and not known is not fit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from .limits import CALENDAR_CLOCKS, COUNTED_CLOCKS, TIMED_CLOCKS, Limit, Source

NOT_TO_BE = "tightened"
"""The clock of a limit that was tightened in a way that cannot be applied."""


@dataclass(frozen=True, slots=True)
class Tighter:
    """`limit` of the material lasts no longer than this for `by`: `months`, `limit_us` (µs) or `limit_n`, one of them."""

    material: int
    limit: str
    by: str
    months: int | None = None
    limit_us: int | None = None
    limit_n: int | None = None

    def to_doc(self) -> dict[str, Any]:
        """As it stands in a record: plain values, empty ones left out."""
        return {n: getattr(self, n) for n in self.__dataclass_fields__ if getattr(self, n) is not None}

    @classmethod
    def from_doc(cls, doc: Mapping[str, Any]) -> Tighter:
        return cls(**doc)


def tighten(sources: Mapping[int, Source], rules: Sequence[Tighter]) -> Mapping[int, Source]:
    """The lots with the tightened limits beside their own; the same mapping where nothing is tightened."""
    if not rules:
        return sources
    return {number: _tightened(source, [r for r in rules if r.material == source.material]) for number, source in sources.items()}


def _tightened(source: Source, rules: Iterable[Tighter]) -> Source:
    more: list[Limit] = []
    for rule in rules:
        named = [limit for limit in source.limits if limit.name.casefold() == rule.limit.casefold()]
        more += [_limit(limit, rule) for limit in named] or [Limit(rule.limit, NOT_TO_BE, "used", by=rule.by)]
    return replace(source, limits=(*source.limits, *more)) if more else source


def _limit(limit: Limit, rule: Tighter) -> Limit:
    if applies(limit.clock, rule.months, rule.limit_us, rule.limit_n):
        return replace(limit, months=rule.months, limit_us=rule.limit_us, limit_n=rule.limit_n, by=rule.by)
    return replace(limit, clock=NOT_TO_BE, by=rule.by)


def applies(clock: str, months: int | None, limit_us: int | None, limit_n: int | None) -> bool:
    """Is this figure in the unit that the clock counts in?"""
    if clock in CALENDAR_CLOCKS:
        return (months is not None or limit_us is not None) and limit_n is None
    if clock in TIMED_CLOCKS:
        return limit_us is not None and months is None and limit_n is None
    return clock in COUNTED_CLOCKS and limit_n is not None and months is None and limit_us is None
