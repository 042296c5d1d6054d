"""What may be put where, case by case, as the rule says: for the script that says the same on a tablet without a network.

python -m tests.core.putaway_cases      # writes the table anew after the rule has changed
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

from inventory.core.places import STORES, PlaceRule, Storage, put_away

TABLE = Path(__file__).parents[1] / "browser" / "js" / "putaway.cases.json"
KG = 10**9
MATERIALS = {
    "PX": ("peroxide", 5_000, 25_000),
    "CO": ("promoter", 5_000, 25_000),
    "AM": ("amine", None, None),
    "AC": ("acid", 0, None),
    "NC": ("isocyanate", 15_000, 30_000),
    "PP": ("", None, -18_000),
    "CH": ("", None, 0),
    "CT": ("", None, None),
    "RA": ("radium", None, -1),
}
"""Hazard, kept above, kept below in m°C."""
PLACES = {
    "AMINES": ("store", 25_000, 15_000, "promoter amine", "peroxide acid", None),
    "PEROX": ("store", 25_000, 5_000, "peroxide", "", 25 * KG),
    "BOTH": ("store", 30_000, 4_999, "peroxide", "peroxide", None),
    "FREEZER": ("freezer", -18_000, -25_000, "frozen", "", None),
    "BIN": ("freezer", -1, -25_000, "", "frozen plain radium", None),
    "RACK": ("rack", 25_000, 15_000, "plain", "", None),
    "BAY": ("bay", 30_000, 15_000, "", "", 25 * KG),
    "QUAR": ("quarantine", None, None, "", "peroxide", None),
    "OVEN": ("oven", 200_000, 15_000, "", "", None),
    "ACIDS": ("fridge", 8_000, 0, "acid", "", None),
}
"""Kind, upper and lower end of the band in m°C, what it takes and refuses, and the most µg."""
BESIDE: tuple[tuple[str, ...], ...] = ((), ("promoter",), ("peroxide", "isocyanate"), ("acid",))
COMING = (("ug", 5 * KG), ("um", 6 * KG))


def cases() -> Iterator[list[Any]]:
    """[material, place, unit, how much, µg that stand there, hazards that stand there, codes of the reasons in their order]"""
    for (code, kept), (place, (kind, high, low, accepts, refuses, most)) in product(MATERIALS.items(), PLACES.items()):
        storage = Storage(*kept, code)
        for beside, (unit, qty), held in product(BESIDE, COMING, (0, 20 * KG, 20 * KG + 1, 25 * KG + 1)):
            if (held or unit != "ug") and (most is None or beside):
                continue  # how much it is matters where there is a limit
            rule = PlaceRule(place, low, high, frozenset(accepts.split()), frozenset(refuses.split()), most, held, kind)
            reasons = put_away(rule, storage, qty if unit == "ug" else 0, beside)
            yield [code, place, unit, qty, held, list(beside), [r.code.removeprefix("place.") for r in reasons]]


def table() -> str:
    """One case a line."""
    rows = ",\n".join(json.dumps(case, separators=(",", ":")) for case in cases())
    head = json.dumps({"materials": MATERIALS, "places": PLACES, "stores": sorted(STORES)}, separators=(",", ":"))
    return f'{head[:-1]},"cases":[\n{rows}\n]}}\n'


if __name__ == "__main__":
    TABLE.write_text(table())
