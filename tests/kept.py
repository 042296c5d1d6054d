"""A shop that is made once a process and put in again, row by row, for each further module of tests: making it takes as long as several
tests. What is put in is what making it wrote, to the row; that is asserted each time."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from typing import Any

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, transaction

from inventory.recording.facts import forget_sources

Rows = dict[str, tuple[list[str], list[tuple[Any, ...]]]]
_KEPT: dict[Callable[[], Any], tuple[Any, Rows]] = {}


def rows() -> Rows:
    """Every row of every table, as the driver reads it, in the order of its key: the guards of the records want each leg of a thing after
    the one before."""
    found: Rows = {}
    with connection.cursor() as cursor:
        for table in sorted(connection.introspection.django_table_names(only_existing=True, include_views=False)):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)} ORDER BY 1")
            found[table] = [column[0] for column in cursor.description], cursor.fetchall()
    return found


@contextmanager
def standing(make: Callable[[], Any]) -> Iterator[Any]:
    """What `make` makes, inside a transaction that is rolled back at the end; the database has no shop in it before."""
    forget_sources()
    with transaction.atomic():
        yield _put_in(make) if make in _KEPT else _made(make)
        transaction.set_rollback(True)
    forget_sources()


def _made(make: Callable[[], Any]) -> Any:
    before = rows()
    shop = make()
    after = rows()
    own = {table: (columns, [row for row in there if row not in before[table][1]]) for table, (columns, there) in after.items()}
    assert all(len(there) == len(before[t][1]) + len(own[t][1]) for t, (_, there) in after.items()), "nothing from before was changed"
    _KEPT[make] = deepcopy(shop), own
    return shop


def _put_in(make: Callable[[], Any]) -> Any:
    shop, own = _KEPT[make]
    before = rows()
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        for table, (columns, there) in own.items():
            if there:
                named, marks = ", ".join(quote(column) for column in columns), ", ".join(["%s"] * len(columns))
                cursor.executemany(f"INSERT INTO {quote(table)} ({named}) VALUES ({marks})", there)
        for statement in connection.ops.sequence_reset_sql(no_style(), apps.get_models(include_auto_created=True)):
            cursor.execute(statement)
    there_now = rows()
    assert all(sorted(before[t][1] + own[t][1], key=repr) == sorted(there_now[t][1], key=repr) for t in own), "put in as it was made"
    return deepcopy(shop)
