"""Quality's decisions about things: a starting value for unknown history (R36), a disposition of what broke a rule (R44)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.attachments import of_record
from inventory.core.durations import parse_duration
from inventory.core.reasons import BadInput, Reason, ended
from inventory.core.said import say, strung
from inventory.core.spans import duration
from inventory.lineage import down_ids, up_ids
from inventory.models import Act, Block, Finding, Item, ItemState, LifeLimit, Nonconformance
from inventory.reads.release import against_release, waiting_pieces
from inventory.recording import Claim, Effect, Line, Transaction, findings

from . import repeats
from .arriving_pieces import WARM_MC
from .lots import thing_of
from .registry import QUALITY, Call, Outcome, verb
from .releasing import decided, required, why


@dataclass(frozen=True, slots=True)
class Baseline:
    """`item`: a piece whose history is unknown. `out_time` that it is taken to have used ("12 h"), and `reason`: why so
    much and no more."""

    item: str
    out_time: str
    reason: str


@verb("baseline", Baseline, (QUALITY,), say("Set a starting value"), observable=False, confirm=True)
def baseline(call: Call, p: Baseline) -> Outcome:
    item = thing_of(call, p.item)
    try:
        out_us = parse_duration(p.out_time)
    except BadInput as error:
        error.where = "out_time"
        raise
    reason = required(p.reason or call.reason, "reason", say("Say why this starting value is right: nobody knows the history."))

    def unknown(tx: Transaction) -> Iterable[Reason]:
        if not tx.state(item.pk).unknown:
            text = say("The history of {item} is known: nothing needs a starting value. (A wrong one is voided, and set again.)", item=item)
            yield Reason("baseline.known", text, {"item": item.pk})

    lines = LifeLimit.objects.filter(spec__lots=item.lot_id, clock="above", threshold_mc__isnull=False).values_list(
        "threshold_mc", flat=True
    )
    warm = max([WARM_MC, *(line + 1000 for line in lines if line is not None)])
    body = {"extra": [[warm, out_us]]} if out_us else {}
    receipts = call.record([call.claim("baseline", [Line(item.pk, body=body)], p, checks=(unknown,), reason=reason)], "baseline")
    return Outcome(
        say("{item} starts at {out} out: {reason}", item=item, out=duration(out_us), reason=ended(reason)),
        receipts,
        {"item": str(item), "out_us": out_us},
    )


# --- dispositions -----------------------------------------------------------------------------------------------------

MEANINGS = {
    "use_as_is": say("use as is"),
    "repair": say("repair"),
    "rework": say("rework"),
    "scrap": say("scrap"),
    "return_to_supplier": say("return to supplier"),
    "await_customer": say("customer decision awaited"),
    "accept": say("accept"),
}
OUTSIDE = ("use_as_is", "repair")
"""Need the approval of the design authority or the customer, by its reference."""
GOES_ON = ("use_as_is", "repair", "rework", "accept")
"""After these the thing may be worked on again: the hold that the broken rule itself put on it ends."""


@dataclass(frozen=True, slots=True)
class Dispose:
    """What is to be done about `item`, which broke a rule or whose papers fail. `meaning`: use_as_is, repair, rework,
    scrap, return_to_supplier, await_customer or accept. `reference`: approval of the design authority or customer.
    `nonconformance`: which one, where several are open (empty: all). `attachment`: the SHA-256 of a file that was handed in
    before."""

    item: str
    meaning: str
    reference: str = ""
    reason: str = ""
    nonconformance: int | None = None
    attachment: str = ""


@verb("dispose", Dispose, (QUALITY,), say("Decide on a nonconformance"), observable=False, confirm=True)
def dispose(call: Call, p: Dispose) -> Outcome:
    if p.meaning not in MEANINGS:
        raise BadInput("dispose.meaning", say("Decide on one of: {meanings}.", meanings=strung(", ", MEANINGS)), "meaning")
    receipts = repeats.again(call, p, "dispose", "dispose")
    if receipts is None:
        item = thing_of(call, p.item)
        cases = _cases(item, p.nonconformance)
        rest = [f"case:{case}" for case in cases[1:]]
        claims = []
        for n, case in enumerate(cases):
            more = repeats.parts(rest) if n == 0 else {}
            claims.append(_decision(call, p, item, case, rest[n - 1] if n else "", more))
        receipts = call.record(claims, "dispose")
    row = Item.objects.get(pk=receipts[0].touched[0])
    still = Finding.objects.filter(item=row, closed_us__isnull=True).count()
    text = (
        say("{row}: {meanings}", row=row, meanings=MEANINGS[p.meaning])
        + (say(" ({reference})", reference=p.reference.strip()) if p.reference.strip() else "")
        + (say("; still open.") if still else ".")
    )
    return Outcome(text, receipts, {"item": str(row), "meaning": p.meaning, "open": still})


def _cases(item: Item, only: int | None) -> list[int | None]:
    """The open nonconformances of the thing; [None] when it has none (its papers, perhaps)."""
    rows = Nonconformance.objects.filter(findings__item=item, findings__closed_us__isnull=True)
    found: list[int | None] = list(rows.order_by("pk").values_list("pk", flat=True).distinct())
    if only is not None:
        if only not in found:
            raise BadInput("dispose.unknown", say("{item} has no open nonconformance {only}.", item=item, only=only), "nonconformance")
        return [only]
    return found or [None]


def _decision(call: Call, p: Dispose, item: Item, case: int | None, part: str, more: dict[str, Any]) -> Claim:
    covers = _covers(call, item)

    def allowed(tx: Transaction) -> Iterable[Reason]:
        if p.meaning in OUTSIDE and not p.reference.strip():
            text = say(
                "“{meanings}” needs the approval reference of the design authority or the customer: enter it.", meanings=MEANINGS[p.meaning]
            )
            yield Reason("dispose.reference_needed", text, {"meaning": p.meaning})
        if p.meaning == "accept":
            yield from _not_just_accepted(item, case, covers)
        if case is None and not covers:
            text = say("Nothing is open about {item}: there is nothing to decide on.", item=item)
            yield Reason("dispose.nothing_open", text, {"item": item.pk})

    effects = [decided(item.pk, p.meaning, p.reference.strip(), case)]
    if p.meaning != "await_customer":
        effects.append(_settle(item, case, p.meaning))
    body = {"meaning": p.meaning, "reference": p.reference.strip()[:120], "covers": covers, **of_record(p.attachment), **more}
    reason = why(call, p.reason)
    told = repeats.of(p, part)
    return call.claim("dispose", [Line(item.pk)], told, part=part, body=body, checks=(allowed,), effects=tuple(effects), reason=reason)


def _covers(call: Call, item: Item) -> list[list[str | None]]:
    """What of the papers is decided on: name, value and how it fails. A value that comes later is not covered."""
    found: list[list[str | None]] = []
    for reason in [r for rs in against_release(waiting_pieces(call.who.site, _pieces_of(item))).values() for r in rs]:
        verdict = reason.code.removeprefix("certificate.")
        if verdict in ("outside", "missing"):
            found.append([str(reason.numbers["name"]), None if verdict == "missing" else str(reason.numbers["value"]), verdict])
        elif verdict == "none":
            found.append(["", None, "none"])
    return [list(row) for row in dict.fromkeys(tuple(row) for row in found)]


def _pieces_of(item: Item) -> list[int]:
    if item.kind != "lot":
        return [item.pk]
    return list(Item.objects.filter(lot=item).values_list("pk", flat=True))


def _not_just_accepted(item: Item, case: int | None, covers: Sequence[Sequence[str | None]]) -> Iterable[Reason]:
    """What is outside its limits, or over its life, is used as it is with somebody's approval, or not at all."""
    over = Finding.objects.filter(item=item, nonconformance=case, closed_us__isnull=True, code__startswith="life.over").first()
    outside = next((row for row in covers if row[2] == "outside"), None)
    if over is None and outside is None:
        return
    what = (
        over.text
        if over is not None
        else say("{outside} {outside_2} is outside its limits.", outside=outside[0], outside_2=outside[1])
        if outside
        else ""
    )
    text = say("That is not for “accept”: {what} “use as is” with an approval reference, or another disposition.", what=what)
    yield Reason("dispose.use_as_is_needed", text, {"item": item.pk})


