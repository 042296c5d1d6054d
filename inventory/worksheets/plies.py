"""A ply from fibre and resin: shares by weight and by volume, thickness, density, voids; and how much is left on a roll."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core import geometry
from inventory.core.reasons import BadInput, Reason, told_at
from inventory.core.said import say, strung, template

from .registry import TOW, Figure, Sheet, exactly, figure, maybe, measured, needed, worksheet

PPM = 10**6
DENSITY, AREAL, THICK = ("g/cm³", "lb/in³"), ("g/m²", "oz/yd²"), ("mm", "mil")


@dataclass(frozen=True, slots=True)
class Ply:
    """One share says the others: of resin or fibre by weight, of fibre by volume, by the prepreg's areal weight, or by the thickness."""

    fibre_density: str = figure(say("Density of the fibre"), "density", "g/cm³", "1.79 g/cm³")
    resin_density: str = figure(say("Density of the resin"), "density", "g/cm³", "1.30 g/cm³")
    fibre_areal_weight: str = figure(say("Areal weight of the fibre"), "areal weight", "g/m²", "134 g/m²", optional=True)
    resin_weight: str = figure(say("Resin by weight"), "share", "%", "35 %", say("Or one of the further figures instead."), optional=True)
    fibre_weight: str = figure(say("Fibre by weight"), "share", "%", "")
    fibre_volume: str = figure(say("Fibre by volume"), "share", "%", "")
    prepreg_areal_weight: str = figure(say("Areal weight of the prepreg"), "areal weight", "g/m²", "", say("With that of the fibre."))
    thickness: str = figure(say("Measured thickness"), "length", "mm", "", say("Of all plies; with the fibre's areal weight."))
    plies: str = figure(say("Number of plies"), "number", "", "", say("1 when left out."))
    measured_density: str = figure(say("Measured density"), "density", "g/cm³", "", say("Of the cured laminate: it tells the voids."))


_SHARES = ("resin_weight", "fibre_weight", "fibre_volume", "prepreg_areal_weight", "thickness")


@worksheet("ply", Ply, say("Ply"), say("Fibre by weight and by volume, cured thickness, density, voids, and the prepreg's weight."), TOW)
def ply(p: Ply) -> Sheet:
    fibre, resin = exactly(p, "fibre_density"), exactly(p, "resin_density")
    faw, plies = maybe(p, "fibre_areal_weight"), _plies(p)
    with told_at(_FIELDS | {"fibre_weight": _which(p)[0], "fibre_volume": _which(p)[0], "resin_weight": _which(p)[0]}):
        geometry.above_zero(fibre_mg_cm3=fibre, resin_mg_cm3=resin)
        weight = _fibre_weight(p, fibre, resin, faw, plies)
        volume = geometry.fibre_volume(weight * PPM, fibre, resin)
        prepreg = maybe(p, "prepreg_areal_weight")
        if faw is None and prepreg is not None:
            faw = prepreg * weight
        density = geometry.laminate_density(volume * PPM, fibre, resin)
        found = [
            _share(say("fibre by volume"), volume), _share(say("fibre by weight"), weight), _share(say("resin by weight"), 1 - weight),
            measured(say("density"), density, "density", DENSITY, say("without voids")),
        ]  # fmt: skip
        if faw is not None:
            found += _thickness(faw, fibre, weight, volume, plies)
        told = _voids(p, weight, fibre, resin)
    if isinstance(told, Fraction):
        found.append(_share("voids", told, say("by the measured density")))
        found.append(_share(say("fibre by volume, with voids"), volume * (1 - told)))
        if faw is not None:
            thick = geometry.cured_thickness_um(faw * PPM, fibre, volume * (1 - told) * PPM) / PPM
            found.append(measured(say("cured ply thickness, with voids"), thick, "length", THICK))
    return Sheet(
        _headline(volume, found),
        tuple(found),
        (
            say(
                "Voids are the difference of two nearly equal densities: half a per cent in one moves them by half a "
                "per cent of the volume."
            ),
        )
        if told is not None
        else (),
        (told.text,) if isinstance(told, Reason) else (),
    )


_FIELDS = {
    "fibre_mg_cm3": "fibre_density",
    "resin_mg_cm3": "resin_density",
    "areal_mg_m2": "fibre_areal_weight",
    "thickness_um": "thickness",
    "measured_mg_cm3": "measured_density",
}


