"""Bagging, and the consumables that are booked to a bay by the box (R39)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.models import Item, ItemState
from inventory.recording import Claim, Flow, Line, Transaction
from inventory.verbs.registry import BUILDER, OWNER, QUALITY, STOREKEEPER, Call, Outcome, verb
from inventory.verbs.resolve import ceiling_of, item_of, place_of
from layups.core import schedule
from layups.reads import schedules
from layups.reads.tightening import carried, tighter_for

from .finding import Made, listed, several
from .windowing import closing_step


@dataclass(frozen=True, slots=True)
class BookBox:
    """`item`: a box of consumables. `place`: the bay it is used in; parts bagged there from now on have it among what they
    were made with, marked as less exact."""

    item: str
    place: str


@verb("book_box", BookBox, (STOREKEEPER, BUILDER, QUALITY, OWNER), say("Book a box to a bay"))
def book_box(call: Call, p: BookBox) -> Outcome:
    item, place = item_of(call, p.item), place_of(call, p.place)
    if item.material is None or item.material.grade != "box":
        raise BadInput(
            "box.not_by_box", say("{item} is followed more exactly than by the box: scan it into the part instead.", item=item), "item"
        )
    if place.kind != "bay":
        raise BadInput(
            "box.not_a_bay", say("{place} is not a work bay: put the box away there, or book it to a bay.", place=place.name), "place"
        )
    line = Line(item.pk, location=place.pk, ceiling=ceiling_of(place))
    receipts = call.record([call.claim("move", [line], p, body={"booked": place.code})], "book_box")
    return Outcome(say("{item} is booked to {place}.", item=item, place=place.name), receipts, {"item": item.code, "place": place.code})


@dataclass(frozen=True, slots=True)
class Bag:
    """`part` and `also`: the parts under this bag."""

    part: str
    also: tuple[str, ...] = ()


@verb("bag", Bag, (BUILDER, QUALITY, OWNER), say("Bag"))
def bag(call: Call, p: Bag) -> Outcome:
    parts = several(call, p.part, p.also)
    boxes = [] if call.done_before() else _boxes(call, p, parts)
    shut, tighter = closing_step("bag", parts), tighter_for(m.part for m in parts)
    lines = [Line(m.id, body=shut.body(m.id) | carried(tighter[m.id])) for m in parts]
    claim = call.claim("bag", lines, p, checks=(_not_curing(parts), shut))
    receipts = call.record([*boxes, claim], "bag")
    return Outcome(
        say("{listed} bagged.", listed=listed(parts)), receipts, {"parts": [m.part.number for m in parts], "missing": _missing(parts)}
    )


def _not_curing(parts: list[Made]) -> Callable[[Transaction], list[Reason]]:
    def check(tx: Transaction) -> list[Reason]:
        return [
            Reason("part.curing", say("{m} is curing: end its cure first.", m=m), {"item": m.id})
            for m in parts
            if tx.state(m.id).curing is not None
        ]

    return check


def _boxes(call: Call, p: Bag, parts: list[Made]) -> list[Claim]:
    """What stands in each bay by the box goes into the parts that are bagged there, without a quantity."""
    places: dict[int, list[Made]] = defaultdict(list)
    where = dict(ItemState.objects.filter(pk__in=[m.id for m in parts]).values_list("pk", "location_id"))
    for m in parts:
        if where.get(m.id) is not None:
            places[where[m.id]].append(m)
    boxes: dict[int, list[int]] = defaultdict(list)
    rows = Item.objects.filter(site=call.who.site, state__location__in=places, state__qty__gt=0, state__gone="", material__grade="box")
    for box, place in rows.values_list("pk", "state__location_id"):
        boxes[place].append(box)
    tighter = tighter_for(m.part for m in parts)
    claims = []
    for place, found in sorted(boxes.items()):
        lines = [*(Line(box) for box in found), *(Line(m.id, body=carried(tighter[m.id])) for m in places[place])]
        flows = tuple(Flow(box, m.id, 0, grade="box") for box in found for m in places[place])
        claims.append(call.claim("lay", lines, p, part=say("boxes {place}", place=place), flows=flows, body={"boxes": len(found)}))
    return claims


def _missing(parts: list[Made]) -> dict[str, list[str]]:
    """Lines of the schedule that nothing went into, for each part: told, not refused (a core may go in later)."""
    lines = schedules.lines_of(m.part.design_id for m in parts)
    laid = schedules.laid_into(m.id for m in parts)
    found = {
        m.part.number: [line.name for line in schedule.missing(lines.get(m.part.design_id, ()), schedules.fillings(laid.get(m.id, ())))]
        for m in parts
    }
    return {number: names for number, names in found.items() if names}
