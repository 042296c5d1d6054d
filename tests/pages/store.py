"""A small shop with things in it, for tests of pages: the yard's people, places and materials, and stock said in one line each.

`stock` writes a lot and its piece straight through the write path, released, so that a test needs no papers; everything
else happens through the verbs, at the instant that the test gives.
"""

from __future__ import annotations

import itertools
import json
import uuid
from typing import Any

from django.test import Client

from inventory.core.exposure import UNKNOWN_MC
from inventory.models import Delivery, Item, ItemState, LifeSpec
from inventory.recording import Claim, Flow, Line, LotFacts, NewItem, record
from inventory.verbs.births import new_code
from inventory.verbs.registry import Call, Outcome, perform
from layups.demo.anchor import DAY_US, HOUR_US
from layups.demo.master import build_master

PASSWORD = "copper-kettle-41"
MONDAY = 1_774_821_600_000_000
"""Monday 30 March 2026, 00:00 in Copenhagen; the clocks went forward the day before."""


class Store:
    """The yard on the Monday of `now_us`. Marks name things: store["U-3"]."""

    def __init__(self, now_us: int = MONDAY + 7 * HOUR_US) -> None:
        self.yard = build_master(now_us, PASSWORD)
        self.site, self.zone = self.yard.site, self.yard.site.zone
        self.lots: dict[tuple[str, str], int] = {}
        self._n = itertools.count(1)

    def __getitem__(self, mark: str) -> Item:
        return Item.objects.select_related("material", "state").get(site=self.site, mark=mark)

    def code(self, mark: str) -> str:
        return str(self[mark].code)

    def at(self, day: int, clock: str, second: int = 0) -> int:
        return self.yard.anchor.at(day, clock, second)

    def call(self, who: str, at_us: int, **more: Any) -> Call:
        return Call(self.yard.who(who), at_us, uuid.uuid5(uuid.NAMESPACE_OID, f"store {next(self._n)}"), **more)

    def do(self, at_us: int, who: str, verb: str, params: Any, **more: Any) -> Outcome:
        return perform(verb, self.call(who, at_us, **more), params)

    def doc(self, mark: str) -> dict[str, Any]:
        """The stored state of a thing."""
        found: dict[str, Any] = json.loads(ItemState.objects.get(item__mark=mark, item__site=self.site).doc)
        return found

    def stock(self, mark: str, material: str, qty: int, place: str, at_us: int, kind: str = "roll", **facts: Any) -> Item:
        """A released piece. facts: lot, made_us, printed_us, out_us (out time it came with), owner, core_ug, marks, opened_us,
        unknown."""
        row, where = self.yard.material[material], self.yard.place[place]
        call, lot = self.call("Ines", at_us), facts.get("lot", f"{mark} lot")
        claims, ref = [], self.lots.get((material, lot))
        if ref is None:
            claims, ref = [self._made(call, material, lot, facts)], "lot"  # type: ignore[assignment]
        warm = max(25_000, row.declared_mc)
        body: dict[str, Any] = {"declared_mc": row.declared_mc}
        body |= {"extra": [[warm, facts["out_us"]]]} if facts.get("out_us") else {}
        body |= {name: facts[name] for name in ("marks", "opened_us", "unknown") if name in facts}
        owner = self.yard.customer[facts["owner"]].pk if "owner" in facts else None
        new = NewItem(new_code(call, mark), kind, row.unit, mark, row.pk, ref, None, owner, core_ug=facts.get("core_ug"))
        high = where.storage.high_mc
        line = Line("piece", delta=qty, location=where.pk, ceiling=UNKNOWN_MC if high is None else high, body=body)
        lines = (Line(ref if ref is not None else "lot"), line)
        claims.append(Claim(call.key, "receive", lines, (Flow(ref or "lot", "piece", qty),), {"piece": new}))
        receipts = record(claims, call.who, at_us)
        self.lots[(material, lot)] = receipts[0].items.get("lot") or self.lots[(material, lot)]
        return self[mark]

    def _made(self, call: Call, material: str, lot: str, facts: dict[str, Any]) -> Claim:
        row = self.yard.material[material]
        spec = LifeSpec.objects.filter(material=row).order_by("-version").first()
        made = facts.get("made_us", call.now_us - 30 * DAY_US)
        assert row.supplier_id is not None
        lot_facts = LotFacts(row.supplier_id, lot, lot.casefold(), made, facts.get("printed_us"), spec.pk if spec else None)
        new = {"lot": NewItem(new_code(call, "lot"), "lot", row.unit, material=row.pk, facts=lot_facts)}
        key = uuid.uuid5(call.key, "lot")
        line = Line("lot", ceiling=row.declared_mc)
        return Claim(key, "made", (line,), new=new, stance="observed", happened_us=made)

    def material_limits(self, material: str) -> Any:
        """What the papers of a material must state."""
        return self.yard.material[material].cert_limits.order_by("pk")

    def expect(self, number: str, material: str, due: int | None, **more: Any) -> Delivery:
        """A delivery that is due so many days from Monday."""
        row = self.yard.material[material]
        assert row.supplier is not None
        day = None if due is None else self.yard.anchor.day(due)
        return Delivery.objects.create(site=self.site, number=number, supplier=row.supplier, material=row, due_on=day, **more)

    def browser(self, who: str) -> Client:
        """A signed-in browser; it follows what the pages say, and checks tokens like a real one would not need to."""
        client = Client()
        client.force_login(self.yard.user[who.lower()])
        return client
