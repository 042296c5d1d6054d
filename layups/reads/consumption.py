"""What parts took, by design and material: one statement for any number of them."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Sum

from inventory.models import Edge


@dataclass(frozen=True, slots=True)
class Taken:
    """Of one material (or of pots of mixed resin: `what` None) into the parts of one design. `qty` in `unit`: what was laid as a
    kit counts by area, off the roll by length."""

    design: str
    name: str
    what: str | None
    unit: str
    qty: int
    parts: int

    @property
    def each(self) -> int:
        return round(self.qty / self.parts)


def consumption(site: int, from_us: int, to_us: int) -> list[Taken]:
    """What was laid into parts in (from, to]; `parts`: how many parts got any of it in that time."""
    rows = Edge.objects.filter(
        kind="lay", void=False, happened_us__gt=from_us, happened_us__lte=to_us, dst__site=site, dst__part__isnull=False
    ).exclude(src__part__isnull=False)
    rows = rows.filter(qty__gt=0)  # what is booked by the box has no amount for each part
    found = rows.values_list(
        "dst__part__design__code", "dst__part__design__name", "src__material__code", "src__unit"
    ).annotate(qty=Sum("qty"), parts=Count("dst", distinct=True))  # fmt: skip
    return [Taken(*row) for row in found.order_by("dst__part__design__code", "src__material__code", "src__unit")]
