"""Shares of a cut. Values of the storekeeper's day: 6.20 m off a roll with 1.250 m usable."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.cutting import Cut, Share, shares
from inventory.core.reasons import BadInput, Reason

pytestmark = pytest.mark.core
M2 = 10**8


def test_a_kit_and_a_remnant_leave_the_waste_of_the_storekeepers_day() -> None:
    cut = shares(6_200_000, 1_250_000, [594_000_000], [(900_000, 600_000)])
    assert isinstance(cut, Cut)
    assert cut.kits == (Share(4_752_000, 594_000_000),)
    assert cut.remnants == (Share(432_000, 54_000_000),)
    assert cut.waste == Share(1_016_000, 127_000_000)
    assert (cut.area_cmm2, cut.waste_permille) == (775_000_000, 164)


def test_plies_larger_than_the_cut_are_refused_with_all_areas() -> None:
    reason = shares(4_000_000, 1_250_000, [4 * M2], [(2_000_000, 1_000_000)])
    assert isinstance(reason, Reason) and reason.code == "cut.more_than_taken"
    assert reason.numbers == {"plies_cmm2": 4 * M2, "remnants_cmm2": 2 * M2, "cut_cmm2": 5 * M2}
    assert "4.00 m²" in reason.text and "2.00 m²" in reason.text and "5.00 m²" in reason.text and "1.00 m² too much" in reason.text


def test_a_cut_may_be_used_up_to_the_last_square_and_not_further() -> None:
    cut = shares(4_000_000, 1_250_000, [5 * M2])
    assert isinstance(cut, Cut) and cut.waste == Share(0, 0) and cut.waste_permille == 0
    assert isinstance(shares(4_000_000, 1_250_000, [5 * M2 + 1]), Reason)


def test_a_sliver_smaller_than_the_unit_of_area_has_no_waste_to_speak_of() -> None:
    cut = shares(1, 1, [])
    assert isinstance(cut, Cut) and cut.waste == Share(1, 0) and cut.waste_permille == 0


@pytest.mark.parametrize("size", [(1_000_000, 1_260_000), (6_200_001, 100_000), (1_300_000, 1_300_000)])
def test_a_remnant_that_cannot_come_from_the_cut_is_refused(size: tuple[int, int]) -> None:
    reason = shares(6_200_000, 1_250_000, [1], [size]) if size[1] != 1_260_000 else shares(1_000_000, 1_250_000, [1], [size])
    assert isinstance(reason, Reason) and reason.code == "cut.remnant_does_not_fit"
    assert reason.numbers["length_um"] == size[0] and reason.numbers["width_um"] == size[1]


def test_a_remnant_may_be_given_either_way_round_and_fill_the_width() -> None:
    assert isinstance(shares(6_200_000, 1_250_000, [], [(1_250_000, 6_200_000)]), Cut)


@pytest.mark.parametrize(
    ("taken", "width", "nets", "remnants", "code"),
    [
        (0, 1, [1], [], "cut.nothing_taken"),
        (1, None, [1], [], "convert.missing_property"),
        (1, 0, [1], [], "convert.bad_property"),
        (10, 10, [0], [], "cut.nothing_kept"),
        (10, 10, [], [(1, 0)], "cut.nothing_kept"),
        (10, 10, [], [(-1, 1)], "cut.nothing_kept"),
    ],
)
def test_a_cut_without_a_size_is_refused(
    taken: int, width: int | None, nets: list[int], remnants: list[tuple[int, int]], code: str
) -> None:
    with pytest.raises(BadInput) as caught:
        shares(taken, width, nets, remnants)
    assert caught.value.reason.code == code


@given(st.integers(1, 10**9), st.integers(1, 3 * 10**6), st.lists(st.integers(1, 1000), max_size=6), st.integers(0, 1000))
def test_the_shares_add_up_to_exactly_what_was_taken(taken: int, width: int, weights: list[int], spare: int) -> None:
    area, whole = taken * width // 10**4, sum(weights) + spare
    nets = [size for size in (area * weight // whole for weight in weights) if size]
    cut = shares(taken, width, nets)
    assert isinstance(cut, Cut)
    parts = [*cut.kits, cut.waste]
    assert sum(part.length_um for part in parts) == taken
    assert sum(part.area_cmm2 for part in parts) == cut.area_cmm2
    assert all(part.length_um >= 0 and part.area_cmm2 >= 0 for part in parts)
    assert all(0 <= part.area_cmm2 * 10**4 - part.length_um * width < 10**4 + width for part in cut.kits)
    in_order = sorted(cut.kits, key=lambda part: part.area_cmm2)
    assert all(one.length_um <= other.length_um for one, other in pairwise(in_order))


@given(
    st.integers(1, 40_000),
    st.integers(1, 9),
    st.lists(st.integers(1, 5), max_size=4),
    st.lists(st.tuples(st.integers(1, 40_000), st.integers(1, 9)), max_size=2),
)
def test_tiny_cuts_never_give_a_negative_share(taken: int, width: int, nets: list[int], remnants: list[tuple[int, int]]) -> None:
    cut = shares(taken, width, nets, remnants)
    if isinstance(cut, Cut):
        assert min(part.length_um for part in (*cut.kits, *cut.remnants, cut.waste)) >= 0
        assert sum(part.length_um for part in (*cut.kits, *cut.remnants, cut.waste)) == taken
        assert 0 <= cut.waste_permille <= 1000


def test_a_cut_parted_down_the_middle_leaves_no_waste_to_speak_of() -> None:
    cut = shares(6_200_001, 1_250_003, [], [(6_200_001, 625_002), (6_200_001, 625_001)])
    assert isinstance(cut, Cut) and cut.waste.area_cmm2 <= 1
