"""What ends soon: one statement over the partial index of crossing instants, as plain tuples."""

from __future__ import annotations

from typing import Any

from django.db import connection

SQL = """SELECT s.item_id, i.code, i.mark, i.kind, m.code, s.qty, i.unit, s.governs, s.ends_us, l.code
FROM inventory_itemstate s
JOIN inventory_item i ON i.id = s.item_id
LEFT JOIN inventory_material m ON m.id = i.material_id
LEFT JOIN inventory_location l ON l.id = s.location_id
WHERE s.ends_us IS NOT NULL AND s.ends_us < %s AND i.site_id = %s AND s.qty <> 0
ORDER BY s.ends_us, s.item_id LIMIT %s"""
COLUMNS = ("item", "code", "mark", "kind", "material", "quantity", "unit", "governs", "ends_us", "place")


def expiring(site: int, before_us: int, limit: int = 200) -> list[tuple[Any, ...]]:
    """Items whose governing limit is crossed before an instant, soonest first; also those that are over already.
    Rows of COLUMNS. The column `ends_us` is emptied when an item is used up or gone, so the index holds live ones only."""
    with connection.cursor() as cursor:
        cursor.execute(SQL, [before_us, site, limit])
        return cursor.fetchall()
