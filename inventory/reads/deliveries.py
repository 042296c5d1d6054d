"""What is on order, what has come of it, and what is late (R38). Two statements for any number of deliveries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q, Sum

from inventory.core.said import say
from inventory.core.spans import Zone, local_date
from inventory.models import Delivery, Edge


@dataclass(frozen=True, slots=True)
class Awaited:
    """A delivery: what was ordered, and what of it stands as received (voided receipts left out). Quantities in the
    material's own unit; `late_days` counts from the due day (0: not late)."""

    number: str
    order: str
    material: str
    name: str
    unit: str
    supplier: str
    lot: str
    due_on: date | None
    price: str
    expected_pieces: int | None
    expected_qty: int | None
    pieces: int
    qty: int
    late_days: int
    cancelled: bool
    arrived_us: int | None

    @property
    def complete(self) -> bool:
        """All of it has come; where nothing was said of how much, anything is all of it."""
        if self.expected_pieces is None and self.expected_qty is None:
            return self.pieces > 0
        return self.pieces >= (self.expected_pieces or 0) and self.qty >= (self.expected_qty or 0)

    @property
    def open(self) -> bool:
        return not self.cancelled and not self.complete

    @property
    def progress(self) -> str:
        """ "2 of 5 pieces", as it is said at the door."""
        return (
            say("{pieces} of {expected_pieces} pieces", pieces=self.pieces, expected_pieces=self.expected_pieces)
            if self.expected_pieces
            else say("{pieces} pieces", pieces=self.pieces)
        )


def awaited(site: int, now_us: int, zone: Zone, numbers: Sequence[str] | None = None) -> list[Awaited]:
    """Deliveries that were ordered or have come, soonest due first; those named, or all of the site."""
    rows = Delivery.objects.select_related("material", "supplier").filter(site=site)
    if numbers is not None:
        rows = rows.filter(number__in=list(numbers))
    today = local_date(now_us, zone)
    came = _came(site)
    found = [_awaited(row, came[row.pk], today) for row in rows]
    return sorted(found, key=lambda a: (a.due_on or date.max, a.number))


def expected(site: int, now_us: int, zone: Zone) -> list[Awaited]:
    """What is still to come, soonest due first."""
    return [row for row in awaited(site, now_us, zone) if row.open]


def late(site: int, now_us: int, zone: Zone) -> list[Awaited]:
    """What should have come before today, the latest first."""
    return sorted((row for row in expected(site, now_us, zone) if row.late_days), key=lambda row: (-row.late_days, row.number))


def pieces_here() -> Count:
    """For a query of deliveries: how many pieces of each stand as received."""
    standing = Q(items__edges_in__kind="receive", items__edges_in__void=False)
    return Count("items", filter=standing, distinct=True)


def still_expected(row: Delivery, qty: int) -> bool:
    """Whether one more piece with this much is what is still to come; where nothing was said of how much, anything is."""
    came = Edge.objects.filter(kind="receive", void=False, dst__delivery=row).aggregate(n=Count("dst", distinct=True), total=Sum("qty"))
    if row.expected_pieces is not None and came["n"] >= row.expected_pieces:
        return False
    return row.expected_qty is None or (came["total"] or 0) + qty <= row.expected_qty


def _came(site: int) -> dict[int, tuple[int, int]]:
    """Pieces and quantity that stand as received, by delivery."""
    rows = Edge.objects.filter(kind="receive", void=False, dst__delivery__site=site).values("dst__delivery")
    found: dict[int, tuple[int, int]] = defaultdict(lambda: (0, 0))
    found |= {
        row["dst__delivery"]: (row["pieces"], row["total"]) for row in rows.annotate(pieces=Count("dst", distinct=True), total=Sum("qty"))
    }
    return found


def _awaited(row: Delivery, came: tuple[int, int], today: date) -> Awaited:
    pieces, qty = came
    days = (today - row.due_on).days if row.due_on is not None else 0
    return Awaited(
        number=row.number,
        order=row.order_number,
        material=row.material.code,
        name=row.material.name,
        unit=row.material.unit,
        supplier=row.supplier.name,
        lot=row.lot_number,
        due_on=row.due_on,
        price=row.price,
        expected_pieces=row.expected_pieces,
        expected_qty=row.expected_qty,
        pieces=pieces,
        qty=qty,
        late_days=max(days, 0),
        cancelled=row.cancelled_us is not None,
        arrived_us=row.arrived_us,
    )
