"""Up to where the records are complete: a point behind which nothing can still appear, and what was touched since one.

Acts are numbered when they are written and seen when they are committed, and on PostgreSQL those are two orders: record 11 may
be seen before record 10 is there. A reader that kept "I have seen 11" would never be told of 10. Every writer holds the site's
gate from before its first number until after its commit, so a reader that notes the last number given out, and then waits until
each writer who was inside the gate at that moment has left it, has everything up to that number. New writers are not waited for,
since their numbers are higher, and nobody is kept out meanwhile. On SQLite writers come one by one, and the two orders are one.
"""

from __future__ import annotations

from time import sleep

from django.db import connection

from inventory.lineage import down_ids
from inventory.models import Act, Leg
from inventory.recording.gate import GATE

TRIES, PAUSE_S = 100, 0.01

_INSIDE = """SELECT virtualtransaction FROM pg_locks WHERE locktype = 'advisory' AND classid = %s AND objid = %s AND objsubid = 2
AND granted AND pid <> pg_backend_pid() AND database = (SELECT oid FROM pg_database WHERE datname = current_database())"""
_LAST = "SELECT coalesce(pg_sequence_last_value(pg_get_serial_sequence('inventory_act', 'id')::regclass), 0)"

OWN = frozenset({"move", "open", "dry", "lay", "cut", "use", "count", "adjust", "scrap", "reserve", "relabel", "bag", "step", "inspect"})
"""Kinds that, meant now, change nothing but what they name. Everything else may change what was made of it too."""


def frontier(site: int, tries: int = TRIES) -> int | None:
    """The number of an act up to which every act of the site is there to be read from now on. None when a writer who was at
    work in the beginning still is after so many tries: keep to the point you had."""
    if connection.vendor != "postgresql":
        return Act.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
    last = int(_one(_LAST)[0])
    waited_for = _inside(site)
    for _ in range(tries):
        if not waited_for:
            return last
        sleep(PAUSE_S)
        waited_for &= _inside(site)
    return None if waited_for else last


def _inside(site: int) -> set[str]:
    with connection.cursor() as cursor:
        cursor.execute(_INSIDE, [GATE, site])
        return {row[0] for row in cursor.fetchall()}


def _one(sql: str) -> tuple[int, ...]:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        row: tuple[int, ...] = cursor.fetchone()
    return row


def mark_of(point: int) -> str:
    """What the last act up to a point was, in a few letters: a database that was put back to an older copy gives the same
    numbers to other acts."""
    key = Act.objects.filter(pk__lte=point).order_by("-pk").values_list("key", flat=True).first()
    return key.hex[:8] if key is not None else "0"


def touched_since(site: int, point: int) -> set[int]:
    """The things that may differ from what they were at a point: those that records name since, and, of records that reach
    further (decisions, what was told late, what was born, voids), everything that was made of these. Rather one too many."""
    own: set[int] = set()
    far: set[int] = set()
    legs = Leg.objects.filter(act_id__gt=point, act__site=site).order_by()
    for item, kind, stance, delta, seq in legs.values_list("item_id", "act__kind", "act__stance", "delta", "seq"):
        completed = delta > 0 and seq > 1  # it was used before its birth was told
        (own if kind in OWN and stance == "intent" and not completed else far).add(item)
    return own | far | set(down_ids(far) if far else ())
