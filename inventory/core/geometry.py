"""From filament to cured ply: what a tow, a fabric and a laminate must weigh and measure by their geometry.

Exact fractions of our integers: diameters of filaments in nm (7 µm = 7_000), lengths µm, linear density µg/m, areal weight mg/m²,
density mg/cm³ (1.79 g/cm³ = 1_790), fractions in ppm on the way in and as Fractions on the way out. Weights per length and area, and
rolls by mass and by diameter, stand in `textile`, `convert` and `counting`.

A certificate is the truth and geometry only a check of it: filaments are not quite round, sizing has a mass, tows are not laid at
exactly their nominal spacing. So a check says how far the two are apart; it corrects nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.convert import PI, Exact
from inventory.core.numerals import plain
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say

PPM = 1_000_000
# A published tow (3 000 filaments of 7 µm, 1.76 g/cm³, 198 tex) lies 2.6 % from its geometry.
SLACK_PPM = 30_000
_WORDS = {
    "filaments": say("number of filaments"),
    "diameter_nm": say("filament diameter"),
    "density_mg_cm3": say("density"),
    "fibre_mg_cm3": say("fibre density"),
    "resin_mg_cm3": say("resin density"),
    "measured_mg_cm3": say("measured density"),
    "tex_ug_m": say("linear density (tex)"),
    "areal_mg_m2": say("areal weight"),
    "width_um": say("width"),
    "thickness_um": say("thickness"),
    "length_um": say("length"),
    "tows": say("number of tows"),
    "stated": say("figure on the certificate"),
    "computed": say("computed figure"),
}


@dataclass(frozen=True, slots=True)
class Check:
    """A stated figure beside the one that geometry gives, in the same unit. `apart_ppm`: computed over stated, less one.
    `reason` is None when the two fit."""

    stated: Fraction
    computed: Fraction
    apart_ppm: int
    reason: Reason | None


def above_zero(**values: Exact | None) -> None:
    """Each value must be there and above zero. Raises BadInput geometry.missing or geometry.not_above_zero, naming it."""
    for name, value in values.items():
        word = _WORDS.get(name, name)
        if value is None:
            raise BadInput("geometry.missing", say("The {word} is missing: enter it.", word=word), name, property=name)
        if value <= 0:
            raise BadInput(
                "geometry.not_above_zero", say("The {word} must be above zero.", word=word), name, property=name, value=str(value)
            )


def fraction_of(name: str, word: str, ppm: Exact) -> Fraction:
    """A share given in ppm, strictly between none and all. Raises BadInput geometry.fraction."""
    if not 0 < ppm < PPM:
        text = say(
            "The {word} must lie between 0 and 100 %, and is {fraction} %: check the figure and its unit.",
            word=word,
            fraction=plain(Fraction(ppm) / 10000, 2),
        )
        raise BadInput("geometry.fraction", text, name, property=name, value=str(ppm))
    return Fraction(ppm) / PPM


# --- tow and fabric --------------------------------------------------------------------------------


def tex_from_filaments(filaments: Exact, diameter_nm: Exact, density_mg_cm3: Exact) -> Fraction:
    """Linear density (µg/m) of so many round filaments: N·π/4·d²·ρ, without sizing. Raises BadInput geometry.not_above_zero."""
    above_zero(filaments=filaments, diameter_nm=diameter_nm, density_mg_cm3=density_mg_cm3)
    return Fraction(filaments) * PI / 4 * diameter_nm**2 * density_mg_cm3 / 10**9


def filaments_from_tex(tex_ug_m: Exact, diameter_nm: Exact, density_mg_cm3: Exact) -> Fraction:
    """How many round filaments have this linear density (µg/m); the inverse of `tex_from_filaments`."""
    above_zero(tex_ug_m=tex_ug_m)
    return Fraction(tex_ug_m) / tex_from_filaments(1, diameter_nm, density_mg_cm3)


def diameter_from_tex(tex_ug_m: Exact, filaments: Exact, density_mg_cm3: Exact) -> float:
    """Diameter (nm) of so many round filaments of this linear density (µg/m): √(4·tex/(N·π·ρ))."""
    above_zero(tex_ug_m=tex_ug_m)
    return math.sqrt(Fraction(tex_ug_m) / tex_from_filaments(filaments, 1, density_mg_cm3))


def areal_from_tows(tows: Exact, tex_ug_m: Exact, width_um: Exact) -> Fraction:
    """Areal weight (mg/m²) of tows that lie side by side over a width (µm): a UD tape. Raises BadInput
    geometry.not_above_zero."""
    above_zero(tows=tows, tex_ug_m=tex_ug_m, width_um=width_um)
    return Fraction(tows) * tex_ug_m * 1000 / width_um


def compare(code: str, words: str, stated: Exact, computed: Exact, slack_ppm: int = SLACK_PPM, hint: str = "") -> Check:
    """A figure on a paper against the one that geometry gives; they fit when no more than `slack_ppm` of the stated one apart.

    Raises BadInput geometry.not_above_zero for figures that cannot be compared."""
    above_zero(stated=stated, computed=computed)
    apart = (Fraction(computed) / Fraction(stated) - 1) * PPM
    if abs(apart) <= slack_ppm:
        return Check(Fraction(stated), Fraction(computed), round(apart), None)
    side = "more" if apart > 0 else "less"
    text = say(
        "The {words} does not fit its geometry: by geometry it is {apart} % {side} than stated. {hint}",
        words=words,
        apart=plain(abs(apart) / 10000, 1),
        side=side,
        hint=hint,
    )
    numbers: dict[str, int | str | None] = {"apart_ppm": round(apart), "slack_ppm": slack_ppm}
    return Check(Fraction(stated), Fraction(computed), round(apart), Reason(code, text.strip(), numbers))


def check_tex(stated_ug_m: Exact, filaments: Exact, diameter_nm: Exact, density_mg_cm3: Exact, slack_ppm: int = SLACK_PPM) -> Check:
    """A certificate's tex against its filaments; the reason says how many filaments would fit."""
    computed = tex_from_filaments(filaments, diameter_nm, density_mg_cm3)
    fitting = round(filaments_from_tex(stated_ug_m, diameter_nm, density_mg_cm3))
    hint = say("About {fitting} filaments of that diameter would fit: check count, diameter and density.", fitting=fitting)
    return compare("geometry.tex", say("linear density (tex)"), stated_ug_m, computed, slack_ppm, hint)


