"""Lots as people name them: by the number on the label, or by any piece of them."""

from __future__ import annotations

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.core.lots import number_key
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.models import Item, Leg, Lot

from .registry import Call
from .resolve import item_of


def thing_of(call: Call, text: str, where: str = "item") -> Item:
    """Anything with a label, by code or mark, or a lot by its number. BadInput as `item_of`, and lot.several."""
    try:
        return item_of(call, text)
    except BadInput as error:
        error.where = where
        lot = lot_by_number(call.who.site, text) if error.reason.code in ("code.unknown", "code.damaged") else None
        if lot is None:
            raise
        return lot.item


def lot_of(call: Call, text: str, where: str = "lot") -> Lot:
    """A lot by its number or by anything that belongs to it. BadInput lot.none for what belongs to no lot."""
    thing = thing_of(call, text, where)
    lot = Lot.objects.select_related("item", "material").filter(item=thing.pk if thing.kind == "lot" else thing.lot_id).first()
    if lot is None:
        raise BadInput(
            "lot.none", say("{thing} belongs to no lot: name the lot by its number, or by one of its pieces.", thing=thing), where
        )
    return lot


def lot_by_number(site: int, text: str) -> Lot | None:
    """The one live lot of a site with this number; BadInput lot.several when two materials or suppliers use it."""
    found = list(live_lots(site, text))
    if len(found) > 1:
        which = strung(
            ", ", sorted(say("{material} of {supplier}", material=lot.material.code, supplier=lot.supplier.name) for lot in found)
        )
        raise BadInput(
            "lot.several",
            say("Several lots are called {text} ({which}): scan a piece of the one you mean.", text=text.strip()[:60], which=which),
            "lot",
        )
    return found[0] if found else None


def live_lots(site: int, number: str) -> QuerySet[Lot]:
    """The lots of a site with this number whose making is not void."""
    void = Leg.objects.filter(item=OuterRef("item_id"), act__kind="made", act__voided_by__isnull=False)
    rows = Lot.objects.select_related("item", "material", "supplier").filter(called(number), ~Exists(void), item__site=site)
    return rows.order_by("item_id")


def called(number: str) -> Q:
    """Lots with this number, also those that a suffix tells apart from a voided one."""
    key = number_key(number[:200])
    return Q(number_key=key) | Q(number_key__startswith=f"{key} ")


def free_key(supplier: int, material: int, number: str) -> str:
    """The key for a new lot of this number. A lot's facts never change and its row stays when its receipt is voided, so
    the corrected one gets a suffix after a blank, which no number's key contains."""
    taken = Lot.objects.filter(called(number), supplier=supplier, material=material).count()
    return number_key(number) if not taken else f"{number_key(number)} {taken + 1}"
