"""What every benchmark stands on: settings, an empty database, a shop, and honest timing."""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from typing import Any

NEEDS_POSTGRESQL = ("scan",)
# Taken out of the environment: the service refuses settings that it does not know.
URL = os.environ.pop("SELVEDGE_BENCH_DATABASE_URL", "")
FOLDER = os.environ.pop("SELVEDGE_BENCH_FOLDER", None)


def prepare(name: str) -> None:
    """Settings for one benchmark: SQLite in a folder of its own, or the PostgreSQL database that was given."""
    if name in NEEDS_POSTGRESQL and not URL:
        print(f"{name}: NOT RUN. It needs SELVEDGE_BENCH_DATABASE_URL=postgres://… (a database that may be emptied).")
        sys.exit(0)
    # A disk, not memory: what a commit costs is part of the figure.
    home = tempfile.mkdtemp(prefix="selvedge-bench-", dir=FOLDER)
    os.environ["SELVEDGE_HOME"] = home
    os.environ["SELVEDGE_DATABASE_URL"] = "" if name == "stall" else URL
    os.environ["SELVEDGE_SECRET_KEY"] = "a key for benchmarks only, never for a shop"
    os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
    import atexit

    atexit.register(shutil.rmtree, home, True)
    import django

    django.setup()
    empty()


def empty() -> None:
    """Migrate and empty the database: tables are dropped, since the guard of the records refuses anything less."""
    from django.core.management import call_command
    from django.db import connection

    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("DROP SCHEMA public CASCADE")
            cursor.execute("CREATE SCHEMA public")
        connection.close()
    call_command("migrate", verbosity=0)


def rounds(first: Callable[[], Any], second: Callable[[], Any], count: int = 7, warm: int = 1) -> tuple[float, float, float]:
    """Interleaved rounds of two jobs: (median seconds of the first, of the second, median of the ratios pair by pair)."""
    a, b = [], []
    for n in range(count + warm):
        pair = (timed(first), timed(second))
        if n >= warm:
            a.append(pair[0])
            b.append(pair[1])
    return statistics.median(a), statistics.median(b), statistics.median(x / y for x, y in zip(a, b, strict=True))


def timed(job: Callable[[], Any]) -> float:
    start = time.perf_counter()
    job()
    return time.perf_counter() - start


def say(name: str, text: str) -> None:
    print(f"{name}: {text}", flush=True)


def database() -> str:
    from django.db import connection

    return connection.vendor
