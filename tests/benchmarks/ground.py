"""What every benchmark stands on: settings, an empty database, a shop, and honest timing."""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from django.db.models import Model

NEEDS_POSTGRESQL = ("scan",)
# Taken out of the environment: the service refuses settings that it does not know.
URL = os.environ.pop("SELVEDGE_BENCH_DATABASE_URL", "")
FOLDER = os.environ.pop("SELVEDGE_BENCH_FOLDER", None)
TABLE = os.environ.pop("SELVEDGE_BENCH_TABLE", "")
"""Where the run of all benchmarks collects their lines."""


def prepare(name: str) -> None:
    """Settings for one benchmark: SQLite in a folder of its own, or the PostgreSQL database that was given."""
    if name in NEEDS_POSTGRESQL and not URL:
        print(f"{name}: NOT RUN. It needs SELVEDGE_BENCH_DATABASE_URL=postgres://… (a database that may be emptied).")
        sys.exit(1)
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
    if connection.vendor == "sqlite":
        for file in Path(connection.settings_dict["NAME"]).parent.glob(f"{Path(connection.settings_dict['NAME']).name}*"):
            file.unlink()
    call_command("migrate", verbosity=0)


def many(model: type[Model], count: int, where: str = "true", **made: str) -> None:
    """`count` rows of a model, made by the database itself: columns in `made` are SQL over n = 1 … count, others are at their
    defaults. (Through the object layer a million edges take eight minutes.)"""
    from django.db import connection
    from django.db.models import NOT_PROVIDED

    columns, values, params = [], [], []
    for field in model._meta.concrete_fields:
        if field.column in made:
            columns.append(field.column)
            values.append(made[field.column].replace("%", "%%"))
        elif field.db_default is NOT_PROVIDED and not field.primary_key:
            columns.append(field.column)
            values.append("NULL" if field.get_default() is None else "%s")
            params += [] if field.get_default() is None else [field.get_db_prep_save(field.get_default(), connection)]
    series = "WITH RECURSIVE s(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM s WHERE n < %s)"
    into = f"INSERT INTO {model._meta.db_table} ({', '.join(columns)})"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET statement_timeout = 0")
        cursor.execute(f"{series} {into} SELECT {', '.join(values)} FROM s WHERE {where.replace('%', '%%')}", [count, *params])


def settle() -> None:
    """What the database's own housekeeping does with a table that has been there for a while."""
    from django.db import connection

    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":  # nobody analyses an SQLite file, the service least of all
            cursor.execute("VACUUM ANALYZE")


def rounds(first: Callable[[], Any], second: Callable[[], Any], count: int = 40, warm: int = 2) -> tuple[float, float, float]:
    """Interleaved rounds of two jobs: (least seconds of the first, of the second, median of the ratios pair by pair). What else
    the machine does can only add to a time, and it adds to both of a pair."""
    a, b = [], []
    for n in range(count + warm):
        pair = (timed(first), timed(second))
        if n >= warm:
            a.append(pair[0])
            b.append(pair[1])
    return min(a), min(b), statistics.median(x / y for x, y in zip(a, b, strict=True))


def timed(job: Callable[[], Any]) -> float:
    start = time.perf_counter()
    job()
    return time.perf_counter() - start


def say(name: str, what: str, found: str, limit: str = "", good: bool | None = None) -> None:
    """One line of the table: what was measured, what was found, the limit, and whether that holds."""
    verdict = "" if good is None else "holds" if good else "MISSED"
    line = f"{name:<9} {database():<11} {what:<46} {found:<44} {limit:<22} {verdict}".rstrip()
    print(line, flush=True)
    if TABLE:
        with Path(TABLE).open("a", encoding="utf-8") as file:
            file.write(line + "\n")


def database() -> str:
    from django.db import connection

    return connection.vendor
