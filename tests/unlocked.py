"""The way in for a test that commits: the guard steps aside while the tables are emptied after it.

Only tests have it. A transactional test of Django empties every table at its end, and the guard of the records would
refuse that; so the guards are taken down, the tables emptied, and the guards put up again.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test import TransactionTestCase

from inventory import ledger_guard


def take_down(connection: BaseDatabaseWrapper) -> None:
    """Drop every guard of the records; inside a transaction, its end without commit puts them back."""
    with connection.cursor() as cursor:
        for guard in ledger_guard.standing(connection).values():
            where = f" ON {guard.table}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER {guard.name}{where}")


@contextmanager
def unlocked(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """Every guard of the records is down inside, and up again after."""
    take_down(connection)
    try:
        yield
    finally:
        ledger_guard.install(connection)


@pytest.fixture(scope="session", autouse=True)
def ledger_unlocked() -> Iterator[None]:
    """Makes the end of every transactional test empty the tables with the guard down."""
    empty_the_tables = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]

    def teardown(case: TransactionTestCase) -> None:
        with unlocked(connections["default"]):
            empty_the_tables(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", teardown)
        yield
