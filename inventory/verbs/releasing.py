"""Quality lets a delivery go, or sends it back: release (R6), accepting its transport, return to the supplier."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.attachments import of_record
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.units import display
from inventory.models import Act, Block, Delivery, Disposition, Item, ItemState
from inventory.reads.release import against_release, papers_of, waiting_pieces
from inventory.recording import Effect, Line, Transaction

from . import repeats
from .lots import thing_of
from .registry import OWNER, QUALITY, STOREKEEPER, Call, Outcome, verb

EVIDENCE_CHARS = 200


@dataclass(frozen=True, slots=True)
class Release:
    """`items`: pieces, by mark or label, or lots by their number; `delivery`: all of it that waits. `evidence`: what the
    decision rests on, beyond the papers on file. `reason`: why, in a word. `attachment`: the SHA-256 of a file that was handed
    in before."""

    items: tuple[str, ...] = ()
    delivery: str = ""
    evidence: str = ""
    reason: str = ""
    attachment: str = ""


@verb("release", Release, (QUALITY,), say("Release"), observable=False, confirm=True)
def release(call: Call, p: Release) -> Outcome:
    receipts = repeats.again(call, p, "release", "release")
    if receipts is None:
        pieces = _named(call, p.items, p.delivery)

        def fit(tx: Transaction) -> Iterable[Reason]:
            """Asked again under the lock: papers may have come in meanwhile, or somebody else may have released it."""
            rows = waiting_pieces(call.who.site, [item.pk for item in pieces])
            there = {item.pk for item in rows}
            yield from (_not_waiting(item) for item in pieces if item.pk not in there)
            for reasons in against_release(rows).values():
                yield from reasons

        def let_go(tx: Transaction, act: Act, names: dict[str, int]) -> None:
            waiting = Block.objects.filter(item__in=[item.pk for item in pieces], why="incoming", to_us__isnull=True)
            waiting.update(closed=act, to_us=act.happened_us)

        body = {"evidence": p.evidence.strip()[:EVIDENCE_CHARS], **of_record(p.attachment)}
        claim = call.claim(
            "release", [Line(i.pk) for i in pieces], p, body=body, checks=(fit,), effects=(let_go,), reason=why(call, p.reason)
        )
        receipts = call.record([claim], "release")
    items = list(Item.objects.filter(pk__in=receipts[0].touched).order_by("pk"))
    return Outcome(say("{listed} released.", listed=listed(items)), receipts, {"items": [str(item) for item in items]})


def why(call: Call, reason: str) -> str:
    """The reason of a decision: given with it, or with the call."""
    return reason.strip() or call.reason.strip()


def listed(items: Sequence[object], most: int = 6) -> str:
    """ "T-7, T-8 and 3 more"."""
    names = [str(item) for item in items]
    more = say(" and {names} more", names=len(names) - most) if len(names) > most else ""
    return strung(", ", names[:most]) + more


def _not_waiting(item: Item) -> Reason:
    text = say("{item} does not wait for release: it is released already, or gone.", item=item)
    return Reason("release.not_waiting", text, {"item": item.pk})


def _named(call: Call, items: Sequence[str], number: str) -> list[Item]:
    """The pieces that are meant: those named, and those of a lot or a delivery that wait."""
    found: dict[int, Item] = {}
    for text in items:
        thing = thing_of(call, text, "items")
        if thing.kind != "lot":
            found[thing.pk] = thing
            continue
        found |= {item.pk: item for item in waiting_pieces(call.who.site) if item.lot_id == thing.pk}
    if number.strip():
        row = delivery_of(call, number)
        found |= {item.pk: item for item in waiting_pieces(call.who.site) if item.delivery_id == row.pk}
    if not found:
        raise BadInput("release.nothing", say("Nothing named here waits for release: name a piece, a lot or a delivery."), "items")
    return sorted(found.values(), key=lambda item: item.pk)


def delivery_of(call: Call, number: str) -> Delivery:
    row = Delivery.objects.filter(site=call.who.site, number__iexact=" ".join(number.split())).first()
    if row is None:
        raise BadInput(
            "delivery.unknown", say("There is no delivery “{number}”: check the number.", number=number.strip()[:40]), "delivery"
        )
    return row


# --- transport ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AcceptTransport:
    """The time above the line stays charged, and the goods may be released. `delivery`: all of it, or `items` by name.
    `evidence`: the logger file or what else it rests on."""

    evidence: str
    delivery: str = ""
    items: tuple[str, ...] = ()
    reason: str = ""


@verb("accept_transport", AcceptTransport, (QUALITY,), say("Accept the transport, time charged"), observable=False, confirm=True)
def accept_transport(call: Call, p: AcceptTransport) -> Outcome:
    receipts = repeats.again(call, p, "accept_transport", "dispose")
    if receipts is None:
        evidence = required(p.evidence, "evidence", say("Say what it rests on: the logger's file, or what else."))
        pieces = _named(call, p.items, p.delivery)
        unsettled = _unsettled(pieces)
        if p.delivery.strip():  # of a delivery only those that need it
            pieces = [item for item in pieces if item.pk in unsettled]
        if not pieces:
            raise BadInput("transport.nothing", say("No transport waits to be settled here."), "delivery")

        def waits(tx: Transaction) -> Iterable[Reason]:
            still = _unsettled(pieces)
            for item in pieces:
                if item.pk not in still:
                    yield Reason("transport.settled", say("The transport of {item} is settled already.", item=item), {"item": item.pk})

        rest = [f"item:{item.pk}" for item in pieces[1:]]
        claims = []
        for n, item in enumerate(pieces):
            body = {"meaning": "accept_transport", "evidence": evidence, **(repeats.parts(rest) if n == 0 else {})}
            claims.append(
                call.claim(
                    "dispose",
                    [Line(item.pk)],
                    repeats.of(p, rest[n - 1] if n else ""),
                    part=rest[n - 1] if n else "",
                    body=body,
                    checks=(waits,) if n == 0 else (),
                    effects=(decided(item.pk, "accept_transport", ""),),
                    reason=why(call, p.reason) or evidence,
                )
            )
        receipts = call.record(claims, "accept_transport")
    items = list(Item.objects.filter(pk__in=[pk for r in receipts for pk in r.touched]).order_by("pk"))
    return Outcome(
        say("Transport of {listed} accepted, time charged.", listed=listed(items)), receipts, {"items": [str(item) for item in items]}
    )


def _unsettled(pieces: Sequence[Item]) -> set[int]:
    papers = papers_of(pieces)
    settled = {pk for pk, rows in papers.decided.items() if any(meaning == "accept_transport" for meaning, _ in rows)}
    return set(papers.journey) - settled


def required(text: str, name: str, what: str) -> str:
    """A text that must be there. BadInput <name>.missing."""
    trimmed = " ".join(text.split())
    if not trimmed:
        raise BadInput(f"{name}.missing", what, name)
    return trimmed[:EVIDENCE_CHARS]


def decided(item: int, meaning: str, reference: str, nonconformance: int | None = None) -> Effect:
    """Writes down what was decided about an item."""

    def effect(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Disposition.objects.create(item_id=item, meaning=meaning, reference=reference[:120], nonconformance_id=nonconformance, act=act)

    return effect


# --- back to the supplier -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ReturnToSupplier:
    """All that is left of `item` goes back, held or not. `reason`: why. `reference`: the supplier's claim number."""

    item: str
    reason: str
    reference: str = ""


