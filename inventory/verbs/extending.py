"""A retest extends a limit (R14): asked by one person with evidence, approved by another, a step of the ladder at a time.

The old end stays on record. What is extended is a date; time out of the cold is never given back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.attachments import of_record
from inventory.core.fold import State
from inventory.core.limits import Reading
from inventory.core.numerals import leading_number, number
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.spans import add_months, end_of_day_us, local_date
from inventory.lineage import down_ids
from inventory.models import Act, Extension, Item, LifeLimit
from inventory.recording import Check, Effect, Line, Receipt, Transaction
from inventory.recording.use import readings_at

from . import repeats
from .holding import second_person
from .lots import thing_of
from .registry import OWNER, QUALITY, Call, Outcome, verb
from .rejudging import rejudge
from .releasing import EVIDENCE_CHARS, listed, required, why

DATES = frozenset({"printed", "calendar", "received"})
PIECES = ("roll", "spool", "drum", "can", "box", "sheet")


@dataclass(frozen=True, slots=True)
class ExtendAsk:
    """`item`: a piece, or a lot (its unopened pieces). `months`: the step of the ladder. `limit`: its name, where more than
    one can be extended. `value`: what the retest showed ("24.1 MPa"), on `sample` (a piece of the same lot). `evidence`:
    the report, and `attachment` the SHA-256 of its file, if that was handed in before."""

    item: str
    months: int
    value: str = ""
    sample: str = ""
    evidence: str = ""
    limit: str = ""
    reason: str = ""
    attachment: str = ""


@verb("extend_ask", ExtendAsk, (QUALITY,), say("Ask for an extension"), observable=False, confirm=True)
def extend_ask(call: Call, p: ExtendAsk) -> Outcome:
    receipts = repeats.again(call, p, "extend_ask", "extend_ask")
    if receipts is None:
        pieces, limit = _pieces(call, p.item), None
        limit = _limit(pieces, p.limit)
        shown = _evidence(call, p, limit, pieces[0].lot_id) | of_record(p.attachment)
        asked = [item for item in pieces if len(pieces) == 1 or not _opened(item, limit)]
        if not asked:
            asked = pieces[:1]  # all are open: refused, with the reason
        rest = [f"item:{item.pk}" for item in asked[1:]]
        claims = []
        for n, item in enumerate(asked):
            step = Step(call, item, limit, p.months)
            body = {"limit": limit.name, "months": p.months, **shown, **step.ends(), **(repeats.parts(rest) if n == 0 else {})}
            checks = (step.allowed, step.not_asked, _shown_enough(shown, limit)) if n == 0 else (step.allowed, step.not_asked)
            part = rest[n - 1] if n else ""
            reason = why(call, p.reason) or shown["shown"]
            claims.append(
                call.claim("extend_ask", [Line(item.pk)], repeats.of(p, part), part=part, body=body, checks=checks, reason=reason)
            )
        receipts = call.record(claims, "extend_ask")
    return _told(call, receipts, say("asked for; a second person must approve it"))


@dataclass(frozen=True, slots=True)
class Extend:
    """Approves what was asked. `item`: the piece, or the lot (all that was asked for it). `limit`: where several wait."""

    item: str
    limit: str = ""
    reason: str = ""


@verb("extend", Extend, (QUALITY, OWNER), say("Approve an extension"), observable=False, confirm=True)
def extend(call: Call, p: Extend) -> Outcome:
    receipts = repeats.again(call, p, "extend", "extend")
    if receipts is None:
        waiting = _waiting(_pieces(call, p.item), p.limit)
        rest = [f"item:{item.pk}" for _, item in waiting[1:]]
        claims = []
        for n, (asked, item) in enumerate(waiting):
            said = json.loads(asked.body)
            limit = LifeLimit.objects.get(spec__lots=item.lot_id, name=said["limit"])
            step = Step(call, item, limit, said["months"])
            body = {name: said[name] for name in ("limit", "months", "old_us", "until_us", "shown")}
            claims.append(
                call.claim(
                    "extend",
                    [Line(item.pk)],
                    repeats.of(p, rest[n - 1] if n else ""),
                    part=rest[n - 1] if n else "",
                    body=body | (repeats.parts(rest) if n == 0 else {}),
                    checks=(second_person(asked), step.allowed, step.same_end(said["old_us"])),
                    effects=(_write(asked, item, said),),
                    approves=asked.pk,
                    reason=why(call, p.reason) or asked.reason,
                )
            )
        receipts = call.record(claims, "extend")
    return _told(call, receipts, "approved")


def _pieces(call: Call, text: str) -> list[Item]:
    """The pieces that are meant: of a lot, those that are still here."""
    thing = thing_of(call, text)
    if thing.kind == "lot":
        found = list(
            Item.objects.select_related("state", "lot__batch")
            .filter(lot=thing, kind__in=PIECES, state__gone="", state__qty__gt=0)
            .order_by("pk")
        )
        if not found:
            raise BadInput("extend.nothing_left", say("Nothing is left of lot {batch}.", batch=thing.batch.number), "item")
        return found
    if thing.lot_id is None or thing.kind not in PIECES:
        raise BadInput(
            "extend.not_a_piece", say("{thing} is no roll, drum or other piece as received: only those are extended.", thing=thing), "item"
        )
    return [Item.objects.select_related("state", "lot__batch").get(pk=thing.pk)]


def _limit(pieces: Sequence[Item], name: str) -> LifeLimit:
    """The limit that is meant. BadInput extend.no_limit, extend.which_limit."""
    limits = list(LifeLimit.objects.filter(spec__lots=pieces[0].lot_id).order_by("name"))
    meant = [limit for limit in limits if limit.name.casefold() == name.strip().casefold()] if name.strip() else limits
    if not name.strip() and len(meant) > 1:
        meant = [limit for limit in meant if limit.ladder] or meant
    if not meant:
        raise BadInput("extend.no_limit", say("{pieces} has no limit of that name.", pieces=pieces[0]), "limit")
    if len(meant) > 1:
        raise BadInput("extend.which_limit", say("Say which limit: {limit}.", limit=strung(", ", (limit.name for limit in meant))), "limit")
    return meant[0]


def _opened(item: Item, limit: LifeLimit) -> bool:
    return limit.unopened_only and "opened" in json.loads(item.state.doc)


def _evidence(call: Call, p: ExtendAsk, limit: LifeLimit, lot: int | None) -> dict[str, Any]:
    """What the retest showed, and on what. BadInput evidence.missing, .unit, .sample_of_another_lot."""
    wanted, _, unit = limit.evidence.partition(",")
    if limit.evidence_min and not p.value.strip():
        text = say(
            "Say what the retest showed: {evidence}, at least {evidence_min}.", evidence=limit.evidence, evidence_min=limit.evidence_min
        )
        raise BadInput("evidence.missing", text, "value")
    value = ""
    if p.value.strip():
        _, rest = leading_number(p.value, "evidence")
        if rest and unit.strip() and "".join(rest.split()).casefold() != "".join(unit.split()).casefold():
            raise BadInput(
                "evidence.unit",
                say("{wanted} is stated in {unit}: convert it.", wanted=wanted.strip(), unit=unit.strip()),
                "value",
                given=rest[:24],
            )
        value = p.value.strip()[: len(p.value.strip()) - len(rest)].strip() if rest else p.value.strip()
    elif not p.evidence.strip():
        required("", "evidence", say("Say what the extension rests on: the retest and its report."))
    sample = thing_of(call, p.sample, "sample") if p.sample.strip() else None
    if sample is not None and lot not in (sample.lot_id, sample.pk):
        text = say("{sample} is not of this lot: a retest counts for the lot that it was made on.", sample=sample)
        raise BadInput("evidence.sample_of_another_lot", text, "sample", sample=sample.pk)
    name = wanted.strip() or "retest"
    shown = strung(" ", filter(None, [name if value else "", value, unit.strip() if value else "", p.evidence.strip()]))
    shown += say(", from {sample}", sample=sample) if sample else ""
    return {"value": value, "sample": str(sample or ""), "shown": shown[:EVIDENCE_CHARS]}


def _shown_enough(shown: dict[str, Any], limit: LifeLimit) -> Check:
    def check(tx: Transaction) -> Iterable[Reason]:
        if limit.evidence_min and number(shown["value"], "evidence") < number(limit.evidence_min, "evidence"):
            text = say(
                "The retest showed {value}; {evidence} must be at least {evidence_min}: not to be extended.",
                value=shown["value"],
                evidence=limit.evidence,
                evidence_min=limit.evidence_min,
            )
            yield Reason("evidence.not_enough", text, {"value": shown["value"], "least": limit.evidence_min})

    return check


@dataclass(frozen=True, slots=True)
class Step:
    """One step up the ladder, for one piece and limit."""

    call: Call
    item: Item
    limit: LifeLimit
    months: int

    def reading(self, tx: Transaction) -> Reading | None:
        entry = tx.entry(self.item.pk)
        found = readings_at(entry.facts, entry.state, tx.now_us, tx.judging())
        return next((r for r in found if r.limit.name == self.limit.name and r.source.id == self.item.lot_id), None)

    def ends(self) -> dict[str, int | None]:
        """The end now, and the end that is asked for (both None where it has no end)."""
        reading = self.reading(Transaction(self.call.who, self.call.now_us, True))
        if reading is None or reading.ends_us is None or not 0 < self.months <= 120:
            return {"old_us": None, "until_us": None}
        return {"old_us": reading.ends_us, "until_us": self.until(reading.ends_us)}

    def until(self, old_us: int) -> int:
        zone = self.call.who.zone
        return end_of_day_us(add_months(local_date(old_us - 1, zone), self.months), zone)

    def allowed(self, tx: Transaction) -> Iterable[Reason]:
        name, limit = str(self.item), self.limit
        if limit.clock not in DATES:
            text = say(
                "“{limit}” is no date: extending storage never extends out time, and a retest does not give it back.", limit=limit.name
            )
            yield Reason("extend.not_a_date", text, {"limit": limit.name, "clock": limit.clock})
            return
        if limit.unopened_only and _state(tx, self.item).opened is not None:
            text = say("{name} is opened: only an unopened piece may be extended.", name=name)
            yield Reason("extend.opened", text, {"item": self.item.pk})
        yield from self._ladder()
        reading = self.reading(tx)
        if reading is None or reading.ends_us is None:
            yield Reason(
                "extend.no_end",
                say("{name} has no end of “{limit}” to extend: its date is not recorded.", name=name, limit=limit.name),
                {"item": self.item.pk},
            )
        elif 0 < self.months <= 120 and self.until(reading.ends_us) <= tx.now_us:
            day = local_date(self.until(reading.ends_us) - 1, self.call.who.zone).isoformat()
            text = say("{name} would end {day} even so, which is past: discard it.", name=name, day=day)
            yield Reason("extend.past", text, {"item": self.item.pk, "until": day})

    def _ladder(self) -> Iterable[Reason]:
        """The supplier's steps in their order, then discard."""
        steps = [int(m) for m in self.limit.ladder.split()]
        done = Extension.objects.filter(item=self.item, limit=self.limit.name, approved__voided_by__isnull=True).count()
        said = (
            say("the ladder is {map} months, then discard", map=strung(say(" then "), map(str, steps)))
            if steps
            else say("the specification allows none")
        )
        if done >= len(steps):
            used = say(" all steps are used,") if steps else ""
            text = say("{item} is not extended again:{used} {said}.", item=self.item, used=used, said=said)
            yield Reason("extend.ladder_used_up", text, {"item": self.item.pk, "done": done, "ladder": self.limit.ladder})
        elif self.months != steps[done]:
            text = say(
                "+{months} months is not the next step for {item}: {said}; next is {steps}.",
                months=self.months,
                item=self.item,
                said=said,
                steps=steps[done],
            )
            numbers: dict[str, int | str | None] = {"asked": self.months, "next": steps[done], "ladder": self.limit.ladder}
            yield Reason("extend.not_the_next_step", text, numbers)

    def not_asked(self, tx: Transaction) -> Iterable[Reason]:
        for asked, _ in _open_asks([self.item], self.limit.name):
            text = say("An extension of {item} is asked for already (record {pk}): it waits for its approval.", item=self.item, pk=asked.pk)
            yield Reason("extend.asked_already", text, {"item": self.item.pk, "record": asked.pk})

    def same_end(self, old_us: int) -> Check:
        def check(tx: Transaction) -> Iterable[Reason]:
            reading = self.reading(tx)
            if reading is not None and reading.ends_us is not None and reading.ends_us != old_us:
                yield Reason(
                    "extend.moved",
                    say("The end of {item} has moved since this was asked: ask again.", item=self.item),
                    {"item": self.item.pk},
                )

        return check


