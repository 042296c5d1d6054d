"""Web, worker and beat as processes of their own, on the test's database."""

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

from django.db import connection

from deploy.environment import REPOSITORY
from deploy.testing.starting import free_port
from inventory.clock import now_us
from inventory.models import Flag, Outbox, Person, Role, Site

CELERY = ("-m", "celery", "--quiet", "-A", "deploy.celery")
WORKER = (*CELERY, "worker", "--concurrency", "1", "--without-gossip", "--without-mingle")
BEAT = (*CELERY, "beat", "--pidfile", "")
WEB = ("-m", "gunicorn", "-c", "python:deploy.gunicorn")


def database_url() -> str:
    """The address of the database under test, for another process."""
    entry = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite://{quote(str(entry['NAME']))}"
    port = f":{entry['PORT']}" if entry["PORT"] else ""
    return f"postgresql://{entry['USER']}:{entry['PASSWORD']}@{port}/{entry['NAME']}?host={entry['HOST']}"


@contextmanager
def running(home: Path, *arguments: str, **variables: str) -> Iterator["subprocess.Popen[bytes]"]:
    """A program of the service, its output in `home`/log; killed with its children at the end, when it still runs."""
    env = {name: value for name, value in os.environ.items() if not name.startswith("SELVEDGE_")}
    env |= {
        "SELVEDGE_HOME": str(home),
        "SELVEDGE_DATABASE_URL": database_url(),
        "SELVEDGE_POOL": "0",
        "DJANGO_SETTINGS_MODULE": "deploy.settings",
    }
    with (home / "log").open("ab") as log:
        process = subprocess.Popen(
            [sys.executable, *arguments], cwd=REPOSITORY, env=env | variables, stdout=log, stderr=log, start_new_session=True
        )
    try:
        yield process
    finally:
        kill(process)


def kill(process: "subprocess.Popen[bytes]") -> None:
    """SIGKILL to the program and its children: nothing of it gets a last word."""
    try:
        os.killpg(process.pid, signal.SIGKILL)
    except ProcessLookupError:
        pass
    process.wait(10)


def eventually(happened: Callable[[], bool], home: Path, seconds: float = 40) -> None:
    """Wait for it; fails with what the programs wrote."""
    until = time.monotonic() + seconds
    while not happened():
        assert time.monotonic() < until, f"it did not happen in {seconds} s\n{(home / 'log').read_text(errors='replace')[-3000:]}"
        time.sleep(0.1)


def mail_to_send() -> Outbox:
    """A morning mail that is due: a shop, a storekeeper with an address, and something that needs them."""
    site = Site.objects.create(code="YARD", name="Yard", zone="UTC")
    person = Person.objects.create(site=site, name="Storekeeper", email="store@yard.example")
    Role.objects.create(person=person, role="storekeeper")
    at = now_us()
    Flag.objects.create(
        site=site, subject="roll R1", code="life.ending", role="storekeeper", text="Roll R1 ends tomorrow.", at_us=at, raised_us=at
    )
    return Outbox.objects.create(topic=f"mail:{person.pk}", ref=1, due_us=at)


def done(row: Outbox) -> bool:
    """Whether the row was done, as the database says now."""
    row.refresh_from_db()
    return row.done_us is not None


@contextmanager
def silent_mail_server() -> Iterator[tuple[int, threading.Event]]:
    """A mail server that takes the connection and never says a word; yields its port and an event set at the first call."""
    called = threading.Event()
    with socket.create_server(("127.0.0.1", free_port())) as server:
        held: list[socket.socket] = []

        def accept() -> None:
            try:
                while True:
                    held.append(server.accept()[0])
                    called.set()
            except OSError:
                return

        threading.Thread(target=accept, daemon=True).start()
        yield server.getsockname()[1], called
        for one in held:
            one.close()