def _settle(item: Item, case: int | None, meaning: str) -> Effect:
    """The thing's findings are closed, and those of what went into it and is used up, when nothing else waits for them."""

    def effect(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        if case is not None:
            mine = list(Finding.objects.filter(nonconformance=case, item=item, closed_us__isnull=True))
            findings.close(mine, tx.now_us, "disposition")
            findings.close(_used_up(item, case), tx.now_us, "disposition")
        still = Finding.objects.filter(item=item, closed_us__isnull=True).exists()
        if meaning in GOES_ON and not still:
            raised = Block.objects.filter(item=item, why="quality", to_us__isnull=True).exclude(
                opened__kind__in=("hold", "receive", "void")
            )
            raised.update(closed=act, to_us=act.happened_us)

    return effect


def _used_up(item: Item, case: int) -> list[Finding]:
    """A kit that is used up is settled with the last of what was made of it."""
    above = set(up_ids([item.pk]))
    rows = list(Finding.objects.filter(nonconformance=case, closed_us__isnull=True))
    waiting = {row.item_id for row in rows}
    gone = set(ItemState.objects.filter(item__in=waiting & above, qty=0).values_list("item_id", flat=True))
    settled = {pk for pk in gone if not waiting.difference(gone) & set(down_ids([pk]))}
    return [row for row in rows if row.item_id in settled]
