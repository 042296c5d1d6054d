"""Worker and beat as daemon threads of the one web process, over a broker in memory: nothing else to install or run.

A task in hand dies with the process. That is allowed: what must happen stands in the outbox and in due rows,
and the next start picks it up.
"""

import logging
import threading

from celery.beat import EmbeddedService

from deploy.celery import app

logger = logging.getLogger(__name__)


def start() -> None:
    """Start both threads. Call once a process, after the fork, in the process that serves."""
    worker = app.WorkController(
        app=app,
        hostname="embedded@selvedge",
        pool_cls="solo",
        concurrency=1,
        task_events=False,
        without_gossip=True,
        without_mingle=True,
        without_heartbeat=True,
    )
    threading.Thread(target=worker.start, name="celery-worker", daemon=True).start()
    # Named here too: unlike the command, the thread takes a scheduler that writes a file beside the code.
    EmbeddedService(app, thread=True, scheduler_cls=app.conf.beat_scheduler).start()
    logger.info("worker and beat run inside the web process")
