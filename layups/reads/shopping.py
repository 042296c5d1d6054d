"""A shopping list: what a demand takes, what of it is picked from the stock, first expired, first out (R5), and what is still to buy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.core.picking import Candidate, Choice, Passed, Take, draw, draw_pieces
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.spans import local_date
from inventory.core.tighter import Tighter
from inventory.models import Delivery, Material
from inventory.reads.planning import Wish, choose_each, on_order
from inventory.reads.stock import Piece
from layups.core.demand import Order

from .demand import Demand


@dataclass(frozen=True, slots=True)
class Row:
    """One material. `missing`: what the stock does not give; `coming`: of that, what is on order and due in time; `buy`: the rest. Where
    pieces are cut, `pieces` says how many of each length are missing."""

    order: Order
    material: Material
    takes: tuple[Take, ...]
    passed: tuple[Passed, ...]
    missing: int
    pieces: dict[int, int]
    orders: tuple[Delivery, ...]
    coming: int

    @property
    def buy(self) -> int:
        return self.missing - self.coming

    @property
    def picked(self) -> int:
        return sum(take.amount for take in self.takes)


@dataclass(frozen=True, slots=True)
class Shopping:
    demand: Demand
    rows: tuple[Row, ...]
    cure_us: int | None


def shopping(site: int, zone: str, demand: Demand, now_us: int, cure_us: int | None, tighter: Sequence[Tighter] = ()) -> Shopping:
    """Stock that is released, free, long enough and alive at the planned cure; a number of queries that does not grow with the list.
    BadInput demand.cure_over for a cure that lies in the past."""
    if cure_us is not None and cure_us < now_us:
        raise BadInput("demand.cure_over", say("The planned cure lies in the past: give a time to come, or leave it out."), "cure")
    wanted = [order for order in demand.orders if order.whole > 0]
    wishes = [Wish(demand.materials[o.code], min(o.sizes, default=1), bool(o.sizes)) for o in wanted]
    choices = choose_each(site, zone, now_us, wishes, until_us=cure_us, tighter=tighter)
    coming = on_order(site, (wish.material.pk for wish in wishes))
    last = None if cure_us is None else local_date(cure_us, zone)
    keys = [wish.material.pk for wish in wishes]
    rows = [_row(o, w.material, choices[k], coming.get(k, []), last) for o, w, k in zip(wanted, wishes, keys, strict=True)]
    return Shopping(demand, tuple(rows), cure_us)


def _row(order: Order, material: Material, choice: Choice, deliveries: Sequence[Delivery], last: date | None) -> Row:
    pieces: dict[int, int] = {}
    if order.sizes:
        takes, pieces = draw_pieces(choice.order, order.sizes, _runs)
        missing = sum(size * n for size, n in pieces.items())
    else:
        takes, missing = draw(choice.order, order.whole)
    in_time = [d for d in deliveries if last is None or (d.due_on is not None and d.due_on <= last)]
    coming = min(missing, sum(d.expected_qty or 0 for d in in_time))
    passed = (*choice.passed_over, *(choice.unfit if missing else ()))
    return Row(order, material, tuple(takes), passed, missing, pieces, tuple(deliveries), coming)


def _runs(candidate: Candidate) -> Sequence[int]:
    assert isinstance(candidate.ref, Piece)
    return candidate.ref.runs
