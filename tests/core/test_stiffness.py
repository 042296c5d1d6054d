"""Stiffness of laminates. Sources stand beside each check; the library `composites` (BSD-3) is the second opinion over random ones."""

from __future__ import annotations

import math

import numpy as np
import pytest
from composipy import LaminateProperty, OrthotropicMaterial
from composites import laminated_plate
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.reasons import BadInput
from layups.core.notation import read
from layups.core.stiffness import Elastic, Sheet, by_direction, constants, curvature, many, reduced, stiffness
from layups.core.symmetry import kind_of

T300 = Elastic(181e9, 10.3e9, 7.17e9, 0.28)


def sheets(text: str, elastic: Elastic = T300, thickness: float = 0.125e-3) -> list[Sheet]:
    return [Sheet(elastic, thickness, layer.angle_md) for layer in read(text)]


def test_reduced_stiffness_of_graphite_epoxy() -> None:
    """Kaw, Mechanics of Composite Materials, 2nd ed., example 2.6: 181.8, 2.897, 10.35, 7.17 GPa."""
    assert reduced(T300) == pytest.approx((181.8e9, 2.897e9, 10.35e9, 7.17e9), rel=5e-4)


def test_membrane_stiffness_of_a_cross_ply() -> None:
    """Kaw's courseware, [0/90/0] of 5 mm plies: A11 1.870e9 (as 1e9), A12 4.345e7, A22 1.013e9, A66 1.076e8 Pa·m."""
    a = stiffness(sheets("[0/90/0]", thickness=5e-3)).a
    assert a[0, 0] == pytest.approx(1.870e9, rel=5e-4)
    assert a[0, 1] == pytest.approx(4.345e7, rel=5e-4)
    assert a[1, 1] == pytest.approx(1.013e9, rel=5e-4)
    assert a[2, 2] == pytest.approx(1.076e8, rel=5e-4)
    assert abs(a[0, 2]) < 1 and abs(a[1, 2]) < 1


@pytest.mark.parametrize("text", ["[0/60/-60]", "[0/45/90/-45]", "[0/±45/90]s", "[15/75/-45]", "[0/36/72/-72/-36]"])
def test_a_quasi_isotropic_stack_is_as_stiff_in_each_direction(text: str) -> None:
    """Kaw, example of the quasi-isotropic laminate: E 69.68 GPa, G 26.88 GPa, ν 0.296; A66 = (A11 − A12)/2 exactly."""
    found = stiffness(sheets(text))
    got = constants(found)
    assert (got.ex / 1e9, got.ey / 1e9, got.gxy / 1e9, got.nuxy) == pytest.approx((69.68, 69.68, 26.88, 0.296), rel=5e-4)
    assert found.a[2, 2] == pytest.approx((found.a[0, 0] - found.a[0, 1]) / 2, rel=1e-12)
    moduli = [e for _, e in by_direction(found)]
    assert max(moduli) / min(moduli) == pytest.approx(1, rel=1e-9)
    assert kind_of(read(text)).in_plane == "quasi-isotropic"


def test_quasi_isotropic_in_plane_is_not_symmetric_by_itself() -> None:
    assert np.abs(stiffness(sheets("[0/60/-60]")).b).max() > 1
    assert np.abs(stiffness(sheets("[0/±60]s")).b).max() < 1e-6


def test_an_unsymmetric_pair_curls_as_it_cools() -> None:
    """Mallick, Fiber-Reinforced Composites, example 3.15: [0/90] of plies 1 mm thick, cooled by 100 K: 0.511739 /m. With α1 written
    ten times larger, as one copy of it has it, another value comes out."""
    ply = Elastic(133.4e9, 8.784e9, 3.254e9, 0.26, -0.5e-6, 12e-6)
    x, y, xy = curvature(sheets("[0/90]", ply, 1e-3), -100)
    assert (abs(x), y, xy) == pytest.approx((0.511739, -x, 0), rel=2e-6, abs=1e-9)
    slip = Elastic(133.4e9, 8.784e9, 3.254e9, 0.26, -5e-6, 12e-6)
    assert abs(curvature(sheets("[0/90]", slip, 1e-3), -100)[0]) != pytest.approx(0.511739, rel=0.1)
    assert curvature(sheets("[0/90]s", ply), -100) == pytest.approx((0, 0, 0), abs=1e-9)