def _which(p: Ply) -> list[str]:
    """The one share that was given. A prepreg's areal weight beside another share stands for the fibre's."""
    said = [name for name in _SHARES if getattr(p, name).strip()]
    if len(said) == 2 and "prepreg_areal_weight" in said and not p.fibre_areal_weight.strip():
        said.remove("prepreg_areal_weight")
    if len(said) != 1:
        text = say(
            "Enter one of: resin by weight, fibre by weight, fibre by volume, areal weight of the prepreg, thickness. The others follow."
        )
        raise BadInput("ply.one_share", text, said[-1] if said else "resin_weight")
    return said


def _fibre_weight(p: Ply, fibre: Fraction, resin: Fraction, faw: Fraction | None, plies: int) -> Fraction:
    """Fibre by weight, from the share that was given."""
    (name,) = _which(p)
    value = exactly(p, name)
    if name == "resin_weight":
        return 1 - geometry.fraction_of("resin_weight", say("resin by weight"), value * PPM)
    if name == "fibre_weight":
        return geometry.fraction_of("fibre_weight", say("fibre by weight"), value * PPM)
    if name == "fibre_volume":
        return geometry.fibre_weight(value * PPM, fibre, resin)
    if faw is None:
        raise BadInput("worksheet.needed", say("For this, enter the areal weight of the fibre too."), "areal_mg_m2")
    if name == "prepreg_areal_weight":
        geometry.above_zero(areal_mg_m2=faw)
        with told_at("prepreg_areal_weight"):
            return 1 - geometry.resin_weight(faw * PPM, value * PPM)
    volume = geometry.volume_from_thickness(faw * PPM * plies, fibre, value * PPM)
    return geometry.fibre_weight(volume * PPM, fibre, resin)


def _plies(p: Ply) -> int:
    plies = maybe(p, "plies")
    if plies is None:
        return 1
    if plies.denominator != 1 or not 1 <= plies <= 10_000:
        raise BadInput("quantity.whole", say("The number of plies is a whole number from 1 to 10000."), "plies")
    return int(plies)


def _thickness(faw: Fraction, fibre: Fraction, weight: Fraction, volume: Fraction, plies: int) -> list[Figure]:
    thick = geometry.cured_thickness_um(faw * PPM, fibre, volume * PPM) / PPM
    whole = geometry.prepreg_areal(faw * PPM, (1 - weight) * PPM) / PPM
    found = [
        measured(say("cured ply thickness"), thick, "length", THICK, say("without voids")),
        measured(
            say("areal weight with resin"), whole, "areal weight", AREAL, say("of one ply: the prepreg's, when none of its resin bleeds")
        ),
        measured(say("areal weight of the fibre"), faw, "areal weight", AREAL),
        measured(say("resin for a ply"), whole - faw, "areal weight", AREAL),
    ]
    return (
        [*found, measured(say("laminate thickness"), thick * plies, "length", THICK, say("{plies} plies", plies=plies))]
        if plies > 1
        else found
    )


def _voids(p: Ply, weight: Fraction, fibre: Fraction, resin: Fraction) -> Fraction | Reason | None:
    said = maybe(p, "measured_density")
    return None if said is None else geometry.voids(said, weight * PPM, fibre, resin)


def _share(name: str, share: Fraction, note: str = "") -> Figure:
    return Figure(name, say("{share} %", share=f"{float(share) * 100:.2f}"), float(share * 100), "%", note)


def _headline(volume: Fraction, found: list[Figure]) -> str:
    thick = next((say(", {value} mm a ply", value=f"{f.value:.3f}") for f in found if f.name == "cured ply thickness"), "")
    return say("{volume} % fibre by volume{thick}.", volume=f"{float(volume) * 100:.2f}", thick=thick)


@dataclass(frozen=True, slots=True)
class Roll:
    """By the scale: gross, the core alone, and what a metre weighs (linear density, or areal weight and width). By the tape: outer and
    core diameter, and the thickness, or the length and diameter of the full roll. Both may be given."""

    outer: str = figure(say("Outer diameter"), "length", "mm", "300 mm", optional=True)
    core: str = figure(say("Core diameter"), "length", "mm", "76 mm", optional=True)
    thickness: str = figure(say("Thickness of what is wound"), "length", "mm", "0.25 mm", say("With its backing."), optional=True)
    full_length: str = figure(say("Length of the full roll"), "length", "m", "", say("Instead of the thickness, with its diameter."))
    full_outer: str = figure(say("Outer diameter of the full roll"), "length", "mm", "")
    gross: str = figure(say("Mass on the scale"), "mass", "kg", "")
    tare: str = figure(say("Mass of the core alone"), "mass", "kg", "")
    areal_weight: str = figure(say("Areal weight"), "areal weight", "g/m²", "", say("Of all that is wound, backing included."))
    width: str = figure(say("Width"), "length", "mm", "")
    linear_density: str = figure(say("Linear density"), "linear density", "tex", "", say("Of a tow, instead of areal weight and width."))


