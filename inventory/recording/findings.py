"""What a record broke, judged with all that is known: derived, reopened and closed with the truth, never deleted (R13).

One cause has one nonconformance, however many records it touches: a kit cut from a roll that was over, and the part it was
laid into, are findings of the roll's nonconformance.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.models import Finding, Leg, Nonconformance

from .claims import canonical

DERIVED = ("life.over", "life.unknown", "thaw.frozen", "thaw.short", "thaw.unknown", "pot.", "stock.below", "window.")
"""Families that follow from the records alone, so that a refold finds them again; others are kept as known then (that a bag
was wet, somebody saw)."""
LATER = say("a later record")
VOIDED = "void"


@dataclass(frozen=True, slots=True)
class Found:
    """One broken rule on one record. `cause` is the item that broke it first."""

    leg: int
    item: int
    cause: int
    at_us: int
    reason: Reason

    @property
    def code(self) -> str:
        """Stable within a record: two sources of one mix may each break the same rule."""
        limit = self.reason.numbers.get("limit")
        return self.reason.code + (f"/{limit}" if limit else "") + f"/{self.cause}"

    @property
    def family(self) -> str:
        return self.reason.code.split(".")[0]


def write(
    found: Sequence[Found], judged_legs: Iterable[int], site: int, now_us: int, standing: Mapping[int, Collection[int]] | None = None
) -> None:
    """Make the open derived findings of `judged_legs` equal to `found`. Findings closed by a disposition stay closed, and so
    stays what was not judged this time: `standing` gives, by leg, the causes that were left as they are."""
    left = standing or {}
    legs = sorted(set(judged_legs))
    wanted = {(f.leg, f.code): f for f in found}
    if not legs and not wanted:
        return
    existing = {
        (row.leg_id, row.code): row for i in range(0, len(legs), 5000) for row in Finding.objects.filter(leg__in=legs[i : i + 5000])
    }
    over = [r for k, r in existing.items() if k not in wanted and r.closed_us is None and r.code.startswith(DERIVED)]
    close([r for r in over if int(r.code.rsplit("/", 1)[1]) not in left.get(r.leg_id, ())], now_us, LATER)
    back = [r for k, r in existing.items() if k in wanted and r.closed_by in (LATER, VOIDED)]
    for row in back:
        row.closed_us, row.closed_by = None, ""
    Finding.objects.bulk_update(back, ["closed_us", "closed_by"], batch_size=500)
    fresh = [f for k, f in wanted.items() if k not in existing]
    causes = _nonconformances([*fresh], site, now_us)
    Finding.objects.bulk_create(
        [
            Finding(
                leg_id=f.leg,
                code=f.code,
                item_id=f.item,
                nonconformance_id=causes[(f.cause, f.family)],
                at_us=f.at_us,
                text=f.reason.text,
                numbers=canonical(f.reason.numbers),
                opened_us=now_us,
            )
            for f in fresh
        ],
        batch_size=500,
    )
    if back:
        Nonconformance.objects.filter(pk__in={r.nonconformance_id for r in back}, closed_by=LATER).update(closed_us=None, closed_by="")


def close_of_void(act: int, now_us: int) -> None:
    """A voided record breaks nothing any more."""
    legs = Leg.objects.filter(act=act).values("pk")
    close(list(Finding.objects.filter(leg__in=legs, closed_us__isnull=True)), now_us, VOIDED)


def close(rows: list[Finding], now_us: int, by: str) -> None:
    if not rows:
        return
    for row in rows:
        row.closed_us, row.closed_by = now_us, by
    Finding.objects.bulk_update(rows, ["closed_us", "closed_by"], batch_size=500)
    causes = {r.nonconformance_id for r in rows}
    still = set(Finding.objects.filter(nonconformance__in=causes, closed_us__isnull=True).values_list("nonconformance_id", flat=True))
    Nonconformance.objects.filter(pk__in=causes - still, closed_us__isnull=True).update(closed_us=now_us, closed_by=by)


def reopen(rows: Iterable[Finding]) -> None:
    """What a decision had closed is open again when the decision is voided."""
    ids = [row.pk for row in rows]
    Finding.objects.filter(pk__in=ids).update(closed_us=None, closed_by="")
    Nonconformance.objects.filter(findings__in=ids).update(closed_us=None, closed_by="")


def _nonconformances(found: Sequence[Found], site: int, now_us: int) -> dict[tuple[int, str], int]:
    keys = {(f.cause, f.family): f for f in found}
    if not keys:
        return {}
    causes = {c for c, _ in keys}
    rows = {(n.cause_id, n.code): n for n in Nonconformance.objects.filter(cause__in=causes)}
    new = [
        Nonconformance(site_id=site, cause_id=cause, code=family, text=f.reason.text, opened_us=now_us)
        for (cause, family), f in keys.items()
        if (cause, family) not in rows
    ]
    for row in Nonconformance.objects.bulk_create(new):
        rows[(row.cause_id, row.code)] = row
    again = [rows[k].pk for k in keys if rows[k].closed_us is not None]
    if again:
        Nonconformance.objects.filter(pk__in=again).update(closed_us=None, closed_by="")
    return {k: rows[k].pk for k in keys}
