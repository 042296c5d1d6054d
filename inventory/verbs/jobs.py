"""What may be put aside or cut for a job: rules added by whoever knows the jobs (R38)."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from inventory.core.reasons import Reason
from inventory.models import Item
from inventory.recording import Check, Transaction

from .registry import Call

JobRule = Callable[[Call, Item, str], Iterable[Reason]]
JOB_RULES: list[JobRule] = []


def for_job(call: Call, item: Item, job: str) -> tuple[Check, ...]:
    """The check that this thing may be used for this job; none when it is for no job in particular."""

    def check(tx: Transaction) -> list[Reason]:
        return [reason for rule in JOB_RULES for reason in rule(call, item, job.strip())]

    return (check,) if job.strip() else ()
