"""What stands beside a decision, so that nobody decides blind: the thing, its papers against their limits, its journey, its
holds, what was made of it. The record, where a record is decided on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.core import codes
from inventory.core.reasons import BadInput
from inventory.core.said import say, say_n
from inventory.lineage import down_ids, open_blocks
from inventory.models import Act, Item, ItemState, Leg
from inventory.pages import acts, itemfacts
from inventory.pages.door import Shop
from inventory.pages.ways import item_link, to
from inventory.reads import release, stock
from inventory.templatetags import shapes
from inventory.templatetags import words as said
from inventory.verbs import resolve
from inventory.verbs.lots import lot_by_number

MOST = 6


@dataclass(frozen=True, slots=True)
class About:
    """One thing that a form speaks of. `rows`: (word, value); `against`: what speaks against using it now."""

    name: Any
    rows: tuple[tuple[str, Any], ...]
    against: tuple[Any, ...] = ()
    below: int = 0


def facts_of(shop: Shop, form: Any) -> list[About]:
    """The things or the record that the form names, at most six."""
    texts: list[str] = []
    for name in ("item", "items"):
        if name in form.fields:
            texts += [line.strip() for line in str(form[name].value() or "").splitlines() if line.strip()]
    found = [about for text in texts[:MOST] if (about := thing(shop, text)) is not None]
    record = str(form["record"].value() or "") if "record" in form.fields else ""
    if record.isascii() and record.isdecimal() and len(record) < 19:
        found += record_of(shop, int(record))
    return found


def item_named(shop: Shop, text: str) -> Item | None:
    """Anything with a label, or a lot by its number. An address of our own holds the code itself."""
    if len(text) > 4096 or "\x00" in text:
        return None
    item = Item.objects.select_related("lot__batch", "material").filter(site=shop.site, code=text).first()
    item = item or resolve.find(shop.site, codes.normalise(text))
    if item is None:
        try:
            lot = lot_by_number(shop.site, text)
        except BadInput:
            return None
        item = lot.item if lot is not None else None
    return item


def thing(shop: Shop, text: str) -> About | None:
    item = item_named(shop, text)
    if item is None:
        return None
    rows = ItemState.objects.select_related("item__material", "item__owner", "item__lot__batch", "location").filter(pk=item.pk)
    p = next(iter(stock.pieces(rows, shop.zone, shop.now_us)), None)
    told: list[tuple[str, Any]] = []
    if item.material is not None:
        told.append((say("Material"), item.material.code))
    if item.kind == "lot":
        told.append((say("Lot"), item.batch.number))
    elif item.lot_id and item.lot is not None:
        told.append(
            (
                say("Lot"),
                item_link(item.lot) if not hasattr(item.lot, "batch") else said.code_link(item.lot.batch.number, to("item", item.lot.code)),
            )
        )
    if p is not None and item.kind not in ("part", "assembly", "lot"):
        told += [(say("Left"), said.qty(p.state.qty, item.unit)), (say("Where"), p.place)]
    told += papers_of(item)
    below = len(down_ids([item.pk]))
    if below:
        told.append((say("Made of it"), say_n("{n} thing", "{n} things", below)))
    against: tuple[object, ...] = tuple(p.against) if p is not None else ()
    if any(getattr(r, "code", "") == "block.incoming" for r in against):
        against += tuple(r for reasons in release.against_release(release.waiting_pieces(shop.site, [item.pk])).values() for r in reasons)
    if item.kind == "lot":
        against = tuple(
            hit.sentence(say("lot {batch}", batch=item.batch.number), item.pk) for hit in open_blocks([item.pk]).get(item.pk, ())
        )
    return About(item_link(item), tuple(told), against, below)


def papers_of(item: Item) -> list[tuple[str, Any]]:
    """The values on its papers beside what is required."""
    if item.kind in ("part", "assembly", "mix", "kit"):
        return []
    return [(v.name, said.format_html("{} {} {}", v.value, shapes.chip(v.status), v.limits)) for v in itemfacts.papers(item)]


def record_of(shop: Shop, pk: int) -> list[About]:
    act = Act.objects.select_related("person", "voids").filter(site=shop.site, pk=pk).first()
    if act is None:
        return []
    legs = list(Leg.objects.filter(act=act).select_related("item", "location").order_by("pk")[:MOST])
    edges = acts.edges_of([pk]).get(pk, ())
    rows: list[tuple[str, Any]] = [(say("Who"), act.person.name), (say("When"), said.instant(act.happened_us, shop.zone, shop.now_us))]
    for leg in legs:
        leg.act = act
        mine = [e for e in edges if leg.item_id in (e.src_id, e.dst_id)]
        rows.append((str(leg.item), acts.leg_text(leg, mine, shop)))
    name = said.code_link(say("Record {pk}: {kind_words}", pk=act.pk, kind_words=acts.kind_words(act.kind).lower()), to("record", act.pk))
    return [About(name, tuple(rows))]
