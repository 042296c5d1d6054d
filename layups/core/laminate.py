"""A laminate with the data of its materials: how thick, how heavy, how stiff, what of it is fibre and what resin.

Every figure comes from a data sheet or follows from others by geometry. What is missing is named and nothing is put in its place, so a
laminate may have a mass and no stiffness. Masses are per square metre. Resin that a core takes is not in them: nobody knows it from
the plies.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.geometry import PPM, cured_thickness_um, fibre_volume, fibre_weight
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung

from .notation import CORE, FABRIC, MAT, NO_DIRECTION, Layer
from .stiffness import Elastic, Sheet, Stiffness, stiffness

DRY, IMPREGNATED, SOLID = "dry", "impregnated", "solid"


@dataclass(frozen=True, slots=True)
class Stuff:
    """What is known of a material. `made`: a dry fabric, one that brings its resin, or solid (a core). Areal weight mg/m² (of a prepreg
    with its resin), thickness µm as it is sold; then a data sheet's figures in the units of its record."""

    code: str
    made: str = DRY
    areal_mg_m2: int | None = None
    thickness_um: int | None = None
    density_mg_cm3: int | None = None
    e1_pa: int | None = None
    e2_pa: int | None = None
    g12_pa: int | None = None
    nu12_ppm: int | None = None
    alpha1_e12: int | None = None
    alpha2_e12: int | None = None
    cured_nm: int | None = None
    fibre_mg_cm3: int | None = None
    resin_mg_cm3: int | None = None
    fibre_volume_ppm: int | None = None
    resin_weight_ppm: int | None = None


@dataclass(frozen=True, slots=True)
class Weights:
    """mg/m², exactly; None where it is not known."""

    fibre: Fraction | None = Fraction(0)
    resin: Fraction | None = Fraction(0)
    core: Fraction | None = Fraction(0)
    whole: Fraction | None = Fraction(0)

    def plus(self, other: Weights) -> Weights:
        return Weights(*(_sum(getattr(self, name), getattr(other, name)) for name in ("fibre", "resin", "core", "whole")))


@dataclass(frozen=True, slots=True)
class Numbers:
    """`sheets` and `stiffness` are None where a figure is missing, `expands` says that the expansion of every ply is known. `missing`: a
    sentence for each material that lacks something."""

    sheets: tuple[Sheet, ...] | None
    stiffness: Stiffness | None
    thickness_m: float | None
    thickness: Mapping[str, float]
    weights: Weights
    expands: bool
    missing: tuple[str, ...]


def _sum(one: Fraction | None, other: Fraction | None) -> Fraction | None:
    return None if one is None or other is None else one + other


def numbers_of(layers: Sequence[Layer], stuffs: Mapping[str, Stuff]) -> Numbers:
    """`stuffs` by code. A ply whose material is not among them lacks everything."""
    weights, missing = Weights(), []
    sheets: list[Sheet | None] = []
    thick: dict[str, float | None] = {}
    for layer in layers:
        stuff = stuffs.get(layer.material, Stuff(layer.material or say("a ply without a material")))
        told = lacking(stuff, layer.form)
        if told and told not in missing:
            missing.append(told)
        thick[layer.material] = thickness_of(stuff)
        sheets.append(sheet_of(stuff, layer))
        weights = weights.plus(weights_of(stuff))
    whole = [sheet for sheet in sheets if sheet is not None]
    complete = len(whole) == len(layers) > 0
    known = [thick[layer.material] for layer in layers]
    return Numbers(
        sheets=tuple(whole) if complete else None,
        stiffness=stiffness(whole) if complete else None,
        thickness_m=None if None in known else sum(t for t in known if t is not None),
        thickness={code: t for code, t in thick.items() if t is not None},
        weights=weights,
        expands=complete and all(s.elastic.alpha1 is not None and s.elastic.alpha2 is not None for s in whole),
        missing=tuple(missing),
    )


# --- one ply -----------------------------------------------------------------------------------------


def lacking(stuff: Stuff, form: str) -> str:
    """What its stiffness, thickness and weight still need, in a sentence; "" for nothing."""
    names = [("E1" if form not in NO_DIRECTION else "E", stuff.e1_pa), ("ν12" if form not in NO_DIRECTION else "ν", stuff.nu12_ppm)]
    if form not in NO_DIRECTION:
        names += [("E2", stuff.e2_pa), ("G12", stuff.g12_pa)]
    absent = [name for name, value in names if value is None]
    if thickness_of(stuff) is None:
        absent.append(say("thickness") if stuff.made == SOLID else say("cured thickness (or fibre by volume with the fibre's density)"))
    weights = weights_of(stuff)
    if stuff.made != SOLID and weights.resin is None:
        absent.append(say("resin by weight (or fibre by volume with both densities)"))
    if weights.whole is None and stuff.areal_mg_m2 is None:
        absent.append(say("areal weight"))
    return say("Not known of {stuff}: {absent}.", stuff=stuff.code, absent=strung(", ", absent)) if absent else ""


