"""What a scan is in this shop: the thing, place, badge, delivery or lot that it names, or a supplier's label and the material it is of.

A constant number of questions, whatever was scanned; nothing is written."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from django.db.models import Q

from inventory.core.labelfacts import Facts
from inventory.core.lots import number_key
from inventory.core.meanings import as_meant, meanings
from inventory.core.patterns import pattern
from inventory.core.reading import Reading, read
from inventory.core.reasons import BadInput
from inventory.core.spans import local_date
from inventory.models import Delivery, Item, KnownBy, Location, Lot, SupplierLabel

from . import resolve

What = Literal["thing", "place", "badge", "delivery", "lot", "label", "unmapped", "unknown"]
MOST = 50


@dataclass(frozen=True, slots=True)
class Scanned:
    """What a scan is. `facts` are the reading's, with this supplier's own meanings put in. `kinds`: the entries of suppliers' labels
    that it fits; more than one where several suppliers sell the same article."""

    what: What
    reading: Reading
    facts: Facts
    item: Item | None = None
    place: Location | None = None
    delivery: Delivery | None = None
    lot: Lot | None = None
    kinds: tuple[SupplierLabel, ...] = ()


def scanned(site: int, zone: str, now_us: int, raw: str, bare: bool = False) -> Scanned:
    """What the scan is: what is here by this name first, then what a label says. `bare`: where labels are expected, a single letter
    may be an identifier; there a label is read as one, and nothing is looked for by its parts."""
    rows = list(SupplierLabel.objects.select_related("supplier", "material").filter(known_by=KnownBy.PATTERN, ended_us=None).order_by("pk"))
    reading = read(raw, local_date(now_us, zone).year, [pattern(row.value) for row in rows], bare)
    if reading.kind in ("empty", "too_long"):
        return Scanned("unknown", reading, reading.facts)
    here = _here(site, reading)
    if here is not None:
        return here
    if not reading.is_label:
        return Scanned("unknown", reading, reading.facts)
    return label_of(site, reading, kinds_of(reading, rows), local_date(now_us, zone).year)


def _here(site: int, reading: Reading) -> Scanned | None:
    """A thing, a place, a badge or a delivery that is called so."""
    scan = reading.scan
    if scan.on == "person":
        return Scanned("badge", reading, reading.facts)
    if scan.on in (None, "item"):
        item = resolve.find(site, scan)
        if item is not None:
            return Scanned("thing", reading, reading.facts, item=item)
    named = Q(code__iexact=scan.text[:24]) | Q(code__iexact=scan.code or scan.text[:24])
    place = Location.objects.select_related("storage").filter(named, site=site, retired_us__isnull=True).first()
    if place is not None:
        return Scanned("place", reading, reading.facts, place=place)
    delivery = Delivery.objects.select_related("material", "supplier").filter(site=site, number__iexact=scan.text[:40]).first()
    return Scanned("delivery", reading, reading.facts, delivery=delivery) if delivery is not None else None


def kinds_of(reading: Reading, patterns: Iterable[SupplierLabel] = ()) -> tuple[SupplierLabel, ...]:
    """The entries that this label fits. A pattern says for certain; a number may be several suppliers'."""
    if reading.pattern is not None:
        return tuple(row for row in patterns if row.value == reading.pattern.said)
    numbers = Q()
    for known_by, value in (
        (KnownBy.GTIN, reading.facts.gtin),
        (KnownBy.PART, reading.facts.part),
        (KnownBy.PART, reading.facts.customer_part),
    ):
        if value:
            numbers |= Q(known_by=known_by, value=value)
    if not numbers:
        return ()
    return tuple(SupplierLabel.objects.select_related("supplier", "material").filter(numbers, ended_us=None).order_by("pk")[:MOST])


def label_of(site: int, reading: Reading, kinds: tuple[SupplierLabel, ...], this_year: int) -> Scanned:
    """A label: the thing or the lot that it names, if that is here; else what it says."""
    facts = meant(reading, kinds, this_year)
    if facts.lot:
        found = _received(site, facts, {row.material_id for row in kinds})
        if found is not None:
            return replace(found, reading=reading, facts=facts, kinds=kinds)
    return Scanned("label" if kinds else "unmapped", reading, facts, kinds=kinds)


def meant(reading: Reading, kinds: Iterable[SupplierLabel], this_year: int) -> Facts:
    facts = reading.facts
    for row in kinds:
        try:
            facts = as_meant(facts, reading.marks, meanings(row.means), this_year)
        except BadInput:  # it was sound when it was told
            continue
    return facts


def _received(site: int, facts: Facts, materials: set[int]) -> Scanned | None:
    """The piece with this lot and serial number, or the lot: only where there is exactly one."""
    lots = Lot.objects.filter(item__site=site, number_key=number_key(facts.lot)).select_related("item", "material", "supplier")
    found = [lot for lot in lots[:MOST] if not materials or lot.material_id in materials]
    if len(found) != 1:
        return None
    nothing = read("", 2000)
    if facts.serial:
        pieces = list(
            Item.objects.select_related("material", "owner", "lot").filter(lot=found[0].item, supplier_serial__iexact=facts.serial)[:2]
        )
        if len(pieces) == 1:
            return Scanned("thing", nothing, facts, item=pieces[0])
    return Scanned("lot", nothing, facts, lot=found[0], item=found[0].item)
