"""Work that takes a while, as a row with progress, result and error; anybody may look in, and who asked may stop it.

A job stands in the outbox from the moment it is asked for. Whoever works it holds a lease, moved on with every sign of life; when
the process dies the lease runs out and the next one begins anew. A work computes first and hands back what to write, which is
written in the same transaction as the job's end: however often it is begun, its result is there once.

A kind of work is a function of the job and of `tell(done, total)`, entered with `@kind`. It has to call `tell` now and then: that
shows progress, keeps the lease, and is where it stops when somebody cancels.
"""

from __future__ import annotations

import json
import logging
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from inventory.core.reasons import BadInput, Reason, Refused, key_reused
from inventory.core.said import say, strung
from inventory.models import Job, Outbox, Role
from inventory.recording import Who, canonical

log = logging.getLogger(__name__)
TOPIC = "job"
LEASE_US, RETRY_US = 60_000_000, 5_000_000
TELL_US = 400_000
"""Progress is written no more often than this."""
MOST_TRIES = 3
OPEN, ENDED = ("waiting", "running"), ("done", "failed", "cancelled")
SEES_ALL, STOPS_ALL = ("quality", "owner", "auditor"), ("quality", "owner")

Tell = Callable[[int, int], None]
Finish = Callable[[], dict[str, Any]]
Work = Callable[[Job, Tell], Finish]
KINDS: dict[str, Work] = {}


class Cancelled(Exception):
    """Somebody stopped the job."""


class Lost(Exception):
    """Another process has taken the job over."""


def kind(name: str) -> Callable[[Work], Work]:
    def enter(work: Work) -> Work:
        if name in KINDS:
            raise ValueError(f"there are two kinds of job {name}")
        KINDS[name] = work
        return work

    return enter


# --- asking, seeing, stopping -----------------------------------------------------------------------------


def ask(name: str, title: str, params: dict[str, Any], who: Who, key: uuid.UUID, now_us: int) -> tuple[Job, bool]:
    """Queue a job; (job, whether this key had been used before). Raises Refused key.reused when it was used for something else."""
    text = canonical(params)
    with transaction.atomic():
        job, new = Job.objects.get_or_create(
            site_id=who.site,
            key=key,
            defaults={
                "kind": name,
                "title": title[:160],
                "params": text,
                "person_id": who.person,
                "device_id": who.device,
                "asked_us": now_us,
            },
        )
        if (job.kind, job.params) != (name, text):
            raise Refused(key_reused())
        if new:
            Outbox.objects.create(topic=TOPIC, ref=job.pk, due_us=now_us)
    return job, not new


def roles_of(person: int) -> set[str]:
    return set(Role.objects.filter(person=person, person__ended_us__isnull=True).values_list("role", flat=True))


def seen_by(site: int, person: int) -> QuerySet[Job]:
    """The jobs that somebody may see: their own, and all for quality, owner and auditor."""
    rows = Job.objects.filter(site=site).select_related("person")
    return rows if roles_of(person) & set(SEES_ALL) else rows.filter(person=person)


def may_stop(job: Job, person: int) -> bool:
    return job.state in OPEN and (job.person_id == person or bool(roles_of(person) & set(STOPS_ALL)))


def cancel(job: Job, person: int, now_us: int) -> str:
    """Stop a job: at once while it waits, else where it next tells of its progress. A sentence says how it stands. Raises
    Refused job.not_yours."""
    if job.state in OPEN and not may_stop(job, person):
        raise Refused(Reason("job.not_yours", say("Whoever asked for it, quality or the owner can stop it."), {}))
    if Job.objects.filter(pk=job.pk, state="waiting").update(state="cancelled", cancel_us=now_us, ended_us=now_us):
        return say("Stopped before it began; nothing was kept.")
    if Job.objects.filter(pk=job.pk, state="running").update(cancel_us=now_us):
        return say("It stops at its next step; nothing of it is kept.")
    return say("It is over already.")