def fibre_share(stuff: Stuff) -> Fraction | None:
    """Fibre by weight that is aimed at, of fibre and resin together."""
    if stuff.resin_weight_ppm is not None:
        return 1 - Fraction(stuff.resin_weight_ppm, PPM)
    if None in (stuff.fibre_volume_ppm, stuff.fibre_mg_cm3, stuff.resin_mg_cm3):
        return None
    return fibre_weight(stuff.fibre_volume_ppm or 0, stuff.fibre_mg_cm3 or 0, stuff.resin_mg_cm3 or 0)


def weights_of(stuff: Stuff) -> Weights:
    """One ply on a square metre, as it stands in the part."""
    if stuff.made == SOLID:
        areal = Fraction(stuff.areal_mg_m2) if stuff.areal_mg_m2 is not None else _of_density(stuff)
        return Weights(core=areal, whole=areal)
    share = fibre_share(stuff)
    areal = None if stuff.areal_mg_m2 is None else Fraction(stuff.areal_mg_m2)
    if stuff.made == IMPREGNATED:
        fibre = None if areal is None or share is None else areal * share
        return Weights(fibre, None if areal is None or fibre is None else areal - fibre, Fraction(0), areal)
    resin = None if areal is None or share is None else areal * (1 - share) / share
    return Weights(areal, resin, Fraction(0), _sum(areal, resin))


def _of_density(stuff: Stuff) -> Fraction | None:
    if stuff.density_mg_cm3 is None or stuff.thickness_um is None:
        return None
    return Fraction(stuff.density_mg_cm3 * stuff.thickness_um)  # mg/cm³ × µm is mg/m²


def thickness_of(stuff: Stuff) -> float | None:
    """In m: as stated, else by geometry."""
    if stuff.cured_nm is not None:
        return stuff.cured_nm / 1e9
    if stuff.made == SOLID:
        return None if stuff.thickness_um is None else stuff.thickness_um / 1e6
    fibre, volume = weights_of(stuff).fibre, _volume_ppm(stuff)
    if fibre is None or volume is None or stuff.fibre_mg_cm3 is None:
        return None
    return float(cured_thickness_um(fibre, stuff.fibre_mg_cm3, volume)) / 1e6


def _volume_ppm(stuff: Stuff) -> Fraction | None:
    if stuff.fibre_volume_ppm is not None:
        return Fraction(stuff.fibre_volume_ppm)
    if stuff.resin_weight_ppm is None or stuff.fibre_mg_cm3 is None or stuff.resin_mg_cm3 is None:
        return None
    return fibre_volume(PPM - stuff.resin_weight_ppm, stuff.fibre_mg_cm3, stuff.resin_mg_cm3) * PPM


def sheet_of(stuff: Stuff, layer: Layer) -> Sheet | None:
    """The ply for its stiffness; None where a figure is missing. A mat and a core are as stiff in each direction of their plane. Figures
    that no ply can have raise BadInput, with the material named."""
    thick = thickness_of(stuff)
    if stuff.e1_pa is None or stuff.nu12_ppm is None or thick is None:
        return None
    nu = stuff.nu12_ppm / 1e6
    alpha = [None if a is None else a / 1e12 for a in (stuff.alpha1_e12, stuff.alpha2_e12)]
    if layer.form in NO_DIRECTION:
        e2, g12 = float(stuff.e1_pa), stuff.e1_pa / (2 * (1 + nu)) if nu > -1 else -1.0
        alpha[1] = alpha[0] if alpha[1] is None else alpha[1]
    elif stuff.e2_pa is None or stuff.g12_pa is None:
        return None
    else:
        e2, g12 = float(stuff.e2_pa), float(stuff.g12_pa)
    try:
        return Sheet(Elastic(float(stuff.e1_pa), e2, g12, nu, alpha[0], alpha[1]), thick, layer.angle_md)
    except BadInput as bad:
        raise BadInput(bad.reason.code, say("{stuff}: {bad_reason}", stuff=stuff.code, bad_reason=bad.reason.text), stuff.code) from bad


def misread(layer: Layer, form: str | None, code: str) -> str:
    """Why a ply that was written in one form cannot be of a material that comes in another; "" when it can. `form` None: not stated, so
    the notation says it."""
    if form is None or form == layer.form:
        return ""
    angle = f"{layer.angle_md / 1000:g}".replace("-", "−")
    written = {FABRIC: f"({angle}/…)f", MAT: "mat", CORE: "core"}.get(layer.form, f"{angle}")
    right = {FABRIC: say("a fabric: write (0/90)f or (±45)f"), MAT: say("a mat: write mat"), CORE: say("a core: write core")}
    return say(
        "The ply {written} is to be of {code}, which is {right}.",
        written=written,
        code=code,
        right=right.get(form, say("unidirectional: write its angle alone")),
    )
