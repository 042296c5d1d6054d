"""Things to label, one of each kind and some that are hard: long names, other scripts, everything at once."""

from __future__ import annotations

from inventory.core.labels import Thing
from inventory.core.limits import Limit, Reading, Source
from inventory.core.spans import HOUR_US, MINUTE_US

ZONE = "Europe/Copenhagen"
MONDAY = 1_774_821_600_000_000
"""Monday 30 March 2026, 00:00 in Copenhagen."""
DAY_US = 24 * HOUR_US
NOW = MONDAY + 7 * HOUR_US + 40 * MINUTE_US
CODE = "S7KFM3XDQ9"
ADDRESS = "https://yard.example"
LOT = Source(1, "KP-2291", 1)
STORAGE = Reading(LOT, Limit("storage", "calendar", "laid", months=6), False, ends_us=MONDAY + 120 * DAY_US)
OUT = Reading(LOT, Limit("out", "above", "laid", limit_us=120 * HOUR_US, threshold_mc=-15_000), False, 350 * MINUTE_US, 120 * HOUR_US)
OPENED = Reading(LOT, Limit("opened", "opened", "used", months=3), False)

PREPREG = {
    "material": "PP-U", "material_name": "UD prepreg 300 g, 120 °C cure", "material_kind": "prepreg", "lot": "KP-2291",
    "supplier": "Kestrow Prepreg", "low_mc": -25_000, "high_mc": -18_000, "readings": (STORAGE, OUT),
}  # fmt: skip
PEROXIDE = {"material": "PX-50", "material_name": "Peroxide paste", "material_kind": "peroxide", "hazard": "peroxide", "lot": "PX26-7"}

THINGS: dict[str, Thing] = {
    "roll": Thing("roll", "roll", CODE, "U-3", **PREPREG),  # type: ignore[arg-type]
    "spool": Thing("spool", "spool", CODE, "SP-14", "TOW-12K", "Carbon tow 12K", "tow", lot="T12-88"),
    "can": Thing("can", "can", CODE, "PX-2", low_mc=0, high_mc=25_000, readings=(STORAGE, OPENED), **PEROXIDE),  # type: ignore[arg-type]
    "kit": Thing("kit", "kit", CODE, "K-40", facts=(("For", "DAG-041, plies 1 2 3 4"),), **PREPREG),  # type: ignore[arg-type]
    "remnant": Thing("remnant", "remnant", CODE, "", **PREPREG),  # type: ignore[arg-type]
    "bag": Thing("box", "box", CODE, "BAG-7", "PA12", "Polyamide pellets", "thermoplastic", lot="PA-1"),
    "pot": Thing("mix", "mix", CODE, "M-12", stop_us=NOW + 25 * MINUTE_US, facts=(("Recipe", "LAM-A"), ("Mixed", "30 Mar 2026 07:40"))),
    "part": Thing("part", "part", CODE, "DAG-041", facts=(("", "DAG Daggerboard"), ("For", "Otterholt Sailing"))),
    "place": Thing("place", "place", "F1", "F1 Chest freezer", facts=(("Band", "−25 °C to −18 °C"), ("Takes", "frozen goods"))),
    "long": Thing(
        "roll", "roll", CODE, "A name of forty characters, as some do it", "VERYLONGMATERIALCODE-1",
        "Vinylester infusion resin with a rather long name, promoted, low in styrene", "resin", "", "vinylester",
        "LOT-2026-000000000000000123456789-AB-CD-EF", "Some Supplier of Resins", "A Customer With A Long Name Ltd", 5_000, 25_000, "",
        (STORAGE, OUT, OPENED),
    ),
    "scripts": Thing("can", "can", CODE, "Ωμέγα-Ж 你好", "МТ-1", "ůpěnlivý żółć ß æ ø", "resin", lot="Łódź 1"),
    "one word": Thing("kit", "kit", CODE, "W" * 40, "X" * 24, "Y" * 120, "fabric", lot="Z" * 60),
}  # fmt: skip
