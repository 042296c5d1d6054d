"""What parts take: areas with their loss as lengths of a roll, the larger of two statements, resin for plies of several kinds."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.convert import MaterialProps
from inventory.core.mixing import Recipe
from inventory.core.reasons import BadInput
from inventory.core.stoichiometry import BatchSize, Layer, batch_size
from layups.core.demand import Dry, Line, mix, orders, split, take, wetting

pytestmark = pytest.mark.core
ROLL = MaterialProps("um", width_um=1_270_000, usable_width_um=1_250_000, areal_mg_m2=602_000)
AMINE = Recipe("amine", 290_000, 300_000, 310_000)
M, M2, KG = 10**6, 10**8, 10**9


def test_an_area_becomes_a_length_at_the_usable_width() -> None:
    """5.70 m² with a tenth lost is 6.333 m², at 1.25 m wide 5.067 m: by hand."""
    found = take(Line("ply 2", "GB", ROLL, 570 * M2 // 100, 100_000, None, True))
    assert found.computed == found.amount == 5_066_667
    assert found.yield_ppm == 900_000 and found.notes == ()


def test_the_larger_of_schedule_and_area_counts_and_is_said() -> None:
    more = take(Line("ply 2", "GB", ROLL, 570 * M2 // 100, 100_000, 5_100_000, True))
    assert (more.amount, more.notes) == (5_100_000, ())
    less = take(Line("ply 2", "GB", ROLL, 570 * M2 // 100, 100_000, 4_800_000, True))
    assert less.amount == 5_066_667 and "the schedule has 4.80 m, but area and loss ask for 5.07 m" in less.notes[0]
    impossible = take(Line("ply 2", "GB", ROLL, 570 * M2 // 100, None, 4_000_000, True))
    assert impossible.amount == 4_000_000 and "5.00 m² is taken for a net area of 5.70 m²" in impossible.notes[0]


def test_what_is_not_known_is_named_and_counts_for_nothing() -> None:
    found = take(Line("core (4)", "C", MaterialProps("cmm2"), M2, None))
    assert found.amount is None and "neither the schedule's amount nor what is lost in cutting is known" in found.notes[0]
    assert "nor its net area is known" in take(Line("ply 1", "GB", ROLL)).notes[0]
    narrow = take(Line("ply 1", "T", MaterialProps("um"), M2, 0))
    assert narrow.amount is None and "no width" in narrow.notes[0]
    nothing = take(Line("ply 1", "GB", ROLL, M2, None, 0))
    assert (nothing.amount, nothing.yield_ppm) == (0, None), "an amount of nothing is taken as told, and divides nothing"


def test_pieces_of_one_roll_are_counted_by_their_length() -> None:
    lines = [Line(f"ply {n}", "GB", ROLL, None, None, size, True) for n, size in ((1, 2 * M), (2, 3 * M), (3, 2 * M))]
    (order,) = orders(lines, 3)
    assert (order.per_part, order.whole, order.sizes) == (7 * M, 21 * M, {2 * M: 6, 3 * M: 3})
    (tow,) = orders([Line("wind", "TOW", MaterialProps("um", tex_ug_m=800_000), stated=4_250 * M)], 2)
    assert (tow.whole, tow.sizes) == (8_500 * M, {})
    for parts in (0, -1, 1_001):
        with pytest.raises(BadInput, match="from 1 to 1000"):
            orders([], parts)


@given(st.integers(1, 10**10), st.integers(0, 999_999), st.integers(1, 50))
def test_never_less_than_the_area_needs_and_no_more_than_one_micron_a_line_over(net: int, loss: int, parts: int) -> None:
    (order,) = orders([Line("p", "GB", ROLL, net, loss, None, True)], parts)
    exact = Fraction(net * 10**6, 10**6 - loss) / 125
    assert exact <= order.per_part < exact + 1
    assert order.whole == parts * order.per_part == sum(size * n for size, n in order.sizes.items())


def test_resin_follows_from_fibre_and_target_and_waste_is_of_the_whole() -> None:
    """10 m² of 600 g/m² at half resin by weight drink 6 kg; a fifth of the mix left in the lines makes it 7.5 kg, a quarter more."""
    found = wetting([Dry("ply 1", 600_000, 10 * M2, Fraction(1, 2))], AMINE, 200_000, None)
    assert isinstance(found, BatchSize)
    assert (found.fibre_ug, found.laminate_ug, found.whole_ug) == (6 * KG, 6 * KG, 7_500_000_000)
    assert sum(part.mass_ug for part in found.parts) == found.whole_ug
    assert found.parts[1].mass_ug == pytest.approx(7.5 * KG * 0.3 / 1.3, abs=1)


def test_plies_of_several_kinds_drink_as_each_alone() -> None:
    one, other = Dry("ply 1", 600_000, 10 * M2, Fraction(2, 3)), Dry("ply 2", 300_000, 10 * M2, Fraction(3, 10))
    both = wetting([one, other], AMINE, 0, 2 * KG)
    assert isinstance(both, BatchSize)
    alone = [batch_size([Layer(d.areal_mg_m2 or 0, 10 * M2)], round((d.fibre or 0) * 10**6), AMINE, waste_ppm=0) for d in (one, other)]
    assert both.whole_ug == sum(a.laminate_ug for a in alone) + 2 * KG
    assert both.laminate_ug == pytest.approx(3 * KG + 7 * KG + 2 * KG, abs=20_000)  # a target of 0.666667


def test_what_resin_cannot_be_computed_without_is_listed() -> None:
    assert wetting([Dry("ply 1", None, None, None)], AMINE, None, None) == (
        "ply 1: its areal weight, its net area, its resin by weight",
        "how much resin is left in cups and lines",
    )
    assert wetting([], AMINE, 0, None) == ("a dry ply",)


def test_a_mix_is_split_by_its_target_and_shared_into_pots() -> None:
    found = split(AMINE, 1_300_000_000)
    assert [part.mass_ug for part in found.parts] == [KG, 300_000_000]
    line = mix("infusion (2)", "INF", AMINE, 1_300_000_000, None, 150_000_000)
    assert line.pots == 9 and line.amount_ug == 1_300_000_000 and "9 pots of that size" in line.notes[0]
    assert mix("x", "INF", AMINE, 150_000_000, None, 150_000_000).notes == ()


def test_a_mix_that_the_schedule_has_too_little_of_is_said() -> None:
    needed = wetting([Dry("ply 1", 600_000, 10 * M2, Fraction(1, 2))], AMINE, 0, None)
    line = mix("infusion (2)", "INF", AMINE, 5 * KG, needed, None)
    assert line.amount_ug == 6 * KG and "the schedule has 5.00 kg, but the plies ask for 6.00 kg" in line.notes[0]
    assert mix("infusion (2)", "INF", AMINE, 7 * KG, needed, None).amount_ug == 7 * KG
    unknown = mix("infusion (2)", "INF", AMINE, None, ("a dry ply",), None)
    assert unknown.amount_ug is None and len(unknown.notes) == 2
