"""Random days of the yard: a hypothesis machine that receives, moves, cuts, mixes, builds, cures, holds, voids and repeats,
now or told late, and asks after every step whether the records still hold together.

A refusal is an answer like any other; what may never be is a refusal that changed something, a use that should have been
refused, or a state that the records do not say.
"""

from __future__ import annotations

import json
import uuid
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from inventory.balance import balances
from inventory.core.fold import from_doc
from inventory.core.reasons import BadInput, Refused
from inventory.lineage import open_blocks
from inventory.models import Act, Block, Edge, Finding, Item, ItemState, Leg
from inventory.recording.facts import forget_sources
from inventory.recording.rebuild import rebuild
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.counting import Count, UseOtherwise
from inventory.verbs.cutting import CutKit
from inventory.verbs.deciding import Dispose
from inventory.verbs.holding import Hold, Unhold
from inventory.verbs.mixing import Component, Mix
from inventory.verbs.moving import Move, Open
from inventory.verbs.papers import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.registry import Call, Outcome, perform
from inventory.verbs.releasing import Release
from inventory.verbs.voiding import Void
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureAbort, CureOff, CureOn
from layups.verbs.inspecting import Inspect
from layups.verbs.laying import Lay
from layups.verbs.starting import StartPart
from tests.ledger import second
from tests.ledger.bench import DAY, HOUR, MINUTE, MONDAY, Bench, clock

TACK = 72 * HOUR
USES = ("cut_kit", "use", "mix", "lay")
GOODS = {  # material: (supplier, place, quantity of a piece, its papers)
    "PP-U": ("Kestrow Prepreg", "F1", "40 m", (("areal mass", "150"), ("resin", "36"))),
    "GB-600": ("Aldervane Weavers", "RACK", "60 m", (("areal mass", "602"), ("moisture", "0.10"), ("size", "0.7"))),
    "LAM-A": ("Orrisby Resin Works", "RS", "5 kg", (("EEW", "190"),)),
    "LAM-B": ("Orrisby Resin Works", "RS", "2 kg", (("amine value", "480"),)),
}
PLACES = ("F1", "CLEAN", "BAY1", "RACK", "RS", "OV1", "F2")

number = st.integers(0, 40)
waits = st.sampled_from((0, MINUTE, MINUTE, 10 * MINUTE, 10 * MINUTE, HOUR, HOUR, 9 * HOUR, 30 * HOUR, 6 * DAY))
lates = st.sampled_from((None, None, None, None, None, 0, 5 * MINUTE, 3 * HOUR, 2 * DAY))
"""None: meant now. Else it already happened, so long ago."""


