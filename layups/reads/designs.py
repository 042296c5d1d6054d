"""A design on one page: its schedule, the laminate that its plies make, the windows and the room that it asks for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.core.said import say
from inventory.models import Material
from layups.core.notation import CORE, FABRIC, MAT, UD, Layer, write
from layups.core.rooms import Band
from layups.core.schedule import PLY, Line
from layups.core.symmetry import Kind, kind_of
from layups.core.windows import Window
from layups.models import Design

from .rooms import bands_of
from .schedules import lines_of
from .windows import windows_of

FORMS = {"ud": UD, "plain": FABRIC, "twill": FABRIC, "satin": FABRIC, "biaxial": FABRIC, "mat": MAT}


@dataclass(frozen=True, slots=True)
class Laminate:
    """The plies from the tool side up, with cores that lie between them. `notation` names the materials; `kind` is None where
    something is not known, which `unknown` says. `areal_mg_m2`: of all plies together, dry or as prepreg, None when one has none."""

    layers: tuple[Layer, ...]
    notation: str
    kind: Kind | None
    unknown: tuple[str, ...]
    areal_mg_m2: int | None


@dataclass(frozen=True, slots=True)
class DesignView:
    """A design; `laminate` is None where it has no plies."""

    design: Design
    lines: tuple[Line, ...]
    laminate: Laminate | None
    windows: tuple[Window, ...]
    bands: tuple[Band, ...]


def designs() -> list[DesignView]:
    """Every design in use, by code. Five queries, however many there are."""
    return _views(list(Design.objects.filter(active=True).order_by("code")))


def design_at(code: str) -> Design:
    """Raises Design.DoesNotExist, also for what can be no code: PostgreSQL takes no text with a zero byte."""
    if "\x00" in code:
        raise Design.DoesNotExist
    return Design.objects.select_related("cure_recipe").get(code=code)


def design_view(code: str) -> DesignView:
    """Raises Design.DoesNotExist."""
    (view,) = _views([design_at(code)])
    return view


def _views(rows: list[Design]) -> list[DesignView]:
    ids = [row.pk for row in rows]
    lines, windows, bands = lines_of(ids), windows_of(ids), bands_of(ids)
    wanted = {line.material for mine in lines.values() for line in mine if line.material is not None}
    materials = {m.pk: m for m in Material.objects.filter(pk__in=wanted)}
    return [
        DesignView(
            row,
            lines.get(row.pk, ()),
            laminate_of(lines.get(row.pk, ()), materials),
            windows.get(row.pk, ()),
            bands.get(row.pk, ()),
        )
        for row in rows
    ]


def laminate_of(lines: Iterable[Line], materials: Mapping[int, Material]) -> Laminate | None:
    """The laminate of a schedule: its plies, and the cores between the first and the last of them."""
    stack = [line for line in lines if line.step in (PLY, CORE)]
    plies = [i for i, line in enumerate(stack) if line.step == PLY]
    if not plies:
        return None
    layers, unknown, mass = [], [], 0
    known_mass = True
    for line in stack[plies[0] : plies[-1] + 1]:
        material = materials.get(line.material) if line.material is not None else None
        layer, missing = _layer(line, material)
        layers.append(layer)
        unknown += [missing] if missing and missing not in unknown else []
        if line.step == PLY:
            known_mass = known_mass and material is not None and material.areal_mg_m2 is not None
            mass += material.areal_mg_m2 or 0 if material is not None else 0
    kind = None if unknown else kind_of(layers)
    return Laminate(tuple(layers), write(layers), kind, tuple(unknown), mass if known_mass else None)


def _layer(line: Line, material: Material | None) -> tuple[Layer, str]:
    """The ply as the notation has it, and what is not known of it."""
    code, angle = (material.code if material is not None else ""), 90_000 if line.angle == -90 else (line.angle or 0) * 1000
    if line.step == CORE:
        return Layer(0, CORE, code), ""
    if material is None:
        return Layer(angle, UD, code), say("{line} is a mix: its direction is not known.", line=line.name)
    form = FORMS.get(material.weave or material.kind)
    if form == MAT:
        return Layer(0, MAT, code), ""
    if line.angle is None:
        return Layer(0, form or UD, code), say("The angle of {line} is not stated.", line=line.name)
    if form is None:
        return Layer(angle, UD, code), say("How the fibres of {code} run is not stated: enter its weave.", code=code)
    return Layer(angle, form, code), ""
