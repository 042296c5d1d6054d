"""A shop made through the real write path, for the benchmarks that scan."""

from __future__ import annotations

import uuid
from typing import Any

from django.db.transaction import atomic

from inventory.models import Act, Block, Item
from inventory.recording import Claim, Flow, Line, NewItem, record
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.registry import Call, perform
from layups.demo.master import Yard, build_master
from layups.models import Design
from layups.verbs.starting import StartPart

NOW = 1_774_850_400_000_000
HOUR = 3_600_000_000


def yard() -> Yard:
    return build_master(NOW)


def do(y: Yard, verb: str, params: Any, who: str = "Ines", at: int = NOW) -> Any:
    return perform(verb, Call(y.who(who), at, uuid.uuid4(), exclusive=True), params)


def rolls(y: Yard, count: int) -> list[Item]:
    """Released glass rolls of 1 000 m."""
    pieces = tuple(ReceivedPiece("1000 m", f"R-{n}") for n in range(count))
    with atomic():
        do(y, "receive", Receive("D-1", (ReceivedLot("G7", pieces),), "Aldervane Weavers", "GB-600", "RACK"))
        Block.objects.update(to_us=NOW, closed=Act.objects.order_by("pk").last())
    return list(Item.objects.filter(kind="roll").order_by("pk"))


def parts(y: Yard, count: int) -> list[Item]:
    """Parts of a design without a schedule, so that any roll may go in at any time."""
    Design.objects.create(code="FREE", name="Bench part", process="wet layup")
    with atomic():
        for n in range(count):
            do(y, "start_part", StartPart("FREE", f"FREE-{n:05d}", place="BAY1"), "Bram", NOW + 1)
    return list(Item.objects.filter(kind="part").order_by("pk"))


def below(y: Yard, roll: Item, count: int) -> None:
    """`count` kits cut from a roll, one after the other."""
    who = y.who("Ines")
    with atomic():
        for start in range(0, count, 500):
            claims = []
            for n in range(start, min(start + 500, count)):
                name = f"{roll.pk}x{n}"
                kit = NewItem(f"Q{roll.pk:03d}{n:07d}", "kit", "cmm2", "", roll.material_id, roll.lot_id)
                lines = (Line(roll.pk, delta=-1000), Line(name, delta=10**5))
                claims.append(Claim(uuid.uuid4(), "cut", lines, (Flow(roll.pk, name, 1000, 10**5),), {name: kit}, device_seq=n))
            record(claims, who, NOW + HOUR + start, exclusive=True)
