"""Thin Celery tasks: they read the clock and push the sweeps and the outbox along. Losing one loses nothing."""

from __future__ import annotations

from celery import shared_task

from inventory import jobs, logs, outbox, sweeps  # noqa: F401 – `logs` enters its kind of job
from inventory.clock import now_us
from inventory.models import Site


@shared_task(name="inventory.tasks.sweep", ignore_result=True, soft_time_limit=50, time_limit=60)
def sweep() -> int:
    """Flags for every site."""
    at = now_us()
    return sum(sweeps.sweep(site, at) for site in Site.objects.all())


@shared_task(name="inventory.tasks.drain_outbox", ignore_result=True, soft_time_limit=50, time_limit=60)
def drain_outbox() -> int:
    return outbox.drain(now_us())


@shared_task(name="inventory.tasks.run_jobs", ignore_result=True, soft_time_limit=1_700, time_limit=1_800)
def run_jobs() -> int:
    """Long work that people asked for. It holds its lease by itself, so another worker takes over what this one leaves."""
    return jobs.run_due(now_us)


@shared_task(name="inventory.tasks.morning_mail", ignore_result=True, soft_time_limit=50, time_limit=60)
def morning_mail() -> int:
    """Queue the morning list for every person of every site whose morning it is; the outbox sends it."""
    at = now_us()
    return sum(outbox.queue_morning(site, at) for site in Site.objects.all())
