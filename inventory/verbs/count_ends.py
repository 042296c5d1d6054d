"""A count of a place ends: what was measured is written, each amount as a count of its own as of when it was measured, in one transaction.
What was not found is not written off: it is listed until a record, or somebody's word, says what became of it."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace

from django.db import transaction

from inventory.core.reasons import BadInput, Reason, Refused
from inventory.core.said import say, strung
from inventory.models import Act, CountLine, CountSheet
from inventory.reads import counts
from inventory.reads.counts import Seen
from inventory.recording import Claim, Line

from .count_sheets import over, sheet_row, still_open
from .registry import OWNER, QUALITY, SHOP, STOREKEEPER, Call, Outcome, refuse, verb
from .resolve import item_of


@dataclass(frozen=True, slots=True)
class CountFinish:
    """`sheet`: the count that ends. `rev`: its revision as it was looked at: what changed since has to be looked at again."""

    sheet: int
    rev: int


@dataclass(frozen=True, slots=True)
class CountDrop:
    """`sheet`: the count that is left off. Nothing of it is written, and the place is not counted."""

    sheet: int


@dataclass(frozen=True, slots=True)
class CountSettle:
    """`item` of count `sheet` needs no more looking for: `note` says what became of it. The book stays as it is."""

    sheet: int
    item: str
    note: str


@verb("count_finish", CountFinish, SHOP, say("End a count"), observable=False)
def count_finish(call: Call, p: CountFinish) -> Outcome:
    sheet = sheet_row(call, p.sheet)
    if sheet.ended_us is not None and not sheet.dropped:
        return Outcome(over(sheet, call.who.zone).text, [], {"sheet": sheet.pk, "already": True})
    still_open(call, "count_finish", p, sheet)
    if sheet.rev != p.rev:
        refuse(call, "count_finish", p, _changed(sheet))
    found = counts.look(sheet)
    claims = [_claim(call, sheet, seen) for seen in found.measured]
    receipts = []
    if claims:
        last = replace(claims[-1], effects=(*claims[-1].effects, lambda tx, act, names: _close(call, sheet, found)))
        receipts = call.record([*claims[:-1], last], "count_finish")
    else:
        try:
            with transaction.atomic():
                _close(call, sheet, found)
        except Refused as refused:
            refuse(call, "count_finish", p, *refused.reasons)
    data = {
        "sheet": sheet.pk,
        "seen": len(found.seen),
        "written": len(claims),
        "differing": len(found.differing),
        "missing": [s.item.code for s in found.waiting],
        "elsewhere": [s.line.item.code for s in found.elsewhere],
        "gone": [s.line.item.code for s in found.gone],
    }
    return Outcome(_ended(sheet, found), receipts, data)


def _changed(sheet: CountSheet) -> Reason:
    text = say("The count has changed since this was shown: look at it once more, then end it.")
    return Reason("count.changed", text, {"sheet": sheet.pk, "rev": sheet.rev})


def _claim(call: Call, sheet: CountSheet, seen: Seen) -> Claim:
    """The count of one thing, as of when it was measured: what was taken from it since is taken off by the order of the records (R12).
    Its key is the sheet's, so that two who end a count at once write it once."""
    line = seen.line
    reason = line.reason or line.how
    body = {"how": line.how, "claim": False, "book": line.book, "sheet": sheet.pk}
    return Claim(
        key=uuid.uuid5(uuid.NAMESPACE_OID, f"count {sheet.site_id} {sheet.pk} {line.item_id}"),
        kind="count",
        lines=(Line(line.item_id, counted=line.counted, body={"how": line.how}),),
        body=body,
        said={"sheet": sheet.pk, "item": line.item.code, "counted": line.counted, "how": line.how, "reason": reason},
        stance="observed",
        happened_us=line.measured_us,
        device_seq=call.device_seq,
        reason=reason,
        effects=(lambda tx, act, names: _wrote(line, act),),
    )


def _wrote(line: CountLine, act: Act) -> None:
    CountLine.objects.filter(pk=line.pk).update(act=act)


def _close(call: Call, sheet: CountSheet, found: counts.Count) -> None:
    """End the sheet, with what was not found on it and what asks for a decision; in the transaction that writes the counts."""
    rows = CountSheet.objects.filter(pk=sheet.pk, ended_us=None, rev=sheet.rev)
    if not rows.update(ended_us=call.now_us, ended_by_id=call.who.person):
        raise Refused(_changed(sheet))
    here = [s.line.pk for s in found.here]
    CountLine.objects.filter(pk__in=here).update(booked=sheet.location, gone="")
    CountLine.objects.filter(pk__in=[s.line.pk for s in (*found.elsewhere, *found.gone)]).update(asks=True)
    missing = {s.item_id: s for s in found.waiting}
    struck = CountLine.objects.filter(sheet=sheet, item__in=missing, struck=True)
    CountLine.objects.filter(pk__in=[row.pk for row in struck]).update(struck=False, seen_us=None, seen_by=None, asks=True)
    there = {row.item_id for row in CountLine.objects.filter(sheet=sheet, item__in=missing)}
    CountLine.objects.bulk_create(
        [
            CountLine(sheet=sheet, item_id=item, booked_id=state.location_id, book=state.qty, asks=True)
            for item, state in missing.items()
            if item not in there
        ]
    )


def _ended(sheet: CountSheet, found: counts.Count) -> str:
    place, seen, missing = sheet.location.name, len(found.seen), len(found.waiting)
    said = [
        say(
            "The count of {place} is over: seen {seen}, amounts written {measured}, of them differing {differing}.",
            place=place,
            seen=seen,
            measured=len(found.measured),
            differing=len(found.differing),
        )
    ]
    if missing:
        said.append(say("Not found: {missing}. Nothing was written off.", missing=missing))
    return strung(" ", said)


@verb("count_drop", CountDrop, SHOP, say("Leave a count off"), observable=False)
def count_drop(call: Call, p: CountDrop) -> Outcome:
    sheet = sheet_row(call, p.sheet)
    if sheet.ended_us is None:
        CountSheet.objects.filter(pk=sheet.pk, ended_us=None).update(ended_us=call.now_us, ended_by_id=call.who.person, dropped=True)
        sheet.refresh_from_db()
    if not sheet.dropped:
        refuse(call, "count_drop", p, over(sheet, call.who.zone))
    return Outcome(
        say("The count of {location} is left off; nothing of it was written.", location=sheet.location.name), [], {"sheet": sheet.pk}
    )


@verb("count_settle", CountSettle, (STOREKEEPER, QUALITY, OWNER), say("Settle what a count asks"), observable=False)
def count_settle(call: Call, p: CountSettle) -> Outcome:
    sheet, item = sheet_row(call, p.sheet), item_of(call, p.item)
    if not p.note.strip():
        raise BadInput("reason.missing", say("Say what became of it."), "note")
    rows = CountLine.objects.filter(sheet=sheet, item=item, asks=True)
    if not rows.exists():
        raise BadInput("count.not_asked", say("This count asks nothing about {item}.", item=item), "item")
    changed = rows.filter(settled_us=None).update(settled_us=call.now_us, settled_by_id=call.who.person, settled=p.note.strip()[:200])
    text = say("{item} is settled. The book stays as it is.", item=item)
    if not changed:
        text = say("{item} was settled before. The book stays as it is.", item=item)
    return Outcome(text, [], {"sheet": sheet.pk, "item": item.code})
