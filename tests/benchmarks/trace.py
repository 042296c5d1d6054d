"""The trace function over 1 000 000 edges, against the raw recursive query for ids; and again in a tenth of the table.
Limits: 1.3× the raw query, and flat as the table grows tenfold."""

from __future__ import annotations

import uuid

from django.db import connection

from inventory.lineage import down_ids
from inventory.models import Act, Device, Edge, Item, Leg, Person, Site
from tests.benchmarks.ground import database, empty, many, rounds, say, settle

NOW = 1_774_850_400_000_000
RAW = """WITH RECURSIVE below(id) AS (
  SELECT dst_id FROM inventory_edge WHERE src_id = %s AND NOT void
  UNION
  SELECT e.dst_id FROM below JOIN inventory_edge e ON e.src_id = below.id WHERE NOT e.void
) SELECT id FROM below"""
FAN = 9  # each lot goes into 9 rolls, each roll into 9 kits: 90 things below a lot
BELOW = FAN + FAN * FAN


def fill(edges: int) -> list[int]:
    """Lots with 90 things below each, so that every answer has the same size whatever the table's."""
    site = Site.objects.create(code="B", name="Bench", zone="UTC")
    person, device = Person.objects.create(site=site, name="Ines"), Device.objects.create(site=site, name="bench")
    act = Act.objects.create(
        site=site, key=uuid.uuid4(), fingerprint="0", kind="cut", stance="observed", happened_us=NOW, rank=20, device=device,
        recorded_us=NOW, person=person, role="storekeeper",
    )  # fmt: skip
    lots = edges // BELOW
    # Of each block of numbers the first is the lot, the next nine are its rolls, and then come nine kits of each roll.
    place, lot = f"(n - 1) % {BELOW + 1}", f"n - (n - 1) % {BELOW + 1}"
    above = f"CASE WHEN {place} <= {FAN} THEN {lot} ELSE {lot} + ({place} - 1) / {FAN} END"
    count = lots * (BELOW + 1)
    many(Item, count, id="n", site_id=f"{site.pk}", code="'S' || n", kind="'roll'", unit="'um'")
    many(Leg, count, id="n", act_id=f"{act.pk}", item_id="n", seq="1")
    ends = {"src_id": above, "src_leg_id": above, "dst_id": "n", "dst_leg_id": "n"}
    many(
        Edge, count, f"{place} > 0", act_id=f"{act.pk}", kind="'cut'", happened_us=f"{NOW} + n", qty="1", grade="'item'",
        handed="'[]'", void="false", **ends,
    )  # fmt: skip
    settle()
    return [1 + k * (BELOW + 1) for k in range(lots)]


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
            assert len(cursor.fetchall()) == BELOW

    def ours() -> None:
        for lot in some:
            assert len(down_ids([lot])) == BELOW

    mine, theirs, ratio = rounds(ours, bare)
    return mine / len(some) * 1000, theirs / len(some) * 1000, ratio


def main() -> None:
    small = measure(100_000)
    empty()
    large = measure(1_000_000)
    for edges, (mine, theirs, ratio) in ((100_000, small), (1_000_000, large)):
        found = f"{mine:.2f} ms against {theirs:.2f} ms raw, {ratio:.2f}×"
        say("trace", f"{BELOW} things below, in {edges:,} edges", found, "at most 1.30×", ratio <= 1.3)
    grown, raw = large[0] / small[0], large[1] / small[1]
    say("trace", "the same in ten times the table", f"{grown:.2f}× the time (raw {raw:.2f}×)", "flat")