@verb("return_supplier", ReturnToSupplier, (STOREKEEPER, QUALITY, OWNER), say("Return to supplier"))
def return_supplier(call: Call, p: ReturnToSupplier) -> Outcome:
    receipts = repeats.again(call, p, "return_supplier", "return")
    if receipts is None:
        item = thing_of(call, p.item)
        if item.lot_id is None or item.kind not in ("roll", "spool", "drum", "can", "box", "sheet"):
            raise BadInput(
                "return.not_received", say("{item} did not come from a supplier: only what was received goes back.", item=item), "item"
            )
        reason = required(p.reason or call.reason, "reason", say("Say why it goes back."))
        left = ItemState.objects.get(pk=item.pk).qty
        if left <= 0:
            raise BadInput("stock.empty", say("Nothing is left of {item}.", item=item), "item")
        body = {"reference": p.reference.strip()[:120], "qty": left}
        claim = call.claim("return", [Line(item.pk, delta=-left)], p, body=body, checks=(all_of(item, left),), reason=reason)
        receipts = call.record([claim], "return_supplier")
    row = Item.objects.get(pk=receipts[0].touched[0])
    back = receipts[0].body["qty"]
    return Outcome(
        say("{back} of {row} returned to the supplier.", back=display(back, row.unit), row=row),
        receipts,
        {"item": str(row), "returned": back},
    )


def all_of(item: Item, left: int) -> Callable[[Transaction], Iterable[Reason]]:
    """Nobody took from it between the look and the lock."""

    def check(tx: Transaction) -> Iterable[Reason]:
        now: Any = tx.state(item.pk).qty
        if now != left:
            text = say(
                "{item} changed while this was recorded: there is {now} now. Do it again.", item=item, now=display(max(now, 0), item.unit)
            )
            yield Reason("stock.changed", text, {"item": item.pk, "was": left, "left": now})

    return check
