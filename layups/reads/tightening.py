"""Which life limits a part's customer and design tighten (R8)."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q

from inventory.composed import Composed
from inventory.core.tighter import Tighter
from layups.models import Part, TighterLimit

_ASKED = Composed(
    lambda designs, customers: (
        TighterLimit.objects.filter(Q(design__isnull=True) | Q(design__in=designs), Q(customer__isnull=True) | Q(customer__in=customers))
        .select_related("customer", "design")
        .order_by("pk")
    ),
    set,
    set,
)


def tighter_for(parts: Iterable[Part]) -> dict[int, tuple[Tighter, ...]]:
    """The tightened limits of each part, by its id, in one query."""
    wanted = list(parts)
    designs, customers = {p.design_id for p in wanted}, {p.customer_id for p in wanted if p.customer_id is not None}
    rules = _ASKED.all(designs, customers)
    found = [(row, Tighter(row.material_id, row.limit, row.whose, row.months, row.limit_us, row.limit_n)) for row in rules]
    return {
        part.pk: tuple(
            rule for row, rule in found if row.design_id in (None, part.design_id) and row.customer_id in (None, part.customer_id)
        )
        for part in wanted
    }


def tighter_for_design(design: int) -> tuple[Tighter, ...]:
    """What holds for every part of a design, whoever it is for; one query."""
    return tuple(
        Tighter(row.material_id, row.limit, row.whose, row.months, row.limit_us, row.limit_n)
        for row in _ASKED.all({design}, set())
        if row.customer_id is None
    )


def carried(rules: Iterable[Tighter]) -> dict[str, object]:
    """What a part's leg carries, so that it is judged by these limits for ever."""
    docs = [rule.to_doc() for rule in rules]
    return {"tight": docs} if docs else {}
