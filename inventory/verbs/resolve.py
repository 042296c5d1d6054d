"""From what a person or a scanner says to rows: items by any of their codes or marks, places, materials, quantities.

What is not understood is BadInput with a stable code and what to do; nothing is guessed."""

from __future__ import annotations

from django.db.models import Q

from inventory.composed import Composed
from inventory.core import codes, units
from inventory.core.exposure import UNKNOWN_MC
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say, strung
from inventory.models import Customer, Item, ItemCode, Location, Material, Supplier
from inventory.properties import props_of

from .registry import Call


def item_of(call: Call, text: str, kinds: tuple[str, ...] = ()) -> Item:
    """An item of the caller's site by code, further code or mark. BadInput: code.empty, code.damaged, code.unknown, code.wrong_kind."""
    scan = codes.normalise(text)
    if scan.kind == "empty":
        raise BadInput("code.empty", say("Nothing was scanned: scan or type the code on the label."), "item")
    if scan.kind == "damaged":
        raise BadInput("code.damaged", say("“{scan}” does not check: scan it again, or type the mark.", scan=scan.text), "item")
    found = find(call.who.site, scan)
    if found is None and scan.code is None:
        found = _by_label(call, text)
    if found is None and call.stance == "observed" and scan.code is not None and scan.on == "item":
        found = _stub(call, scan.code)
    if found is None:
        raise BadInput(
            "code.unknown", say("Nothing here has the code or mark “{scan}”. Is it received? Scan again or search.", scan=scan.text), "item"
        )
    if kinds and found.kind not in kinds:
        wanted = strung(say(" or "), kinds)
        raise BadInput(
            "code.wrong_kind",
            say(
                "{found} is a {get_kind_display}: scan a {wanted} here.",
                found=found,
                get_kind_display=found.get_kind_display(),
                wanted=wanted,
            ),
            "item",
            kind=found.kind,
        )
    return found


def _by_label(call: Call, text: str) -> Item | None:
    """The piece that came with this supplier's label. A label that names a lot, and no piece of it, names none."""
    from .scans import scanned  # which looks things up through this module

    found = scanned(call.who.site, call.who.zone, call.now_us, text)
    if found.what == "lot" and found.lot is not None:
        sentence = say("This is the supplier's label of lot {lot}, not of one piece: scan our own label on it.", lot=found.lot.number)
        raise BadInput("code.label_of_lot", sentence, "item", lot=found.lot.number)
    return found.item if found.what == "thing" and found.reading.is_label else None


def _stub(call: Call, code: str) -> Item:
    """A well-formed label of ours that nobody has recorded yet, seen in a late scan: a thing of its own, not fit for use,
    which its birth completes when that arrives."""
    item, _ = Item.objects.get_or_create(
        site_id=call.who.site, code=code, defaults={"kind": "kit", "unit": "pc", "stub": True, "made_by_id": call.who.device}
    )
    return Item.objects.select_related("material", "owner", "lot").get(pk=item.pk)


_ITEMS = Item.objects.select_related("material", "owner", "lot")
_BY_CODE = Composed(lambda site, code: _ITEMS.filter(site=site, code=code), int, str)


def find(site: int, scan: codes.Scan) -> Item | None:
    rows = _ITEMS.filter(site=site)
    if scan.code:
        found = _BY_CODE.first(site, scan.code)
        if found is not None:
            return found
        further = ItemCode.objects.filter(site=site, code=scan.code).first()
        return rows.get(pk=further.item_id) if further is not None else None
    return rows.filter(~Q(mark=""), mark__iexact=scan.text).first()


def place_of(call: Call, text: str) -> Location:
    """A place by its code. BadInput: place.unknown, place.retired."""
    row = Location.objects.select_related("storage").filter(site=call.who.site, code__iexact=text.strip()[:24]).first()
    if row is None:
        raise BadInput(
            "place.unknown", say("There is no place “{text}” here: scan the place's own label.", text=text.strip()[:40]), "place"
        )
    if row.retired_us is not None:
        raise BadInput("place.retired", say("{name} is no longer in use: choose another place.", name=row.name), "place")
    return row


def ceiling_of(place: Location) -> int:
    """The upper end of a place's band; a place of unknown temperature counts as the hottest."""
    return place.storage.high_mc if place.storage.high_mc is not None else UNKNOWN_MC


def material_of(text: str) -> Material:
    row = Material.objects.filter(code__iexact=text.strip()[:24]).first()
    if row is None:
        raise BadInput(
            "material.unknown", say("There is no material “{text}”: add it under materials first.", text=text.strip()[:40]), "material"
        )
    return row


def supplier_of(text: str) -> Supplier:
    row = Supplier.objects.filter(name__iexact=text.strip()[:120]).first()
    if row is None:
        raise BadInput("supplier.unknown", say("There is no supplier “{text}”: add them first.", text=text.strip()[:60]), "supplier")
    return row


def customer_of(text: str) -> Customer:
    row = Customer.objects.filter(name__iexact=text.strip()[:120]).first()
    if row is None:
        raise BadInput("customer.unknown", say("There is no customer “{text}”: add them first.", text=text.strip()[:60]), "customer")
    return row


def amount(item: Item, text: str, where: str = "quantity") -> int:
    """A quantity as typed, in the item's own unit; a number without a unit is in that unit's usual one. `where`: its field."""
    with told_at(where):
        return units.to_stock(text, None, props_of(item.material, item.unit)).value
