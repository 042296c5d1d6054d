"""Void a record (R30): once, with a reason. Nothing is erased: what was voided stays readable, struck through."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from inventory.core.reasons import BadInput, Reason, ended
from inventory.core.said import say, strung
from inventory.core.spans import day_text, duration
from inventory.lineage import down_ids
from inventory.models import Act, Block, Delivery, Disposition, Exemption, Extension, Finding, Item, Leg
from inventory.recording import Effect, Line, Transaction
from inventory.recording.findings import reopen

from . import repeats
from .registry import QUALITY, SHOP, Call, Outcome, verb
from .rejudging import rejudge
from .releasing import required

UNDO_US = 60_000_000
"""How long whoever recorded something may take it back alone."""

VOID_RULES: list[Callable[[Transaction, Act], Iterable[Reason]]] = []
VOID_EFFECTS: list[Callable[[Transaction, Act], None]] = []
"""What else stands against a void, and what else it undoes: added by whoever keeps rows of their own beside an act."""


@dataclass(frozen=True, slots=True)
class Void:
    """`record`: the number of the record. `reason`: what was wrong with it."""

    record: int
    reason: str


@verb("void", Void, (QUALITY,), say("Void a record"), observable=False, confirm=True)
def void(call: Call, p: Void) -> Outcome:
    reason = required(p.reason or call.reason, "reason", say("Say what was wrong with the record: it stays readable, with this reason."))
    return _strike(call, p, "void", _record(call, p.record), reason, ())


@dataclass(frozen=True, slots=True)
class Undo:
    """Take back one's own record, within a minute. `record`: its number."""

    record: int


@verb("undo", Undo, SHOP, say("Undo"), observable=False)
def undo(call: Call, p: Undo) -> Outcome:
    act = _record(call, p.record)

    def own_and_fresh(tx: Transaction) -> Iterable[Reason]:
        if act.person_id != tx.who.person:
            text = say("{person} recorded this: only they can undo it. Ask quality to void it.", person=act.person)
            yield Reason("undo.not_yours", text, {"record": act.pk})
        age = tx.now_us - act.recorded_us
        if age > UNDO_US:
            text = say("That was {age} ago; undo is possible for a minute. Ask quality to void it.", age=duration(age))
            yield Reason("undo.too_late", text, {"record": act.pk, "age_us": age, "most_us": UNDO_US})

    return _strike(call, p, "undo", act, say("undone at once"), (own_and_fresh,))


def _record(call: Call, number: int) -> Act:
    act = Act.objects.select_related("person").filter(site=call.who.site, pk=number).first() if 0 < number < 2**62 else None
    if act is None:
        raise BadInput("void.unknown", say("There is no record {number}: open it from the thing's history.", number=number), "record")
    return act


def _strike(
    call: Call, p: Void | Undo, name: str, act: Act, reason: str, checks: tuple[Callable[[Transaction], Iterable[Reason]], ...]
) -> Outcome:
    receipts = repeats.again(call, p, name, "void", voids=act.pk)
    if receipts is None:
        items = list(act.legs.order_by("pk").values_list("item_id", flat=True))

        def allowed(tx: Transaction) -> Iterable[Reason]:
            return [*_once(act), *_later(act, call.who.zone), *(reason for rule in VOID_RULES for reason in rule(tx, act))]

        lines = [Line(item) for item in items]
        effects = (_undo_rows(act),)
        claim = call.claim("void", lines, p, voids=act.pk, checks=(*checks, allowed), effects=effects, reason=reason)
        receipts = call.record([claim], name)
    text = say("Record {pk} ({act_kind}) is void: {reason} It stays readable.", pk=act.pk, act_kind=act.kind, reason=ended(reason))
    return Outcome(text, receipts, {"voided": act.pk, "kind": act.kind, "record": receipts[0].act})


def _once(act: Act) -> Iterable[Reason]:
    """A void is not voided (record the fact again), and nothing is voided twice."""
    if act.kind == "void":
        text = say("Record {pk} is itself a void, and stays: if what it struck was right after all, record that again.", pk=act.pk)
        yield Reason("void.of_a_void", text, {"record": act.pk})
    by = Act.objects.select_related("person").filter(voids=act).first()
    if by is not None:
        text = say(
            "Record {pk} is already void: {person}, record {pk_2}, “{reason}”.", pk=act.pk, person=by.person, pk_2=by.pk, reason=by.reason
        )
        yield Reason("void.already", text, {"record": act.pk, "by": by.pk})
    approved = act.approvals.filter(voided_by__isnull=True).order_by("pk").first()
    if approved is not None:
        text = say("Record {pk} was approved by record {pk_2}: void that one first.", pk=act.pk, pk_2=approved.pk)
        yield Reason("void.approved", text, {"record": act.pk, "approval": approved.pk})


