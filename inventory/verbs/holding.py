"""Hold, and let go again: all of it, or in part with evidence (R7). A hold on anything holds everything made from it."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import BadInput, Reason, ended
from inventory.core.said import say, say_n, strung
from inventory.lineage import down_ids, open_blocks
from inventory.models import Act, Block, Edge, Exemption, Item
from inventory.recording import Check, Claim, Line, Receipt, Transaction

from . import repeats
from .lots import thing_of
from .registry import OWNER, QUALITY, Call, Outcome, verb
from .releasing import EVIDENCE_CHARS, listed, required, why

Evidence = Callable[[Call, "Unhold", Sequence[Item]], Iterable[Reason]]
EVIDENCE_RULES: list[Evidence] = []
"""Further rules on whether evidence speaks for the things that it is to free, added by whoever knows what was built."""

HELD = ("quality", "recall")


@dataclass(frozen=True, slots=True)
class Hold:
    """`item`: anything with a label, or a lot by its number. `scope`: "all" (it, and everything made of it) or "stock"
    (what is left of it; what was made of it so far goes on). `recall`: it is a recall. `second_person`: letting it go needs
    a second person; a recall always does."""

    item: str
    reason: str
    scope: str = "all"
    recall: bool = False
    second_person: bool = False


@verb("hold", Hold, (QUALITY,), say("Hold"), observable=False, confirm=True)
def hold(call: Call, p: Hold) -> Outcome:
    thing = thing_of(call, p.item)
    reason = required(p.reason or call.reason, "reason", say("Say why it is held: people will read it when they scan it."))
    if p.scope not in ("all", "stock"):
        raise BadInput("hold.scope", say("Hold “all” (and everything made of it) or “stock” (what is left of it)."), "scope")

    def block(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        row = Block.objects.create(
            site_id=tx.who.site,
            item=thing,
            why="recall" if p.recall else "quality",
            text=reason,
            opened=act,
            from_us=act.happened_us,
        )
        if p.scope == "stock":
            Exemption.objects.bulk_create(Exemption(block=row, item_id=pk, act=act) for pk in _made_of(thing))

    body = {"scope": p.scope, "second": p.second_person or p.recall}
    receipts = call.record([call.claim("hold", [Line(thing.pk)], p, body=body, effects=(block,), reason=reason)], "hold")
    below = down_ids([thing.pk]) if p.scope == "all" else []
    name = thing.batch.number if thing.kind == "lot" else str(thing)
    text = say("{name} is {which}: {reason}", name=name, which=say("recalled") if p.recall else say("on hold"), reason=ended(reason))
    if below:
        text += say_n(" With it {n} thing made of it.", " With it {n} things made of it.", len(below))
    return Outcome(text, receipts, {"item": thing.code, "below": len(below), "scope": p.scope})


def _made_of(thing: Item) -> list[int]:
    """What was made of it so far: of a lot, what was made of its pieces."""
    into = list(Edge.objects.filter(src=thing, void=False).values_list("dst_id", flat=True))
    if thing.kind != "lot":
        return sorted(set(into))
    return sorted(set(Edge.objects.filter(src__in=into, void=False).values_list("dst_id", flat=True)))


@dataclass(frozen=True, slots=True)
class Unhold:
    """Let go. `item`: what is held; or, to free only that, something made of it. `only`: things made of it that are freed
    while the rest stays held. `evidence`: what it rests on; `about`: what the evidence was gained on (a material, a lot, a
    product). `hold`: which hold, where there are several."""

    item: str
    evidence: str
    only: tuple[str, ...] = ()
    about: str = ""
    reason: str = ""
    hold: int | None = None


@verb("unhold", Unhold, (QUALITY,), say("Let go"), observable=False, confirm=True)
def unhold(call: Call, p: Unhold) -> Outcome:
    first = Act.objects.filter(site=call.who.site, key=call.key).first()
    receipts = repeats.again(call, p, "unhold", first.kind if first else "")
    if receipts is None:
        thing = thing_of(call, p.item)
        evidence = required(p.evidence, "evidence", say("Say what the decision rests on: a test, an inspection, a document."))
        block = _meant(thing, p)
        free = [thing_of(call, text, "only") for text in p.only] or ([thing] if block.item_id != thing.pk else [])
        letting = Letting(call, block, free, p)
        body = letting.body(waits=bool(json.loads(block.opened.body).get("second")))
        receipts = call.record([letting.claim(p, body, why(call, p.reason) or evidence)], "unhold")
    return _told(receipts)


def _meant(thing: Item, p: Unhold) -> Block:
    """The hold that is to be let go: on the thing itself, or above it. BadInput hold.none, hold.several."""
    hits = [hit for hit in open_blocks([thing.pk]).get(thing.pk, []) if hit.why in HELD]
    own = [hit for hit in hits if hit.item == thing.pk]
    meant = [hit for hit in hits if hit.block == p.hold] if p.hold is not None else own or hits
    if not meant:
        text = (
            say("{thing} is not on hold", thing=thing)
            + ("." if p.hold is None else say(" by hold {hold}.", hold=p.hold))
            + say(" (What waits for release is released, not let go.)")
        )
        raise BadInput("hold.none", text, "item")
    if len(meant) > 1:
        which = strung("; ", (say("{block}: {hit}, {hit_2}", block=hit.block, hit=hit.name, hit_2=hit.text) for hit in meant))
        raise BadInput(
            "hold.several",
            say("{thing} is held more than once: say which hold ({which}).", thing=thing, which=which),
            "hold",
            count=len(meant),
        )
    return Block.objects.select_related("item", "opened").get(pk=meant[0].block)


@dataclass(frozen=True, slots=True)
class Letting:
    """A hold that ends, or things that are freed from it (`free`), as one act."""

    call: Call
    block: Block
    free: Sequence[Item]
    told: Unhold

    def body(self, waits: bool) -> dict[str, Any]:
        evidence, about = (" ".join(text.split())[:EVIDENCE_CHARS] for text in (self.told.evidence, self.told.about))
        return {"block": self.block.pk, "evidence": evidence, "about": about, "waits": waits}

    def claim(self, p: Any, body: dict[str, Any], reason: str, checks: Sequence[Check] = (), **more: Any) -> Claim:
        """While a second person is awaited it does nothing yet."""
        lines = [Line(item.pk) for item in self.free] or [Line(self.block.item_id)]
        effects = () if body["waits"] else (self.let_go,)
        kind = "exempt" if self.free else "unhold"
        return self.call.claim(kind, lines, p, body=body, checks=(*checks, self.allowed), effects=effects, reason=reason, **more)

    def allowed(self, tx: Transaction) -> Iterable[Reason]:
        if not Block.objects.filter(pk=self.block.pk, to_us__isnull=True).exists():
            yield Reason("hold.ended", say("The hold on {item} has ended already.", item=self.block.item), {"block": self.block.pk})
        things = self.free or [self.block.item]
        yield from _not_below(self.block, self.free)
        yield from _about(self.told, things)
        for rule in EVIDENCE_RULES:
            yield from rule(self.call, self.told, things)

    def let_go(self, tx: Transaction, act: Act, names: dict[str, int]) -> None:
        if not self.free:
            Block.objects.filter(pk=self.block.pk).update(closed=act, to_us=act.happened_us)
            return
        there = set(Exemption.objects.filter(block=self.block, item__in=self.free).values_list("item_id", flat=True))
        Exemption.objects.bulk_create(Exemption(block=self.block, item=item, act=act) for item in self.free if item.pk not in there)


def _not_below(block: Block, free: Sequence[Item]) -> Iterable[Reason]:
    below = set(down_ids([block.item_id])) | {block.item_id} if free else set()
    for item in free:
        if item.pk not in below:
            text = say("{item} is not held by the hold on {item_2}: nothing of that is in it.", item=item, item_2=block.item)
            yield Reason("hold.not_below", text, {"item": item.pk, "block": block.pk})


def _about(p: Unhold, free: Sequence[Item]) -> Iterable[Reason]:
    """Evidence that was gained on one material says nothing of another."""
    about = p.about.strip().casefold()
    if not about:
        return
    for item in Item.objects.select_related("material", "lot__batch").filter(pk__in=[i.pk for i in free], material__isnull=False):
        assert item.material is not None
        names = {item.material.code, item.mark, item.code, *([item.lot.batch.number] if item.lot_id and item.lot else [])}
        names |= {item.batch.number} if item.kind == "lot" else set()
        if about not in {name.casefold() for name in names if name}:
            text = say(
                "The evidence is about {value}; {item} is {material}: bring evidence of its own.",
                value=p.about.strip()[:60],
                item=item,
                material=item.material.code,
            )
            yield Reason("evidence.other_product", text, {"item": item.pk, "about": p.about.strip()[:60], "is": item.material.code})


def _told(receipts: list[Receipt]) -> Outcome:
    items = list(Item.objects.filter(pk__in=receipts[0].touched).order_by("pk"))
    waits = bool(receipts[0].body["waits"])
    text = (
        say("{listed}: let go, once a second person has countersigned.", listed=listed(items))
        if waits
        else say("{listed}: no longer on hold.", listed=listed(items))
    )
    return Outcome(text, receipts, {"items": [str(item) for item in items], "waits": waits, "record": receipts[0].act})


# --- the second person ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Countersign:
    """`record`: the number of the decision that waits for a second person."""

    record: int
    reason: str = ""


@verb("countersign", Countersign, (QUALITY, OWNER), say("Countersign"), observable=False, confirm=True)
def countersign(call: Call, p: Countersign) -> Outcome:
    asked = Act.objects.filter(site=call.who.site, pk=p.record, kind__in=("unhold", "exempt"), approves__isnull=True).first()
    body = json.loads(asked.body) if asked else {}
    if asked is None or not body.get("waits"):
        raise BadInput("countersign.unknown", say("Record {record} waits for nobody's signature.", record=p.record), "record")
    receipts = repeats.again(call, p, "countersign", asked.kind, approves=asked.pk)
    if receipts is None:
        block = Block.objects.select_related("item", "opened").get(pk=body["block"])
        free = list(Item.objects.filter(legs__act=asked).order_by("pk")) if asked.kind == "exempt" else []
        letting = Letting(call, block, free, Unhold(str(block.item), body["evidence"], about=body["about"]))
        second = (second_person(asked),)
        reason = why(call, p.reason) or asked.reason
        receipts = call.record([letting.claim(p, letting.body(waits=False), reason, second, approves=asked.pk)], "countersign")
    return _told(receipts)


def second_person(asked: Act) -> Check:
    """Whoever asked does not approve, whatever roles they have (R44); and nothing is approved twice, or after it was voided."""

    def check(tx: Transaction) -> Iterable[Reason]:
        row = Act.objects.select_related("person").get(pk=asked.pk)
        if row.person_id == tx.who.person:
            text = say("{person} asked for this: a second person must approve it.", person=row.person)
            yield Reason("approval.same_person", text, {"record": row.pk, "person": row.person_id})
        if hasattr(row, "voided_by"):
            yield Reason("approval.voided", say("Record {pk} was voided: there is nothing to approve.", pk=row.pk), {"record": row.pk})
        if row.approvals.filter(voided_by__isnull=True).exists():
            yield Reason("approval.given", say("Record {pk} is approved already.", pk=row.pk), {"record": row.pk})

    return check
