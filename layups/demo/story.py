"""The main job as it happens, told line by line: a roll comes in and ends in a part, and the trace leads both ways.

Every call has a fixed key, so telling the story again shows the same records and adds none."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from inventory import lineage
from inventory.balance import composition, spread
from inventory.core.reasons import Refused
from inventory.core.spans import local_date
from inventory.core.units import display
from inventory.models import Act, Device, Item, Lot, Person, Refusal, Site
from inventory.recording import Who, canonical
from inventory.verbs import certifying, cutting, mixing, moving, receiving, releasing
from inventory.verbs.registry import Call, Outcome, perform, said
from layups.models import Part
from layups.verbs import laying, starting

from .script import code_of, key_of
from .supply import FIRST_DAY

ROLL, KIT, POT, PART, LOT = "S-1", "K-S1", "S-1 pot", "DAG-901", "CT77"


class NoShop(Exception):
    """The story is told in the demo shop only."""


@dataclass(frozen=True, slots=True)
class Scene:
    """One call: who does it, under which name (its key), in which words it is announced."""

    who: str
    role: str
    words: str
    verb: str
    params: Any
    refused: bool = False


def tell(now_us: int) -> Iterator[str]:
    """Perform the story and say what happens. Raises NoShop where the demo shop is not."""
    site = Site.objects.filter(code="QUILL").first()
    first = Act.objects.filter(site=site, kind="receive").order_by("happened_us", "pk").first() if site else None
    if site is None or first is None:
        raise NoShop("The demo shop is not in this database: make it first, with “manage.py demo” in an empty one.")
    monday = local_date(first.happened_us, site.zone) - timedelta(days=FIRST_DAY)
    for number, scene in enumerate(scenes(made=(monday - timedelta(days=20)).isoformat()), 1):
        yield f"{number}. {scene.who}, {scene.role}, {scene.words}"
        yield from _perform(site, now_us, number, scene)
    yield from _traces(site)


def scenes(made: str) -> list[Scene]:
    """`made`: the day of manufacture on the roll's label."""
    ines, odile, bram = ("Ines", "storekeeper"), ("Odile", "quality"), ("Bram", "builder")
    roll, kit, pot, part = code_of(ROLL), code_of(KIT), code_of(POT), code_of(PART)
    piece = receiving.ReceivedPiece("30.00 m", ROLL, roll, kind="roll")
    delivery = receiving.Receive("D-901", (receiving.ReceivedLot(LOT, (piece,), made),), "Aldervane Weavers", "CT-204", "RACK")
    papers = certifying.Certify(roll, (certifying.PaperValue("areal mass", "204 g/m²"),))
    weighed = (mixing.Component(code_of("IA103-2"), "2000.0 g"), mixing.Component(code_of("IB106-2"), "600.0 g"))
    return [
        Scene(*ines, "receives a roll of carbon twill.", "receive", delivery),
        Scene(*ines, "enters the supplier's certificate.", "certify", papers),
        Scene(*odile, "releases the roll.", "release", releasing.Release((roll,))),
        Scene(*ines, "takes it to the clean room.", "move", moving.Move(roll, "CLEAN")),
        Scene(*bram, "begins a daggerboard.", "start_part", starting.StartPart("DAG", PART, "CLEAN", code=part)),
        Scene(*bram, "cuts the kit.", "cut_kit", cutting.CutKit(roll, "6.20 m", "5.94 m²", KIT, kit, PART, (1,))),
        Scene(*bram, "lays the kit into the part.", "lay", laying.Lay(kit, part)),
        Scene(*bram, "scans a roll that is not for this part.", "lay", laying.Lay(code_of("CO-1"), part, qty="3.00 m"), refused=True),
        Scene(*bram, "mixes infusion epoxy.", "mix", mixing.Mix(weighed, "CLEAN", "INF", "21.5", POT, pot)),
        Scene(*bram, "fills the part from the pot.", "lay", laying.Lay(pot, part)),
    ]


def _perform(site: Site, now_us: int, number: int, scene: Scene) -> Iterator[str]:
    person = Person.objects.select_related("user").get(site=site, name=scene.who)
    device = Device.objects.get(site=site, name="demo")
    who = Who(site.pk, site.zone, person.pk, device.pk, scene.role, person.user.pk)
    before = _refused_before(person, scene) if scene.refused else None
    if before is not None:
        yield from _refusal(json.loads(before.reasons), before.pk, "told before")
        return
    key = key_of(f"story {number}")
    try:
        outcome: Outcome = perform(scene.verb, Call(who, now_us, key), scene.params)
    except Refused as refused:
        if not scene.refused:
            raise
        logged = _refused_before(person, scene)
        yield from _refusal([[r.code, r.text, r.numbers] for r in refused.reasons], logged.pk if logged else 0, "logged")
        return
    if outcome.receipts:
        main = next(r for r in outcome.receipts if r.key == key)
        yield f"   {outcome.text}"
        yield f"   record {main.act} under key {main.key}{' – told before, nothing added' if outcome.replay else ''}"
    else:
        yield f"   {outcome.text}"


def _refused_before(person: Person, scene: Scene) -> Refusal | None:
    """A refusal binds no key, since nothing happened: the log tells whether it was told before."""
    rows = Refusal.objects.filter(person=person, verb=scene.verb, body=canonical(said(scene.params)))
    return rows.order_by("pk").first()


def _refusal(reasons: list[Any], number: int, word: str) -> Iterator[str]:
    yield f"   REFUSED, all reasons at once (refusal {number}, {word}); nothing was changed:"
    for _, text, _ in reasons:
        yield f"     – {text}"


def _traces(site: Site) -> Iterator[str]:
    part = Part.objects.get(item__site=site, number=PART)
    yield f"Trace back from {PART}: which batches are in it?"
    lots = {lot.pk: lot for lot in Lot.objects.select_related("material", "supplier").filter(pk__in=lineage.up_ids([part.pk]))}
    for amount in composition([part.pk])[part.pk]:
        lot = lots.get(amount.lot)
        if lot is not None:
            yield f"   {display(round(amount.amount), amount.unit)} of {lot.material.code} lot {lot.number} ({lot.supplier})"
    lot = Lot.objects.get(item__site=site, number=LOT)
    yield f"Trace forward from lot {LOT}: where did it go?"
    amounts = spread(lot.pk)
    things = {item.pk: item for item in Item.objects.filter(pk__in=lineage.down_ids([lot.pk]))}
    for pk, item in sorted(things.items()):
        held = f": {display(round(amounts[pk]), lot.item.unit)}" if pk in amounts else ": used up"
        yield f"   {item.get_kind_display()} {item}{held}"
