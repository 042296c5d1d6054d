"""A supplier's label on the page of a delivery: read, held against what is expected, and put into the form. Nothing is recorded."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from inventory.core.labelfacts import WORDS
from inventory.core.labelfill import Filling, Wanted, filled, merged
from inventory.core.reading import read
from inventory.core.reasons import Reason
from inventory.core.said import say, strung
from inventory.core.spans import local_date
from inventory.models import Delivery, Material
from inventory.verbs.scans import Scanned, scanned

from .door import Shop, Where
from .receiveforms import clocks_of
from .ways import to

FILLED = ("lot", "serial", "made", "printed", "quantity", "package")
BOX = "scan"
NAME = re.compile(r"[A-Za-z]{1,6}[0-9]{0,4}-[0-9]{1,4}")
"""How a shop writes names on things (G7-1, T-7): what is built so and means nothing else may be one."""
_HARMLESS = {"label.not_counted", "label.best_before"}


@dataclass(frozen=True, slots=True)
class Goods:
    """What labels are held against: a delivery, expected or not."""

    material: Material
    number: str
    supplier: str
    order: str
    row: Delivery | None = None

    @property
    def wanted(self) -> Wanted:
        m, orders = self.material, {self.row.order_number if self.row is not None else "", self.order}
        return Wanted(m.unit, "printed" in clocks_of(m), m.max_store_mc, m.min_store_mc, m.width_um, tuple(sorted(filter(None, orders))))


def goods_of(here: Where, number: str, material: str = "") -> Goods | None:
    """The goods of a delivery by its number; of one that nobody expected, by what it is said to be. None: neither is known."""
    rows = Delivery.objects.select_related("material", "supplier")
    name = " ".join(number.split())[:40]
    row = rows.filter(site=here.site, number__iexact=name).first() if name else None
    if row is not None:
        return Goods(row.material, row.number, str(row.supplier), row.order_number, row)
    found = Material.objects.select_related("supplier").filter(code__iexact=material.strip()[:24]).first() if material.strip() else None
    return Goods(found, name, str(found.supplier or ""), "") if found is not None else None


@dataclass
class LabelRead:
    """What came of a scan on the page: `tone` yes, ask or no; a word; a sentence; what was read, piece by piece; what to look at.
    `values`: the form's. `remember`: what is sent to say that such labels are this material; `map_url`: where it is told how a label
    is built that nothing else knows. `one_piece`: it names one piece by its number, and nothing in it has to be looked at."""

    tone: str
    word: str
    text: str
    read: str
    marks: list[tuple[str, str, str]] = field(default_factory=list)
    told: list[Reason] = field(default_factory=list)
    values: dict[str, str] = field(default_factory=dict)
    remember: dict[str, str] = field(default_factory=dict)
    map_url: str = ""
    one_piece: bool = False

    @property
    def colour(self) -> str:
        return {"yes": "fit", "ask": "soon"}.get(self.tone, "stop")

    @property
    def shape(self) -> str:
        return {"yes": "tick", "ask": "diamond"}.get(self.tone, "octagon")


def read_label(shop: Shop, raw: str, goods: Goods, typed: Mapping[str, str], put: Mapping[str, str]) -> LabelRead:
    """Read a scan for this delivery. `typed` are the form's values, `put` those that the page itself had put there."""
    return said_of(shop, scanned(shop.site, shop.zone, shop.now_us, raw, bare=True), goods, typed, put)


def said_of(shop: Where, found: Scanned, goods: Goods, typed: Mapping[str, str], put: Mapping[str, str]) -> LabelRead:
    """The same of what was scanned already."""
    marks = [(mark.id, WORDS.get(mark.name, ""), mark.value) for mark in found.reading.marks]
    out = LabelRead("no", say("Not understood"), "", found.reading.text, marks, values=dict(typed))
    if found.place is not None:
        out.tone, out.word, out.text = "yes", say("Place"), say("It is put away in {place}.", place=found.place.name)
        out.values["place"] = found.place.code
    elif not found.reading.is_label:
        _no_label(out, found, goods)
    elif found.kinds and goods.material.pk not in {row.material_id for row in found.kinds}:
        theirs = strung(say(" or "), sorted({row.material.code for row in found.kinds}))
        out.word = say("Another material")
        out.text = say(
            "This label is {theirs}, the delivery is {material}: nothing was filled in.", theirs=theirs, material=goods.material.code
        )
    elif found.what == "thing" and found.item is not None and found.item.material_id == goods.material.pk:
        out.word, out.text = say("Already here"), say("This is {item}, which has come already: nothing was filled in.", item=found.item)
    else:
        _fill(out, found, filled(found.facts, goods.wanted, local_date(shop.now_us, shop.zone)), goods, put)
    return out


def _fill(out: LabelRead, found: Scanned, filling: Filling, goods: Goods, put: Mapping[str, str]) -> None:
    out.values = merged(out.values, put, filling)
    out.told = [*found.reading.warnings, *filling.told, *found.reading.notes]
    look = found.reading.warnings or [reason for reason in filling.told if reason.code not in _HARMLESS]
    facts = found.facts
    if not found.kinds and (facts.gtin or facts.part or facts.customer_part):
        text = say("Nobody has said yet which material this article number is: make sure that it is this one, and have it remembered.")
        out.told.insert(0, Reason("label.unmapped", text))
        out.remember = {"supplier": goods.supplier, "material": goods.material.code, "raw": found.reading.raw}
        look = out.told
    out.tone, out.word = ("ask", say("Look at it")) if look else ("yes", say("Label read"))
    out.one_piece = not look and bool(filling.fields.get("serial"))
    words = [say("{words} {fields}", words=WORDS.get(name, name), fields=filling.fields[name]) for name in FILLED if name in filling.fields]
    told = say("The label says {words}. Compare it with the print, then take it in.", words=strung(", ", words))
    out.text = told if words else say("The label says nothing that is filled in here.")


def _no_label(out: LabelRead, found: Scanned, goods: Goods) -> None:
    named = found.item or found.delivery or (say("a badge") if found.what == "badge" else None)
    if named is not None:
        out.word, out.text = say("No label"), say("This is {named}, not a supplier's label: nothing was filled in.", named=named)
        return
    if found.reading.kind == "plain" and NAME.fullmatch(found.reading.text) and not out.values.get("mark"):
        out.tone, out.word, out.values["mark"] = "yes", say("Name on it"), found.reading.text
        out.text = say("It is taken in as {reading}. If this was a supplier's label, say what such a label is.", reading=found.reading.text)
        out.map_url = _map_url(found, goods)
        return
    reason = found.reading.reason
    out.text = reason.text if reason is not None else say("No label is known that is built so. Type what stands on it.")
    if found.reading.kind == "plain":
        out.map_url = _map_url(found, goods)


def _map_url(found: Scanned, goods: Goods) -> str:
    return to("label-new", raw=found.reading.raw[:1000], supplier=goods.supplier, material=goods.material.code, number=goods.number)


# --- what the form carries along -------------------------------------------------------------------------


def put_of(data: Mapping[str, str]) -> dict[str, str]:
    """What the page had put into the fields by itself."""
    return {name: data.get(f"put_{name}", "") for name in FILLED}


def is_whole_label(raw: str, shop: Shop) -> bool:
    """A label that was scanned while the focus stood in the field for a name."""
    return read(raw, local_date(shop.now_us, shop.zone).year).kind in ("gs1", "link", "envelope", "broken")