# --- working ------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Lease:
    """The right to work a row of the outbox, and to write of it."""

    row: int
    until_us: int
    clock: Callable[[], int]
    told_us: int = 0

    def move(self) -> None:
        """Hold it for longer. Raises Lost."""
        until = max(self.clock() + LEASE_US, self.until_us + 1)
        if not Outbox.objects.filter(pk=self.row, due_us=self.until_us, done_us__isnull=True).update(due_us=until):
            raise Lost
        self.until_us = until


def run_due(clock: Callable[[], int], limit: int = 10) -> int:
    """Work the jobs that are due, one after another; how many came to an end."""
    ended = 0
    for row in Outbox.objects.filter(topic=TOPIC, done_us__isnull=True, due_us__lte=clock()).order_by("due_us", "pk")[:limit]:
        until = max(clock() + LEASE_US, row.due_us + 1)
        claimed = Outbox.objects.filter(pk=row.pk, done_us__isnull=True, due_us=row.due_us).update(due_us=until, tries=row.tries + 1)
        if claimed:
            ended += _run(Job.objects.get(pk=row.ref), _Lease(row.pk, until, clock), row.tries + 1)
    return ended


def _run(job: Job, lease: _Lease, tries: int) -> bool:
    """Work one job as far as it goes; whether it came to an end."""
    begun = Job.objects.filter(pk=job.pk, state__in=OPEN, cancel_us__isnull=True)
    try:
        if not begun.update(state="running", started_us=lease.clock(), done=0):
            raise Cancelled
        if tries > MOST_TRIES:
            return _end(
                job,
                lease,
                "failed",
                say("It was begun {most_tries} times and never came to its end. Ask for it again.", most_tries=MOST_TRIES),
            )
        finish = KINDS[job.kind](job, _teller(job, lease))
        return _finished(job, lease, finish)
    except Cancelled:
        return _end(job, lease, "cancelled")
    except Lost:
        return False
    except BadInput as bad:
        return _end(job, lease, "failed", bad.reason.text, {"code": bad.reason.code, "where": bad.where})
    except Refused as refused:
        first = refused.reasons[0]
        return _end(job, lease, "failed", strung(" ", (r.text for r in refused.reasons)), {"code": first.code, "where": ""})
    except Exception as error:  # begun again a few times: a database that was away comes back
        log.exception("job %s (%s) failed", job.pk, job.kind)
        Outbox.objects.filter(pk=lease.row, due_us=lease.until_us).update(due_us=lease.clock() + RETRY_US, error=repr(error)[:500])
        return False


def _teller(job: Job, lease: _Lease) -> Tell:
    def tell(done: int, total: int) -> None:
        now = lease.clock()
        if now - lease.told_us < TELL_US:
            return
        lease.told_us = now
        lease.move()
        if not Job.objects.filter(pk=job.pk, state="running", cancel_us__isnull=True).update(done=done, total=total):
            raise Cancelled

    return tell


def _finished(job: Job, lease: _Lease, finish: Finish) -> bool:
    """Write the result and the end of the job together. Raises Cancelled, Lost, and nothing is written then."""
    with transaction.atomic():
        mine = Outbox.objects.filter(pk=lease.row, due_us=lease.until_us, done_us__isnull=True)
        if not mine.update(done_us=lease.clock(), error=""):
            raise Lost
        standing = Job.objects.filter(pk=job.pk, state="running", cancel_us__isnull=True)
        if not standing.update(state="done", ended_us=lease.clock()):
            raise Cancelled
        Job.objects.filter(pk=job.pk).update(result=canonical(finish()))
    return True


def _end(job: Job, lease: _Lease, state: str, error: str = "", result: dict[str, Any] | None = None) -> bool:
    with transaction.atomic():
        mine = Outbox.objects.filter(pk=lease.row, due_us=lease.until_us, done_us__isnull=True)
        if not mine.update(done_us=lease.clock(), error=error[:500]):
            return False
        rows = Job.objects.filter(Q(pk=job.pk), state__in=OPEN)
        rows.update(state=state, ended_us=lease.clock(), error=error, result=canonical(result or {}))
    return True


def result_of(job: Job) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(job.result)
    return found
