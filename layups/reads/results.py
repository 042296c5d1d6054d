"""What the tests of a part say now: the newest of each kind counts, what was voided does not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Q

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.models import Disposition
from layups.core import verdicts
from layups.models import Inspection, Part

ACCEPTS = ("use_as_is", "repair", "accept")
"""Dispositions that let a part go on without passing."""
DROP_RULE = "drop_test.failed"


def inspections_of(parts: Iterable[int]) -> dict[int, list[Inspection]]:
    """The inspections of each part that count, oldest first, in one query."""
    out: dict[int, list[Inspection]] = defaultdict(list)
    rows = Inspection.objects.filter(part__in=set(parts), act__voided_by__isnull=True).select_related("act__person")
    for row in rows.order_by("act__happened_us", "pk"):
        out[row.part_id].append(row)
    return out


def drop_test_reason(part: Part, bagged_us: int | None) -> Reason | None:
    """Why the bag is not good enough to be heated, where the design asks for a drop test: the newest test since the bag was
    closed must have passed, or quality must have accepted the part as it is since."""
    limit = part.design.drop_limit_pa
    if limit is None:
        return None
    rows = Inspection.objects.filter(part=part, kind=verdicts.DROP, act__voided_by__isnull=True, act__happened_us__gte=bagged_us or 0)
    newest = rows.select_related("act").order_by("-act__happened_us", "-pk").first()
    if newest is not None and newest.passed:
        return None
    since = newest.act.happened_us if newest else bagged_us or 0
    accepted = Disposition.objects.filter(item=part.pk, meaning__in=ACCEPTS, act__happened_us__gte=since, act__voided_by__isnull=True)
    if accepted.filter(Q(nonconformance__isnull=True) | Q(nonconformance__code=DROP_RULE.split(".")[0])).exists():
        return None
    most = say("{limit} mbar", limit=f"{limit / 100:g}")
    numbers: dict[str, int | str | None] = {"part": part.number, "limit_pa": limit, "result": newest.result if newest else None}
    if newest is None:
        text = say("{part} has no drop test since it was bagged: at most {most} in 5 min. Test the bag first.", part=part.number, most=most)
        return Reason("drop_test.missing", text, numbers)
    text = say(
        "{part} failed its drop test: {result}, at most {most}. Find the leak and test again, or ask quality.",
        part=part.number,
        result=newest.result,
        most=most,
    )
    return Reason(DROP_RULE, text, numbers)
