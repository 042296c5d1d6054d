"""A laminate's stiffness as figures, tables and a plot: for a worksheet, a design's page, and machines."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.core.said import say, strung
from inventory.worksheets.registry import Chart, Figure, Series, Table
from inventory.worksheets.registry import Sheet as Answer
from layups.core.laminate import Numbers, Weights
from layups.core.notation import Layer, write
from layups.core.stiffness import Sheet, Stiffness, by_direction, constants, curvature, flexural
from layups.core.symmetry import Kind

AID = say("An aid: measured values, the drawing and a qualified engineer decide. Strength is not computed.")
COOLED_K = 100
"""What a curl is shown for; it grows in proportion."""


def answer(layers: Sequence[Layer], kind: Kind | None, numbers: Numbers) -> Answer:
    """All that is known of a laminate of real materials; what is not is said."""
    found = numbers.stiffness
    figures = [Figure(say("plies"), str(len(layers)), len(layers))]
    figures += [thickness(numbers.thickness_m)] if numbers.thickness_m is not None else []
    figures += weights(numbers.weights)
    notes: list[str] = []
    cautions: list[str] = []
    if found is not None and numbers.sheets is not None:
        figures += [*constants_of(found), *flexural_of(found)]
        notes += held_flat(kind) if kind is not None else ()
        if kind is not None and not kind.symmetric:
            cautions.append(warps(numbers))
    return Answer(
        headline=headline(layers, kind) if kind is not None else write(layers),
        figures=tuple(figures),
        notes=(*notes, *numbers.missing),
        cautions=(*cautions, AID),
        tables=(matrices(found), plies(layers, numbers.sheets)) if found is not None and numbers.sheets is not None else (),
        charts=(polar(found),) if found is not None else (),
    )


def weights(found: Weights) -> list[Figure]:
    """On a square metre."""
    named = ((say("fibre"), found.fibre), (say("resin"), found.resin), (say("core"), found.core), (say("all together"), found.whole))
    note = {"all together": say("without resin that a core takes") if found.core else ""}
    return [
        Figure(
            say("weight, {name}", name=name), say("{mg} g/m²", mg=f"{float(mg) / 1000.0:.0f}"), float(mg) / 1e3, "g/m²", note.get(name, "")
        )
        for name, mg in named
        if mg is not None and (mg or name != "core")
    ]


def warps(numbers: Numbers) -> str:
    """How far an unsymmetric laminate curls, free."""
    if not numbers.expands or numbers.sheets is None:
        return say("Not symmetric, so it may warp as it cools; how far is not known without the thermal expansion of every ply.")
    bent = curvature(numbers.sheets, -COOLED_K)
    told = []
    for axis, value in zip((say("along x"), say("along y")), bent, strict=False):
        if abs(value) > 1e-6:
            told.append(say("{axis} to a radius of {value} m", axis=axis, value=f"{1 / abs(value):.3g}"))
    if abs(bent[2]) > 1e-6:
        told.append(say("twisted by {bent} /m", bent=f"{abs(bent[2]):.3g}"))
    if not told:
        return say("Not symmetric, yet by its expansions it stays flat as it cools.")
    return say(
        "It warps as it cools: by {cooled_k} K, free, {told}; in proportion for more or less.", cooled_k=COOLED_K, told=strung(", ", told)
    )


def headline(layers: Sequence[Layer], kind: Kind) -> str:
    symmetric = "symmetric" if kind.symmetric else say("antisymmetric") if kind.antisymmetric else say("not symmetric")
    return say(
        "{write}: {in_plane} in plane, {symmetric}, {which}.",
        write=write(layers),
        in_plane=kind.in_plane,
        symmetric=symmetric,
        which=say("balanced") if kind.balanced else say("not balanced"),
    )


def held_flat(kind: Kind) -> tuple[str, ...]:
    return () if kind.symmetric else (say("The constants hold while it is held flat; free, it is softer, because pulling bends it."),)


def thickness(metres: float) -> Figure:
    return Figure(say("thickness"), say("{metres} mm", metres=f"{metres * 1000.0:.3f}"), metres * 1e3, "mm")


def constants_of(found: Stiffness) -> tuple[Figure, ...]:
    got = constants(found)
    plain = (("νxy", got.nuxy), ("νyx", got.nuyx), ("ηx", got.eta_x), ("ηy", got.eta_y))
    notes = {"ηx": say("shear strain by a pull along x, as a share of the strain along it"), "ηy": say("the same by a pull along y")}
    return (
        *(_giga(name, value) for name, value in ((say("Ex"), got.ex), (say("Ey"), got.ey), (say("Gxy"), got.gxy))),
        *(Figure(name, f"{zero(value):.4f}", value, "", notes.get(name, "")) for name, value in plain),
    )


def flexural_of(found: Stiffness) -> tuple[Figure, ...]:
    got = flexural(found)
    note = say("in bending, free in its plane")
    return (
        *(
            _giga(name, value, note)
            for name, value in ((say("Ex bending"), got.ex), (say("Ey bending"), got.ey), (say("Gxy twisting"), got.gxy))
        ),
        Figure(say("νxy bending"), f"{zero(got.nuxy):.4f}", got.nuxy, "", note),
    )


def _giga(name: str, value: float, note: str = "") -> Figure:
    return Figure(name, say("{value} GPa", value=f"{value / 1000000000.0:.2f}"), value / 1e9, "GPa", note)


def zero(value: float) -> float:
    """Without the sign that rounding leaves on nothing."""
    return round(value, 4) + 0.0


def matrices(found: Stiffness) -> Table:
    rows = tuple(
        (f"{name}{i + 1}{j + 1}".replace("3", "6"), float(matrix[i, j]), unit)
        for name, matrix, unit in (("A", found.a, "N/m"), ("B", found.b, "N"), ("D", found.d, "N·m"))
        for i, j in ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    )
    return Table(say("Stiffness A, B, D"), (say("entry"), say("value"), say("unit")), rows)


def plies(layers: Sequence[Layer], sheets: Sequence[Sheet]) -> Table:
    rows = tuple(
        (n, layer.material, layer.form, layer.angle_md / 1000, ply.thickness * 1e3)
        for n, (layer, ply) in enumerate(zip(layers, sheets, strict=True), start=1)
    )
    return Table(
        say("Plies, from the tool side up"), (say("ply"), say("material"), say("form"), say("angle, °"), say("thickness, mm")), rows
    )


def polar(found: Stiffness) -> Chart:
    points = tuple((angle, e / 1e9) for angle, e in by_direction(found))
    most, least = max(points, key=lambda p: p[1]), min(points, key=lambda p: p[1])
    spread = most[1] - least[1]
    says = (
        say("As stiff in each direction: {most} GPa.", most=f"{most[1]:.1f}")
        if spread < 1e-6 * most[1]
        else say(
            "Stiffest at {most}° with {most_2} GPa, softest at {least}° with {least_2} GPa.",
            most=f"{most[0]:g}",
            most_2=f"{most[1]:.1f}",
            least=f"{least[0]:g}",
            least_2=f"{least[1]:.1f}",
        )
    )
    return Chart(say("Young's modulus by direction"), "polar", "°", "GPa", (Series("E", points),), says)