def _later(act: Act, zone: str) -> Iterable[Reason]:
    """What brought a thing into being is voided only after everything that happened to the thing since, newest first."""
    born = _born(act)
    if not born:
        return
    legs = Leg.objects.filter(item__in=born, act__voided_by__isnull=True).exclude(act__kind="void").exclude(act=act)
    later = {leg.act_id: leg for leg in legs.select_related("act", "item").order_by("pk")}
    acts = sorted(later.values(), key=lambda leg: (leg.act.happened_us, leg.act.rank, leg.act_id), reverse=True)
    if not acts:
        return
    shown = strung(
        "; ",
        (
            say(
                "{act} {act_kind} {item} {happened}",
                act=leg.act_id,
                act_kind=leg.act.kind,
                item=leg.item,
                happened=day_text(leg.act.happened_us, zone),
            )
            for leg in acts[:10]
        ),
    )
    more = say(" and {acts} more", acts=len(acts) - 10) if len(acts) > 10 else ""
    names = strung(", ", map(str, born[:6]))
    text = say(
        "Record {pk} brought {names} into being, and more happened since. Void first, in this order: {shown}{more}.",
        pk=act.pk,
        names=names,
        shown=shown,
        more=more,
    )
    yield Reason(
        "void.later_records", text, {"record": act.pk, "count": len(acts), "records": strung(" ", (str(leg.act_id) for leg in acts))}
    )


def _born(act: Act) -> list[Item]:
    """The things whose first live record this is."""
    mine = list(act.legs.select_related("item").order_by("pk"))
    first: dict[int, tuple[int, int, int, int, str]] = {}
    rows = Leg.objects.filter(item__in=[leg.item_id for leg in mine], act__voided_by__isnull=True).exclude(act__kind="void")
    for leg in rows.select_related("act"):
        first[leg.item_id] = min(first.get(leg.item_id, leg.act.order), leg.act.order)
    made = json.loads(act.body).get("new", {}).values()
    return [
        leg.item
        for leg in mine
        if leg.item_id in made or (act.kind in ("receive", "made", "start") and first.get(leg.item_id) == act.order)
    ]


def _undo_rows(act: Act) -> Effect:
    """What a decision wrote beside its record is taken back with it."""

    def effect(tx: Transaction, voiding: Act, names: dict[str, int]) -> None:
        Block.objects.filter(closed=act, opened__voided_by__isnull=True).update(closed=None, to_us=None)
        _block_again(tx, act, voiding)
        for row in Disposition.objects.filter(act=act):
            reopen(Finding.objects.filter(closed_by="disposition", closed_us=act.recorded_us, nonconformance=row.nonconformance_id))
        for extension in Extension.objects.filter(approved=act):
            rejudge(tx, [extension.item_id, *down_ids([extension.item_id])])
        if act.kind == "receive":
            _not_arrived(act)
        for also in VOID_EFFECTS:
            also(tx, act)

    return effect


def _block_again(tx: Transaction, act: Act, voiding: Act) -> None:
    """An exemption stays on record; what it had freed gets a hold of its own instead, with the same words."""
    rows = Exemption.objects.filter(act=act, block__to_us__isnull=True).exclude(block__opened=act).select_related("block")
    Block.objects.bulk_create(
        Block(site_id=tx.who.site, item_id=row.item_id, why=row.block.why, text=row.block.text, opened=voiding, from_us=voiding.happened_us)
        for row in rows
    )


def _not_arrived(act: Act) -> None:
    """A delivery of which nothing stands any more has not arrived."""
    deliveries = set(Item.objects.filter(legs__act=act, delivery__isnull=False).values_list("delivery_id", flat=True))
    for pk in deliveries:
        live = Leg.objects.filter(item__delivery=pk, act__kind="receive", act__voided_by__isnull=True)
        if not live.exists():
            Delivery.objects.filter(pk=pk).update(arrived_us=None)
