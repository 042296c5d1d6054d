"""Filling by Darcy's law, against closed forms, published validation cases and scipy's integrator."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from inventory.core.reasons import BadInput
from layups.core.infusion import Bed, Thickening, along, choices, compare, fill, inwards, outwards, tow_permeability

pytestmark = pytest.mark.core
DAY = 86_400.0
beds = st.builds(Bed, st.floats(1e-11, 1e-8), st.floats(0.3, 0.9), st.floats(1e4, 1e5), st.floats(0, 0.6))
curves = st.lists(st.floats(0.05, 50), min_size=2, max_size=6).map(
    lambda mu: Thickening(tuple(600.0 * n for n in range(len(mu))), tuple(mu))
)


def thick(mu: float) -> Thickening:
    return Thickening((0.0,), (mu,))


def seconds(us: int | None) -> float:
    assert us is not None
    return us / 1e6


def test_a_straight_fill_takes_what_the_closed_form_says() -> None:
    """Exact: t = φμL²/(2KΔP); φ 0.5, μ 0.1 Pa·s, L 1 m, K 1e-10 m², ΔP 1e5 Pa: 2 500 s."""
    found = fill(along(1.0), Bed(1e-10, 0.5, 1e5), thick(0.1), 0, DAY)
    assert seconds(found.needs_us) == pytest.approx(2_500, abs=1e-5)
    assert found.fills
    assert (found.reached_m, found.part) == (1.0, 1.0)


def test_a_public_mesh_test_is_met_with_the_porosity_and_missed_with_the_fibre_fraction() -> None:
    """ASC Challenge 2019 public mesh test (MIT): μ 0.01, Vf 0.2, K 1e-8, 1e5 Pa, 1.5 m: 9.000 s. Vf taken for φ gives 2.25."""
    assert seconds(fill(along(1.5), Bed(1e-8, 0.8, 1e5), thick(0.01), 0, DAY).needs_us) == pytest.approx(9.0, abs=1e-5)
    assert seconds(fill(along(1.5), Bed(1e-8, 0.2, 1e5), thick(0.01), 0, DAY).needs_us) == pytest.approx(2.25, abs=1e-5)


def test_a_published_radial_case_is_met() -> None:
    """RTM flow simulator, validation case 1, analytic column: K 3e-10, μ 0.06, φ 0.70, 35 kPa, r0 10 mm: r 0.114 m at 50 s."""
    found = fill(outwards(0.01, 0.5), Bed(3e-10, 0.70, 35e3), thick(0.06), 0, 50)
    assert round(found.reached_m, 3) == 0.114
    assert not found.fills
    assert found.text == "Does not fill in the under 1 min you have: 5 % is wet by then."


def test_flow_inwards_agrees_with_the_equation_that_it_solves() -> None:
    """dr/dt = −K·ΔP/(φ·μ·r·ln(R/r)), by scipy, from just inside the rim; to a point it takes φμR²/(4KΔP)."""
    bed, rim = Bed(1e-10, 0.5, 1e5), 0.5
    seen = fill(inwards(rim), bed, thick(0.1), 0, DAY)
    assert seconds(seen.needs_us) == pytest.approx(0.5 * 0.1 * rim**2 / (4 * 1e-10 * 1e5), abs=1e-6)
    slope = bed.permeability * bed.pressure / (bed.porosity * 0.1)
    time, _ = integrate.quad(lambda r: r * math.log(rim / r) / slope, 0.2, rim)
    assert seconds(fill(inwards(rim, 0.2), bed, thick(0.1), 0, DAY).needs_us) == pytest.approx(time, abs=1e-6)


@given(curves, st.floats(0, 500), st.floats(1, 2_000))
def test_the_integral_over_a_rising_viscosity_agrees_with_scipy_and_its_inverse(curve: Thickening, start: float, length: float) -> None:
    stop = min(start + length, curve.times[-1])
    if stop <= start:
        return
    log_mu = np.log(curve.viscosities)
    expected, _ = integrate.quad(
        lambda t: math.exp(-np.interp(t, curve.times, log_mu)), start, stop, points=[t for t in curve.times if start < t < stop] or None
    )
    passed = curve.passed(start, stop)
    assert passed == pytest.approx(expected, rel=1e-7)
    back = curve.until(start, passed)
    assert back is not None
    assert back == pytest.approx(stop, rel=1e-6, abs=1e-6)


@given(beds, st.floats(0.05, 2), st.floats(0.05, 1), st.floats(1.1, 5))
def test_thicker_resin_longer_ways_and_less_vacuum_never_fill_sooner(bed: Bed, length: float, mu: float, more: float) -> None:
    base = seconds(fill(along(length), bed, thick(mu), 0, 1e12).needs_us)
    assert seconds(fill(along(length), bed, thick(mu * more), 0, 1e12).needs_us) >= base
    assert seconds(fill(along(length * more), bed, thick(mu), 0, 1e12).needs_us) == pytest.approx(base * more**2, rel=1e-6, abs=3e-5)
    weak = Bed(bed.permeability, bed.porosity, bed.pressure / more, bed.scatter)
    assert seconds(fill(along(length), weak, thick(mu), 0, 1e12).needs_us) >= base


@given(beds, curves, st.sampled_from([along(0.6), outwards(0.01, 0.6), inwards(0.6)]))
def test_a_constant_viscosity_is_the_limit_of_a_curve_and_the_scatter_brackets_the_answer(bed: Bed, curve: Thickening, shape) -> None:
    found = fill(shape, bed, curve, 0, curve.times[-1])
    assert 0 <= found.sure_part <= found.part <= 1
    if found.needs_us is not None:
        assert found.fills
        assert found.soon_us is not None
        assert found.soon_us <= found.needs_us <= (found.late_us if found.late_us is not None else found.needs_us)
    else:
        assert found.part < 1
        assert found.late_us is None
    flat = Thickening((0.0, 1e9), (0.3, 0.3))
    assert fill(shape, bed, flat, 0, 1e9).needs_us == pytest.approx(fill(shape, bed, thick(0.3), 0, 1e9).needs_us, rel=1e-6)


def test_laboratories_differ_by_that_much_and_the_answer_says_so() -> None:
    """Permeability benchmark III, abstract: 32 % for a non-crimp fabric, 44 % for a woven one."""
    shape, resin = along(1.0), thick(0.1)
    woven, plain = fill(shape, Bed(1e-10, 0.5, 1e5), resin, 0, 3_600), fill(shape, Bed(1e-10, 0.5, 1e5, 0.32), resin, 0, 3_600)
    assert seconds(woven.late_us) == pytest.approx(2_500 / 0.56, rel=1e-6)
    assert seconds(woven.soon_us) == pytest.approx(2_500 / 1.44, rel=1e-6)
    assert seconds(plain.late_us) == pytest.approx(2_500 / 0.68, rel=1e-6)
    assert woven.fills
    assert [c.code for c in woven.cautions] == ["infusion.may_not_fill"]
    assert [c.code for c in fill(shape, Bed(1e-10, 0.5, 1e5), resin, 0, 7_200).cautions] == []
    assert plain.text == "Fills in 41 min of the 1 h 00 you have (up to 1 h 01, as laboratories differ)."


def test_a_resin_that_gels_first_leaves_a_dry_patch() -> None:
    """μ doubles every 10 minutes from 0.3 Pa·s: ∫dt/μ never passes 600/(0.3·ln 2), however long one waits."""
    curve = Thickening((0.0, 36_000.0), (0.3, 0.3 * 2**60))
    most = 600 / (0.3 * math.log(2))
    assert curve.passed(0, 36_000) == pytest.approx(most, rel=1e-9)
    bed = Bed(1e-10, 0.5, 1e5)
    reach = math.sqrt(bed.drive() * most)
    short, long = fill(along(reach * 0.99), bed, curve, 0, 36_000), fill(along(reach * 1.01), bed, curve, 0, 36_000)
    assert short.fills
    assert long.needs_us is None
    assert long.reached_m == pytest.approx(reach, rel=1e-6)


def test_ways_of_feeding_are_compared_the_quickest_first() -> None:
    found = compare(choices(2.0, 1.0), Bed(1e-10, 0.5, 1e5), thick(0.1), 0, 3_600)
    assert found[0].name == "3 runners, vents between them"
    assert found[-1].name == "inlet at the middle point"  # L² = 4 m² along 2 m; r²·ln(r/r0) − r²/2 = 5.3 m² to the corner
    times = [seconds(f.needs_us) for f in found]
    assert times == sorted(times)
    by_name = {f.name: f for f in found}
    middle, edge = by_name["runner along the middle"], by_name["runner along a long edge"]
    assert seconds(edge.needs_us) == pytest.approx(4 * seconds(middle.needs_us), rel=1e-6)


def test_what_is_not_known_of_the_viscosity_is_not_made_up() -> None:
    curve = Thickening((0.0, 600.0), (0.1, 0.2))
    found = fill(along(1.0), Bed(1e-10, 0.5, 1e5), curve, 0, 7_200)
    assert not found.fills
    assert [c.code for c in found.cautions] == ["infusion.viscosity_ends"]


def test_permeability_inside_a_tow_follows_gebart() -> None:
    """Computed from Gebart's form: r 3.5 µm, Vf 0.5, hexagonal, c 53: 9.2453e-13 m². (c 57 for square packing: from memory.)"""
    assert tow_permeability(3.5e-6, 0.5) == pytest.approx(9.2453e-13, rel=1e-4)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: Bed(0.0, 0.5, 1e5), "infusion.not_above_zero"),
        (lambda: Bed(math.nan, 0.5, 1e5), "infusion.not_above_zero"),
        (lambda: Bed(1e-10, 0.5, -1e5), "infusion.not_above_zero"),
        (lambda: Bed(1e-10, 50, 1e5), "infusion.porosity"),
        (lambda: Bed(1e-10, 0.0, 1e5), "infusion.porosity"),
        (lambda: Bed(1e-10, 0.5, 1e9), "infusion.pressure"),
        (lambda: Bed(1.0, 0.5, 1e5), "infusion.permeability"),
        (lambda: Bed(1e-10, 0.5, 1e5, 1.0), "infusion.scatter"),
        (lambda: Thickening((), ()), "infusion.viscosity"),
        (lambda: Thickening((0.0, 1.0), (0.1, 0.0)), "infusion.viscosity"),
        (lambda: Thickening((1.0, 1.0), (0.1, 0.2)), "infusion.viscosity"),
        (lambda: along(0.0), "infusion.not_above_zero"),
        (lambda: outwards(0.01, 0.005), "infusion.inside_inlet"),
        (lambda: inwards(0.5, 0.5), "infusion.vent"),
        (lambda: choices(1.0, 1.0, runners=1), "infusion.runners"),
        (lambda: fill(along(1.0), Bed(1e-10, 0.5, 1e5), thick(0.1), 10, 10), "infusion.no_time"),
        (lambda: tow_permeability(3.5e-6, 0.95), "infusion.fibre_volume"),
        (lambda: tow_permeability(3.5e-6, 0.5, "loose"), "infusion.packing"),
    ],
)
def test_figures_that_cannot_be_are_refused(call: Callable[[], object], code: str) -> None:
    with pytest.raises(BadInput) as caught:
        call()
    assert caught.value.reason.code == code
