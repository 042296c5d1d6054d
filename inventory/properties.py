"""What a conversion needs to know of a material, as the core wants it."""

from __future__ import annotations

from inventory.core import units
from inventory.models import Material


def props_of(material: Material | None, unit: str) -> units.MaterialProps:
    if material is None:
        return units.MaterialProps(unit=unit)
    return units.MaterialProps(
        unit=unit,
        width_um=material.width_um,
        usable_width_um=material.usable_width_um,
        areal_mg_m2=material.areal_mg_m2,
        tex_ug_m=material.tex_ug_m,
        density_mg_cm3=material.density_mg_cm3,
        sheet_w_um=material.width_um,
        sheet_l_um=material.sheet_length_um,
    )
