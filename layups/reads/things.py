"""What a trace shows of each thing: what it is, how much and where, whether it exists, to whom it went. A constant number of
queries for any number of things."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from inventory.core.said import say
from inventory.core.shares import CONTAINS, MADE
from inventory.lineage import Hop, among
from inventory.models import Item, Leg
from layups.core.flows import Link
from layups.models import Part, Shipment

SHELF, WORK, CURED, SHIPPED, CONSUMED, OUT_AGAIN = (
    say("on the shelf"),
    say("in work"),
    say("cured"),
    say("shipped"),
    say("consumed"),
    say("no longer in it"),
)
EXISTS = (SHELF, WORK, CURED, SHIPPED)


@dataclass(frozen=True, slots=True)
class Sent:
    """To whom a thing went, when, and in what it went (itself, or the assembly it is in)."""

    customer: str
    at_us: int
    inside: str = ""


@dataclass(frozen=True, slots=True)
class Thing:
    """One labelled thing as it is now. `material` is a pot's recipe; `number` a lot's number; `where` is one of the words above;
    `followed`: how exactly its material is followed (item, lot, box)."""

    id: int
    name: str
    code: str
    kind: str
    material: str
    number: str
    supplier: str
    design: str
    unit: str
    qty: int
    place: str
    where: str
    gone: str
    customer: str
    sent: Sent | None
    followed: str = "item"

    @property
    def exists(self) -> bool:
        return self.where in EXISTS

    @property
    def made(self) -> bool:
        return self.kind in MADE


def items_of(ids: Collection[int]) -> QuerySet[Item]:
    return Item.objects.filter(pk__in=among(ids)).select_related("material", "batch__supplier", "lot__batch", "state__location")


def things_of(ids: Collection[int], hops: Iterable[Hop] = ()) -> dict[int, Thing]:
    """The things, with what `hops` say of who sits in whom. Four queries."""
    rows = {item.pk: item for item in items_of(ids)}
    recipes = _recipes([pk for pk, item in rows.items() if item.kind == "mix"])
    parts = {p.pk: p for p in Part.objects.filter(pk__in=among(ids)).select_related("design", "customer")}
    sent = _sent(ids, [h for h in hops if h.kind == CONTAINS and h.until_us is None], parts)
    pieces = {h.dst for h in hops if h.kind == "start"}
    return {pk: _thing(item, parts.get(pk), sent.get(pk), pk in pieces, recipes.get(pk, "")) for pk, item in rows.items()}


def _recipes(mixes: Collection[int]) -> dict[int, str]:
    """By which recipe each pot was mixed."""
    rows = Leg.objects.filter(item__in=among(mixes), act__kind="mix", delta__gt=0).values_list("item_id", "act__body")
    return {item: str(json.loads(body).get("recipe", "")) for item, body in rows}


def _thing(item: Item, part: Part | None, sent: Sent | None, piece: bool, recipe: str) -> Thing:
    state = getattr(item, "state", None)
    batch = getattr(item, "batch", None) or (getattr(item.lot, "batch", None) if item.lot else None)
    return Thing(
        id=item.pk,
        name=str(item),
        code=item.code,
        kind=item.kind,
        material=item.material.code if item.material else recipe,
        number=batch.number if batch else "",
        supplier=batch.supplier.name if batch and item.kind == "lot" else "",
        design=part.design.code if part else "",
        unit=item.unit,
        qty=state.qty if state else 0,
        place=state.location.name if state and state.location else "",
        where=_where(item, part, sent, piece),
        gone=state.gone if state else "",
        customer=sent.customer if sent else part.customer.name if part and part.customer else "",
        sent=sent,
        followed=item.material.grade if item.material else "item",
    )


def _where(item: Item, part: Part | None, sent: Sent | None, piece: bool) -> str:
    state = getattr(item, "state", None)
    if state is None:
        return CONSUMED
    if item.kind not in MADE:
        return CONSUMED if state.gone or state.qty <= 0 else SHELF
    if state.gone and state.gone != "shipped":
        return CONSUMED
    if sent is not None:
        return SHIPPED
    if item.unit != "pc" and state.qty <= 0:
        return CONSUMED  # a run that was cut up
    done = piece or json.loads(state.doc).get("cured") is not None
    return CURED if done or (part is not None and part.design.kind == "assembly") else WORK


def _sent(ids: Collection[int], stays: Sequence[Hop], parts: dict[int, Part]) -> dict[int, Sent]:
    """To whom each thing went: itself, or in what it sits in, whatever the depth."""
    rows = Shipment.objects.filter(part__in=among(ids), act__voided_by__isnull=True).select_related("customer", "act")
    own = {s.part_id: Sent(s.customer.name, s.act.happened_us) for s in rows.order_by("act__happened_us", "pk")}
    into = {h.src: h.dst for h in stays}
    out = dict(own)
    for thing in ids:
        seat, steps = into.get(thing), 0
        while thing not in out and seat is not None and steps < 50:
            if seat in own:
                inside = parts[seat].number if seat in parts else ""
                out[thing] = Sent(own[seat].customer, own[seat].at_us, inside)
            seat, steps = into.get(seat), steps + 1
    return out


def links_of(hops: Iterable[Hop]) -> list[Link]:
    """Hops as links of a walk in memory."""
    return [Link(h.edge, h.src, h.dst, h.happened_us, h.kind == CONTAINS, h.until_us, h.grade) for h in hops]
