"""Gel points, viscosity while it cures, and a law anchored to a data sheet."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.cure_time import time_to
from inventory.core.gelation import Viscosity, anchored, gel_point, time_until_thick
from inventory.core.kinetic_sets import ROOM
from inventory.core.pot_heat import heat_pot
from inventory.core.reasons import BadInput

THICK = Viscosity(3e-9, 50_000.0, 0.577, 1.5, 1.0)


@pytest.mark.parametrize(("functionality", "expected"), [(4, 0.57735), (5, 0.5), (6, 0.44721)])
def test_gel_points_of_the_usual_amines(functionality: int, expected: float) -> None:
    """Exact (Flory and Stockmayer): 4 hydrogens, DETA's 5, TETA's 6, with a resin of two epoxides."""
    assert gel_point(1.0, functionality) == pytest.approx(expected, abs=5e-6)


@pytest.mark.parametrize(("ratio", "functionality", "other"), [(1 / 3, 4, 2), (1.0, 2, 2), (0.1, 5, 2), (1.0, 4, 1)])
def test_a_mixture_that_can_never_gel_is_refused(ratio: float, functionality: float, other: float) -> None:
    """r = 1/3 with four hydrogens has its gel point at exactly 1."""
    with pytest.raises(BadInput) as caught:
        gel_point(ratio, functionality, other)
    assert caught.value.reason.code == "gel.never"


@pytest.mark.parametrize("given_", [(0.0, 4, 2), (1.2, 4, 2), (math.nan, 4, 2), (1.0, 0.5, 2), (1.0, math.inf, 2)])
def test_figures_that_cannot_be_a_mixture_are_refused(given_: tuple[float, float, float]) -> None:
    with pytest.raises(BadInput) as caught:
        gel_point(*given_)
    assert caught.value.reason.code == "gel.point"


@given(st.floats(0.35, 1.0), st.floats(4, 8))
def test_every_gel_point_lies_between_zero_and_one_and_a_leaner_mix_gels_later(ratio: float, functionality: float) -> None:
    here = gel_point(ratio, functionality)
    assert 0 < here < 1
    assert here >= gel_point(1.0, functionality)


def test_viscosity_starts_fresh_rises_with_cure_and_is_endless_at_gel() -> None:
    """Exact: (αg/(αg − α))^(a + bα) is 2^(1.5 + 0.2885) halfway to gel."""
    fresh = float(THICK.at(298.15, 0.0))
    assert fresh == pytest.approx(3e-9 * math.exp(50_000 / 8.314462618 / 298.15))
    assert float(THICK.at(298.15, 0.2885)) / fresh == pytest.approx(2 ** (1.5 + 0.2885))
    assert math.isinf(float(THICK.at(298.15, 0.577)))
    assert math.isinf(float(THICK.at(298.15, 0.9)))
    assert (np.diff(THICK.at(298.15, np.linspace(0, 0.57, 50))) > 0).all()
    assert float(THICK.at(320.0, 0.1)) < float(THICK.at(298.15, 0.1))


@given(st.floats(280, 340), st.floats(0.01, 1e4))
def test_the_conversion_at_a_viscosity_is_its_inverse(temp: float, limit: float) -> None:
    alpha = THICK.conversion_at(temp, limit)
    if limit <= float(THICK.fresh(temp)):
        assert alpha == 0.0
    else:
        assert float(THICK.at(temp, alpha)) == pytest.approx(limit, rel=1e-6)


def test_a_pot_held_cool_is_too_thick_when_its_conversion_says() -> None:
    """In a film the two ways agree: the curve's crossing, and the integral to the conversion of that viscosity. Between
    its points the curve is drawn, hence the tolerance."""
    film = heat_pot(ROOM.law, 0.5, 298.15, 298.15, 225.0, 10.0)
    (crossing,) = time_until_thick(THICK, 20.0, *film.curve())
    assert crossing == pytest.approx(float(time_to(ROOM.law, 298.15, THICK.conversion_at(298.15, 20.0))), rel=3e-4)


def test_what_is_too_thick_from_the_start_is_over_at_once_and_what_never_is_never() -> None:
    alphas, times = np.array([0.01, 0.1, 0.2]), np.array([[0.0], [10.0], [20.0]])
    temps = np.full((3, 1), 298.15)
    assert time_until_thick(THICK, 1e-6, alphas, times, temps) == [0.0]
    assert np.isinf(time_until_thick(THICK, 1e9, alphas, times, temps)).all()


@pytest.mark.parametrize("factor", [0.02, 1.0, 37.0])
def test_an_anchor_finds_the_factor_that_was_hidden(factor: float) -> None:
    alone = float(time_to(ROOM.law, 298.15, 0.577))
    assert anchored(lambda f: alone / f, alone / factor) == pytest.approx(factor, rel=1e-5)


def test_an_anchor_out_of_reach_is_another_resins_law() -> None:
    for sheet in (1e-3, 0.0, math.nan):
        with pytest.raises(BadInput) as caught:
            anchored(lambda f: 60_000.0 / f, sheet)
        assert caught.value.reason.code == "gel.anchor"


@pytest.mark.parametrize(
    "numbers", [(0.0, 1.0, 0.5, 1.0, 1.0), (1.0, 1.0, 1.0, 1.0, 1.0), (1.0, 1.0, 0.5, 1.0, -5.0), (math.nan, 1.0, 0.5, 1.0, 1.0)]
)
def test_viscosities_that_do_not_rise_are_refused(numbers: Any) -> None:
    with pytest.raises(BadInput) as caught:
        Viscosity(*numbers)
    assert caught.value.reason.code == "gel.viscosity"
