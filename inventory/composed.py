"""Queries of the object layer whose SQL is composed once a process.

The object layer takes several times as long to compose a statement as the database takes to answer it. What every scan
asks (who has this token, what has this code, was this key seen) differs only in its values, so its text is kept:

    _BY_CODE = Composed(lambda site, code: Item.objects.select_related("material").filter(site=site, code=code), int, str)
    item = _BY_CODE.first(site, code)

Many ids are one value of the kind set, for `…__in`. The result is that of the query itself, with its related rows; only
composing is left out. A value takes the place of a whole parameter, so lookups that change their value on the way (contains,
iexact) are not for this: they raise when composed.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db import connection
from django.db.models import Model, QuerySet
from django.db.models import query as objects

from inventory.lineage import among, id_list

M = TypeVar("M", bound=Model)

_NUMBER = 7_300_000_000_000_000_000
"""Stand-ins while a text is composed: values that no query names by itself."""


@dataclass(frozen=True, slots=True)
class _Text:
    """A statement; `params` are its fixed parameters, and `slots` says where (position, number of the value) the others go."""

    model: type[Any]
    sql: str
    params: tuple[Any, ...]
    slots: tuple[tuple[int, int], ...]
    columns: slice
    names: tuple[str, ...]
    related: tuple[Any, ...]
    converters: tuple[tuple[int, tuple[Any, ...], Any], ...]


class Composed(Generic[M]):
    """`build` makes the query from one value each of `kinds` (int, str, uuid.UUID, or set for many ids)."""

    def __init__(self, build: Callable[..., QuerySet[M]], *kinds: type) -> None:
        self._build, self._kinds = build, kinds
        self._texts: dict[str, _Text] = {}

    def all(self, *values: Any) -> list[M]:
        """The rows, as the query would give them. Raises TypeError for a wrong number or kind of values."""
        if len(values) != len(self._kinds) or not all(map(isinstance, values, self._kinds)):
            raise TypeError(f"needs {', '.join(k.__name__ for k in self._kinds)}, not {values!r}")
        text = self._texts.get(connection.vendor) or self._compose()
        params = list(text.params)
        for position, number in text.slots:
            params[position] = _stored(values[number])
        with connection.cursor() as cursor:
            cursor.execute(text.sql, params)
            return [self._row(text, row) for row in cursor.fetchall()]

    def first(self, *values: Any) -> M | None:
        """The first of the rows: for queries that find one."""
        return next(iter(self.all(*values)), None)

    def _compose(self) -> _Text:
        stand_ins = [_stand_in(kind, number) for number, kind in enumerate(self._kinds)]
        populators: Any = objects.get_related_populators
        compiler: Any = self._build(*(among(v) if isinstance(v, set) else v for v in stand_ins)).query.get_compiler(using=connection.alias)
        sql, params = compiler.as_sql()
        places = {repr(_stored(value)): number for number, value in enumerate(stand_ins)}
        slots = tuple((position, places[repr(value)]) for position, value in enumerate(params) if repr(value) in places)
        if {number for _, number in slots} != set(range(len(stand_ins))):
            raise TypeError("a value of this query is changed on its way into the statement: ask it without Composed")
        fields = compiler.klass_info["select_fields"]
        columns = slice(fields[0], fields[-1] + 1)
        converters = compiler.get_converters([column[0] for column in compiler.select])
        text = self._texts[connection.vendor] = _Text(
            compiler.klass_info["model"],
            sql,
            tuple(params),
            slots,
            columns,
            tuple(column[0].target.attname for column in compiler.select[columns]),
            tuple(populators(compiler.klass_info, compiler.select, connection.alias)),
            tuple((position, tuple(found), column) for position, (found, column) in converters.items()),
        )
        return text

    @staticmethod
    def _row(text: _Text, row: Sequence[Any]) -> M:
        if text.converters:
            values = list(row)
            for position, converters, column in text.converters:
                for converter in converters:
                    values[position] = converter(values[position], column, connection)
            row = values
        found: M = text.model.from_db(connection.alias, text.names, row[text.columns])
        for populator in text.related:
            populator.populate(row, found)
        return found


def _stand_in(kind: type, number: int) -> Any:
    if kind in (int, set):
        return _NUMBER + number if kind is int else {_NUMBER + number}
    return uuid.UUID(int=_NUMBER + number) if kind is uuid.UUID else f"%_{_NUMBER + number}"


def _stored(value: Any) -> Any:
    """A value as the database's driver takes it."""
    if isinstance(value, set):
        return id_list(sorted(value))
    return value.hex if isinstance(value, uuid.UUID) and not connection.features.has_native_uuid_field else value
