"""Facts that judging needs about lots and materials, loaded once: they stand in insert-only tables."""

from __future__ import annotations

import re
from collections.abc import Iterable

from inventory.core.limits import Limit, Source
from inventory.core.said import say
from inventory.models import LifeLimit, Lot

_DAY_US = 86_400_000_000
_PART = re.compile(r"(-?\d+):P(\d+)([DM])", re.ASCII)


def limit_of(row: LifeLimit) -> Limit:
    return Limit(
        name=row.name,
        clock=row.clock,
        checkpoint=row.checkpoint,
        months=row.months,
        limit_us=row.limit_us,
        limit_n=row.limit_n,
        threshold_mc=row.threshold_mc,
        fractions=fractions_of(row.fractions),
        ladder=tuple(int(m) for m in row.ladder.split()),
        unopened_only=row.unopened_only,
    )


def fractions_of(text: str) -> tuple[tuple[int, int], ...]:
    """ "10000:P3M 25000:P28D" → ((10000, µs), (25000, µs)): ceiling in milli-°C, life there; a month counts 30 days, which
    is the shorter reading of what a data sheet states."""
    found = [(int(m[1]), int(m[2]) * (30 if m[3] == "M" else 1) * _DAY_US) for m in _PART.finditer(text)]
    return tuple(sorted(found))


LIMITED = frozenset({"prepreg", "film", "resin", "hardener", "peroxide", "gelcoat", "paste", "promoter"})
"""Kinds that do not last: a lot of them whose material has no life specification at all is not fit, because nobody knows
(a specification without limits says that there are none)."""

UNSTATED = Limit("life", "unstated", "used")

_KNOWN: dict[int, Source] = {}


def sources_of_lots(lots: Iterable[int], unsettled: bool = False) -> dict[int, Source]:
    """The lots as life sees them. Lots, specifications and limits never change, so a process keeps what it has read; it
    keeps nothing while a transaction is bringing lots into being (`unsettled`), since that may yet be rolled back."""
    wanted = set(lots)
    missing = wanted - _KNOWN.keys()
    found = load_sources(missing) if missing else {}
    if not unsettled:
        _KNOWN.update(found)
    return {lot: found[lot] if lot in found else _KNOWN[lot] for lot in wanted if lot in found or lot in _KNOWN}


def forget_sources() -> None:
    """For tests, whose databases are thrown away under the process."""
    _KNOWN.clear()


def load_sources(lots: Iterable[int]) -> dict[int, Source]:
    """The lots as life sees them, in two queries."""
    rows = list(Lot.objects.filter(pk__in=set(lots)).select_related("material"))
    limits: dict[int, list[Limit]] = {}
    for row in LifeLimit.objects.filter(spec__in={r.spec_id for r in rows if r.spec_id}).order_by("spec_id", "name"):
        limits.setdefault(row.spec_id, []).append(limit_of(row))
    return {
        r.pk: Source(
            id=r.pk,
            label=say("{material} lot {number}", material=r.material.code, number=r.number),
            material=r.material_id,
            limits=tuple(limits.get(r.spec_id or 0, ())) if r.spec_id or r.material.kind not in LIMITED else (UNSTATED,),
            made_us=r.made_us,
            printed_us=r.printed_us,
        )
        for r in rows
    }
