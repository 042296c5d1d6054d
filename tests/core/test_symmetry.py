"""What kind of laminate a stack is. The definitions are those of textbooks (Jones, Mechanics of Composite Materials, section 4.3–4.4:
symmetric, balanced, quasi-isotropic); against them stands a second computation here, the stiffness itself with made-up plies."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layups.core.notation import FABRIC, MAT, UD, Layer, read
from layups.core.symmetry import Kind, kind_of


def kind(text: str) -> Kind:
    return kind_of(read(text))


@pytest.mark.parametrize(
    ("text", "in_plane", "axis", "symmetric", "balanced"),
    [
        ("[0]", "orthotropic", 0, True, True),
        ("[0/90]s", "orthotropic", 0, True, True),
        ("[±45]", "orthotropic", 0, False, True),
        ("[±30/0]s", "orthotropic", 0, True, True),
        ("[0/60/-60]", "quasi-isotropic", None, False, True),
        ("[0/±60]s", "quasi-isotropic", None, True, True),
        ("[0/45/90/-45]", "quasi-isotropic", None, False, True),
        ("[0/45/90/-45]s", "quasi-isotropic", None, True, True),
        ("[0/36/72/-72/-36]", "quasi-isotropic", None, False, True),
        ("[15/75/-45]", "quasi-isotropic", None, False, False),
        ("[30]", "orthotropic", 30_000, True, False),
        ("[30/-60]", "orthotropic", 30_000, False, False),
        ("[75]", "orthotropic", -15_000, True, False),
        ("[20/50]", "orthotropic", 35_000, False, False),
        ("[0/30/45]", "anisotropic", None, False, False),
        ("[0/45]", "orthotropic", 22_500, False, False),
        ("[(0/90)f]", "orthotropic", 0, True, True),
        ("[(±45)f]", "orthotropic", 0, True, True),
        ("[(0/90)f/(±45)f]", "quasi-isotropic", None, False, True),
        ("[(0/90)f/(±45)f]s", "quasi-isotropic", None, True, True),
        ("[(30/-60)f]", "orthotropic", 30_000, True, False),
        ("[mat_3]", "isotropic", None, True, True),
        ("[mat/(0/90)f/mat]", "orthotropic", 0, True, True),
        ("[(0/90)f/core/(0/90)f]", "orthotropic", 0, True, True),
        ("[(±45)f_2/core/(±45)f]", "orthotropic", 0, False, True),
        ("[0:A/90:B]", "orthotropic", 0, False, True),
        ("[0:A/45:B/90:A/-45:B]", "orthotropic", 0, False, True),
        ("[45:A/-45:B]s", "orthotropic", 45_000, True, False),
    ],
)
def test_a_stack_is_what_the_textbook_calls_it(text: str, in_plane: str, axis: int | None, symmetric: bool, balanced: bool) -> None:
    found = kind(text)
    assert (found.in_plane, found.axis_md, found.symmetric, found.balanced) == (in_plane, axis, symmetric, balanced), found.reasons


def test_antisymmetric_and_bending() -> None:
    assert kind("[45/-45]").antisymmetric and not kind("[±45]s").antisymmetric
    assert kind("[0/90]s").bends_straight is True
    assert kind("[±45]s").bends_straight is False, "balanced, and yet bending twists it: the outer pair is farther out"
    assert kind("[0:A/45:B]s").bends_straight is None and kind("[0:A/90:B]s").bends_straight is True
    assert kind_of(read("[45:A/-45:B]s"), {"A": 1.0, "B": 2.0}).bends_straight is False
    with pytest.raises(ValueError, match="at least one ply"):
        kind_of([])


def test_each_finding_has_its_sentence() -> None:
    found = kind("[30/0]")
    assert found.reasons[0].startswith("Orthotropic in plane, about axes turned by 15°. About the reference axes pulling shears it.")
    assert found.reasons[1].startswith("Not symmetric")
    assert found.reasons[2] == "Not balanced: a ply at 30° has no partner at -30°."
    assert "Bending and twisting are coupled" in kind("[±45]s").reasons[3]


# --- the stiffness itself, with plies of made-up stiffness ------------------------------------------


def turned(q: tuple[float, float, float, float], md: int) -> tuple[float, ...]:
    """(Q11, Q22, Q66, Q16, Q26) of a ply turned by an angle: the textbook's formulas (Jones 2.84), from memory."""
    q11, q12, q22, q66 = q
    c, s = math.cos(math.radians(md / 1000)), math.sin(math.radians(md / 1000))
    both = q11 - q12 - 2 * q66, q12 - q22 + 2 * q66
    return (
        q11 * c**4 + 2 * (q12 + 2 * q66) * s**2 * c**2 + q22 * s**4,
        q11 * s**4 + 2 * (q12 + 2 * q66) * s**2 * c**2 + q22 * c**4,
        (q11 + q22 - 2 * q12 - 2 * q66) * s**2 * c**2 + q66 * (s**4 + c**4),
        both[0] * s * c**3 + both[1] * s**3 * c,
        both[0] * s**3 * c + both[1] * s * c**3,
    )


STIFF = {UD: (181.8, 2.897, 10.35, 7.17), FABRIC: (70.0, 5.0, 70.0, 4.0), MAT: (10.0, 3.0, 10.0, 3.5)}
SCALE = {"": 1.0, "B": 0.37}


def membrane(layers: list[Layer], axis_md: int = 0) -> list[float]:
    return [
        math.fsum(SCALE[layer.material] * turned(STIFF[layer.form], layer.angle_md - axis_md)[k] for layer in layers) / len(layers)
        for k in range(5)
    ]


PLIES = st.builds(
    Layer,
    st.sampled_from([0, 90_000, 45_000, -45_000, 30_000, -30_000, 60_000, -60_000, 15_000]),
    st.sampled_from([UD, UD, FABRIC]),
    st.sampled_from(["", "", "B"]),
)


@settings(max_examples=500, deadline=None)
@given(st.lists(PLIES, min_size=1, max_size=6))
def test_what_is_said_holds_for_the_stiffness_itself(layers: list[Layer]) -> None:
    found = kind_of(layers)
    if found.in_plane == "quasi-isotropic":
        for axis in (0, 17_000, 45_000):
            a11, a22, _, a16, a26 = membrane(layers, axis)
            assert abs(a11 - a22) < 1e-9 and abs(a16) < 1e-9 and abs(a26) < 1e-9
    elif found.in_plane == "orthotropic":
        assert found.axis_md is not None
        assert max(map(abs, membrane(layers, found.axis_md)[3:])) < 1e-3
        assert -45_000 <= found.axis_md <= 45_000
    else:
        # one material: then no axis at all makes both couplings nothing
        if len({(layer.material, layer.form) for layer in layers}) == 1:
            least = min(max(map(abs, membrane(layers, axis)[3:])) for axis in range(-45_000, 45_001, 250))
            assert least > 1e-3
    if found.balanced:
        assert max(map(abs, membrane(layers)[3:])) < 1e-9