def check_areal(stated_mg_m2: Exact, computed_mg_m2: Exact, slack_ppm: int = 50_000) -> Check:
    """A certificate's areal weight against `textile.areal_from_weave` or `areal_from_tows`. ±5 % is the usual tolerance of an areal
    weight (common practice, no source); crimp makes a weave heavier than its geometry, by a per cent or two."""
    hint = say("Check ends, picks and tex, and whether the figure is of the dry fabric or of the prepreg.")
    return compare("geometry.areal", say("areal weight"), stated_mg_m2, computed_mg_m2, slack_ppm, hint)


# --- rolls ---------------------------------------------------------------------------------------


def wound_length_um(outer_um: Exact, core_um: Exact, thickness_um: Exact) -> Fraction:
    """Length (µm) on a roll: the ring's area over the thickness, π(Do² − Di²)/(4t). Layers are taken to lie tight. Raises BadInput
    geometry.not_above_zero, geometry.diameters."""
    above_zero(thickness_um=thickness_um)
    if not 0 <= core_um <= outer_um:
        raise BadInput("geometry.diameters", say("The outer diameter is at least that of the core: measure again."), "outer_um")
    return PI * (Fraction(outer_um) ** 2 - Fraction(core_um) ** 2) / (4 * thickness_um)


def wound_thickness_um(outer_um: Exact, core_um: Exact, length_um: Exact) -> Fraction:
    """Thickness (µm) of the wound material, backing included, from a roll of known length; the inverse of `wound_length_um`."""
    above_zero(length_um=length_um)
    return wound_length_um(outer_um, core_um, length_um)


# --- fibre and resin -------------------------------------------------------------------------------


def fibre_volume(fibre_weight_ppm: Exact, fibre_mg_cm3: Exact, resin_mg_cm3: Exact) -> Fraction:
    """Fibre fraction by volume of a laminate without voids: (wf/ρf)/(wf/ρf + wr/ρr).

    Raises BadInput geometry.fraction, geometry.not_above_zero."""
    above_zero(fibre_mg_cm3=fibre_mg_cm3, resin_mg_cm3=resin_mg_cm3)
    share = fraction_of("fibre_weight", say("fibre fraction by weight"), fibre_weight_ppm)
    fibre, resin = share / fibre_mg_cm3, (1 - share) / resin_mg_cm3
    return fibre / (fibre + resin)


def fibre_weight(fibre_volume_ppm: Exact, fibre_mg_cm3: Exact, resin_mg_cm3: Exact) -> Fraction:
    """Fibre fraction by weight from the one by volume; the inverse of `fibre_volume`."""
    above_zero(fibre_mg_cm3=fibre_mg_cm3, resin_mg_cm3=resin_mg_cm3)
    share = fraction_of("fibre_volume", say("fibre fraction by volume"), fibre_volume_ppm)
    fibre, resin = share * fibre_mg_cm3, (1 - share) * resin_mg_cm3
    return fibre / (fibre + resin)


