"""The rules that the write path itself keeps, whatever the door and the verb: enough, there, fit, not held.

A verb may add its own checks; it cannot leave these out.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import Q

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.tighter import Tighter
from inventory.core.units import display
from inventory.lineage import open_blocks
from inventory.models import Finding

from .claims import Claim, Ref
from .findings import LATER, VOIDED
from .transaction import Transaction
from .use import DEED, tight_in, use_reasons

TAKES = frozenset({"cut", "pour", "mix", "lay", "join", "ship", "sell", "use"})
"""Kinds that a block stops. A held part may still be cured, moved, frozen, counted, scrapped or returned (R7)."""

NOT_WHILE_OPEN = frozenset({"cure_on", "join", "ship"})
"""Kinds that an open life finding stops until quality has disposed of it."""

STILL_ALLOWED_WHEN_GONE = frozenset(
    {"void", "dispose", "hold", "unhold", "exempt", "inspect", "defect", "chart", "step", "receive", "certify", "unjoin", "expose"}
)


def gate_reasons(tx: Transaction, claim: Claim, at_us: int) -> list[Reason]:
    """All reasons against the claim, in one answer (R21), each as of the instant at which it happened."""
    return [
        *_there(tx, claim),
        *_enough(tx, claim),
        *_fit(tx, claim, at_us),
        *_not_held(tx, claim, at_us),
        *_no_open_finding(tx, claim, at_us),
        *(reason for check in claim.checks for reason in check(tx)),
    ]


def sources_of(claim: Claim) -> list[Ref]:
    """What the claim takes material from: where it has no flow, the items that lose something."""
    if claim.flows:
        return list(dict.fromkeys(f.src for f in claim.flows))
    return [line.item for line in claim.lines if line.delta < 0 or claim.kind in ("ship", "bag", "cure_on")]


def _known(claim: Claim, ref: Ref) -> bool:
    return isinstance(ref, int) and ref not in claim.new


def _there(tx: Transaction, claim: Claim) -> Iterator[Reason]:
    if claim.kind in STILL_ALLOWED_WHEN_GONE:
        return
    for line in claim.lines:
        if not isinstance(line.item, int):
            continue
        entry = tx.entry(line.item)
        if entry.state.gone:
            text = say(
                "{facts} is {gone}: nothing more can happen to it. If that is wrong, quality can void the record.",
                facts=entry.facts.name,
                gone=entry.state.gone,
            )
            yield Reason("stock.gone", text, {"item": entry.facts.id, "gone": entry.state.gone})


def _enough(tx: Transaction, claim: Claim) -> Iterator[Reason]:
    for line in claim.lines:
        if line.delta >= 0 or not isinstance(line.item, int):
            continue
        entry = tx.entry(line.item)
        if entry.state.qty + line.delta < 0:
            left = max(entry.state.qty, 0)
            text = say(
                "Not enough on {facts}: {delta} wanted, {left} left.",
                facts=entry.facts.name,
                delta=display(-line.delta, entry.unit),
                left=display(left, entry.unit),
            )
            yield Reason("stock.not_enough", text, {"item": entry.facts.id, "wanted": -line.delta, "left": left})


def _fit(tx: Transaction, claim: Claim, at_us: int) -> Iterator[Reason]:
    if claim.kind not in DEED:
        return
    for ref in sources_of(claim):
        if isinstance(ref, int):
            entry = tx.entry(ref)
            for rules in _tightened(claim, ref):
                yield from use_reasons(entry.facts, entry.state, claim.kind, at_us, tx.judging().tightened(rules), claim.planned)


def _tightened(claim: Claim, ref: Ref) -> set[tuple[Tighter, ...]]:
    """By which tightened limits the use of this item is judged: those of each thing that it goes into, else its own."""
    into = {f.dst for f in claim.flows if f.src == ref} or {ref}
    return {tight_in(line.body) for line in claim.lines if line.item in into} or {()}


def _not_held(tx: Transaction, claim: Claim, at_us: int) -> Iterator[Reason]:
    if claim.kind not in TAKES or (claim.kind == "use" and claim.body.get("purpose") == "sample"):
        return
    refs = [r for r in sources_of(claim) if isinstance(r, int)]
    for item, hits in open_blocks(refs, None if claim.stance == "intent" else at_us).items():
        name = tx.entry(item).facts.name
        for hit in hits:
            yield Reason(f"block.{hit.why}", hit.sentence(name, item), {"item": item, "block": hit.block, "at": hit.item})


def _no_open_finding(tx: Transaction, claim: Claim, at_us: int) -> Iterator[Reason]:
    if claim.kind not in NOT_WHILE_OPEN:
        return
    refs = [line.item for line in claim.lines if isinstance(line.item, int) and (claim.kind != "join" or line.delta < 0)]
    above = _with_components(refs) if claim.kind == "ship" else refs
    found = Finding.objects.filter(item__in=above, code__startswith="life.").select_related("item")
    then = Q(closed_us__isnull=True)
    if claim.stance != "intent":  # what quality had not decided about by then
        then = Q(at_us__lte=at_us) & (then | Q(closed_us__gt=at_us) & ~Q(closed_by__in=(LATER, VOIDED)))
    for finding in found.filter(then):
        text = say("An open finding stops this until quality has disposed of it: {finding}", finding=finding.text)
        yield Reason("finding.open", text, {"item": finding.item_id, "finding": finding.pk})


def _with_components(items: list[int]) -> list[int]:
    from inventory.lineage import up_ids

    return [*items, *up_ids(items)]
