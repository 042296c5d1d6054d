"""What a part's label says beside its number: the design, and for whom it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inventory.core.said import say
from inventory.printing.facts import Facts, provider
from layups.models import Part


@provider
def part_facts(items: Sequence[int]) -> Mapping[int, Facts]:
    """One question for any number of parts."""
    rows = Part.objects.filter(item__in=items).select_related("design", "customer")
    return {
        p.item_id: (
            ("", say("{design} {design_2}", design=p.design.code, design_2=p.design.name)),
            (say("For"), str(p.customer) if p.customer else ""),
        )
        for p in rows
    }
