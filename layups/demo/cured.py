"""What the yard's data sheets say of cured plies, what its designs take beside their schedule, and how a hull is infused. The suppliers
and their figures are invented; they lie where such materials lie."""

from __future__ import annotations

from typing import Any

from inventory.models import Material
from layups.models import Consumable, CuredPly, Design, Infusion, Ply

GPA, MPA, MINUTE_US = 10**9, 10**6, 60_000_000
M, KG, M2, PERCENT = 1_000_000, 10**9, 10**8, 10_000
GLASS = {"fibre_mg_cm3": 2_600, "resin_mg_cm3": 1_150}
CARBON = {"fibre_mg_cm3": 1_790, "resin_mg_cm3": 1_150}
PREPREG = {"fibre_mg_cm3": 1_790, "resin_mg_cm3": 1_220}


def _woven(e: int, g: int, nu: int, alpha: int) -> dict[str, int]:
    return {"e1_pa": e, "e2_pa": e, "g12_pa": g, "nu12_ppm": nu, "alpha1_e12": alpha, "alpha2_e12": alpha}


def _ud(e1: int, e2: int, g: int, alphas: tuple[int, int]) -> dict[str, int]:
    return {"e1_pa": e1, "e2_pa": e2, "g12_pa": g, "nu12_ppm": 300_000, "alpha1_e12": alphas[0], "alpha2_e12": alphas[1]}


# material: (the sheet, its figures); expansions in 1e-12/K
SHEETS: dict[str, tuple[str, dict[str, Any]]] = {
    "GB-600": (
        "Aldervane data sheet GB, 2024",
        {**_woven(22 * GPA, 3_800 * MPA, 130_000, 14_000_000), **GLASS, "fibre_volume_ppm": 480_000},
    ),
    "CSM-300": (
        "Aldervane data sheet CSM, 2023",
        {"e1_pa": 7_500 * MPA, "nu12_ppm": 330_000, "alpha1_e12": 26_000_000, **GLASS, "resin_weight_ppm": 700_000},
    ),
    "CT-204": ("Aldervane data sheet CT, 2025", {**_woven(58 * GPA, 4 * GPA, 50_000, 3_000_000), **CARBON, "fibre_volume_ppm": 500_000}),
    "CU-300": (
        "Aldervane data sheet CU, 2025",
        {**_ud(122 * GPA, 7_900 * MPA, 4_100 * MPA, (-300_000, 32_000_000)), **CARBON, "fibre_volume_ppm": 520_000},
    ),
    "PP-T": (
        "Kestrow data sheet PP-T, issue 4",
        {**_woven(61 * GPA, 4_200 * MPA, 50_000, 2_800_000), **PREPREG, "resin_weight_ppm": 420_000, "cured_nm": 235_000},
    ),
    "PP-U": (
        "Kestrow data sheet PP-U, issue 6",
        {**_ud(128 * GPA, 8_400 * MPA, 4_600 * MPA, (-400_000, 30_000_000)), **PREPREG, "resin_weight_ppm": 360_000, "cured_nm": 153_000},
    ),
    "CORE-80": ("Pellmoor data sheet 80, 2022", {"e1_pa": 95 * MPA, "nu12_ppm": 320_000, "alpha1_e12": 40_000_000}),
}
LOST = {"CAN": (10, 15, 6_500), "DIN": (8, 15, 3_000), "DAG": (12, 25, 600), "RUD": (10, None, None)}
"""Design: per cent lost in cutting, per cent of the resin left in cups and lines, grams of resin beside the fabric."""
AREAS: dict[str, dict[int, int]] = {
    "CAN": {2: 570, 3: 570, 4: 560, 5: 570},
    "DIN": {1 + n: 1_440 for n in (1, 2)},
    "DAG": {1: 660},
    "RUD": {**dict.fromkeys(range(1, 7), 29), 7: 92, 8: 92, 10: 34},
}
"""Design: net area of its lines in 0.01 m²."""
CUT = {("CAN", 4): 20, ("RUD", 10): 15}
"""What is lost in cutting a core, per cent."""
WETS = {"CAN": 6, "DIN": 4, "DAG": 2}
USES: dict[str, dict[str, int]] = {
    "CAN": {"PEEL-85": 6 * M, "MESH": 1, "BAG": 1, "TAPE": 3, "SPIRAL": 1},
    "DAG": {"PEEL-85": 2 * M, "MESH": 1, "BAG": 1, "TAPE": 1},
    "RUD": {"BAG": 1, "TAPE": 1},
}
HULL = {
    "length_um": 5 * M, "width_um": 1_200_000, "permeability_e18": 3 * 10**8, "scatter_ppm": 320_000, "porosity_ppm": 520_000,
    "pressure_pa": 90_000, "room_mc": 21_000, "inlet_um": 10_000, "runners": 3, "starts_us": 4 * MINUTE_US,
    "fresh_upa_s": 180_000, "doubles_us": 14 * MINUTE_US, "stops_us": 22 * MINUTE_US,
    "source": "Own trial, strip of 0.6 m with mesh, 2025",
}  # fmt: skip


def build_making(materials: dict[str, Material], designs: dict[str, Design]) -> None:
    for code, (source, figures) in SHEETS.items():
        CuredPly.objects.create(material=materials[code], source=source, **figures)
    for code, (loss, waste, extra) in LOST.items():
        row = designs[code]
        row.loss_ppm, row.resin_waste_ppm = loss * PERCENT, None if waste is None else waste * PERCENT
        row.resin_extra_ug = None if extra is None else extra * KG // 1_000
        row.save()
    for code, lines in AREAS.items():
        for seq, area in lines.items():
            cut = CUT.get((code, seq))
            changed = {"net_cmm2": area * M2 // 100, "loss_ppm": None if cut is None else cut * PERCENT}
            Ply.objects.filter(design=designs[code], seq=seq).update(**changed)
    for code, seq in WETS.items():
        Ply.objects.filter(design=designs[code], seq=seq).update(wets=True)
    for code, uses in USES.items():
        for name, qty in uses.items():
            Consumable.objects.create(design=designs[code], material=materials[name], qty=qty)
    Infusion.objects.create(design=designs["CAN"], **HULL)
