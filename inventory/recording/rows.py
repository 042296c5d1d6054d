"""The statements of the hot path, as SQL text: an ordinary scan is a handful of short statements.

The object layer spends more time composing a statement than the database spends running it, so the path that every
scan takes writes its rows itself. Texts are the same for SQLite and PostgreSQL, so that one benchmark can time them.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Sequence
from typing import Any

from django.db import connection

from inventory.composed import Composed
from inventory.core import fold
from inventory.core.fold import State
from inventory.lineage import id_list, ids_given
from inventory.models import Act, Edge, Item, ItemState, Leg

from .use import Facts

LOAD_COLUMNS = "i.id, i.kind, i.mark, i.code, i.unit, i.material_id, i.lot_id, i.stub, m.thaw_roll_us, m.thaw_piece_us, s.head, s.doc"
LOAD = f"""SELECT {LOAD_COLUMNS} FROM inventory_item i
LEFT JOIN inventory_material m ON m.id = i.material_id
LEFT JOIN inventory_itemstate s ON s.item_id = i.id
WHERE i.id IN ({{marks}}) ORDER BY i.id"""
EXTENSIONS = """SELECT e.item_id, coalesce(i.lot_id, e.item_id), e."limit", e.until_us
FROM inventory_extension e JOIN inventory_item i ON i.id = e.item_id
WHERE (i.lot_id IN ({ids}) OR e.item_id IN ({ids})) AND NOT EXISTS (SELECT 1 FROM inventory_act v WHERE v.voids_id = e.approved_id)"""
LOCK = "SELECT item_id FROM inventory_itemstate WHERE item_id IN ({marks}) ORDER BY item_id FOR UPDATE"

ACT_COLUMNS = (
    "site_id", "key", "fingerprint", "kind", "stance", "happened_us", "rank", "device_id", "device_seq", "claimed_us", "recorded_us",
    "person_id", "user_id", "role", "reason", "voids_id", "approves_id", "canon", "body",
)  # fmt: skip
LEG_COLUMNS = ("act_id", "item_id", "seq", "delta", "counted", "location_id", "ceiling_mc", "body")
EDGE_COLUMNS = (
    "act_id", "kind", "src_id", "dst_id", "src_leg_id", "dst_leg_id", "happened_us", "qty", "got", "grade", "handed", "until_us", "void",
)  # fmt: skip
STATE_COLUMNS = (
    "item_id", "head", "qty", "overdrawn", "location_id", "ceiling_mc", "since_us", "gone", "back_us", "ends_us", "governs", "due_us",
    "last", "doc",
)  # fmt: skip
_UPDATE = ", ".join(f"{c} = excluded.{c}" for c in STATE_COLUMNS[1:])

TOGETHER = 2_000
"""Ids that are named one by one at most: a short list is planned and answered faster so."""


def load(ids: Sequence[int], lock: bool) -> list[tuple[Facts, State, int, str, int | None]]:
    """(facts, state, head, unit, lot) of items, locked in primary-key order. PostgreSQL locks in a statement of its own:
    FOR UPDATE does not go with the outer join that also finds items which have no state yet. Very many that are only read are
    given as one parameter, so that a page asks once for all of its rows."""
    given: list[Any]
    if len(ids) > TOGETHER and not lock:
        marks, given = ids_given(), [id_list(ids)]
    else:
        marks, given = ",".join(["%s"] * len(ids)), list(ids)
    with connection.cursor() as cursor:
        if lock and connection.vendor == "postgresql":
            cursor.execute(LOCK.format(marks=marks), ids)
        cursor.execute(LOAD.format(marks=marks), given)
        rows = cursor.fetchall()
    return [
        (
            Facts(pk, kind, mark or code, material, roll or 0, piece or 0, bool(stub)),
            fold.from_doc(json.loads(doc)) if doc else State(),
            head or 0,
            unit,
            lot,
        )
        for pk, kind, mark, code, unit, material, lot, stub, roll, piece, head, doc in rows
    ]


ACTS_BY_KEY = Composed(lambda site, key: Act.objects.filter(site=site, key=key), int, uuid.UUID)


def extensions(lots: Iterable[int]) -> list[tuple[int, int, str, int]]:
    """(item, lot, name of the limit, new end in µs) of the extensions that hold, at these lots or at pieces of them."""
    ids = id_list(sorted(lots))
    with connection.cursor() as cursor:
        cursor.execute(EXTENSIONS.format(ids=ids_given()), [ids, ids])
        return list(cursor.fetchall())


def _insert(table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]], by: Sequence[str] = ()) -> dict[tuple[Any, ...], int]:
    """Insert rows; give their ids by the values of the columns `by`, since no database promises the order in which
    RETURNING gives them. At most 400 rows a statement (SQLite's variables)."""
    ids: dict[tuple[Any, ...], int] = {}
    one = "(" + ",".join(["%s"] * len(columns)) + ")"
    head = f"INSERT INTO {table} ({', '.join(columns)}) VALUES "
    tail = " RETURNING " + ", ".join(["id", *by])
    with connection.cursor() as cursor:
        for i in range(0, len(rows), 400):
            part = rows[i : i + 400]
            cursor.execute(head + ",".join([one] * len(part)) + tail, [v for row in part for v in row])
            ids |= {tuple(r[1:]): r[0] for r in cursor.fetchall()}
    return ids


def insert_act(act: Act) -> None:
    values = [_key(act.key) if c == "key" else getattr(act, c) for c in ACT_COLUMNS]
    (act.pk,) = _insert("inventory_act", ACT_COLUMNS, [values]).values()
    act._state.adding = False


def _key(key: uuid.UUID) -> Any:
    return key if connection.features.has_native_uuid_field else key.hex


def insert_legs(legs: Sequence[Leg]) -> None:
    """Legs of one act: one an item."""
    ids = _insert("inventory_leg", LEG_COLUMNS, [[getattr(leg, c) for c in LEG_COLUMNS] for leg in legs], ["item_id"])
    for leg in legs:
        _settle(leg, ids[(leg.item_id,)])


def insert_edges(edges: Sequence[Edge]) -> None:
    """Edges of one act: one a pair of items."""
    ids = (
        _insert("inventory_edge", EDGE_COLUMNS, [[getattr(e, c) for c in EDGE_COLUMNS] for e in edges], ["src_id", "dst_id"])
        if edges
        else {}
    )
    for edge in edges:
        _settle(edge, ids[(edge.src_id, edge.dst_id)])


def _settle(row: Leg | Edge, pk: int) -> None:
    row.pk = pk
    row._state.adding = False


def upsert_states(states: Sequence[ItemState]) -> None:
    one = "(" + ",".join(["%s"] * len(STATE_COLUMNS)) + ")"
    head = f"INSERT INTO inventory_itemstate ({', '.join(STATE_COLUMNS)}) VALUES "
    tail = f" ON CONFLICT (item_id) DO UPDATE SET {_UPDATE}"
    with connection.cursor() as cursor:
        for i in range(0, len(states), 400):
            part = states[i : i + 400]
            cursor.execute(head + ",".join([one] * len(part)) + tail, [getattr(s, c) for s in part for c in STATE_COLUMNS])


def row_of(item: int) -> Item:
    """The item's own row, for the few rules that need more of it than judging does."""
    return Item.objects.select_related("material", "owner").get(pk=item)