ELASTIC = st.builds(Elastic, st.floats(20e9, 300e9), st.floats(3e9, 20e9), st.floats(1e9, 10e9), st.floats(0.0, 0.45))


@settings(max_examples=100, deadline=None)
@given(st.lists(st.builds(Sheet, ELASTIC, st.floats(5e-5, 2e-3), st.integers(-90_000, 90_000)), min_size=1, max_size=12))
def test_it_agrees_with_a_general_library(stack: list[Sheet]) -> None:
    mine = stiffness(stack)
    props = [(s.elastic.e1, s.elastic.e2, s.elastic.nu12, s.elastic.g12, s.elastic.g12, s.elastic.g12) for s in stack]
    other = laminated_plate(stack=[s.angle_md / 1000 for s in stack], plyts=[s.thickness for s in stack], laminaprops=props)
    scale = np.abs(mine.a).max()
    assert np.allclose(mine.a, other.A, rtol=1e-9, atol=1e-9 * scale)
    assert np.allclose(mine.b, other.B, rtol=1e-9, atol=1e-9 * scale * mine.thickness)
    assert np.allclose(mine.d, other.D, rtol=1e-9, atol=1e-9 * scale * mine.thickness**2)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.builds(Sheet, ELASTIC, st.floats(5e-5, 2e-3), st.integers(-90_000, 90_000)), min_size=1, max_size=12))
def test_a_second_library_agrees_too(stack: list[Sheet]) -> None:
    """composipy, handed the same plies in the same order."""
    mine = stiffness(stack)
    plies = [OrthotropicMaterial(s.elastic.e1, s.elastic.e2, s.elastic.nu12, s.elastic.g12, s.thickness) for s in stack]
    other = LaminateProperty([s.angle_md / 1000 for s in stack], plies)
    scale = np.abs(mine.a).max()
    assert np.allclose(mine.a, other.A, rtol=1e-9, atol=1e-9 * scale)
    assert np.allclose(mine.b, other.B, rtol=1e-9, atol=1e-9 * scale * mine.thickness)
    assert np.allclose(mine.d, other.D, rtol=1e-9, atol=1e-9 * scale * mine.thickness**2)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.builds(Sheet, ELASTIC, st.floats(5e-5, 2e-3), st.integers(-90_000, 90_000)), min_size=1, max_size=6),
    st.integers(-45_000, 45_000),
)
def test_turning_the_laminate_turns_its_stiffness(stack: list[Sheet], turn: int) -> None:
    """The trace of A (with twice A66) does not change with the axes; the modulus along x is that found at the angle."""
    turned = [Sheet(s.elastic, s.thickness, s.angle_md - turn) for s in stack]
    a, b = stiffness(stack).a, stiffness(turned).a
    assert a[0, 0] + a[1, 1] + 2 * a[2, 2] == pytest.approx(b[0, 0] + b[1, 1] + 2 * b[2, 2], rel=1e-9)
    assert a[0, 0] + a[1, 1] + 2 * a[0, 1] == pytest.approx(b[0, 0] + b[1, 1] + 2 * b[0, 1], rel=1e-9)
    s = math.radians(turn / 1000)
    along = np.array([math.cos(s) ** 2, math.sin(s) ** 2, math.cos(s) * math.sin(s)])
    h = stiffness(stack).thickness
    assert constants(stiffness(turned)).ex == pytest.approx(1 / (along @ np.linalg.inv(a) @ along * h), rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.builds(Sheet, ELASTIC, st.floats(5e-5, 2e-3), st.integers(-90_000, 90_000)), min_size=1, max_size=8),
    st.integers(-90_000, 90_000),
)
def test_a_b_and_d_turn_as_stiffness_does(stack: list[Sheet], turn: int) -> None:
    """Energy does not know the axes: with strain' = R·strain, each matrix is Rᵀ · matrix' · R."""
    c, s = math.cos(math.radians(turn / 1000)), math.sin(math.radians(turn / 1000))
    r = np.array([[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]])
    mine, turned = stiffness(stack), stiffness([Sheet(p.elastic, p.thickness, p.angle_md - turn) for p in stack])
    scale = np.abs(mine.a).max()
    for n, name in enumerate("abd"):
        back = r.T @ getattr(turned, name) @ r
        assert np.allclose(back, getattr(mine, name), rtol=1e-9, atol=1e-9 * scale * mine.thickness**n), name


