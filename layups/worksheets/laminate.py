"""A laminate from its notation: what kind it is, how stiff, how it shares out directions."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.reasons import BadInput, told_at
from inventory.worksheets.registry import Chart, Figure, Series, Sheet, Table, figure, given, number, worksheet
from layups.core.notation import CORE, FABRIC, MAT, UD, Layer, read, write
from layups.core.stiffness import Constants, Elastic, Stiffness, by_direction, constants, curvature, stiffness
from layups.core.stiffness import Sheet as Ply
from layups.core.symmetry import kind_of

WORDS = {UD: "unidirectional", FABRIC: "fabric", MAT: "mat", CORE: "core"}


@dataclass(frozen=True, slots=True)
class Laminate:
    """Constants of the plies; those of a form that the layup does not have may be left out."""

    layup: str = figure("Layup", default="[0/±45/90]s", words="From the tool side up: [0/±45/90]s, [(0/90)f/(±45)f]s, [0_2/core/0_2].")
    thickness: str = figure("Thickness of a ply", "length", "mm", "0.125 mm")
    e1: str = figure("E1, along the fibres", "pressure", "GPa", "181 GPa")
    e2: str = figure("E2, across", "pressure", "GPa", "10.3 GPa")
    g12: str = figure("G12, in-plane shear", "pressure", "GPa", "7.17 GPa")
    nu12: str = figure("ν12", "number", "", "0.28")
    fabric_thickness: str = figure("Thickness of a fabric ply", "length", "mm", "")
    fabric_e: str = figure("E of the fabric, along a yarn", "pressure", "GPa", "")
    fabric_g: str = figure("G12 of the fabric", "pressure", "GPa", "")
    fabric_nu: str = figure("ν12 of the fabric", "number", "", "")
    mat_thickness: str = figure("Thickness of a mat ply", "length", "mm", "")
    mat_e: str = figure("E of the mat", "pressure", "GPa", "")
    mat_nu: str = figure("ν of the mat", "number", "", "")
    core_thickness: str = figure("Thickness of the core", "length", "mm", "")
    core_e: str = figure("E of the core", "pressure", "MPa", "")
    core_nu: str = figure("ν of the core", "number", "", "")
    alpha1: str = figure("α1, expansion along the fibres", "expansion", "1e-6/K", "", "For the curl after the cure.")
    alpha2: str = figure("α2, across", "expansion", "1e-6/K", "")
    change: str = figure("Change of temperature, K", "number", "", "", "Such as −100 for a cure at 120 °C.")


@worksheet("laminate", Laminate, "Laminate", "What kind of laminate a layup is, and how stiff it is in each direction.")
def laminate(p: Laminate) -> Sheet:
    layers = read(p.layup)
    plies = [_ply(p, layer) for layer in layers]
    kind = kind_of(layers, {layer.material: ply.thickness for layer, ply in zip(layers, plies, strict=True)} if _one_form(layers) else None)
    found = stiffness(plies)
    got = constants(found)
    round_ = by_direction(found)
    symmetric = "symmetric" if kind.symmetric else "antisymmetric" if kind.antisymmetric else "not symmetric"
    notes = list(kind.reasons)
    if not kind.symmetric:
        notes.append("The constants hold while it is held flat; free, it is softer, because pulling bends it.")
    return Sheet(
        headline=f"{write(layers)}: {kind.in_plane} in plane, {symmetric}, {'balanced' if kind.balanced else 'not balanced'}.",
        figures=(
            Figure("plies", str(len(layers)), len(layers)),
            Figure("thickness", f"{found.thickness * 1e3:.3f} mm", found.thickness * 1e3, "mm"),
            *_constants(got),
            *_curl(p, plies),
        ),
        notes=tuple(notes),
        cautions=("An aid: measured values, the drawing and a qualified engineer decide. Strength is not computed.",),
        tables=(_matrices(found), _plies(layers, plies)),
        charts=(_polar(round_),),
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
        raise BadInput("worksheet.needed", f"The layup has a {WORDS[form]} ply: enter this figure for it.", name)
    return number(p, name)


def _constants(got: Constants) -> tuple[Figure, ...]:
    giga = (("Ex", got.ex), ("Ey", got.ey), ("Gxy", got.gxy))
    plain = (("νxy", got.nuxy), ("νyx", got.nuyx), ("ηx", got.eta_x), ("ηy", got.eta_y))
    notes = {"ηx": "shear strain by a pull along x, as a share of the strain along it", "ηy": "the same by a pull along y"}
    return (
        *(Figure(name, f"{value / 1e9:.2f} GPa", value / 1e9, "GPa") for name, value in giga),
        *(Figure(name, f"{_zero(value):.4f}", value, "", notes.get(name, "")) for name, value in plain),
    )


def _zero(value: float) -> float:
    """Without the sign that rounding leaves on nothing."""
    return round(value, 4) + 0.0


def _curl(p: Laminate, plies: list[Ply]) -> tuple[Figure, ...]:
    change = given(p, "change")
    if change is None:
        return ()
    note = "free, after the change of temperature"
    found = zip(("x", "y", "xy"), curvature(plies, change), strict=True)
    return tuple(Figure(f"curvature κ{axis}", f"{_zero(value):.4f} /m", value, "1/m", note) for axis, value in found)


def _matrices(found: Stiffness) -> Table:
    rows = tuple(
        (f"{name}{i + 1}{j + 1}".replace("3", "6"), float(matrix[i, j]), unit)
        for name, matrix, unit in (("A", found.a, "N/m"), ("B", found.b, "N"), ("D", found.d, "N·m"))
        for i, j in ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    )
    return Table("Stiffness A, B, D", ("entry", "value", "unit"), rows)


def _plies(layers: list[Layer], plies: list[Ply]) -> Table:
    rows = tuple(
        (n, layer.material, layer.form, layer.angle_md / 1000, ply.thickness * 1e3)
        for n, (layer, ply) in enumerate(zip(layers, plies, strict=True), start=1)
    )
    return Table("Plies, from the tool side up", ("ply", "material", "form", "angle, °", "thickness, mm"), rows)


def _polar(round_: list[tuple[float, float]]) -> Chart:
    points = tuple((angle, e / 1e9) for angle, e in round_)
    most, least = max(points, key=lambda p: p[1]), min(points, key=lambda p: p[1])
    spread = most[1] - least[1]
    says = (
        f"As stiff in each direction: {most[1]:.1f} GPa."
        if spread < 1e-6 * most[1]
        else f"Stiffest at {most[0]:g}° with {most[1]:.1f} GPa, softest at {least[0]:g}° with {least[1]:.1f} GPa."
    )
    return Chart("Young's modulus by direction", "polar", "°", "GPa", (Series("E", points),), says)