@dataclass
class Shop:
    """The yard and what the machine knows of it: its clock, the marks by kind, what was done."""

    bench: Bench = field(default_factory=Bench)
    now: int = MONDAY - 3 * DAY
    calls: int = 0
    done: list[tuple[str, Call, Any]] = field(default_factory=list)
    marks: dict[str, list[str]] = field(default_factory=lambda: {"roll": [], "can": [], "kit": [], "mix": [], "part": []})
    lots: list[str] = field(default_factory=list)
    accepted: Counter[str] = field(default_factory=Counter)

    def again(self) -> Shop:
        """The same again for another example; what was accepted is counted over all of them."""
        marks = {kind: list(names) for kind, names in self.marks.items()}
        return replace(self, done=list(self.done), marks=marks, lots=list(self.lots))

    def tell(self, verb: str, params: Any, who: str = "Ines", late: int | None = None) -> Outcome | None:
        """Perform; give None where it was refused or not understood, which must have changed nothing."""
        self.calls += 1
        happened = None if late is None else self.now - late
        call = Call(
            self.bench.yard.who(who),
            self.now,
            uuid.uuid5(uuid.NAMESPACE_URL, f"machine {self.calls}"),
            stance="intent" if late is None else "observed",
            happened_us=happened,
            claimed_us=happened,
        )
        before = everything()
        seen = second.read() if verb in USES and late is None else None
        try:
            outcome = perform(verb, call, params)
        except (Refused, BadInput):
            assert everything() == before, f"a refusal of {verb} changed something"
            return None
        if outcome.receipts:
            self.done.append((verb, call, params))
            self.accepted[verb if late is None else f"{verb}, told late"] += 1
        if seen is not None:
            for receipt in outcome.receipts:
                self._was_fit(verb, params, receipt.act, seen, seen.held())
        return outcome

    def _was_fit(self, verb: str, params: Any, act: int, seen: second.Second, held: dict[int, set[int]]) -> None:
        """An intention that was accepted took nothing that was held, over its life or not there."""
        for leg in Leg.objects.select_related("item__material", "act", "item__state").filter(act=act, delta__lt=0):
            assert leg.item.state.qty >= 0, f"{verb} took more of {leg.item} than there was"
            if verb == "use" and params.purpose == "sample":
                continue
            assert not held.get(leg.item_id), f"{verb} took of {leg.item}, which is held"
            if verb == "lay" and leg.item.material is not None and leg.item.material.code == "PP-U":
                assert seen.out(leg.item_id, self.now) < TACK, f"{leg.item} was laid over its tack life"
            stop = json.loads(leg.item.state.doc).get("stop")
            assert leg.item.kind != "mix" or verb != "lay" or stop is None or self.now < stop, f"{leg.item} was laid after its stop time"

    def wait(self, us: int) -> None:
        self.now += us

    def one(self, n: int, *kinds: str) -> str:
        there = [mark for kind in kinds for mark in self.marks[kind]]
        return there[n % len(there)] if there else "nothing"

    def begin_friday(self) -> None:
        """A thawed roll, dry glass, resin and hardener, two parts begun; it is Monday morning then."""
        for material in GOODS:
            self.arrive(material, True)
        self.tell("move", Move("PP-U-1", "CLEAN"))
        self.now = clock("06:00") - 9 * HOUR
        self.tell("open", Open("PP-U-1", True))
        for design, place in (("REP", "BAY1"), ("TIL", "CLEAN")):
            self.begin(design, place)
        self.now = clock("06:00")

    def arrive(self, material: str, released: bool, late: int | None = None) -> None:
        supplier, place, quantity, papers = GOODS[material]
        n = len(self.lots) + 1
        mark, lot = f"{material}-{n if n > len(GOODS) else 1}", f"lot {material} {n}"
        pieces = (ReceivedPiece(quantity, mark),)
        params = Receive(f"D-{n}", (ReceivedLot(lot, pieces, "2025-10-20"),), supplier, material, place)
        if self.tell("receive", params, late=late) is None:
            return
        self.lots.append(lot)
        self.marks["can" if material.startswith("LAM") else "roll"].append(mark)
        if released:
            values = tuple(PaperValue(name, value, mark if material == "PP-U" else "") for name, value in papers)
            self.tell("certify", Certify(lot, values), "Odile")
            self.tell("release", Release((mark,), evidence="papers"), "Odile")

    def begin(self, design: str, place: str) -> None:
        name = f"{design}-{len(self.marks['part']) + 1}"
        if self.tell("start_part", StartPart(design, name, place), "Bram") is not None:
            self.marks["part"].append(name)


