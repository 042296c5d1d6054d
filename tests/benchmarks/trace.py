"""The trace function over 1 000 000 edges, against the raw recursive query for ids; and again in a tenth of the table.
Limits: 1.3× the raw query, and flat as the table grows tenfold."""

from __future__ import annotations

import uuid

from django.db import connection

from inventory.lineage import down_ids
from inventory.models import Act, Device, Edge, Item, Leg, Person, Site
from tests.benchmarks.ground import database, empty, rounds, say

NOW = 1_774_850_400_000_000
RAW = """WITH RECURSIVE below(id) AS (
  SELECT dst_id FROM inventory_edge WHERE src_id = %s AND NOT void
  UNION
  SELECT e.dst_id FROM below JOIN inventory_edge e ON e.src_id = below.id WHERE NOT e.void
) SELECT id FROM below"""
FAN = 9  # each lot goes into 9 rolls, each roll into 9 kits: 90 things below a lot


def fill(edges: int) -> list[int]:
    """Lots with 90 things below each, so that every answer has the same size whatever the table's."""
    site = Site.objects.create(code="B", name="Bench", zone="UTC")
    person, device = Person.objects.create(site=site, name="Ines"), Device.objects.create(site=site, name="bench")
    act = Act.objects.create(
        site=site, key=uuid.uuid4(), fingerprint="0", kind="cut", stance="observed", happened_us=NOW, rank=20, device=device,
        recorded_us=NOW, person=person, role="storekeeper",
    )  # fmt: skip
    per_lot = FAN + FAN * FAN
    lots, number = [], 0
    items, legs, rows = [], [], []
    for _ in range(edges // per_lot):
        lot = number = number + 1
        lots.append(lot)
        below = [lot + 1 + k for k in range(per_lot)]
        number += per_lot
        for pk in (lot, *below):
            items.append(Item(id=pk, site=site, code=f"S{pk:09d}", kind="roll", unit="um"))
            legs.append(Leg(id=pk, act=act, item_id=pk, seq=1))
        rolls, kits = below[:FAN], below[FAN:]
        pairs = [(lot, roll) for roll in rolls] + [(rolls[k // FAN], kit) for k, kit in enumerate(kits)]
        rows += [
            Edge(act=act, kind="cut", src_id=s, dst_id=d, src_leg_id=s, dst_leg_id=d, happened_us=NOW + d, qty=1, grade="item")
            for s, d in pairs
        ]
        if len(items) > 20_000:
            _write(items, legs, rows)
    _write(items, legs, rows)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return lots


def _write(items: list[Item], legs: list[Leg], rows: list[Edge]) -> None:
    for model, part in ((Item, items), (Leg, legs), (Edge, rows)):
        model.objects.bulk_create(part, batch_size=5_000)  # type: ignore[attr-defined]
        part.clear()


def measure(edges: int) -> tuple[float, float, float]:
    lots = fill(edges)
    some = lots[:: max(1, len(lots) // 60)][:60]
    connection.ensure_connection()
    raw = connection.connection
    sql = RAW.replace("%s", "?") if database() == "sqlite" else RAW

    def bare() -> None:
        for lot in some:
            cursor = raw.cursor()
            cursor.execute(sql, [lot])
            assert len(cursor.fetchall()) == FAN + FAN * FAN

    def ours() -> None:
        for lot in some:
            assert len(down_ids([lot])) == FAN + FAN * FAN

    mine, theirs, ratio = rounds(ours, bare)
    return mine / len(some) * 1000, theirs / len(some) * 1000, ratio


def main() -> None:
    small = measure(100_000)
    empty()
    large = measure(1_000_000)
    for edges, (mine, theirs, ratio) in ((100_000, small), (1_000_000, large)):
        say("trace", f"{database()}, {edges:,} edges, 90 things: {mine:.2f} ms against {theirs:.2f} ms raw, ratio {ratio:.2f} (limit 1.30)")
    say("trace", f"{database()}, tenfold table: {large[0] / small[0]:.2f}× the time (flat is 1)")
