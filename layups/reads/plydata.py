"""What the master data knows of materials as plies, for laminates: one query for any number of them."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from inventory.models import Material
from layups.core.laminate import DRY, IMPREGNATED, SOLID, Numbers, Stuff, numbers_of
from layups.core.notation import CORE
from layups.models import CuredPly

from .designs import FORMS, Laminate

BRINGS_RESIN = ("prepreg", "thermoplastic", "film")
SHEETS = ("fabric", "ud", "mat", *BRINGS_RESIN)
_FIGURES = (
    "e1_pa", "e2_pa", "g12_pa", "nu12_ppm", "alpha1_e12", "alpha2_e12", "cured_nm", "fibre_mg_cm3", "resin_mg_cm3", "fibre_volume_ppm",
    "resin_weight_ppm",
)  # fmt: skip


def stuffs(materials: Iterable[Material]) -> dict[str, Stuff]:
    """By code, from materials that were read with their `cured` row."""
    return {row.code: stuff_of(row) for row in materials}


def stuffs_by_code(codes: Collection[str]) -> dict[str, Stuff]:
    return stuffs(Material.objects.filter(code__in=codes).select_related("cured"))


def stuff_of(row: Material) -> Stuff:
    made = SOLID if row.kind == "core" else IMPREGNATED if row.kind in BRINGS_RESIN else DRY
    cured: CuredPly | None = getattr(row, "cured", None)
    figures = {name: getattr(cured, name) for name in _FIGURES} if cured is not None else {}
    return Stuff(row.code, made, row.areal_mg_m2, row.thickness_um, row.density_mg_cm3, **figures)


def form_of(row: Material) -> str | None:
    """How the notation writes a ply of it; None where it is not stated how its fibres run."""
    return CORE if row.kind == "core" else FORMS.get(row.weave or row.kind)


def laminate_numbers(laminate: Laminate) -> Numbers:
    """The numbers of a design's laminate. BadInput for figures that no ply can have."""
    return numbers_of(laminate.layers, stuffs_by_code({layer.material for layer in laminate.layers}))
