"""The query function behind "expires in 7 days" over 1 000 000 items, against the bare driver with the same SQL. Limit: 1.3×."""

from __future__ import annotations

import random

from django.db import connection

from inventory.models import Item, ItemState, Location, Material, Site, StorageClass
from inventory.reads.expiring import SQL, expiring
from tests.benchmarks.ground import database, rounds, say

ITEMS, DAY = 1_000_000, 86_400_000_000
NOW = 1_774_850_400_000_000


def fill(count: int) -> Site:
    site = Site.objects.create(code="B", name="Bench", zone="UTC")
    room = StorageClass.objects.create(site=site, name="room", low_mc=15_000, high_mc=25_000)
    place = Location.objects.create(site=site, code="RACK", name="Rack", kind="rack", storage=room)
    material = Material.objects.create(code="B-1", name="Prepreg", kind="prepreg", unit="um", width_um=10**6, areal_mg_m2=10**5)
    chance = random.Random(1)
    for start in range(0, count, 10_000):
        items = [
            Item(id=n + 1, site=site, code=f"S{n:09d}", mark="", kind="roll", unit="um", material=material)
            for n in range(start, start + 10_000)
        ]
        Item.objects.bulk_create(items)
        ItemState.objects.bulk_create(
            [
                ItemState(
                    item=i, head=1, qty=10**7, location=place, since_us=NOW, ends_us=NOW + chance.randrange(-30, 700) * DAY, governs="out"
                )
                for i in items
            ]
        )
    return site


def main() -> None:
    site = fill(ITEMS)
    before = NOW + 7 * DAY
    connection.ensure_connection()
    raw = connection.connection

    def bare() -> list[object]:
        sql = SQL.replace("%s", "?") if database() == "sqlite" else SQL
        cursor = raw.cursor()
        cursor.execute(sql, [before, site.pk, 200])
        return list(cursor.fetchall())

    assert [tuple(r) for r in bare()] == [tuple(r) for r in expiring(site.pk, before)]  # type: ignore[arg-type, union-attr]
    many = range(50)
    ours, theirs, ratio = rounds(lambda: [expiring(site.pk, before) for _ in many], lambda: [bare() for _ in many])
    each = f"{ours / 50 * 1000:.2f} ms against {theirs / 50 * 1000:.2f} ms"
    say("expiring", f"{database()}, {ITEMS:,} items, first 200 rows: {each}, ratio {ratio:.2f} (limit 1.30)")
