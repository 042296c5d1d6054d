"""Designs with their schedules. Quantities are per part, in the material's stock unit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from inventory.models import Material, Recipe
from layups.models import Design, Ply, RoomLimit, Window

from .cured import build_making

HOUR_US = 3_600_000_000
M, KG, G, M2 = 1_000_000, 10**9, 10**6, 10**8
SHEET = 236_500_000  # one sheet of CORE-80, 1.10 m × 2.15 m, in 0.01 mm²


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a schedule: a material's code or a recipe's code, its step, and how much."""

    step: str
    what: str
    qty: int | None = None
    label: str = ""
    angle: int | None = None
    alternates: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Product:
    name: str
    process: str
    lines: tuple[Line, ...] = ()
    kind: str = "part"
    more: dict[str, Any] = field(default_factory=dict)


BAG = {"drop_limit_pa": 1000}  # 10 mbar in 5 minutes
HARD = {"hardness_min": "35"}
_UD = tuple(Line("ply", "PP-U", 1_100_000, "UD", angle) for angle in (0, 45, -45, -45, 45, 0))
_RUD_SKINS = tuple(Line("ply", "PP-T", 850_000, "twill", 45) for _ in range(2))
_REST = (Line("bond", "FA-B", 400_000, "bond line"), Line("core", "CORE-80", 40_000_000, "blank"), Line("core", "CS-F", 1, "splice"))

PRODUCTS: dict[str, Product] = {
    "CAN": Product(
        "Canoe hull 5.0 m",
        "infusion",
        (
            Line("gelcoat", "GC", 4_692 * G, "4.6 kg and its peroxide"),
            Line("ply", "GB-600", 5_100_000, "outer", 45),
            Line("ply", "GB-600", 5_100_000, "middle", 45),
            Line("core", "CORE-80", 3 * SHEET, "three sheets"),
            Line("ply", "GB-600", 5_100_000, "inner", 45),
            Line("infusion", "VE", 14_413 * G, "14.20 kg into the bag, two pots"),
        ),
        more={**BAG, **HARD},
    ),
    "DIN": Product(
        "Dinghy hull 3.4 m",
        "wet layup",
        (
            Line("gelcoat", "GC", 6_120 * G, "6 kg and its peroxide"),
            Line("ply", "CSM-300", 13 * M, "first"),
            Line("ply", "CSM-300", 13 * M, "second"),
            Line("wet out", "PE", 31_465 * G, "31 kg from the day tank and its peroxide"),
        ),
        more=HARD,
    ),
    "RUD": Product("Rudder blade", "prepreg", (*_UD, *_RUD_SKINS, *_REST), more=BAG),
    "DAG": Product(
        "Daggerboard",
        "prepreg",
        (Line("ply", "CT-204", 6_200_000, "kit", 45, alternates=("PP-T",)), Line("infusion", "INF", 2_600 * G, "resin")),
        more=BAG,
    ),
    "MAST": Product("Mast 6.2 m", "winding", (Line("wind", "TOW-12K", 4_250 * M, "8 spools"), Line("wind", "WND", 1_800 * G, "bath"))),
    "TIL": Product("Tiller", "prepreg", (Line("ply", "PP-T", 400_000, "wrap", 45), Line("ply", "PP-U", 2_200_000, "wrap", 0)), more=BAG),
    "RUN": Product(
        "Run of rod, 90 m",
        "pultrusion",
        (Line("roving", "ROV-2400", 40 * 90 * M, "40 ends"), Line("bath", "VE", 4_364_500 * 1_000, "bath")),
    ),
    "ROD": Product("Rod 10 mm, 1.20 m", "pultrusion"),
    "REP": Product("Repair in epoxy", "wet layup", (Line("ply", "GB-600", 800_000, "patch", 45), Line("repair", "LAM", 550 * G, "resin"))),
    "REV": Product(
        "Repair in vinyl ester", "wet layup", (Line("ply", "GB-600", 800_000, "patch", 45), Line("repair", "VE", 558_250 * 1_000, "resin"))
    ),
    "HAT": Product(
        "Hatch lid", "wet layup", (Line("ply", "GB-600", 1_200_000, "skin", 45), Line("wet out", "VE", 1_116_500 * 1_000, "resin"))
    ),
    # The glass of the yard is not sized for phenolic: this lid is balsa in resin.
    "HAP": Product(
        "Hatch lid, phenolic", "press", (Line("core", "BALSA-150", 30_000_000, "core"), Line("wet out", "PH", 1_166 * G, "resin"))
    ),
    "BRK": Product("Bracket", "thermoplastic press", (Line("ply", "TPT", 6 * M, "stack", 0),)),
    "BOAT": Product("Dinghy, complete", "assembly", kind="assembly"),
}


# design: the line that closes the window which its gelcoat begins: what first wets it
GELCOATED = {"CAN": 6, "DIN": 2}
WORKSHOP = {"low_mc": 15_000, "high_mc": 25_000, "rh_high_ppm": 700_000}
"""Where prepreg is laid: 15 to 25 °C, below 70 % RH (a prepreg supplier's processing guide)."""


def build_conditions(designs: dict[str, Design]) -> None:
    """Laminate goes over the gelcoat 2 to 24 h after it, as its supplier says; rudders are laid in a dry room."""
    for code, line in GELCOATED.items():
        plies = {ply.seq: ply for ply in designs[code].plies.all()}
        times = {"least_us": 2 * HOUR_US, "most_us": 24 * HOUR_US, "remedy": "abrade, then laminate", "again": "abraded"}
        Window.objects.create(design=designs[code], name="gelcoat to laminate", first_line=plies[1], then_line=plies[line], **times)
    RoomLimit.objects.create(design=designs["RUD"], **WORKSHOP)


def build_products(materials: dict[str, Material], recipes: dict[str, Recipe]) -> dict[str, Design]:
    designs = {
        code: Design.objects.create(code=code, name=p.name, process=p.process, kind=p.kind, **p.more) for code, p in PRODUCTS.items()
    }
    for code, product in PRODUCTS.items():
        for seq, line in enumerate(product.lines, 1):
            ply = Ply.objects.create(
                design=designs[code],
                seq=seq,
                step=line.step,
                label=line.label,
                material=materials.get(line.what),
                recipe=recipes.get(line.what),
                angle=line.angle,
                qty=line.qty,
            )
            if line.alternates:
                ply.alternates.set([materials[name] for name in line.alternates])
    build_conditions(designs)
    build_making(materials, designs)
    return designs
