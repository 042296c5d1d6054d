"""Findings that follow from the records: the same answer when a record comes in and when it is folded again (R13).

A use is judged by what the source had lived through, and is a finding of what it went into; opening, bagging and the start
of a cure are judged by the thing itself. What broke a limit first is the cause of all that followed of it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Iterator

from inventory.core.fold import State
from inventory.core.kinds import USES
from inventory.core.reasons import Reason
from inventory.models import Edge, Finding, Leg

from .findings import LATER, VOIDED, Found
from .transaction import Transaction
from .use import Facts, Judging, thaw_reasons, tight_in, use_reasons

OWN = frozenset({"open", "bag", "cure_on"})
"""Kinds that are judged by the thing itself."""

JUDGES: list[Callable[[Transaction, Collection[int]], Iterable[Found]]] = []
"""What else follows from the records alone: given legs that are judged (again), everything that is wrong with them. Added by
whoever has rules over several records of one thing; their families stand in `findings.DERIVED`."""

Causes = dict[tuple[int, str], tuple[int, int]]
"""{(item, "source/limit"): (when µs, item)}: what was used in the item first with this limit broken, and what had broken it.
The earliest use counts, whatever came to be known first."""


def of_use(facts: Facts, state: State, edge: Edge, at_us: int, judging: Judging, causes: Causes) -> Iterator[Found]:
    """What is wrong with a use of the item; the destination carries the cause on."""
    if edge.kind not in USES:
        return
    for reason in use_reasons(facts, state, edge.kind, at_us, judging, wide=False):
        cause = cause_of(causes, facts.id, reason, at_us)
        _note(causes, (edge.dst_id, _key(reason.numbers)), (at_us, cause))
        yield Found(edge.dst_leg_id, edge.dst_id, cause, at_us, reason)


def of_itself(facts: Facts, state: State, leg: Leg, kind: str, at_us: int, judging: Judging, causes: Causes) -> Iterator[Found]:
    """What is wrong with opening, bagging or heating the item."""
    if kind not in OWN:
        return
    if '"tight":' in leg.body:
        judging = judging.tightened(tight_in(json.loads(leg.body)))
    reasons = (
        thaw_reasons(facts, state, at_us, judging.zone) if kind == "open" else use_reasons(facts, state, kind, at_us, judging, wide=False)
    )
    for reason in reasons:
        yield Found(leg.pk, facts.id, cause_of(causes, facts.id, reason, at_us), at_us, reason)


def of_legs(tx: Transaction, legs: Collection[int]) -> Iterator[Found]:
    """What the further judges find wrong with these records."""
    for judge in JUDGES if legs else ():
        yield from judge(tx, legs)


def cause_of(causes: Causes, item: int, reason: Reason, at_us: int) -> int:
    """The item that broke the reason's limit first: one that was used in `item` by then, else `item` itself."""
    first = causes.get((item, _key(reason.numbers)))
    return first[1] if first is not None and first[0] <= at_us else item


def inherited(items: Iterable[int]) -> Causes:
    """Causes that stand in what items were made of: their nonconformance began further up, whatever quality has decided
    about it since."""
    causes: Causes = {}
    for item, key, first, _ in stored(items):
        _note(causes, (item, key), first)
    return causes


def carry_on(items: Iterable[int], judged: Collection[int], causes: Causes) -> set[int]:
    """Add to `causes` what stands in `items` apart from `judged`: legs that have just been judged again, whose stored findings
    say nothing any more. Give the items whose causes are others than were stored: what they went into has to be told."""
    before: Causes = {}
    found = sorted(set(items))
    for item, key, first, leg in stored(found):
        _note(before, (item, key), first)
        if leg not in judged:
            _note(causes, (item, key), first)
    own = set(found)
    keys = before.keys() | {k for k in causes if k[0] in own}
    return {k[0] for k in keys if before.get(k) != causes.get(k)}


def stored(items: Iterable[int]) -> Iterator[tuple[int, str, tuple[int, int], int]]:
    """(item, "source/limit", (when, cause), leg) of each use that broke a life limit on the way into one of the items."""
    rows = Finding.objects.filter(code__startswith="life.", leg__act__kind__in=USES).exclude(closed_by__in=(LATER, VOIDED))
    found = rows.values_list("item_id", "numbers", "at_us", "nonconformance__cause_id", "leg_id")
    ids = sorted(set(items))
    for i in range(0, len(ids), 5000):
        for item, numbers, at_us, cause, leg in found.filter(item__in=ids[i : i + 5000]):
            yield item, _key(json.loads(numbers)), (at_us, cause), leg


def _note(causes: Causes, key: tuple[int, str], first: tuple[int, int]) -> None:
    causes[key] = min(first, causes.get(key, first))


def _key(numbers: dict[str, int | str | None]) -> str:
    return f"{numbers.get('source')}/{numbers.get('limit')}"
