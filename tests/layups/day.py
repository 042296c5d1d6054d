"""Monday 30 March 2026 at Quillstrand: the demo's master data, and short words for what people do there."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest

from inventory.core.codes import make
from inventory.core.exposure import FROZEN_MC, UNKNOWN_MC
from inventory.core.reasons import BadInput, Reason, Refused
from inventory.models import Act, Block, Item, ItemState, Leg, Reading
from inventory.recording import Claim, Flow, Line, LotFacts, NewItem, Transaction, record
from inventory.verbs.cutting import CutKit
from inventory.verbs.moving import Open
from inventory.verbs.registry import Call, Outcome, perform
from layups.demo.master import Yard, build_master
from layups.reads.lives import Life, lives_of
from layups.verbs.laying import Lay
from layups.verbs.starting import StartPart

HOUR = 3_600_000_000
M, KG, G = 10**6, 10**9, 10**6
MONDAY = 1_774_821_600_000_000  # 2026-03-30 00:00 in Copenhagen, µs UTC


@dataclass
class Day:
    """The yard, and a counter that gives every call its own key."""

    yard: Yard
    calls: int = 0
    lots: dict[str, int] = field(default_factory=dict)

    def at(self, clock: str, day: int = 0) -> int:
        return self.yard.anchor.at(day, clock)

    def key(self) -> uuid.UUID:
        self.calls += 1
        return uuid.uuid5(uuid.NAMESPACE_URL, f"call {self.calls}")

    def do(
        self,
        at_us: int,
        verb: str,
        params: Any,
        who: str = "Bram",
        happened: int | None = None,
        key: uuid.UUID | None = None,
        reason: str = "",
    ) -> Outcome:
        """Perform a verb now, or (with `happened`) tell what already happened."""
        call = Call(
            self.yard.who(who),
            at_us,
            key or self.key(),
            stance="intent" if happened is None else "observed",
            happened_us=happened,
            claimed_us=happened,
            reason=reason,
        )
        return perform(verb, call, params)

    def refused(self, at_us: int, verb: str, params: Any, who: str = "Bram") -> list[Reason]:
        """The reasons of a refusal; nothing but the log of refusals has changed."""
        before = (Act.objects.count(), Leg.objects.count(), sorted(ItemState.objects.values_list("pk", "qty", "doc")))
        with pytest.raises(Refused) as refused:
            self.do(at_us, verb, params, who)
        assert before == (Act.objects.count(), Leg.objects.count(), sorted(ItemState.objects.values_list("pk", "qty", "doc")))
        return list(refused.value.reasons)

    def bad(self, at_us: int, verb: str, params: Any, who: str = "Bram") -> str:
        with pytest.raises(BadInput) as bad:
            self.do(at_us, verb, params, who)
        return bad.value.reason.code

    # --- the shelf ---------------------------------------------------------------------------------

    def lot(self, material: str, number: str, made_us: int, printed_us: int | None = None) -> int:
        m = self.yard.material[material]
        if number not in self.lots:
            spec = self.yard.spec.get(material)
            facts = LotFacts(m.supplier_id or 0, number, number.lower(), made_us, printed_us, spec.pk if spec else None)
            new = {"lot": NewItem(make(uuid.uuid5(uuid.NAMESPACE_URL, f"lot {number}").bytes), "lot", m.unit, number, m.pk, facts=facts)}
            line = Line("lot", ceiling=m.declared_mc)
            claim = Claim(self.key(), "made", (line,), new=new, stance="observed", happened_us=made_us)
            (receipt,) = record([claim], self.yard.who("Ines"), made_us)
            self.lots[number] = receipt.items["lot"]
        return self.lots[number]

    def receive(
        self,
        mark: str,
        material: str,
        qty: int,
        place: str,
        lot: str = "",
        kind: str = "roll",
        at: int | None = None,
        made: int | None = None,
        out_us: int = 0,
        waiting: bool = False,
        owner: str = "",
        printed: int | None = None,
    ) -> Item:
        """A piece arrives, released unless `waiting`; `out_us` of out time was used before."""
        m, where = self.yard.material[material], self.yard.place[place]
        at = self.at("08:00", -30) if at is None else at
        source = self.lot(material, lot or f"lot of {mark}", at - 10 * 24 * HOUR if made is None else made, printed)
        owned = self.yard.customer[owner].pk if owner else None
        new = {
            "piece": NewItem(make(uuid.uuid5(uuid.NAMESPACE_URL, f"piece {mark}").bytes), kind, m.unit, mark, m.pk, lot=source, owner=owned)
        }
        body = {"declared_mc": m.declared_mc, "extra": [[25_000, out_us]] if out_us else []}
        ceiling = where.storage.high_mc if where.storage.high_mc is not None else UNKNOWN_MC
        lines = (Line(source), Line("piece", delta=qty, location=where.pk, ceiling=ceiling, body=body))

        def block(tx: Transaction, act: Act, names: dict[str, int]) -> None:
            Block.objects.create(site=self.yard.site, item_id=names["piece"], why="incoming", opened=act, from_us=tx.now_us)

        flows = (Flow(source, "piece", qty),)
        claim = Claim(self.key(), "receive", lines, flows, new=new, effects=(block,) if waiting else ())
        (receipt,) = record([claim], self.yard.who("Ines"), at)
        return Item.objects.get(pk=receipt.items["piece"])

    def move(self, at_us: int, item: str, place: str, back: int | None = None, happened: int | None = None) -> None:
        """Where a thing lies from now on; what a place accepts is tested elsewhere."""
        where = self.yard.place[place]
        ceiling = where.storage.high_mc if where.storage.high_mc is not None else UNKNOWN_MC
        body = {"back_us": back} if back else {}
        line = Line(self.item(item).pk, location=where.pk, ceiling=ceiling, body=body)
        stance = "intent" if happened is None else "observed"
        record([Claim(self.key(), "move", (line,), stance=stance, happened_us=happened)], self.yard.who("Ines"), at_us)

    def open(self, at_us: int, item: str, who: str = "Ines") -> Outcome:
        return self.do(at_us, "open", Open(item, True), who)

    def kit(self, at_us: int, roll: str, taken: str, mark: str, **more: Any) -> Outcome:
        return self.do(at_us, "cut_kit", CutKit(roll, taken, mark=mark, **more), "Ines")

    # --- the bay -----------------------------------------------------------------------------------

    def start(self, at_us: int, design: str, number: str, place: str, **more: Any) -> Outcome:
        return self.do(at_us, "start_part", StartPart(design, number, place, **more))

    def lay(self, at_us: int, item: str, part: str, **more: Any) -> Outcome:
        who, happened = more.pop("who", "Bram"), more.pop("happened", None)
        return self.do(at_us, "lay", Lay(item, part, **more), who, happened)

    def no_lay(self, at_us: int, item: str, part: str, **more: Any) -> list[Reason]:
        return self.refused(at_us, "lay", Lay(item, part, **more))

    # --- reading -----------------------------------------------------------------------------------

    def item(self, mark: str) -> Item:
        return Item.objects.get(mark=mark)

    def state(self, mark: str) -> ItemState:
        return ItemState.objects.get(item__mark=mark)

    def qty(self, mark: str) -> int:
        return self.state(mark).qty

    def lives(self, mark: str, at_us: int) -> list[Life]:
        item = self.item(mark).pk
        return lives_of(self.yard.site.zone, [item], at_us)[item]

    def used(self, mark: str, at_us: int, limit: str, material: str) -> int:
        """What is used of a limit of the material in a thing, in minutes: the most of any of its lots."""
        found = [x.used for x in self.lives(mark, at_us) if x.limit == limit and x.label.startswith(material)]
        return max(u for u in found if u is not None) // 60_000_000


def minutes(hours: int, rest: int = 0) -> int:
    return hours * 60 + rest


def codes(reasons: list[Reason]) -> list[str]:
    return sorted(r.code for r in reasons)


def new_day(logger: bool = True) -> Day:
    """The yard with its master data; the `logger` of the clean room has written every hour of the Monday."""
    day = Day(build_master(MONDAY + 7 * HOUR))
    if not logger:
        return day
    clean = day.yard.place["CLEAN"]
    rows = [MONDAY + hour * HOUR for hour in range(24)]
    Reading.objects.bulk_create(Reading(location=clean, at_us=at, temp_mc=21_000, rh_ppm=450_000, recorded_us=at) for at in rows)
    return day


def frozen(day: Day, mark: str) -> bool:
    ceiling = day.state(mark).ceiling_mc
    return ceiling is not None and ceiling <= FROZEN_MC


def brams_day(day: Day) -> Day:
    """What stands in the yard at 08:10 for Bram: U-3 put back, T-2 opened, K-31 thawing, RUD-073 begun."""
    at = day.at
    day.receive("U-3", "PP-U", 41_500_000, "F1", made=at("12:00", -105), out_us=52 * HOUR, waiting=True)
    day.move(at("16:30", -3), "U-3", "CLEAN", back=at("17:30", -3))
    day.move(at("07:40"), "U-3", "F1")
    day.receive("U-4", "PP-U", 39_600_000, "F1", lot="U26", out_us=2 * HOUR, made=at("12:00", -60))
    day.move(at("05:00", -3), "U-4", "CLEAN")
    day.open(at("14:00", -3) - 60_000_000, "U-4")
    day.kit(at("14:00", -3), "U-4", "6.60 m", "K-31", job="RUD-073", plies=(1, 2, 3, 4, 5, 6), place="CLEAN")
    for mark in ("U-4", "K-31"):
        day.move(at("15:10", -3), mark, "F1")
    day.move(at("07:15"), "K-31", "CLEAN")
    day.receive("T-2", "PP-T", 24_600_000, "F1", lot="T25", made=at("12:00", -175), out_us=31 * HOUR)
    day.move(at("19:00", -1), "T-2", "CLEAN")
    day.open(at("08:20"), "T-2")
    day.receive("T-6", "PP-T", 50_000_000, "F1", lot="T25")
    day.move(at("07:30"), "T-6", "CLEAN")
    day.receive("FA-9-1", "FA-B", 12_000_000, "F2", lot="FA-9", made=at("12:00", -181), out_us=13 * HOUR)
    day.move(at("09:00", -4), "FA-9-1", "CLEAN")
    day.open(at("14:00", -4), "FA-9-1")
    day.kit(at("14:29", -4), "FA-9-1", "0.40 m", "FK-12", place="CLEAN")
    for mark in ("FA-9-1", "FK-12"):
        day.move(at("14:30", -4), mark, "F2")
    day.move(at("07:15"), "FK-12", "CLEAN")
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    day.start(at("07:00"), "RUD", "RUD-073", "CLEAN", customer="Skerrow Sailing School", planned_cure_us=at("17:00"))
    day.start(at("07:01"), "RUD", "RUD-074", "CLEAN", planned_cure_us=at("17:00"))
    return day


Setup = Callable[[], Day]