def test_an_unsymmetric_stack_has_its_published_matrices() -> None:
    """Kaw, Mechanics of Composite Materials, 2nd ed., example 4.2 (from memory): [0/30/−45] of 5 mm plies."""
    found = stiffness(sheets("[0/30/-45]", thickness=5e-3))
    a = [[1.739e9, 3.884e8, 5.663e7], [3.884e8, 4.533e8, -1.141e8], [5.663e7, -1.141e8, 4.525e8]]
    b = [[-3.129e6, 9.855e5, -1.072e6], [9.855e5, 1.158e6, -1.072e6], [-1.072e6, -1.072e6, 9.855e5]]
    d = [[3.343e4, 6.461e3, -5.240e3], [6.461e3, 9.320e3, -5.596e3], [-5.240e3, -5.596e3, 7.663e3]]
    for mine, published in ((found.a, a), (found.b, b), (found.d, d)):
        assert np.allclose(mine, published, rtol=6e-4)


def test_a_ply_at_an_angle_has_its_published_stiffness() -> None:
    """Kaw, example 2.7 and 2.8 (from memory): graphite/epoxy at 60°, in GPa."""
    found = stiffness(sheets("[60]", thickness=1e-3)).a / 1e-3 / 1e9
    assert np.allclose(found, [[23.65, 32.46, 20.05], [32.46, 109.4, 54.19], [20.05, 54.19, 36.74]], rtol=6e-4)


def test_many_laminates_at_once_are_each_as_alone() -> None:
    rng = np.random.default_rng(3)
    angles = rng.integers(-90_000, 90_000, (50, 8))
    a, b, d = many(np.array([[reduced(T300)] * 8]), np.full((1, 8), 1e-4), angles)
    for n in range(50):
        alone = stiffness([Sheet(T300, 1e-4, int(md)) for md in angles[n]])
        assert np.allclose(a[n], alone.a) and np.allclose(b[n], alone.b) and np.allclose(d[n], alone.d)


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: Elastic(0, 1e9, 1e9, 0.3), "stiffness.range"),
        (lambda: Elastic(181, 10e9, float("nan"), 0.3), "stiffness.range"),
        (lambda: Elastic(181e15, 10e9, 1e9, 0.3), "stiffness.range"),
        (lambda: Elastic(10e9, 10e9, 4e9, 1.0), "stiffness.poisson"),
        (lambda: Sheet(T300, 0, 0), "stiffness.thickness"),
        (lambda: Sheet(T300, 0.125, 0), "stiffness.thickness"),
        (lambda: stiffness([]), "stiffness.empty"),
        (lambda: curvature(sheets("[0/90]"), -100), "stiffness.expansion_unknown"),
        (lambda: curvature(sheets("[0/90]"), float("inf")), "stiffness.temperature"),
    ],
)
def test_what_no_ply_can_be_is_refused(make, code: str) -> None:
    with pytest.raises(BadInput) as refused:
        make()
    assert refused.value.reason.code == code
