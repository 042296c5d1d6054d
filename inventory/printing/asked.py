"""What somebody wants labels of: codes, marks and places as scanned or typed, a delivery, a lot. All of it is found, or what is not
is named."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.db.models.functions import Lower

from inventory.core import codes
from inventory.core.label_formats import LABELS_MOST
from inventory.core.labels import Thing
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.models import Delivery, Item, ItemCode, Location

from .facts import things_of

NAMED = 8


@dataclass(frozen=True, slots=True)
class Wanted:
    """One thing to label, with its row: an item or a place."""

    thing: Thing
    item: Item | None = None
    place: Location | None = None


def texts_of(raw: str) -> list[str]:
    """Codes from one box: separated by commas or line ends (a mark may hold blanks), each once."""
    parts = (part.strip() for part in raw.replace("\n", ",").split(","))
    return list(dict.fromkeys(part for part in parts if part))


def wanted(site: int, zone: str, now_us: int, texts: Sequence[str], delivery: str = "", lot: str = "") -> list[Wanted]:
    """In the order in which they were named. BadInput label.unknown, label.lot, label.many."""
    rows: list[Item | Location] = []
    if delivery.strip():
        rows += _delivered(site, delivery.strip())
    if lot.strip():
        rows += _of_lot(site, lot.strip())
    rows += _named(site, texts)
    once = list({(type(row), row.pk): row for row in rows}.values())
    _few(len(once))
    items = [row for row in once if isinstance(row, Item)]
    places = [row for row in once if isinstance(row, Location)]
    things = things_of(items, places, zone, now_us)
    return [Wanted(things[r.code], r) if isinstance(r, Item) else Wanted(things[r.code], place=r) for r in once]


def _few(number: int) -> None:
    if number > LABELS_MOST:
        raise BadInput(
            "label.many",
            say("That is {number} things; one print has at most {labels_most} labels.", number=number, labels_most=LABELS_MOST),
            "things",
            labels=number,
        )


def _delivered(site: int, number: str) -> list[Item]:
    found = Delivery.objects.filter(site=site, number__iexact=number[:40]).first()
    if found is None:
        raise BadInput("label.unknown", say("There is no delivery “{number}”.", number=number[:40]), "delivery")
    return list(Item.objects.filter(delivery=found, state__gone="").exclude(kind="lot").order_by("pk")[: LABELS_MOST + 1])


def _of_lot(site: int, code: str) -> list[Item]:
    """The pieces of a lot that are still there."""
    found = Item.objects.filter(site=site, kind="lot", code=codes.normalise(code).code or code[:16]).first()
    if found is None:
        raise BadInput("label.unknown", say("There is no lot with the code “{code}”.", code=code[:40]), "lot")
    return list(Item.objects.filter(lot=found, state__gone="").exclude(state__qty=0).order_by("pk")[: LABELS_MOST + 1])


def _named(site: int, texts: Sequence[str]) -> list[Item | Location]:
    """Four questions for any number of codes. An item goes before a place of the same name, as everywhere."""
    _few(len(texts))
    scans = {text: codes.normalise(text) for text in texts}
    own = {scan.code for scan in scans.values() if scan.code}
    typed = {_key(scan.text) for scan in scans.values()}
    by_code: dict[str, Any] = {i.code: i for i in Item.objects.filter(site=site, code__in=own)}
    further = ItemCode.objects.filter(site=site, code__in=own - set(by_code)).select_related("item")
    by_code |= {row.code: row.item for row in further}
    marked = Item.objects.annotate(low=Lower("mark")).filter(Q(low__in=typed) | Q(mark__in=[s.text for s in scans.values()]), site=site)
    by_mark = {_key(i.mark): i for i in marked.exclude(mark="")}
    places = Location.objects.annotate(low=Lower("code")).filter(site=site, low__in=typed).select_related("storage")
    by_place = {_key(p.code): p for p in places}
    found = {t: by_code.get(s.code or "") or by_mark.get(_key(s.text)) or by_place.get(_key(s.text)) for t, s in scans.items()}
    _all_there(found.items())
    return [row for row in found.values() if row is not None]


def _key(text: str) -> str:
    return text.lower()


def _all_there(found: Iterable[tuple[str, Item | Location | None]]) -> None:
    rows = list(found)
    missing = [text[:40] for text, row in rows if row is None]
    if missing:
        names = strung(", ", (say("“{text}”", text=codes.visible(text)) for text in missing[:NAMED]))
        more = say(" and {missing} more", missing=len(missing) - NAMED) if len(missing) > NAMED else ""
        raise BadInput(
            "label.unknown",
            say("Nothing here has the code or mark {names}{more}: scan again, or take it out.", names=names, more=more),
            "things",
        )
    lots = [row for _, row in rows if isinstance(row, Item) and row.kind == "lot"]
    if lots:
        text = say("A lot is not a thing that can carry a label: name its rolls, cans or boxes, or open the lot’s page and print theirs.")
        raise BadInput("label.lot", text, "things")
