"""The materials of the yard. Lengths in µm, masses in µg, temperatures in milli-°C, areal weights in mg/m², linear
densities in µg/m, densities in mg/cm³. Common practice or invented; a data sheet always overrides these figures."""

from __future__ import annotations

from typing import Any

from inventory.models import Material, Supplier

from .anchor import HOUR_US, MINUTE_US

MM, M, KG, CELSIUS = 1_000, 1_000_000, 10**9, 1_000
PREPREG_KEPT = {"max_store_mc": -18 * CELSIUS, "declared_mc": -18 * CELSIUS}
WET = "polyester vinylester epoxy"

TOW_3K = {"filaments": 3_000, "filament_nm": 6_900, "fibre_mg_cm3": 1_790}
TOW_12K = {"filaments": 12_000, "filament_nm": 6_900, "fibre_mg_cm3": 1_800}

# code: (name, kind, unit, supplier's first word, what else its kind needs)
Row = tuple[str, str, str, str, dict[str, Any]]

FIBRES: dict[str, Row] = {
    "GB-600": (
        "Glass biax ±45, stitched",
        "fabric",
        "um",
        "Aldervane",
        {
            "width_um": 1270 * MM,
            "usable_width_um": 1250 * MM,
            "areal_mg_m2": 602_000,
            "weave": "biaxial",
            "suits": WET,
            "notes": "100 m, 76.5 kg a roll. Keep dry, in its wrap.",
        },
    ),
    "CSM-300": (
        "Glass mat, powder binder",
        "mat",
        "um",
        "Aldervane",
        {
            "width_um": 1250 * MM,
            "areal_mg_m2": 300_000,
            "weave": "mat",
            "suits": "polyester vinylester",
            "notes": "The binder needs styrene: not with epoxy.",
        },
    ),
    "CT-204": (
        "Carbon 3K twill 2×2",
        "fabric",
        "um",
        "Aldervane",
        {
            "width_um": 1270 * MM,
            "usable_width_um": 1250 * MM,
            "areal_mg_m2": 204_000,
            "weave": "twill",
            "suits": "epoxy",
            **TOW_3K,
            "tex_ug_m": 200_000,
            "ends_per_m": 510,
            "picks_per_m": 510,
            "notes": "200 tex, 5.1 × 5.1 /cm, epoxy sizing.",
        },
    ),
    "CU-300": (
        "Carbon UD 12K, stitched",
        "ud",
        "um",
        "Aldervane",
        {"width_um": 600 * MM, "areal_mg_m2": 300_000, "weave": "ud", "suits": "epoxy"},
    ),
    "TOW-12K": (
        "Carbon tow 12K, 800 tex",
        "tow",
        "um",
        "Tow",
        {"tex_ug_m": 800_000, "density_mg_cm3": 1_800, **TOW_12K, "suits": "epoxy", "notes": "Spool 4 kg = 5 000 m. Keep the bag closed."},
    ),
    "ROV-2400": ("E-glass roving 2 400 tex", "tow", "um", "Tow", {"tex_ug_m": 2_400_000, "density_mg_cm3": 2_600, "suits": WET}),
}
CORES: dict[str, Row] = {
    # Kept by area: a rudder takes a piece of a sheet, a hull takes three sheets.
    "CORE-80": (
        "PVC foam 80 kg/m³, 10 mm, scored",
        "core",
        "cmm2",
        "Pellmoor",
        {
            "width_um": 1100 * MM,
            "sheet_length_um": 2150 * MM,
            "thickness_um": 10 * MM,
            "density_mg_cm3": 80,
            "areal_mg_m2": 800_000,
            "notes": "Flat, dry.",
        },
    ),
    "BALSA-150": (
        "End-grain balsa 12 mm",
        "core",
        "cmm2",
        "Pellmoor",
        {"width_um": 610 * MM, "sheet_length_um": 1220 * MM, "thickness_um": 12 * MM, "density_mg_cm3": 150, "areal_mg_m2": 1_800_000},
    ),
}
PREPREGS: dict[str, Row] = {
    "PP-T": (
        "Prepreg, carbon twill, 120 °C",
        "prepreg",
        "um",
        "Kestrow",
        {
            "width_um": 1250 * MM,
            "areal_mg_m2": 351_700,
            "weave": "twill",
            "family": "epoxy",
            "thaw_roll_us": 12 * HOUR_US,
            "thaw_piece_us": HOUR_US,
            **PREPREG_KEPT,
        },
    ),
    "PP-U": (
        "Prepreg, carbon UD, 85–120 °C",
        "prepreg",
        "um",
        "Kestrow",
        {
            "width_um": 300 * MM,
            "areal_mg_m2": 234_400,
            "weave": "ud",
            "family": "epoxy",
            "thaw_roll_us": 8 * HOUR_US,
            "thaw_piece_us": HOUR_US,
            **PREPREG_KEPT,
        },
    ),
    "FA-B": (
        "Film adhesive, carrier",
        "film",
        "um",
        "Kestrow",
        {
            "width_um": 1000 * MM,
            "areal_mg_m2": 300_000,
            "family": "epoxy",
            "thaw_roll_us": 4 * HOUR_US,
            "thaw_piece_us": 30 * MINUTE_US,
            **PREPREG_KEPT,
        },
    ),
    "CS-F": (
        "Foaming core-splice film",
        "film",
        "pc",
        "Kestrow",
        {"family": "epoxy", "thaw_roll_us": HOUR_US, "thaw_piece_us": 30 * MINUTE_US, **PREPREG_KEPT},
    ),
}
_AMINE = {"hazard": "amine", "family": "epoxy", "min_store_mc": 5 * CELSIUS, "max_store_mc": 30 * CELSIUS}
_EPOXY = {"family": "epoxy", "min_store_mc": 5 * CELSIUS, "max_store_mc": 30 * CELSIUS}
_STYRENE = {"max_store_mc": 25 * CELSIUS, "declared_mc": 25 * CELSIUS}
RESINS: dict[str, Row] = {
    "LAM-A": ("Laminating epoxy", "resin", "ug", "Orrisby", {**_EPOXY, "density_mg_cm3": 1_150, "eew_mg_mol": 190_000}),
    "LAM-B": ("Laminating hardener", "hardener", "ug", "Orrisby", {**_AMINE, "density_mg_cm3": 950, "ahew_mg_mol": 47_500}),
    "INF-A": (
        "Infusion epoxy",
        "resin",
        "ug",
        "Orrisby",
        {**_EPOXY, "density_mg_cm3": 1_130, "eew_mg_mol": 180_000, "notes": "Mixed 250–350 mPa·s."},
    ),
    "INF-B": ("Infusion hardener", "hardener", "ug", "Orrisby", {**_AMINE, "density_mg_cm3": 940, "ahew_mg_mol": 54_000}),
    "WND-A": ("Winding epoxy", "resin", "ug", "Orrisby", {**_EPOXY, "density_mg_cm3": 1_160, "notes": "EEW 185."}),
    "WND-B": ("Winding hardener", "hardener", "ug", "Orrisby", {**_AMINE, "density_mg_cm3": 960, "notes": "AHEW 59.2."}),
    "VE-I": (
        "Vinyl ester, infusion, pre-promoted",
        "resin",
        "ug",
        "Orrisby",
        {**_STYRENE, "family": "vinylester", "density_mg_cm3": 1_040, "notes": "Styrene 40–45 %. Drum 225 kg: turn monthly."},
    ),
    "PE-L": (
        "Isophthalic polyester, pre-promoted, thixotropic",
        "resin",
        "ug",
        "Orrisby",
        {**_STYRENE, "family": "polyester", "density_mg_cm3": 1_100},
    ),
    "GC-W": (
        "Gelcoat, white",
        "gelcoat",
        "ug",
        "Orrisby",
        {
            **_STYRENE,
            "family": "polyester",
            "density_mg_cm3": 1_250,
            "notes": "0.5–0.8 mm wet; laminate over it 2–24 h after. Stir, do not thin.",
        },
    ),
    "PH-R": ("Phenolic resole", "resin", "ug", "Orrisby", {"family": "phenolic", "density_mg_cm3": 1_230, "declared_mc": 8 * CELSIUS}),
    "PH-C": ("Acid hardener for phenolic", "hardener", "ug", "Orrisby", {"hazard": "acid", "family": "phenolic", "density_mg_cm3": 1_300}),
    "PU-A": ("Core-bonding polyurethane", "resin", "ug", "Orrisby", {"family": "polyurethane", "density_mg_cm3": 1_400}),
    "PU-B": (
        "Core-bonding hardener (isocyanate)",
        "hardener",
        "ug",
        "Orrisby",
        {
            "hazard": "isocyanate",
            "family": "polyurethane",
            "min_store_mc": 15 * CELSIUS,
            "max_store_mc": 30 * CELSIUS,
            "density_mg_cm3": 1_230,
            "notes": "Damaged by cold. Under dry gas once opened.",
        },
    ),
    "BP-A": ("Bonding paste, part A", "paste", "ug", "Orrisby", {"family": "epoxy", "density_mg_cm3": 1_300}),
    "BP-B": ("Bonding paste, part B", "paste", "ug", "Orrisby", {"family": "epoxy", "density_mg_cm3": 1_300, "hazard": "amine"}),
}
STARTERS: dict[str, Row] = {
    "MEKP": (
        "Organic peroxide, 9 % active oxygen",
        "peroxide",
        "ug",
        "Tarnfold",
        {
            "hazard": "peroxide",
            "min_store_mc": 5 * CELSIUS,
            "max_store_mc": 25 * CELSIUS,
            "density_mg_cm3": 1_110,
            "notes": "Can 5 kg. Never poured back, never decanted to metal.",
        },
    ),
    "CO-6": (
        "Cobalt promoter 6 %",
        "promoter",
        "ug",
        "Tarnfold",
        {"hazard": "promoter", "density_mg_cm3": 950, "notes": "Only for resin that is not promoted. Never meets peroxide directly."},
    ),
}
ADDITIVES: dict[str, Row] = {
    "WAX-5": ("Wax in styrene", "additive", "ug", "Orrisby", {**_STYRENE}),
    "STY": ("Styrene", "additive", "ug", "Orrisby", {**_STYRENE, "density_mg_cm3": 906}),
    "PIG-W": ("Pigment paste, white", "additive", "ug", "Orrisby", {}),
    "SIL": ("Fumed silica", "additive", "ug", "Hask", {"notes": "Keep dry."}),
    "MB": ("Microballoons", "additive", "ug", "Hask", {"notes": "Keep dry."}),
}
OTHERS: dict[str, Row] = {
    "TPT": (
        "Glass/PA6 tape 0.25 mm",
        "thermoplastic",
        "um",
        "Kestrow",
        {
            "width_um": 100 * MM,
            "areal_mg_m2": 450_000,
            "weave": "ud",
            "notes": "Dry 4 h at 80 °C; lay within 60 min; at most 3 heats (the shop's own).",
        },
    ),
    # A bond surface touches it: traced by lot.
    "PEEL-85": (
        "Peel ply, 85 g/m²",
        "consumable",
        "um",
        "Hask",
        {"width_um": 1000 * MM, "areal_mg_m2": 85_000, "grade": "lot", "reorder_at": 60 * M},
    ),
    "REL": (
        "Semi-permanent release",
        "consumable",
        "ug",
        "Hask",
        {"grade": "lot", "min_store_mc": 5 * CELSIUS, "density_mg_cm3": 750, "notes": "Sensitive to water and frost."},
    ),
    "MESH": ("Flow mesh", "consumable", "pc", "Hask", {"grade": "box"}),
    "BAG": ("Vacuum bag", "consumable", "pc", "Hask", {"grade": "box"}),
    "TAPE": ("Sealant tape", "consumable", "pc", "Hask", {"grade": "box"}),
    "SPIRAL": ("Spiral tube", "consumable", "pc", "Hask", {"grade": "box"}),
}
MATERIALS: dict[str, Row] = {**FIBRES, **CORES, **PREPREGS, **RESINS, **STARTERS, **ADDITIVES, **OTHERS}
# Nothing is asked of their papers.
NO_PAPERS = frozenset({*ADDITIVES, "CO-6", "PH-C", "PU-A", "REL", "PEEL-85", "MESH", "BAG", "TAPE", "SPIRAL"})


def build_materials(suppliers: dict[str, Supplier]) -> dict[str, Material]:
    rows = Material.objects.bulk_create(
        Material(
            code=code,
            name=name,
            kind=kind,
            unit=unit,
            supplier=suppliers[supplier],
            needs_certificate=code not in NO_PAPERS,
            sds_url=f"https://sheets.quillstrand.example/{code}" if unit == "ug" else "",
            **more,
        )
        for code, (name, kind, unit, supplier, more) in MATERIALS.items()
    )
    return {row.code: row for row in rows}
