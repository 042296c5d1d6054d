"""A laminate of real materials: thickness, weight and stiffness by their data, and what is missing."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from inventory.core.geometry import laminate_density
from inventory.core.reasons import BadInput
from layups.core.laminate import DRY, IMPREGNATED, SOLID, Stuff, fibre_share, misread, numbers_of, thickness_of, weights_of
from layups.core.notation import CORE, FABRIC, MAT, UD, Layer, read
from layups.core.stiffness import constants, flexural

UD_PREPREG = Stuff(
    "U", IMPREGNATED, 234_400, e1_pa=181 * 10**9, e2_pa=10_300 * 10**6, g12_pa=7_170 * 10**6, nu12_ppm=280_000, alpha1_e12=20_000,
    alpha2_e12=22_500_000, cured_nm=125_000, resin_weight_ppm=360_000,
)  # fmt: skip
GLASS = Stuff(
    "G", DRY, 600_000, e1_pa=22 * 10**9, e2_pa=22 * 10**9, g12_pa=4 * 10**9, nu12_ppm=130_000, fibre_mg_cm3=2_600, resin_mg_cm3=1_150,
    fibre_volume_ppm=500_000,
)  # fmt: skip
FOAM = Stuff("C", SOLID, 800_000, 10_000, 80, e1_pa=95 * 10**6, nu12_ppm=320_000)


def layers(text: str, material: str) -> list[Layer]:
    return [replace(layer, material=layer.material or material) for layer in read(text)]


def test_a_dry_ply_is_as_thick_and_heavy_as_its_geometry_makes_it() -> None:
    """600 g/m² of glass at 2.6 g/cm³ and half the volume: 600/(2.6·0.5) µm; and what it weighs is its density times that."""
    assert thickness_of(GLASS) == pytest.approx(600 / (2.6 * 0.5) / 1e6, rel=1e-12)
    weights = weights_of(GLASS)
    assert weights.fibre == 600_000 and weights.resin == Fraction(600_000) * 1_150 / 2_600
    thick_um = Fraction(600_000) / (2_600 * Fraction(1, 2))
    assert weights.whole == laminate_density(500_000, 2_600, 1_150) * thick_um


def test_resin_by_weight_and_fibre_by_volume_are_the_same_statement() -> None:
    by_weight = replace(GLASS, fibre_volume_ppm=None, resin_weight_ppm=round((1 - fibre_share(GLASS)) * 1_000_000))  # type: ignore[operator]
    assert thickness_of(by_weight) == pytest.approx(thickness_of(GLASS), rel=1e-5)
    assert float(weights_of(by_weight).resin or 0) == pytest.approx(float(weights_of(GLASS).resin or 0), rel=1e-5)


def test_a_prepreg_weighs_what_it_says_and_shares_it_out() -> None:
    weights = weights_of(UD_PREPREG)
    assert (weights.fibre, weights.resin, weights.whole) == (234_400 * Fraction(64, 100), 234_400 * Fraction(36, 100), 234_400)


def test_a_laminate_of_one_material_has_its_published_stiffness() -> None:
    """Kaw, the quasi-isotropic laminate of T300/5208: E 69.68, G 26.88 GPa, ν 0.296."""
    found = numbers_of(layers("[0/±45/90]s", "U"), {"U": UD_PREPREG})
    assert found.missing == () and found.expands and found.thickness_m == pytest.approx(1e-3)
    assert found.stiffness is not None
    got = constants(found.stiffness)
    assert (got.ex / 1e9, got.gxy / 1e9, got.nuxy) == pytest.approx((69.68, 26.88, 0.296), rel=5e-4)
    assert found.weights.whole == 8 * 234_400


def test_a_sandwich_is_stiff_in_bending_and_soft_in_its_plane() -> None:
    """Textbook sandwich: E·t·d²/2 of the faces about the middle, their own E·t³/6, and E·c³/12 of the core, each over 1 − ν²."""
    found = numbers_of(layers("[(0/90)f/core:C/(0/90)f]", "G"), {"G": GLASS, "C": FOAM})
    assert found.stiffness is not None and found.missing == ()
    t = thickness_of(GLASS) or 0
    faces = 22e9 / (1 - 0.13**2) * (t * (10e-3 + t) ** 2 / 2 + t**3 / 6)
    core = 95e6 / (1 - 0.32**2) * 10e-3**3 / 12
    assert found.stiffness.d[0, 0] == pytest.approx(faces + core, rel=1e-9)
    assert found.weights.core == 800_000 and found.weights.whole == 2 * (weights_of(GLASS).whole or 0) + 800_000


def test_bending_moduli_of_a_solid_are_those_in_its_plane_and_of_a_cross_ply_are_not() -> None:
    one = numbers_of(layers("[0_4]", "U"), {"U": UD_PREPREG}).stiffness
    assert one is not None
    bent = flexural(one)
    assert (bent.ex, bent.ey, bent.gxy, bent.nuxy) == pytest.approx((181e9, 10.3e9, 7.17e9, 0.28), rel=1e-9)
    cross = numbers_of(layers("[0/90/0]", "U"), {"U": UD_PREPREG}).stiffness
    assert cross is not None
    t = cross.thickness
    assert flexural(cross).ex == pytest.approx(12 / t**3 / np.linalg.inv(cross.d)[0, 0], rel=1e-9)
    assert flexural(cross).ex > 1.3 * constants(cross).ex


@pytest.mark.parametrize(
    ("without", "named"),
    [
        ({"e1_pa": None}, "E1"),
        ({"e2_pa": None, "g12_pa": None}, "E2, G12"),
        ({"nu12_ppm": None}, "ν12"),
        ({"fibre_mg_cm3": None}, "cured thickness"),
        ({"resin_mg_cm3": None}, "resin by weight"),
        ({"areal_mg_m2": None}, "areal weight"),
    ],
)
def test_what_is_missing_is_named_and_nothing_is_put_in_its_place(without: dict[str, None], named: str) -> None:
    found = numbers_of(layers("[(0/90)f_2]", "G"), {"G": replace(GLASS, **without)})
    assert len(found.missing) == 1 and named in found.missing[0] and found.missing[0].startswith("Not known of G: ")
    if "resin_mg_cm3" not in without:
        assert found.stiffness is None
    elastic = {"e1_pa", "e2_pa", "g12_pa", "nu12_ppm"}  # what a ply weighs does not depend on these
    assert (found.weights.whole is None) == (not set(without) <= elastic)


def test_a_material_that_nobody_knows_lacks_everything_and_a_mat_needs_less() -> None:
    assert "E1, ν12, E2, G12, cured thickness" in numbers_of([Layer(0)], {}).missing[0]
    mat = Stuff("M", DRY, 300_000, e1_pa=7 * 10**9, nu12_ppm=330_000, cured_nm=700_000, resin_weight_ppm=700_000)
    found = numbers_of([Layer(0, MAT, "M")], {"M": mat})
    assert found.missing == () and found.stiffness is not None
    assert constants(found.stiffness).gxy == pytest.approx(7e9 / 2.66)
    assert "E, ν" in numbers_of([Layer(0, CORE, "X")], {"X": Stuff("X", SOLID, 1, 1)}).missing[0]


def test_figures_that_no_ply_can_have_name_their_material() -> None:
    with pytest.raises(BadInput, match="G: ν12") as told:
        numbers_of(layers("[(0/90)f]", "G"), {"G": replace(GLASS, nu12_ppm=1_200_000)})
    assert told.value.where == "G"


def test_a_ply_is_written_as_its_material_comes() -> None:
    assert misread(Layer(0, UD), UD, "U") == "" and misread(Layer(0, UD), None, "U") == ""
    assert "G, which is a fabric: write (0/90)f" in misread(Layer(45_000, UD), FABRIC, "G")
    assert "unidirectional" in misread(Layer(0, FABRIC), UD, "U")
    assert "a core: write core" in misread(Layer(0, UD), CORE, "C")
