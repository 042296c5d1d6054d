"""A tablet's list of 8 000 things: whole and by difference, in bytes on the line and in ms, and against the bare queries. Limits: a
difference of ten things in a twentieth of the bytes and of the time."""

from __future__ import annotations

import gzip
import json
import uuid
from typing import Any

from django.db import connection, transaction
from django.test import Client

from inventory.clock import now_us
from inventory.models import Item, ItemState
from inventory.reads import shelf
from inventory.reads.frontier import touched_since
from inventory.verbs.moving import Move
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.registry import Call, perform
from layups.demo.master import Yard, build_master
from tests.benchmarks.ground import rounds, say, settle, timed

THINGS, TOUCHED = 8_000, 10


def fill(yard: Yard, at: int) -> None:
    """Prepreg rolls in the freezer, fifty a lot: each has three lives and a hold from above."""
    for n in range(THINGS // 50):
        pieces = tuple(ReceivedPiece("50 m", f"T-{n}-{i}") for i in range(50))
        lots = (ReceivedLot(f"T26-{n:03d}", pieces, "2026-03-02"),)
        with transaction.atomic():
            receive = Receive(f"D-{n}", lots, "Kestrow Prepreg", "PP-T", "QUARF")
            perform("receive", Call(yard.who("Ines"), at + n, uuid.uuid4(), exclusive=True), receive)


def fetch(client: Client, since: str) -> tuple[int, int, str]:
    """(bytes as sent, things, cursor) of all pages."""
    size = things = 0
    while True:
        response = client.get(f"/api/shelf/?since={since}")
        assert response.status_code == 200, response.content[:300]
        size += len(gzip.compress(response.content, 6))
        page = json.loads(response.content)
        things, since = things + len(page["things"]), page["cursor"]
        if not page["more"]:
            return size, things, since


def main() -> None:
    at = now_us() - 86_400_000_000
    yard = build_master(at)
    fill(yard, at)
    settle()
    client = Client(headers={"host": "localhost"})
    client.force_login(yard.user["bram"])
    whole_bytes, things, cursor = fetch(client, "")
    assert things == THINGS
    for item in Item.objects.filter(kind="roll").order_by("pk")[:TOUCHED]:
        perform("move", Call(yard.who("Ines"), at + 10**9, uuid.uuid4()), Move(item.code, "CLEAN"))
    part_bytes, changed, _ = fetch(client, cursor)
    assert changed == TOUCHED
    whole, part, _ = rounds(lambda: fetch(client, ""), lambda: fetch(client, cursor), count=5, warm=1)
    nothing = min(timed(lambda: fetch(client, cursor)) for _ in range(5))
    bare_whole, bare_part, _ = rounds(lambda: bare(yard), lambda: bare_difference(yard, cursor), count=10)
    ratio = part_bytes / whole_bytes
    say(
        "offline",
        f"{THINGS:,} things, whole",
        f"{whole_bytes / 1000:.0f} kB gzipped, {whole * 1000:.0f} ms, {whole / bare_whole:.1f}× bare",
    )
    said = f"{part_bytes / 1000:.1f} kB, {part * 1000:.0f} ms, {part / bare_part:.1f}× bare"
    say("offline", f"the same by difference, {TOUCHED} touched", said)
    say(
        "offline",
        "difference against whole",
        f"bytes 1/{1 / ratio:.0f}, time 1/{whole / part:.0f}",
        "at most 1/20",
        ratio <= 0.05 and part / whole <= 0.05,
    )
    assert nothing < whole


def bare(yard: Yard) -> list[Any]:
    """The rows of the list and nothing else, by the driver."""
    sql = """SELECT i.code, i.mark, i.kind, m.code, s.qty, i.unit, p.code, s.doc FROM inventory_itemstate s
    JOIN inventory_item i ON i.id = s.item_id LEFT JOIN inventory_material m ON m.id = i.material_id
    LEFT JOIN inventory_location p ON p.id = s.location_id WHERE i.site_id = %s AND s.gone = '' AND s.qty <> 0 ORDER BY s.item_id"""
    with connection.cursor() as cursor:
        cursor.execute(sql, [yard.site.pk])
        return list(cursor.fetchall())


def bare_difference(yard: Yard, cursor: str) -> list[Any]:
    from api.shelf import read_cursor

    known = read_cursor(cursor)
    assert known is not None
    ids = touched_since(yard.site.pk, known.upto)
    return list(ItemState.objects.filter(pk__in=ids, item__kind__in=shelf.KINDS).values_list("item__code", "qty", "doc"))
