"""The task queue: `celery -A deploy.celery worker` and `… beat`, or both inside the web process (deploy/embedded.py)."""

import os
from typing import Any

from celery import Celery, signals

from deploy.schedule import SCHEDULE

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

app = Celery("selvedge")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.beat_schedule = SCHEDULE
app.autodiscover_tasks()
# The current app is thread-local: without this a request thread would queue into an app without a broker.
app.set_default()


@signals.worker_init.connect
@signals.beat_init.connect
def refuse_an_unguarded_ledger(**_: Any) -> None:
    """Neither worker nor beat starts on a database whose records could be changed."""
    from deploy.checks import check_before_serving

    check_before_serving()