def _state(tx: Transaction, item: Item) -> State:
    return tx.state(item.pk)


def _open_asks(items: Sequence[Item], limit: str = "") -> list[tuple[Act, Item]]:
    """What was asked for these pieces and is neither approved nor voided, oldest first."""
    rows = Act.objects.filter(kind="extend_ask", legs__item__in=items, voided_by__isnull=True).order_by("pk").distinct()
    answered = set(Act.objects.filter(approves__in=rows, voided_by__isnull=True).values_list("approves_id", flat=True))
    by_id = {item.pk: item for item in items}
    found = [(act, by_id[act.legs.values_list("item_id", flat=True)[0]]) for act in rows if act.pk not in answered]
    return [(act, item) for act, item in found if not limit or json.loads(act.body)["limit"].casefold() == limit.strip().casefold()]


def _waiting(pieces: Sequence[Item], limit: str) -> list[tuple[Act, Item]]:
    found = _open_asks(pieces, limit)
    if not found:
        raise BadInput("extend.not_asked", say("No extension of {listed} waits for approval.", listed=listed(pieces)), "item")
    if len({json.loads(act.body)["limit"] for act, _ in found}) > 1:
        raise BadInput("extend.which_limit", say("More than one limit waits: say which."), "limit")
    return found


def _write(asked: Act, item: Item, said: dict[str, Any]) -> Effect:
    """The extension, found from now on by the walk that finds holds; what was made of the piece is judged anew."""

    def effect(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Extension.objects.create(
            item=item,
            limit=said["limit"],
            old_us=said["old_us"],
            until_us=said["until_us"],
            evidence=said["shown"],
            asked=asked,
            approved=act,
            asked_by_id=asked.person_id,
            approved_by_id=tx.who.person,
            from_us=act.happened_us,
        )
        rejudge(tx, [item.pk, *down_ids([item.pk])])

    return effect


def _told(call: Call, receipts: list[Receipt], word: str) -> Outcome:
    body = receipts[0].body
    items = list(Item.objects.filter(pk__in=[pk for r in receipts for pk in r.touched]).order_by("pk"))
    day, old = (local_date(body[name] - 1, call.who.zone).isoformat() for name in ("until_us", "old_us"))
    text = say("{listed}: “{limit}” to {day} (was {old}), {word}.", listed=listed(items), limit=body["limit"], day=day, old=old, word=word)
    data = {"items": [str(item) for item in items], "limit": body["limit"], "until": day, "old": old, "record": receipts[0].act}
    return Outcome(text, receipts, data)
