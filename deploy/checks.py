"""Start checks: web, worker and beat refuse a database that is not migrated or whose records are not guarded."""

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor


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
    """Called by every entry point that serves. Raises SystemExit with what to do; a log line alone would be overlooked."""
    if count := unapplied(connections[alias]):
        raise SystemExit(f"selvedge: the database lacks {count} migration{'s' if count > 1 else ''}; run `manage.py migrate` first")
    for message in ledger_is_guarded(None, [alias]):
        raise SystemExit(f"selvedge: {message.msg} {message.hint}")
