"""A yard with cans of its resin systems, in which pots are mixed and seen to gel."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from inventory.models import Act, Item
from inventory.verbs.mixing import Component, GelSeen, Mix
from layups.demo.anchor import MINUTE_US
from tests.pages.store import Store

KG = 10**9
CANS = {"IA": "INF-A", "IB": "INF-B", "LA": "LAM-A", "LB": "LAM-B", "PE": "PE-L", "X": "MEKP"}


@dataclass
class Pots:
    """`mix` gives a pot's code; `seen` makes one and lets it gel after so many minutes, and gives the record's number."""

    store: Store = field(default_factory=Store)
    made: int = 0

    def __post_init__(self) -> None:
        for n, (mark, material) in enumerate(CANS.items()):
            place = "PX" if mark == "X" else "RS"
            self.store.stock(
                mark, material, 900 * KG, place, self.store.at(-30, "10:00") + n, "can", printed_us=self.store.at(200, "00:00")
            )

    def at(self, minutes: int = 0, day: int = 0) -> int:
        return self.store.at(day, "08:00") + minutes * MINUTE_US

    def mix(self, resin: str, mass: str, hardener: str, other: str, at_us: int | None = None, **more: Any) -> str:
        self.made += 1
        said = {"place": "BAY1", "temperature": "21", "mark": f"P-{self.made}"} | more
        parts = (Component(resin, mass), Component(hardener, other))
        when = self.at() if at_us is None else at_us
        return str(self.store.do(when, "Bram", "mix", Mix(parts, **said)).data["items"]["mix"])

    def infusion(self, at_us: int | None = None, **more: Any) -> str:
        """1 000 g of resin with 300 g of hardener."""
        return self.mix("IA", "1000 g", "IB", "300 g", at_us, **more)

    def laminating(self, at_us: int | None = None, **more: Any) -> str:
        """400 g with 100 g, the pot of the data sheet."""
        return self.mix("LA", "400 g", "LB", "100 g", at_us, **more)

    def gel(self, pot: str, at_us: int) -> int:
        (receipt,) = self.store.do(at_us, "Bram", "gel", GelSeen(pot)).receipts
        return int(receipt.act)

    def seen(self, minutes: int, day: int, kind: str = "infusion", **more: Any) -> int:
        start = self.at(day=day)
        return self.gel(getattr(self, kind)(start, **more), start + minutes * MINUTE_US)


def body_of(pot: str) -> dict[str, Any]:
    """What the record of its mixing says."""
    act = Act.objects.get(kind="mix", legs__item=Item.objects.get(code=pot))
    found: dict[str, Any] = json.loads(act.body)
    return found