BY_DIAMETER = (say("length by diameter"), say("area by diameter"), template("{length} by diameter"))
BY_MASS = (say("length by mass"), say("area by mass"), template("{length} by mass"))
"""What each way of measuring calls the length and the area that it gives, and how it says the length."""


@worksheet("roll", Roll, say("Roll or spool"), say("How much is left, by the scale or by the diameter."), TOW)
def roll(p: Roll) -> Sheet:
    found, lengths = [], []
    if p.outer.strip() or p.core.strip():
        thick, length = _by_diameter(p)
        lengths.append((BY_DIAMETER, length))
        found.append(measured(say("thickness of what is wound"), thick, "length", THICK))
    if p.gross.strip():
        lengths.append((BY_MASS, _by_mass(p, found)))
    if not lengths:
        raise BadInput("worksheet.needed", say("Enter the outer and the core diameter, or the mass on the scale."), "outer")
    width = maybe(p, "width")
    areas = [measured(by[1], length * width, "area", ("m²", "yd²")) for by, length in lengths if width is not None]
    figures = [measured(by[0], length, "length", ("m", "yd"), digits=6) for by, length in lengths]
    says = strung(say(" and "), (say(by[2], length=f.text) for (by, _), f in zip(lengths, figures, strict=True)))
    notes = [say("Nominal: layers are taken to lie tight, and weights and thicknesses have their tolerances.")]
    if len(lengths) == 2 and lengths[1][1] > 0:
        apart = float(lengths[0][1] / lengths[1][1] - 1) * 100
        notes.append(
            say(
                "By diameter it is {apart} % {which} than by mass.",
                apart=f"{abs(apart):.1f}",
                which=say("more") if apart > 0 else say("less"),
            )
        )
    return Sheet(says + ".", (*figures, *areas, *found), tuple(notes))


def _by_diameter(p: Roll) -> tuple[Fraction, Fraction]:
    """Thickness and length."""
    why = say("Enter the outer and the core diameter.")
    outer, core, thick = needed(p, "outer", why), needed(p, "core", why), maybe(p, "thickness")
    if thick is None:
        why = say("Enter the thickness, or length and outer diameter of the full roll.")
        full, across = needed(p, "full_length", why), needed(p, "full_outer", why)
        with told_at({"outer_um": "full_outer", "thickness_um": "full_length", "length_um": "full_length"}):
            thick = geometry.wound_thickness_um(across * PPM, core * PPM, full * PPM) / PPM
        if not thick:
            raise BadInput("geometry.diameters", say("A full roll is thicker than its core: measure again."), "full_outer")
    with told_at({"outer_um": "outer", "thickness_um": "thickness"}):
        return thick, geometry.wound_length_um(outer * PPM, core * PPM, thick * PPM) / PPM


def _by_mass(p: Roll, found: list[Figure]) -> Fraction:
    gross, tare = exactly(p, "gross"), maybe(p, "tare") or Fraction(0)
    if tare < 0 or gross < tare:
        text = (
            say("Gross is less than the core alone: weigh again, or correct the core's mass.")
            if tare >= 0
            else say("A mass is not below zero.")
        )
        raise BadInput("count.gross_below_tare", text, "gross" if tare >= 0 else "tare")
    per_metre = maybe(p, "linear_density")
    if per_metre is None:
        why = say("To go from mass to length, enter areal weight and width, or the linear density.")
        per_metre = needed(p, "areal_weight", why) * needed(p, "width", why)
    if per_metre <= 0:
        raise BadInput(
            "geometry.not_above_zero",
            say("What a metre weighs must be above zero."),
            "linear_density" if p.linear_density else "areal_weight",
        )
    found.append(measured(say("net mass"), gross - tare, "mass", ("kg", "lb")))
    return (gross - tare) / per_metre
