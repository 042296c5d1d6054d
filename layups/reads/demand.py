"""What so many parts of a design take of each material: its schedule with areas and losses, the resin that its plies drink, and what is
used up beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.convert import MaterialProps
from inventory.core.said import say
from inventory.models import Material, Recipe
from inventory.properties import props_of
from inventory.recipes import core_ratio
from layups.core.demand import Dry, Line, Mix, Order, mix, orders, wetting
from layups.core.laminate import DRY, Weights, fibre_share, weights_of
from layups.core.schedule import PLY
from layups.models import Consumable, Design, Ply

from .plydata import SHEETS, stuff_of


@dataclass(frozen=True, slots=True)
class Wanted:
    """A line of a layup before anything is computed. `material` is read with its `cured` row; a line has a material or a recipe."""

    what: str
    material: Material | None = None
    recipe: Recipe | None = None
    net_cmm2: int | None = None
    loss_ppm: int | None = None
    stated: int | None = None
    ply: bool = False
    wets: bool = False


@dataclass(frozen=True, slots=True)
class Demand:
    """`materials` by code. `weights` of one part in µg, None where an area or a weight is not known; `notes`: what does not fit or is
    missing."""

    parts: int
    orders: tuple[Order, ...]
    mixes: tuple[Mix, ...]
    materials: dict[str, Material]
    weights: Weights
    notes: tuple[str, ...]


def design_demand(design: Design, parts: int) -> Demand:
    """Two queries, whatever its schedule. BadInput demand.parts."""
    rows = Ply.objects.filter(design=design).order_by("seq").select_related("material__cured", "recipe__resin", "recipe__hardener")
    lines = [_wanted(design, row) for row in rows]
    for used in Consumable.objects.filter(design=design).select_related("material__cured"):
        lines.append(
            Wanted(say("used up{note}", note=say(", {note}", note=used.note) if used.note else ""), used.material, stated=used.qty)
        )
    return demand(lines, parts, design.resin_waste_ppm, design.resin_extra_ug)


def _wanted(design: Design, row: Ply) -> Wanted:
    name = say("ply {seq}", seq=row.seq) if row.step == PLY else say("{step} ({seq})", step=row.step, seq=row.seq)
    loss = design.loss_ppm if row.loss_ppm is None else row.loss_ppm
    return Wanted(name, row.material, row.recipe, row.net_cmm2, loss, row.qty, row.step == PLY, row.wets)


def demand(lines: Sequence[Wanted], parts: int, waste_ppm: int | None, extra_ug: int | None) -> Demand:
    """From the lines of one part to what so many take."""
    drys = [_dry(line) for line in lines if line.ply and line.material is not None and stuff_of(line.material).made == DRY]
    mixes, taken = [], []
    materials: dict[str, Material] = {}
    for line in lines:
        if line.recipe is not None:
            one = _mix(line, line.recipe, drys, waste_ppm, extra_ug)
            mixes.append(one)
            taken += _components(one, line.recipe, materials)
        elif line.material is not None:
            materials[line.material.code] = line.material
            taken.append(_line(line, line.material))
    found = orders(taken, parts)
    notes = [note for one in mixes for note in one.notes] + [note for order in found for note in order.notes]
    if drys and mixes and not any(line.wets for line in lines):
        notes.append(say("Which line's resin wets the dry plies is not stated, so what they drink is not computed."))
    return Demand(parts, tuple(found), tuple(mixes), materials, _weights(lines), tuple(notes))


def _line(line: Wanted, material: Material) -> Line:
    sheet = material.unit == "um" and material.kind in SHEETS and material.width_um is not None
    props = props_of(material, material.unit)
    return Line(line.what, material.code, props, line.net_cmm2, line.loss_ppm, line.stated, sheet)


def _dry(line: Wanted) -> Dry:
    assert line.material is not None
    return Dry(line.what, line.material.areal_mg_m2, line.net_cmm2, fibre_share(stuff_of(line.material)))


def _mix(line: Wanted, recipe: Recipe, drys: Sequence[Dry], waste_ppm: int | None, extra_ug: int | None) -> Mix:
    ratio = core_ratio(recipe)
    wets = wetting(drys, ratio, waste_ppm, extra_ug) if line.wets else None
    return mix(say("{what}, {recipe}", what=line.what, recipe=recipe.code), recipe.code, ratio, line.stated, wets, recipe.pot_mass_ug)


def _components(one: Mix, recipe: Recipe, materials: dict[str, Material]) -> list[Line]:
    if one.parts is None:
        return []
    both = (recipe.resin, recipe.hardener)
    materials.update({row.code: row for row in both})
    return [Line(one.what, row.code, MaterialProps("ug"), stated=part.mass_ug) for row, part in zip(both, one.parts.parts, strict=True)]


def _weights(lines: Sequence[Wanted]) -> Weights:
    """Of what lies in one part, in µg: fibre, resin aimed at, core."""
    whole = Weights()
    for line in lines:
        if line.material is None or not (line.ply or line.material.kind == "core"):
            continue
        alone = weights_of(stuff_of(line.material))
        area = None if line.net_cmm2 is None else Fraction(line.net_cmm2, 10**5)
        whole = whole.plus(Weights(*(_times(value, area) for value in (alone.fibre, alone.resin, alone.core, alone.whole))))
    return whole


def _times(value: Fraction | None, area: Fraction | None) -> Fraction | None:
    if value == 0:
        return value
    return None if value is None or area is None else value * area
