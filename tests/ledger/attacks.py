"""Ways to change, delete or replace a row that must not change, by the ORM and around it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import connection
from django.db.models import Model

Attack = Callable[[Model], object]


def _names(row: Model) -> tuple[str, str, str]:
    """Table, key column, and a column that is not the key."""
    key = row._meta.pk
    other = next(f for f in row._meta.local_concrete_fields if not f.unique)
    assert key is not None and key.column and other.column
    return row._meta.db_table, key.column, other.column


def _run(sql: str, *params: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, list(params) or None)


def _values(row: Model) -> tuple[str, str, list[Any]]:
    """The row as it stands: columns, placeholders, values."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {_names(row)[0]} WHERE {_names(row)[1]} = %s", [row.pk])
        values = list(cursor.fetchone())
        columns = [column[0] for column in cursor.description]
    return ", ".join(f'"{c}"' for c in columns), ", ".join(["%s"] * len(columns)), values


def _field(row: Model) -> str:
    return next(f.name for f in row._meta.local_concrete_fields if not f.unique)


def save(row: Model) -> None:
    row.save(force_update=True)


def update_one(row: Model) -> None:
    type(row)._default_manager.filter(pk=row.pk).update(**{_field(row): getattr(row, _field(row))})


def bulk_update(row: Model) -> None:
    type(row)._default_manager.bulk_update([row], [_field(row)])


def bulk_upsert(row: Model) -> None:
    key = row._meta.pk
    assert key is not None
    type(row)._default_manager.bulk_create([row], update_conflicts=True, update_fields=[_field(row)], unique_fields=[key.name])


def raw_update(row: Model) -> None:
    table, key, other = _names(row)
    _run(f"UPDATE {table} SET {other} = {other} WHERE {key} = %s", row.pk)


def raw_update_of_the_key(row: Model) -> None:
    table, key, _ = _names(row)
    _run(f"UPDATE {table} SET {key} = {key} + 1000000 WHERE {key} = %s", row.pk)


def raw_upsert(row: Model) -> None:
    table, key, other = _names(row)
    columns, marks, values = _values(row)
    _run(f"INSERT INTO {table} ({columns}) VALUES ({marks}) ON CONFLICT ({key}) DO UPDATE SET {other} = excluded.{other}", *values)


def raw_update_in_a_with_clause(row: Model) -> None:
    table, key, other = _names(row)
    _run(f"WITH wanted AS (SELECT {key} k FROM {table}) UPDATE {table} SET {other} = {other} WHERE {key} IN (SELECT k FROM wanted)")


def update_or_ignore(row: Model) -> None:
    table, _, other = _names(row)
    _run(f"UPDATE OR IGNORE {table} SET {other} = {other}")


def update_or_replace(row: Model) -> None:
    table, _, other = _names(row)
    _run(f"UPDATE OR REPLACE {table} SET {other} = {other}")


def merge(row: Model) -> None:
    table, key, other = _names(row)
    _run(f"MERGE INTO {table} t USING (SELECT %s::bigint k) s ON t.{key} = s.k WHEN MATCHED THEN UPDATE SET {other} = t.{other}", row.pk)


def update_as_a_replica(row: Model) -> None:
    _run("SET LOCAL session_replication_role = replica")
    raw_update(row)


def delete(row: Model) -> None:
    row.delete()


def queryset_delete(row: Model) -> None:
    type(row)._default_manager.filter(pk=row.pk).delete()


def raw_delete_of_the_orm(row: Model) -> None:
    rows = type(row)._default_manager.filter(pk=row.pk)
    rows._raw_delete(rows.db)


def raw_delete(row: Model) -> None:
    table, key, _ = _names(row)
    _run(f"DELETE FROM {table} WHERE {key} = %s", row.pk)


def raw_delete_of_all(row: Model) -> None:
    _run(f"DELETE FROM {_names(row)[0]}")


def delete_as_a_replica(row: Model) -> None:
    _run("SET LOCAL session_replication_role = replica")
    raw_delete(row)


def truncate(row: Model) -> None:
    _run("SET CONSTRAINTS ALL IMMEDIATE")  # else what is refused is the truncation before a pending check
    _run(f"TRUNCATE {_names(row)[0]} CASCADE")


def truncate_of_the_site(row: Model) -> None:
    _run("SET CONSTRAINTS ALL IMMEDIATE")
    _run("TRUNCATE inventory_site CASCADE")


def truncate_as_a_replica(row: Model) -> None:
    _run("SET LOCAL session_replication_role = replica")
    truncate(row)


def replace(row: Model) -> None:
    columns, marks, values = _values(row)
    _run(f"REPLACE INTO {_names(row)[0]} ({columns}) VALUES ({marks})", *values)


def insert_or_replace_without_recursive_triggers(row: Model) -> None:
    """As a shell on the file would: its connection has not set what ours sets."""
    columns, marks, values = _values(row)
    _run("PRAGMA recursive_triggers = OFF")
    try:
        _run(f"INSERT OR REPLACE INTO {_names(row)[0]} ({columns}) VALUES ({marks})", *values)
    finally:
        _run("PRAGMA recursive_triggers = ON")


def cascade_from_a_parent(row: Model) -> None:
    """A foreign key that cascades, as somebody who may alter tables would make one."""
    table, key, _ = _names(row)
    _run(f"CREATE TABLE parent (id bigint PRIMARY KEY); INSERT INTO parent SELECT {key} FROM {table}")
    _run(f"SET CONSTRAINTS ALL IMMEDIATE; ALTER TABLE {table} ADD FOREIGN KEY ({key}) REFERENCES parent ON DELETE CASCADE")
    _run("DELETE FROM parent")


UPDATES: list[Attack] = [
    save,
    update_one,
    bulk_update,
    bulk_upsert,
    raw_update,
    raw_update_of_the_key,
    raw_upsert,
    raw_update_in_a_with_clause,
]
DELETES: list[Attack] = [delete, queryset_delete, raw_delete_of_the_orm, raw_delete, raw_delete_of_all]
ONLY = {
    "sqlite": ([update_or_ignore, update_or_replace], [replace]),
    "postgresql": (
        [merge, update_as_a_replica],
        [delete_as_a_replica, truncate, truncate_of_the_site, truncate_as_a_replica, cascade_from_a_parent],
    ),
}


def on_frozen(vendor: str) -> list[Attack]:
    """Every attack on a table whose rows never change."""
    updates, deletes = ONLY[vendor]
    more = [insert_or_replace_without_recursive_triggers] if vendor == "sqlite" else []
    return [*UPDATES, *DELETES, *updates, *deletes, *more]


def on_kept(vendor: str) -> list[Attack]:
    """Every attack on a table whose rows are never deleted."""
    return [*DELETES, *ONLY[vendor][1]]
