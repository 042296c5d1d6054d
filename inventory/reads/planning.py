"""What to fetch for a plan of many materials: the rules of `stock.choose`, asked of all of them at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.core.picking import Choice, Want, pick
from inventory.core.tighter import Tighter
from inventory.models import Delivery, Material

from .stock import Piece, candidate_of, counts, on_hand, pieces


@dataclass(frozen=True, slots=True)
class Wish:
    """So much of a material, at least this much of it in one piece of stock (`least`)."""

    material: Material
    least: int
    one_piece: bool = True


def choose_each(
    site: int, zone: str, now_us: int, wishes: Sequence[Wish], *, until_us: int | None = None, tighter: Sequence[Tighter] = ()
) -> dict[int, Choice]:
    """`choose` for a plan: each material in the order in which its pieces go, by the same rules, in a number of queries that does not
    grow. Kits and mixes are spoken for. What has to thaw may do so until the last checkpoint; without one, thawing does not count."""
    mine: dict[int, list[Piece]] = defaultdict(list)
    rows = on_hand(site, item__material__in=[wish.material.pk for wish in wishes])
    for p in pieces([row for row in rows if counts(row)], zone, now_us, tighter):
        mine[p.item.material_id or 0].append(p)
    return {
        wish.material.pk: pick(
            [candidate_of(p, bool(tighter), None, "", None if until_us is None else p.thaw_ready_us) for p in mine[wish.material.pk]],
            Want(wish.least, wish.material.unit, now_us, until_us, wish.one_piece and wish.material.unit == "um", zone, until_us),
        )
        for wish in wishes
    }


def on_order(site: int, materials: Iterable[int]) -> dict[int, list[Delivery]]:
    """What is still to come of each material, the first due first; those without a date last."""
    out: dict[int, list[Delivery]] = defaultdict(list)
    rows = Delivery.objects.filter(site=site, material__in=set(materials), arrived_us__isnull=True, cancelled_us__isnull=True)
    for row in sorted(rows, key=lambda d: (d.due_on is None, d.due_on or date.max, d.pk)):
        out[row.material_id].append(row)
    return out
