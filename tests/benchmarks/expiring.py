"""The query function behind "expires in 7 days" over 1 000 000 items, against the bare driver with the same SQL. Limit: 1.3×."""

from __future__ import annotations

from django.db import connection

from inventory.models import Item, ItemState, Location, Material, Site, StorageClass
from inventory.reads.expiring import SQL, expiring
from tests.benchmarks.ground import database, many, rounds, say, settle

ITEMS, DAY = 1_000_000, 86_400_000_000
NOW = 1_774_850_400_000_000


def fill(count: int) -> Site:
    """Rolls whose lives end over two years, in no order."""
    site = Site.objects.create(code="B", name="Bench", zone="UTC")
    room = StorageClass.objects.create(site=site, name="room", low_mc=15_000, high_mc=25_000)
    place = Location.objects.create(site=site, code="RACK", name="Rack", kind="rack", storage=room)
    material = Material.objects.create(code="B-1", name="Prepreg", kind="prepreg", unit="um", width_um=10**6, areal_mg_m2=10**5)
    many(Item, count, id="n", site_id=f"{site.pk}", code="'S' || n", kind="'roll'", unit="'um'", material_id=f"{material.pk}")
    ends = f"{NOW} + (n % 730 * 7919 % 730 - 30) * {DAY}"
    many(
        ItemState, count, item_id="n", head="1", qty="10000000", location_id=f"{place.pk}", since_us=f"{NOW}", ends_us=ends,
        governs="'out'",
    )  # fmt: skip
    settle()
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
    found = f"{ours / 50 * 1000:.2f} ms against {theirs / 50 * 1000:.2f} ms bare, {ratio:.2f}×"
    say("expiring", f"the first 200 of {ITEMS:,} items", found, "at most 1.30×", ratio <= 1.3)
