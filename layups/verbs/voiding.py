"""What a void means for components and for tests: seats are given back, and what a test had settled is open again."""

from __future__ import annotations

import json
from collections.abc import Iterator

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.shares import CONTAINS
from inventory.models import Act, Edge, Finding
from inventory.recording import Transaction
from inventory.recording.findings import LATER, reopen
from inventory.verbs.voiding import VOID_EFFECTS, VOID_RULES
from layups.core.verdicts import DROP
from layups.models import Inspection
from layups.reads.results import DROP_RULE


def seats_stand(tx: Transaction, act: Act) -> Iterator[Reason]:
    """A component sits in one thing at a time: what happened to its seat since is voided first."""
    if act.kind == CONTAINS:
        for edge in Edge.objects.filter(act=act, until_us__isnull=False).select_related("src", "dst"):
            text = say("{src} was taken out of {dst} again: void that record first.", src=edge.src, dst=edge.dst)
            yield Reason("void.taken_out", text, {"record": act.pk, "item": edge.src_id})
    if act.kind == "unjoin":
        edge = Edge.objects.select_related("src").get(pk=_edge(act))
        since = Edge.objects.filter(src=edge.src_id, kind=CONTAINS, void=False, happened_us__gte=edge.until_us or 0).select_related("dst")
        for later in since.order_by("pk"):
            text = say("{src} was built into {dst} since: void that record first.", src=edge.src, dst=later.dst)
            yield Reason("void.built_in_since", text, {"record": act.pk, "item": edge.src_id})


def give_back(tx: Transaction, act: Act) -> None:
    if act.kind == "unjoin":
        Edge.objects.filter(pk=_edge(act)).update(until_us=None)
    for test in Inspection.objects.filter(act=act, kind=DROP, passed=True):
        settled = Finding.objects.filter(item=test.part_id, code__startswith=DROP_RULE, closed_by=LATER, closed_us=act.recorded_us)
        reopen(settled)


def _edge(act: Act) -> int:
    return int(json.loads(act.body)["edge"])


if seats_stand not in VOID_RULES:
    VOID_RULES.append(seats_stand)
    VOID_EFFECTS.append(give_back)
