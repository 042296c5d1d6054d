"""A roll's map (R37). Values of the storekeeper's day: a 100 m roll, bad 31.0–31.4 m, splice at 72.0 m."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.reasons import BadInput, Reason
from inventory.core.rollmap import (
    Mark,
    Marks,
    Piece,
    after_cut,
    clear_pieces,
    find_piece,
    flipped,
    longest_clear,
    read_marks,
    usable,
    within,
)

pytestmark = pytest.mark.core
M = 1_000_000
LENGTH = 100 * M
TICKET = read_marks(LENGTH, [(72 * M, 72 * M, "splice"), (31 * M, 31_400_000, "bad")])


def test_a_ticketed_roll_says_what_is_usable_and_the_longest_clear_piece() -> None:
    assert usable(LENGTH, TICKET) == 99_600_000
    assert longest_clear(LENGTH, TICKET) == Piece(31_400_000, 72 * M)
    assert longest_clear(LENGTH, TICKET).length_um == 40_600_000
    assert clear_pieces(LENGTH, TICKET) == ((0, 31 * M), (31_400_000, 72 * M), (72 * M, LENGTH))


def test_forty_two_metres_in_one_piece_are_refused_with_where_the_longest_lies() -> None:
    reason = find_piece(LENGTH, TICKET, 42 * M)
    assert isinstance(reason, Reason)
    assert reason.code == "roll.no_clear_piece"
    assert reason.numbers == {"wanted_um": 42 * M, "longest_um": 40_600_000, "from_um": 31_400_000, "to_um": 72 * M}
    assert reason.text == "42.00 m in one piece: the longest clear piece is 40.60 m, between 31.40 m and 72.00 m."


def test_after_thirty_metres_the_map_has_moved_up() -> None:
    assert find_piece(LENGTH, TICKET, 30 * M) == 0
    left = after_cut(TICKET, 30 * M)
    assert left == (Mark(1 * M, 1_400_000, "bad"), Mark(42 * M, 42 * M, "splice"))
    assert usable(70 * M, left) == 69_600_000


def test_the_outermost_piece_that_is_long_enough_is_found() -> None:
    assert find_piece(LENGTH, TICKET, 31 * M) == 0
    assert find_piece(LENGTH, TICKET, 31 * M + 1) == 31_400_000
    assert find_piece(LENGTH, TICKET, 40_600_000) == 31_400_000
    assert isinstance(find_piece(LENGTH, TICKET, 40_600_001), Reason)


def test_of_two_equal_pieces_the_outer_one_is_the_longest() -> None:
    assert longest_clear(10, (Mark(5, 5, "splice"),)) == Piece(0, 5)


def test_a_roll_that_is_bad_throughout_has_no_clear_piece() -> None:
    marks = (Mark(0, 10, "bad"),)
    assert usable(10, marks) == 0 and clear_pieces(10, marks) == () and longest_clear(10, marks) == Piece(0, 0)
    reason = find_piece(10, marks, 1)
    assert isinstance(reason, Reason) and "between" not in reason.text


def test_a_piece_takes_its_part_of_the_map_along() -> None:
    assert within(TICKET, 31_200_000, 73 * M) == (Mark(0, 200_000, "bad"), Mark(40_800_000, 40_800_000, "splice"))
    assert within(TICKET, 0, 31_100_000) == (Mark(31 * M, 31_100_000, "bad"),)
    assert within(TICKET, 72 * M, 80 * M) == within(TICKET, 60 * M, 72 * M) == ()


def test_a_ticket_written_from_the_inner_end_is_turned_round() -> None:
    assert read_marks(LENGTH, [(28 * M, 28 * M, "splice"), (68_600_000, 69 * M, "bad")], start="inner") == TICKET


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ((0, 1, "stain"), "roll.mark_kind"),
        ((-1, 5, "bad"), "roll.mark_outside"),
        ((5, 11, "bad"), "roll.mark_outside"),
        ((5, 5, "bad"), "roll.bad_without_length"),
        ((6, 5, "bad"), "roll.bad_without_length"),
        ((5, 6, "splice"), "roll.splice_with_length"),
    ],
)
def test_a_ticket_that_cannot_be_true_is_refused(row: tuple[int, int, str], code: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_marks(10, [row])
    assert caught.value.reason.code == code


def test_a_mark_may_lie_at_either_end_of_the_roll() -> None:
    rows = [(0, 1, "bad"), (0, 0, "splice"), (9, 10, "bad"), (10, 10, "splice")]
    assert read_marks(10, rows) == tuple(sorted(rows))
    assert clear_pieces(10, read_marks(10, rows)) == ((1, 9),)


def test_a_very_long_kind_is_repeated_in_short() -> None:
    with pytest.raises(BadInput) as caught:
        read_marks(10, [(0, 1, "x" * 4000)])
    assert caught.value.reason.numbers["kind"] == "x" * 24


@pytest.mark.parametrize("wanted", [0, -1])
def test_a_piece_of_no_length_is_not_looked_for(wanted: int) -> None:
    with pytest.raises(BadInput) as caught:
        find_piece(LENGTH, TICKET, wanted)
    assert caught.value.reason.code == "roll.nothing_wanted"


SIZE = 30


@st.composite
def maps(draw: st.DrawFn) -> Marks:
    bad = st.tuples(st.integers(0, SIZE), st.integers(0, SIZE)).map(lambda pair: (min(pair), max(pair) + 1, "bad"))
    splice = st.integers(0, SIZE + 2).map(lambda at: (at, at, "splice"))
    return tuple(Mark(*row) for row in sorted(draw(st.lists(bad | splice, max_size=6))))


def good_units(length: int, marks: Marks) -> list[bool]:
    """Brute force: for every unit of the roll, is it good?"""
    return [not any(m.kind == "bad" and m.start_um <= at < m.end_um for m in marks) for at in range(length)]


@given(maps(), st.integers(0, SIZE + 5))
def test_usable_and_bad_make_up_the_roll_and_clear_pieces_the_usable(marks: Marks, length: int) -> None:
    good = good_units(length, marks)
    assert usable(length, marks) == sum(good)
    pieces = clear_pieces(length, marks)
    assert sum(piece.length_um for piece in pieces) == sum(good)
    splices = {m.start_um for m in marks if m.kind == "splice"}
    for piece in pieces:
        assert piece.length_um > 0 and all(good[piece.start_um : piece.end_um])
        assert not any(piece.start_um < at < piece.end_um for at in splices)


@given(maps(), st.integers(0, SIZE + 5), st.integers(1, SIZE + 5))
def test_a_piece_is_found_whenever_one_exists(marks: Marks, length: int, wanted: int) -> None:
    good, splices = good_units(length, marks), {m.start_um for m in marks if m.kind == "splice"}
    starts = [
        at for at in range(length - wanted + 1) if all(good[at : at + wanted]) and not any(at < splice < at + wanted for splice in splices)
    ]
    found = find_piece(length, marks, wanted)
    assert (found == starts[0]) if starts else isinstance(found, Reason)


@given(maps(), st.integers(0, SIZE), st.integers(0, SIZE))
def test_two_cuts_leave_the_map_of_one(marks: Marks, first: int, second: int) -> None:
    assert after_cut(after_cut(marks, first), second) == after_cut(marks, first + second)


@given(maps(), st.integers(0, SIZE))
def test_a_cut_shares_out_the_usable_length(marks: Marks, taken: int) -> None:
    length = SIZE + 5
    assert usable(taken, within(marks, 0, taken)) + usable(length - taken, after_cut(marks, taken)) == usable(length, marks)


@given(maps())
def test_turning_a_map_twice_gives_it_back_and_keeps_what_is_usable(marks: Marks) -> None:
    length = SIZE + 5
    assert flipped(length, flipped(length, marks)) == marks
    assert usable(length, flipped(length, marks)) == usable(length, marks)
    assert longest_clear(length, flipped(length, marks)).length_um == longest_clear(length, marks).length_um
