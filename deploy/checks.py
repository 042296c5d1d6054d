"""Start checks: web, worker and beat refuse a database that is not migrated or whose records are not guarded."""

import sys
from collections.abc import Sequence
from typing import Any, NoReturn

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor

BOOT_ERROR = 3  # gunicorn stops at this exit code; at any other it would start the worker again and again


def unapplied(connection: BaseDatabaseWrapper) -> int:
    """How many migrations this database still lacks."""
    executor = MigrationExecutor(connection)
    return len(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def unguarded(connection: BaseDatabaseWrapper) -> list[str]:
    """The names of the triggers that should guard the records and are not there."""
    from inventory import ledger_guard

    return ledger_guard.missing(connection)


@register(Tags.database)
def ledger_is_guarded(app_configs: object, databases: Sequence[str] | None, **_: Any) -> list[CheckMessage]:
    """Triggers are put in by migrate, so a database with migrations to come is not complained about."""
    found: list[CheckMessage] = []
    for alias in databases or ():
        if not unapplied(connections[alias]) and (names := unguarded(connections[alias])):
            found.append(
                Error(
                    f"The records in database '{alias}' are not guarded: {', '.join(names)} missing.",
                    hint="Run `manage.py migrate --skip-checks`, which puts the guards back, and find out who removed them.",
                    id="deploy.E001",
                )
            )
    return found


def require_a_guarded_ledger(alias: str = "default") -> None:
    """Says what to do and raises SystemExit when this database must not be served."""
    if count := unapplied(connections[alias]):
        _refuse(f"the database lacks {count} migration{'s' if count > 1 else ''}; run `manage.py migrate` first")
    for message in ledger_is_guarded(None, [alias]):
        _refuse(f"{message.msg} {message.hint}")


def check_before_serving() -> None:
    """For entry points: check, then let go of the connection.

    A worker that starts in this process, or forks from it, closes the sockets that it finds open; one that stayed
    in use would be closed under its driver's feet.
    """
    try:
        require_a_guarded_ledger()
    finally:
        connections.close_all()


def _refuse(why: str) -> NoReturn:
    sys.stderr.write(f"selvedge: {why}\n")
    raise SystemExit(BOOT_ERROR)