class Days(RuleBasedStateMachine):
    """`friday` is made once for all examples: each of them ends with its records rolled back to it."""

    friday: ClassVar[Shop]

    def __init__(self) -> None:
        super().__init__()
        forget_sources()
        self.whole = transaction.atomic()
        self.whole.__enter__()
        self.shop = self.friday.again()

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.whole.__exit__(None, None, None)
        forget_sources()

    # --- what happens ------------------------------------------------------------------------------------------------

    @rule(material=st.sampled_from(sorted(GOODS)), released=st.booleans(), wait=waits, late=lates)
    def receive(self, material: str, released: bool, wait: int, late: int | None) -> None:
        self.shop.wait(wait)
        self.shop.arrive(material, released, late)

    @rule(n=number, place=st.sampled_from(PLACES), wait=waits, late=lates)
    def move(self, n: int, place: str, wait: int, late: int | None) -> None:
        self.shop.wait(wait)
        self.shop.tell("move", Move(self.shop.one(n, "roll", "kit", "part", "can", "mix"), place), late=late)

    @rule(n=number, dry=st.sampled_from((True, True, None, False)), wait=waits, late=lates)
    def open(self, n: int, dry: bool | None, wait: int, late: int | None) -> None:
        self.shop.wait(wait)
        self.shop.tell("open", Open(self.shop.one(n, "roll", "can", "kit"), dry), late=late)

    @rule(n=number, centimetres=st.sampled_from((40, 220, 1500)), wait=waits, late=lates)
    def cut(self, n: int, centimetres: int, wait: int, late: int | None) -> None:
        self.shop.wait(wait)
        mark = f"K-{len(self.shop.marks['kit']) + 1}"
        if self.shop.tell("cut_kit", CutKit(self.shop.one(n, "roll"), f"{centimetres} cm", mark=mark), late=late) is not None:
            self.shop.marks["kit"].append(mark)

    @rule(n=number, percent=st.sampled_from((0, 10, 95, 100, 103)), wait=waits, late=lates)
    def count(self, n: int, percent: int, wait: int, late: int | None) -> None:
        self.shop.wait(wait)
        mark = self.shop.one(n, "roll", "can", "kit")
        row = ItemState.objects.filter(item__mark=mark).select_related("item").first()
        if row is not None:
            self.shop.tell("count", Count(mark, in_words(max(row.qty, 0) * percent // 100, row.item.unit)), late=late)

    @rule(n=number, percent=st.sampled_from((1, 30, 100, 120)), purpose=st.sampled_from(("panel", "sample")), wait=waits, late=lates)
    def use(self, n: int, percent: int, purpose: str, wait: int, late: int | None) -> None:
        self.shop.wait(wait)
        mark = self.shop.one(n, "roll", "can", "kit", "mix")
        row = ItemState.objects.filter(item__mark=mark).select_related("item").first()
        if row is not None:
            self.shop.tell("use", UseOtherwise(mark, in_words(abs(row.qty) * percent // 100, row.item.unit), purpose), late=late)

    @rule(n=number, m=number, grams=st.sampled_from((100, 400, 3000)), per_cent=st.sampled_from((25, 25, 25, 20)), wait=waits, late=lates)
    def mix(self, n: int, m: int, grams: int, per_cent: int, wait: int, late: int | None) -> None:
        self.shop.wait(wait)
        resins, hardeners = ([mark for mark in self.shop.marks["can"] if mark.startswith(code)] for code in ("LAM-A", "LAM-B"))
        mark = f"M-{len(self.shop.marks['mix']) + 1}"
        parts = (Component(resins[n % len(resins)], f"{grams} g"), Component(hardeners[m % len(hardeners)], f"{grams * per_cent // 100} g"))
        if self.shop.tell("mix", Mix(parts, "BAY1", temperature="21", mark=mark), "Bram", late) is not None:
            self.shop.marks["mix"].append(mark)

    @rule(design=st.sampled_from(("REP", "TIL")))
    def start(self, design: str) -> None:
        self.shop.begin(design, "BAY1")

    @rule(n=number, m=number, kinds=st.sampled_from(("roll", "kit", "mix")), wait=waits, late=lates)
    def lay(self, n: int, m: int, kinds: str, wait: int, late: int | None) -> None:
        self.shop.wait(wait)
        mark = self.shop.one(n, kinds)
        row = ItemState.objects.filter(item__mark=mark).select_related("item").first()
        if row is None:
            return
        material = row.item.material.code if row.item.material else "REP"
        fitting = [p for p in self.shop.marks["part"] if p.startswith("TIL" if material == "PP-U" else "REP")]
        quantity = in_words(min(abs(row.qty), {"um": 400_000, "cmm2": row.qty, "ug": 90_000_000}[row.item.unit]), row.item.unit)
        self.shop.tell("lay", Lay(mark, fitting[m % len(fitting)], qty=quantity, dry=True, extra=True), "Bram", late)

    @rule(n=number, m=st.integers(0, 1), what=st.sampled_from(("bag", "drop", "on", "on", "abort", "off")), wait=waits, late=lates)
    def cure(self, n: int, m: int, what: str, wait: int, late: int | None) -> None:
        """One part, or two under one bag and in one load."""
        self.shop.wait(wait)
        parts = tuple(dict.fromkeys(self.shop.one(k, "part") for k in (n, n + m)))
        asked: dict[str, tuple[str, Any]] = {
            "bag": ("bag", Bag(parts[0], parts[1:])),
            "drop": ("inspect", Inspect(parts[0], "drop test", "4 mbar")),
            "on": ("cure_on", CureOn(parts=parts)),
            "abort": ("cure_abort", CureAbort("34", parts=parts)),
            "off": ("cure_off", CureOff(parts=parts, place="CLEAN")),
        }
        self.shop.tell(*asked[what], "Bram", late)

    @rule(n=number, m=number, scope=st.sampled_from(("all", "all", "stock")), tried=st.booleans(), wait=waits)
    def hold(self, n: int, m: int, scope: str, tried: bool, wait: int) -> None:
        """Something is held; and somebody tries to use what is held by it."""
        self.shop.wait(wait)
        things = [*self.shop.lots, *(mark for marks in self.shop.marks.values() for mark in marks)]
        self.shop.tell("hold", Hold(things[n % len(things)], "looks odd", scope), "Odile")
        there = Item.objects.filter(pk__in=second.read().held(), kind__in=("roll", "can", "kit", "mix"), state__qty__gt=1000)
        if tried and there:
            row = there.order_by("-pk")[m % len(there)]
            self.shop.tell("use", UseOtherwise(row.mark, in_words(1000, row.unit), "panel"))

    @rule(n=number, m=number, below=st.booleans(), wait=waits)
    def unhold(self, n: int, m: int, below: bool, wait: int) -> None:
        """Let one go; or free only something below it."""
        self.shop.wait(wait)
        held = second.read().held()
        rows = Block.objects.filter(to_us__isnull=True).exclude(why="incoming").select_related("item__batch").order_by("pk")
        if not rows:
            return
        block = rows[n % len(rows)]
        things = [item for item in Item.objects.select_related("batch").order_by("pk") if block.pk in held.get(item.pk, ())]
        named = name_of(things[m % len(things)]) if below and things else name_of(block.item)
        self.shop.tell("unhold", Unhold(named, "tested", hold=block.pk), "Odile")

    @rule(n=number, wait=waits)
    def dispose(self, n: int, wait: int) -> None:
        self.shop.wait(wait)
        things = Item.objects.filter(findings__closed_us__isnull=True).order_by("pk").distinct()
        if things:
            self.shop.tell("dispose", Dispose(str(things[n % len(things)]), "use_as_is", "DA-7", "tested"), "Odile")

    @rule(n=st.integers(0, 200), wait=waits)
    def void(self, n: int, wait: int) -> None:
        """Of the newest records rather than of the oldest: those can be voided."""
        self.shop.wait(wait)
        acts = list(Act.objects.order_by("-pk").values_list("pk", flat=True)[:60])
        self.shop.tell("void", Void(acts[n % len(acts)], "wrong roll"), "Odile")

    @rule(n=st.integers(0, 200), wait=waits)
    def repeat(self, n: int, wait: int) -> None:
        """The same call once more, later: the same answer, and nothing else."""
        self.shop.wait(wait)
        verb, call, params = self.shop.done[n % len(self.shop.done)]
        before = everything()
        later = Call(call.who, self.shop.now, call.key, call.stance, call.happened_us, call.claimed_us)
        outcome = perform(verb, later, params)
        assert outcome.replay, f"a repeat of {verb} was taken for something new"
        assert everything() == before, f"a repeat of {verb} changed something"

    # --- what always holds -------------------------------------------------------------------------------------------

    @invariant()
    def the_records_hold_together(self) -> None:
        report = rebuild(self.shop.bench.yard.site, self.shop.now)
        assert not report.differences, report.differences
        seen = second.read()
        states = {row.pk: row for row in ItemState.objects.select_related("item__material")}
        for pk, row in states.items():
            assert row.qty == seen.quantity(pk), f"{row.item}: {row.qty} stored, {seen.quantity(pk)} in the records"
        self._out_time(states, seen)
        held = {item: {hit.block for hit in hits} for item, hits in open_blocks(states).items()}
        assert held == {item: blocks for item, blocks in seen.held().items() if item in states}
        lots = [pk for pk, row in states.items() if row.item.kind == "lot" and pk in seen.legs]
        open_ones = [lot for lot, b in balances(lots).items() if not b.closes or abs(b.residual) > len(second_terms(b))]
        assert not open_ones, f"the balance of lots {open_ones} does not close"

    def _out_time(self, states: dict[int, ItemState], seen: second.Second) -> None:
        filled = {edge.dst_id for edge in seen.edges}  # a kit whose cut was voided has nothing in it
        for pk, row in states.items():
            material = row.item.material.code if row.item.material else ""
            if row.item.kind not in ("roll", "kit") or material != "PP-U" or pk not in filled:
                continue
            lived = from_doc(json.loads(row.doc)).at(self.shop.now).totals()
            most = max((sum(us for ceiling, us in e.spent if ceiling > second.OUT_MC) for e in lived), default=0)
            assert most == seen.out(pk, self.shop.now), f"{row.item}: {most} µs out, {seen.out(pk, self.shop.now)} by the second reading"


def second_terms(balance: Any) -> list[str]:
    return [term for term, amount in balance.exact.items() if amount]


def in_words(base: int, unit: str) -> str:
    return {"um": f"{base} µm", "cmm2": f"{base} mm²", "ug": f"{base} µg"}[unit] if unit != "cmm2" else f"{base // 100} mm²"


def name_of(item: Item) -> str:
    return item.batch.number if item.kind == "lot" else str(item)


def everything() -> tuple[Any, ...]:
    """What a record could change, without the log of refusals."""
    return (
        Act.objects.count(),
        list(ItemState.objects.order_by("pk").values_list("pk", "head", "qty", "doc")),
        list(Edge.objects.order_by("pk").values_list("pk", "void", "until_us", "handed")),
        list(Block.objects.order_by("pk").values_list("pk", "to_us")),
        list(Finding.objects.order_by("pk").values_list("pk", "closed_us")),
    )
