"""What beat queues, and when (UTC). Tasks are named, not imported; which rows are due stands in the database."""

from datetime import timedelta

from celery.schedules import crontab

SCHEDULE = {
    "sweep": {"task": "inventory.tasks.sweep", "schedule": timedelta(minutes=1), "options": {"expires": 55}},
    "drain-outbox": {"task": "inventory.tasks.drain_outbox", "schedule": timedelta(seconds=5), "options": {"expires": 4}},
    "run-jobs": {"task": "inventory.tasks.run_jobs", "schedule": timedelta(seconds=2), "options": {"expires": 2}},
    "morning-mail": {"task": "inventory.tasks.morning_mail", "schedule": crontab(hour="4", minute="30")},
}
