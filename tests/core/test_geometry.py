"""From filament to cured ply, against published figures."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core import geometry as g
from inventory.core.reasons import BadInput, Reason
from inventory.core.textile import areal_from_weave, denier

pytestmark = pytest.mark.core
densities = st.integers(800, 3_000)
shares = st.integers(1, 999_999)


def test_a_published_carbon_tow_lies_within_three_per_cent_of_its_geometry() -> None:
    """Carbon fibre data sheet CFA-001: 3 000 filaments of 7 µm, 1.76 g/cm³, 198 tex. Geometry gives 203.2."""
    assert float(g.tex_from_filaments(3_000, 7_000, 1_760)) == pytest.approx(203_200, rel=1e-3)
    check = g.check_tex(198_000, 3_000, 7_000, 1_760)
    assert check.reason is None
    assert 25_000 < check.apart_ppm < 30_000


def test_a_page_that_took_the_diameter_for_its_square_is_found_out() -> None:
    """Glass yarn EC9 68 tex (9 µm, 2.6 g/cm³): a page on yarn names claims 3 702 filaments, having used d for d²; about 411 fit."""
    check = g.check_tex(68_000, 3_702, 9_000, 2_600)
    assert check.reason is not None
    assert check.reason.code == "geometry.tex"
    assert "411 filaments" in check.reason.text
    assert g.check_tex(68_000, 411, 9_000, 2_600).reason is None


def test_a_weave_and_its_certificate_are_compared() -> None:
    computed = areal_from_weave(5, 198_000, 5, 198_000)  # 198 g/m², exact: (5·198 + 5·198)/10
    assert g.check_areal(193_000, computed).reason is None
    assert g.check_areal(198_000, computed).apart_ppm == 0
    for stated in (160_000, 330_000):  # 330: of the prepreg, with 40 % resin
        reason = g.check_areal(stated, computed).reason
        assert reason is not None
        assert reason.code == "geometry.areal"
    assert denier(198_000) == 1_782


def test_a_tape_weighs_what_its_tows_weigh() -> None:
    # 50 tows of 800 tex over 300 mm: 50 · 0.8 g/m / 0.3 m = 133.33 g/m²
    assert g.areal_from_tows(50, 800_000, 300_000) == Fraction(400_000, 3)


def test_a_published_prepreg_gives_its_fibre_volume_ply_thickness_and_density() -> None:
    """8552 UD prepreg product data sheet (EU): 1.79 and 1.30 g/cm³, 35 % resin by weight, FAW 134 g/m²: 57.42 %, 0.130 mm, 1.58."""
    volume = g.fibre_volume(650_000, 1_790, 1_300)
    assert round(float(volume) * 100, 2) == 57.42
    assert round(float(g.cured_thickness_um(134_000, 1_790, volume * 10**6)) / 1000, 3) == 0.130
    assert round(float(g.laminate_density(volume * 10**6, 1_790, 1_300)) / 1000, 2) == 1.58
    assert round(float(g.prepreg_areal(134_000, 350_000)) / 1000) == 206  # 134/0.65
    assert g.resin_weight(134_000, g.prepreg_areal(134_000, 350_000)) == Fraction(35, 100)


@given(shares, densities, densities)
def test_fractions_by_weight_and_by_volume_are_each_others_inverse(share: int, fibre: int, resin: int) -> None:
    assert g.fibre_weight(g.fibre_volume(share, fibre, resin) * 10**6, fibre, resin) == Fraction(share, 10**6)


@given(shares, densities, densities, st.integers(0, 500_000))
def test_voids_put_in_come_out_again(share: int, fibre: int, resin: int, void: int) -> None:
    solid = g.laminate_density(g.fibre_volume(share, fibre, resin) * 10**6, fibre, resin)
    measured = solid * (1 - Fraction(void, 10**6))
    assert g.voids(measured, share, fibre, resin) == Fraction(void, 10**6)


@given(st.integers(1, 500_000), st.integers(1_000, 30_000), densities)
def test_filaments_and_tex_are_each_others_inverse(count: int, diameter: int, density: int) -> None:
    tex = g.tex_from_filaments(count, diameter, density)
    assert g.filaments_from_tex(tex, diameter, density) == count
    # tex = N·π/4·d²·ρ·1e-3 with d in µm and ρ in g/cm³
    assert float(tex) / 1000 == pytest.approx(count * math.pi / 4 * (diameter / 1000) ** 2 * density / 1000 * 1e-3, rel=1e-12)


def test_a_piece_denser_than_its_constituents_is_told() -> None:
    found = g.voids(1_700, 650_000, 1_790, 1_300)
    assert isinstance(found, Reason)
    assert found.code == "geometry.denser"


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: g.tex_from_filaments(0, 7_000, 1_760), "geometry.not_above_zero"),
        (lambda: g.tex_from_filaments(3_000, -7_000, 1_760), "geometry.not_above_zero"),
        (lambda: g.filaments_from_tex(0, 7_000, 1_760), "geometry.not_above_zero"),
        (lambda: g.fibre_volume(0, 1_790, 1_300), "geometry.fraction"),
        (lambda: g.fibre_volume(65 * 10**6, 1_790, 1_300), "geometry.fraction"),
        (lambda: g.fibre_volume(650_000, 0, 1_300), "geometry.not_above_zero"),
        (lambda: g.cured_thickness_um(134_000, 1_790, 10**6), "geometry.fraction"),
        (lambda: g.resin_weight(206_000, 134_000), "geometry.areal_order"),
        (lambda: g.above_zero(fibre_mg_cm3=None), "geometry.missing"),
        (lambda: g.areal_from_tows(50, 800_000, 0), "geometry.not_above_zero"),
    ],
)
def test_a_figure_that_cannot_be_is_refused_by_name(call: Callable[[], object], code: str) -> None:
    with pytest.raises(BadInput) as caught:
        call()
    assert caught.value.reason.code == code
    assert caught.value.where
