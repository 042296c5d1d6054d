"""A laminate from its notation: what kind it is, how stiff, how it shares out directions."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say
from inventory.worksheets.registry import LAMINATE, Figure, Sheet, figure, given, number, worksheet
from layups.core.notation import CORE, FABRIC, MAT, UD, Layer, read
from layups.core.stiffness import Elastic, curvature, stiffness
from layups.core.stiffness import Sheet as Ply
from layups.core.symmetry import kind_of

from . import drawn

WORDS = {UD: "unidirectional", FABRIC: "fabric", MAT: "mat", CORE: "core"}


@dataclass(frozen=True, slots=True)
class Laminate:
    """Constants of the plies; those of a form that the layup does not have may be left out."""

    layup: str = figure(
        say("Layup"), default="[0/±45/90]s", words=say("From the tool side up: [0/±45/90]s, [(0/90)f/(±45)f]s, [0_2/core/0_2].")
    )
    thickness: str = figure(say("Thickness of a ply"), "length", "mm", "0.125 mm")
    e1: str = figure(say("E1, along the fibres"), "pressure", "GPa", "181 GPa")
    e2: str = figure(say("E2, across"), "pressure", "GPa", "10.3 GPa")
    g12: str = figure(say("G12, in-plane shear"), "pressure", "GPa", "7.17 GPa")
    nu12: str = figure("ν12", "number", "", "0.28")
    fabric_thickness: str = figure(say("Thickness of a fabric ply"), "length", "mm", "")
    fabric_e: str = figure(say("E of the fabric, along a yarn"), "pressure", "GPa", "")
    fabric_g: str = figure(say("G12 of the fabric"), "pressure", "GPa", "")
    fabric_nu: str = figure(say("ν12 of the fabric"), "number", "", "")
    mat_thickness: str = figure(say("Thickness of a mat ply"), "length", "mm", "")
    mat_e: str = figure(say("E of the mat"), "pressure", "GPa", "")
    mat_nu: str = figure(say("ν of the mat"), "number", "", "")
    core_thickness: str = figure(say("Thickness of the core"), "length", "mm", "")
    core_e: str = figure(say("E of the core"), "pressure", "MPa", "")
    core_nu: str = figure(say("ν of the core"), "number", "", "")
    alpha1: str = figure(say("α1, expansion along the fibres"), "expansion", "1e-6/K", "", say("For the curl after the cure."))
    alpha2: str = figure(say("α2, across"), "expansion", "1e-6/K", "")
    change: str = figure(say("Change of temperature, K"), "number", "", "", say("Such as −100 for a cure at 120 °C."))


@worksheet("laminate", Laminate, say("Laminate"), say("What kind of laminate a layup is, and how stiff it is in each direction."), LAMINATE)
def laminate(p: Laminate) -> Sheet:
    layers = read(p.layup)
    plies = [_ply(p, layer) for layer in layers]
    kind = kind_of(layers, {layer.material: ply.thickness for layer, ply in zip(layers, plies, strict=True)} if _one_form(layers) else None)
    found = stiffness(plies)
    return Sheet(
        headline=drawn.headline(layers, kind),
        figures=(
            Figure(say("plies"), str(len(layers)), len(layers)),
            drawn.thickness(found.thickness),
            *drawn.constants_of(found),
            *drawn.flexural_of(found),
            *_curl(p, plies),
        ),
        notes=(*kind.reasons, *drawn.held_flat(kind)),
        cautions=(drawn.AID,),
        tables=(drawn.matrices(found), drawn.plies(layers, plies)),
        charts=(drawn.polar(found),),
    )


def _one_form(layers: list[Layer]) -> bool:
    forms: dict[str, set[str]] = {}
    for layer in layers:
        forms.setdefault(layer.material, set()).add(layer.form)
    return all(len(found) == 1 for found in forms.values())


def _ply(p: Laminate, layer: Layer) -> Ply:
    """The ply with its constants; what no ply can be is told at its field."""
    if layer.form == UD:
        names = {"E1": "e1", "E2": "e2", "G12": "g12", "ν12": "nu12", "thickness": "thickness"}
        figures = (number(p, "e1"), number(p, "e2"), number(p, "g12"), number(p, "nu12"), given(p, "alpha1"), given(p, "alpha2"))
    else:
        form = layer.form
        names = {"E1": f"{form}_e", "E2": f"{form}_e", "G12": f"{form}_g", "ν12": f"{form}_nu", "thickness": f"{form}_thickness"}
        e, nu = _needed(p, form, names["E1"]), _needed(p, form, names["ν12"])
        g = _needed(p, form, "fabric_g") if form == FABRIC else e / (2 * (1 + nu)) if nu > -1 else e
        figures = (e, e, g, nu, None, None)
    with told_at(names):
        return Ply(Elastic(*figures), _needed(p, layer.form, names["thickness"]), layer.angle_md)


def _needed(p: Laminate, form: str, name: str) -> float:
    if not getattr(p, name).strip():
        raise BadInput("worksheet.needed", say("The layup has a {words} ply: enter this figure for it.", words=WORDS[form]), name)
    return number(p, name)


def _curl(p: Laminate, plies: list[Ply]) -> tuple[Figure, ...]:
    change = given(p, "change")
    if change is None:
        return ()
    note = say("free, after the change of temperature")
    found = zip(("x", "y", "xy"), curvature(plies, change), strict=True)
    return tuple(
        Figure(say("curvature κ{axis}", axis=axis), say("{zero} /m", zero=f"{drawn.zero(value):.4f}"), value, "1/m", note)
        for axis, value in found
    )
