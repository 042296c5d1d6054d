"""Findings that follow from the records: the same answer when a record comes in and when it is folded again (R13).

A use is judged by what the source had lived through, and is a finding of what it went into; opening, bagging and the start
of a cure are judged by the thing itself. What broke a limit first is the cause of all that followed of it.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator

from inventory.core.fold import State
from inventory.core.kinds import USES
from inventory.core.reasons import Reason
from inventory.models import Edge, Finding, Leg

from .findings import LATER, VOIDED, Found
from .use import Facts, Judging, thaw_reasons, use_reasons

OWN = frozenset({"open", "bag", "cure_on"})
"""Kinds that are judged by the thing itself."""

Causes = dict[tuple[int, str], int]
"""{(item, "source/limit"): the item that broke this limit first}"""


def of_use(facts: Facts, state: State, edge: Edge, at_us: int, judging: Judging, causes: Causes) -> Iterator[Found]:
    """What is wrong with a use of the item; the destination carries the cause on."""
    if edge.kind not in USES:
        return
    for reason in use_reasons(facts, state, edge.kind, at_us, judging, wide=False):
        cause = causes.get((facts.id, limit_key(reason)), facts.id)
        causes[(edge.dst_id, limit_key(reason))] = cause
        yield Found(edge.dst_leg_id, edge.dst_id, cause, at_us, reason)


def of_itself(facts: Facts, state: State, leg: Leg, kind: str, at_us: int, judging: Judging, causes: Causes) -> Iterator[Found]:
    """What is wrong with opening, bagging or heating the item."""
    if kind not in OWN:
        return
    reasons = (
        thaw_reasons(facts, state, at_us, judging.zone) if kind == "open" else use_reasons(facts, state, kind, at_us, judging, wide=False)
    )
    for reason in reasons:
        yield Found(leg.pk, facts.id, causes.get((facts.id, limit_key(reason)), facts.id), at_us, reason)


def inherited(items: Iterable[int], judged: Collection[int] = ()) -> Causes:
    """Causes that stand in what items were made of: their nonconformance began further up, whatever quality has decided
    about it since. `judged`: legs that have just been judged again, whose stored findings say nothing any more."""
    rows = Finding.objects.filter(code__startswith="life.", leg__act__kind__in=USES).exclude(closed_by__in=(LATER, VOIDED))
    found = rows.order_by("pk").values_list("item_id", "numbers", "nonconformance__cause_id", "leg_id")
    causes: Causes = {}
    ids = sorted(set(items))
    for i in range(0, len(ids), 5000):
        for item, numbers, cause, leg in found.filter(item__in=ids[i : i + 5000]):
            if leg not in judged:
                causes.setdefault((item, _key(json.loads(numbers))), cause)
    return causes


def limit_key(reason: Reason) -> str:
    return _key(reason.numbers)


def _key(numbers: dict[str, int | str | None]) -> str:
    return f"{numbers.get('source')}/{numbers.get('limit')}"