def prepreg_areal(fibre_areal_mg_m2: Exact, resin_weight_ppm: Exact) -> Fraction:
    """Areal weight (mg/m²) of a prepreg from that of its fibre and its resin fraction by weight."""
    above_zero(areal_mg_m2=fibre_areal_mg_m2)
    return fibre_areal_mg_m2 / (1 - fraction_of("resin_weight", say("resin fraction by weight"), resin_weight_ppm))


def resin_weight(fibre_areal_mg_m2: Exact, prepreg_areal_mg_m2: Exact) -> Fraction:
    """Resin fraction by weight from the areal weights of fibre and prepreg. Raises BadInput geometry.areal_order when the prepreg
    is not the heavier one."""
    above_zero(areal_mg_m2=fibre_areal_mg_m2)
    if prepreg_areal_mg_m2 <= fibre_areal_mg_m2:
        text = say("The prepreg must weigh more than its fibre alone: are the two areal weights exchanged?")
        raise BadInput("geometry.areal_order", text, "areal_mg_m2")
    return 1 - Fraction(fibre_areal_mg_m2) / prepreg_areal_mg_m2


def cured_thickness_um(fibre_areal_mg_m2: Exact, fibre_mg_cm3: Exact, fibre_volume_ppm: Exact) -> Fraction:
    """Thickness (µm) of a cured ply: FAW/(ρf·Vf). With Vf counted on the whole laminate, its voids are in it."""
    above_zero(areal_mg_m2=fibre_areal_mg_m2, fibre_mg_cm3=fibre_mg_cm3)
    return fibre_areal_mg_m2 / (fibre_mg_cm3 * fraction_of("fibre_volume", say("fibre fraction by volume"), fibre_volume_ppm))


def volume_from_thickness(fibre_areal_mg_m2: Exact, fibre_mg_cm3: Exact, thickness_um: Exact) -> Fraction:
    """Fibre fraction by volume of a ply (or of a laminate, with all its fibre) of this thickness (µm): FAW/(ρf·t), voids counted in.
    Raises BadInput geometry.too_thin where the fibre alone would be thicker."""
    above_zero(areal_mg_m2=fibre_areal_mg_m2, fibre_mg_cm3=fibre_mg_cm3, thickness_um=thickness_um)
    share = Fraction(fibre_areal_mg_m2) / fibre_mg_cm3 / thickness_um
    if share >= 1:
        text = say("The fibre alone would be thicker than that: check thickness, areal weight and number of plies.")
        raise BadInput("geometry.too_thin", text, "thickness_um")
    return share


def laminate_density(fibre_volume_ppm: Exact, fibre_mg_cm3: Exact, resin_mg_cm3: Exact) -> Fraction:
    """Density (mg/cm³) without voids: Vf·ρf + (1−Vf)·ρr."""
    above_zero(fibre_mg_cm3=fibre_mg_cm3, resin_mg_cm3=resin_mg_cm3)
    share = fraction_of("fibre_volume", say("fibre fraction by volume"), fibre_volume_ppm)
    return share * fibre_mg_cm3 + (1 - share) * resin_mg_cm3


def voids(measured_mg_cm3: Exact, fibre_weight_ppm: Exact, fibre_mg_cm3: Exact, resin_mg_cm3: Exact) -> Fraction | Reason:
    """Void fraction by volume from a measured density and fibre weight: 1 − ρ/ρ(no voids). A difference of two nearly equal
    figures: half a per cent in a density moves it by half a per cent of the volume.

    Reason geometry.denser when the piece is denser than its constituents allow: then a density or the fibre weight is wrong."""
    above_zero(measured_mg_cm3=measured_mg_cm3, fibre_mg_cm3=fibre_mg_cm3, resin_mg_cm3=resin_mg_cm3)
    share = fraction_of("fibre_weight", say("fibre fraction by weight"), fibre_weight_ppm)
    solid = 1 / (share / fibre_mg_cm3 + (1 - share) / resin_mg_cm3)
    if measured_mg_cm3 > solid:
        text = say(
            "Measured {fraction} g/cm³, but without any voids it would be {solid} g/cm³: check the densities of "
            "fibre and resin, and the fibre fraction.",
            fraction=plain(Fraction(measured_mg_cm3) / 1000, 3),
            solid=plain(solid / 1000, 3),
        )
        return Reason("geometry.denser", text, {"solid_mg_cm3": round(solid), "measured_mg_cm3": round(measured_mg_cm3)})
    return 1 - measured_mg_cm3 / solid
