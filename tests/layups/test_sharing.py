"""Shared lots: counts among bad and good parts, worst first."""

from __future__ import annotations

from fractions import Fraction

import pytest

from layups.core.sharing import Shared, count_shared

pytestmark = pytest.mark.core


def test_the_planted_lot_comes_before_its_decoys() -> None:
    """64 hulls, 10 soft: V6 is in 8 of the 10 and in 3 of the 54 others; the core K3 in 7 and 8; both from the demo's table."""
    v6, k3 = 6, 3
    bad = {n: {v6} if n < 8 else set() for n in range(10)}
    good = {100 + n: {v6} if n < 3 else set() for n in range(54)}
    for n in range(7):
        bad[n] = bad[n] | {k3}
    for n in range(8):
        good[110 + n] = {k3}
    (first, rank), (second, _) = count_shared(bad, good)
    assert first == Shared(v6, 8, 10, 3, 54)
    assert rank == Fraction(8, 10) - Fraction(3, 54)
    assert (second.candidate, second.bad_with, second.parts_with) == (k3, 7, 15)


def test_a_lot_that_no_bad_part_has_is_no_candidate() -> None:
    assert [s.candidate for s, _ in count_shared({1: {10}}, {2: {11}})] == [10]


def test_a_lot_that_is_in_everything_has_no_difference() -> None:
    ((row, rank),) = count_shared({1: {10}, 2: {10}}, {3: {10}})
    assert (row.bad_without, row.good_without) == (0, 0)
    assert rank == 0


def test_without_good_parts_the_lots_of_all_bad_parts_come_first() -> None:
    assert [s.candidate for s, _ in count_shared({1: {5, 9}, 2: {5}}, {})] == [5, 9]


def test_a_part_called_both_bad_and_good_is_bad() -> None:
    ((row, _),) = count_shared({1: {5}}, {1: {5}})
    assert (row.bad, row.good) == (1, 0)


def test_the_ranking_can_be_replaced_by_a_better_one() -> None:
    def rare_first(s: Shared) -> Fraction:
        return Fraction(-s.parts_with)

    found = count_shared({1: {5, 9}, 2: {5}}, {}, rank=rare_first)
    assert [s.candidate for s, _ in found] == [9, 5]
