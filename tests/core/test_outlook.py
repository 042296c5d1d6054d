"""What the stock will be, and how full a place was: checked against walking day by day."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.outlook import Stay, expected, occupancy, stays

pytestmark = pytest.mark.core


@pytest.mark.parametrize(
    ("living", "arriving", "used", "left"),
    [(100, 0, 0, 100), (100, 50, 0, 150), (100, 0, 560, 0), (100, 0, 280, 30), (0, 10, 56, 0), (5, 0, 2, 5)],
)
def test_what_is_expected_is_what_lives_and_arrives_less_the_usual_use(living: int, arriving: int, used: int, left: int) -> None:
    """Worked by hand: two weeks of eight are a quarter. 280 in 56 days are 70 in 14."""
    assert expected(living, arriving, used, 56, 14) == left


def test_a_rate_needs_days() -> None:
    with pytest.raises(ValueError, match="days"):
        expected(1, 1, 1, 0, 14)


MOVES = st.lists(st.tuples(st.integers(1, 5), st.integers(0, 40), st.sampled_from([None, 7, 8])), max_size=30)


@given(MOVES, st.lists(st.integers(-2, 45), max_size=8))
def test_a_place_holds_what_came_last_to_it_and_is_not_gone(moves: list[tuple[int, int, int | None]], instants: list[int]) -> None:
    """The oracle looks at each thing at each instant: the last move up to then says where it is."""
    moves.sort(key=lambda m: m[1])
    found = occupancy(stays(moves), [7, 8], instants)
    for n, at in enumerate(instants):
        last = {thing: place for thing, when, place in moves if when <= at}
        for place in (7, 8):
            assert found[place][n] == sum(1 for p in last.values() if p == place)


def test_a_thing_that_is_put_where_it_is_stays_on() -> None:
    assert stays([(1, 5, 7), (1, 9, 7), (1, 12, None)]) == [Stay(7, 5, 12)]
