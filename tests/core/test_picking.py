"""First expired, first out, with the reasons (R5)."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.picking import Candidate, Choice, Want, draw, draw_pieces, pick, why_not
from inventory.core.reasons import BadInput, Reason

pytestmark = pytest.mark.core
M = 1_000_000
HOUR = 3_600_000_000
MON_0800 = 1_774_850_400_000_000  # Monday 30 March 2026, 08:00 in Copenhagen (06:00 UTC)
ZONE = "Europe/Copenhagen"
HELD = Reason("hold.quality", "Held by quality.")


def roll(mark: str, expires: int | None, usable: int, longest: int | None = None, *against: Reason, ready: int | None = None) -> Candidate:
    return Candidate(mark, expires, usable, usable if longest is None else longest, tuple(against), ready)


def want(amount: int, until: int | None = None, in_one_piece: bool = True) -> Want:
    return Want(amount, "um", MON_0800, until, in_one_piece, ZONE)


def marks(choice: Choice) -> tuple[list[str], list[str], list[str]]:
    return [c.mark for c in choice.order], [p.candidate.mark for p in choice.passed_over], [p.candidate.mark for p in choice.unfit]


def test_the_roll_that_ends_first_goes_first_and_one_without_an_end_last() -> None:
    rolls = [roll("T-8", None, 50 * M), roll("T-2", MON_0800 + 90 * HOUR, 50 * M), roll("T-1", MON_0800 + 20 * HOUR, 50 * M)]
    assert marks(pick(rolls, want(M))) == (["T-1", "T-2", "T-8"], [], [])


def test_an_older_roll_that_is_passed_over_says_every_reason_why() -> None:
    old = roll("U-3", MON_0800 + 6 * HOUR, 800_000, None, HELD, ready=MON_0800 + 8 * HOUR)
    choice = pick([roll("U-4", MON_0800 + 100 * HOUR, 33 * M), old, roll("U-9", None, 1)], want(850_000, MON_0800 + 9 * HOUR))
    assert marks(choice) == (["U-4"], ["U-3"], ["U-9"])
    assert choice.best and choice.best.mark == "U-4"
    reasons = choice.passed_over[0].reasons
    assert [reason.code for reason in reasons] == ["hold.quality", "pick.ends_before", "pick.not_enough", "pick.not_thawed"]
    assert reasons[1].text == "U-3 ends Mon 30 Mar 14:00, before Mon 30 Mar 17:00 when it must still be alive."
    assert reasons[1].numbers == {"mark": "U-3", "ends_us": MON_0800 + 6 * HOUR, "until_us": MON_0800 + 9 * HOUR}
    assert reasons[2].text == "U-3 has 0.80 m; 0.85 m needed."
    assert reasons[2].numbers == {"mark": "U-3", "wanted": 850_000, "usable": 800_000, "base": "um"}
    assert reasons[3].text == "U-3 may be opened from Mon 30 Mar 16:00, not before."
    assert reasons[3].numbers == {"mark": "U-3", "ready_us": MON_0800 + 8 * HOUR, "at_us": MON_0800}


def test_enough_in_all_but_not_in_one_piece_is_passed_over_unless_pieces_will_do() -> None:
    old = roll("G6-4", MON_0800 + HOUR, 99_600_000, 40_600_000)
    choice = pick([old], want(42 * M))
    assert marks(choice) == ([], ["G6-4"], []) and choice.best is None
    reason = choice.passed_over[0].reasons[0]
    assert reason.code == "pick.not_in_one_piece" and reason.numbers["longest"] == 40_600_000
    assert reason.text == "G6-4 has 99.60 m, but in one piece only 40.60 m; 42.00 m needed."
    assert marks(pick([old], want(42 * M, in_one_piece=False)))[0] == ["G6-4"]


def test_a_life_is_over_at_exactly_its_end() -> None:
    assert why_not(roll("A", MON_0800 + 1, M), want(M)) == ()
    at_end = why_not(roll("A", MON_0800, M), want(M))
    assert [(reason.code, reason.text) for reason in at_end] == [("pick.over", "A was over Mon 30 Mar 08:00.")]
    assert why_not(roll("A", MON_0800 + 2 * HOUR, M), want(M, MON_0800 + 2 * HOUR))[0].code == "pick.ends_before"
    assert why_not(roll("A", MON_0800 + 2 * HOUR + 1, M), want(M, MON_0800 + 2 * HOUR)) == ()


def test_a_wish_is_for_one_piece_unless_it_says_otherwise() -> None:
    assert why_not(roll("A", None, 2 * M, M), Want(2 * M, "um", MON_0800))[0].code == "pick.not_in_one_piece"


def test_a_roll_is_thawed_from_the_very_instant_and_exactly_enough_is_enough() -> None:
    assert why_not(roll("A", None, M, ready=MON_0800), want(M)) == ()
    assert why_not(roll("A", None, M, ready=MON_0800 + 1), want(M))[0].code == "pick.not_thawed"


def test_equals_go_by_the_smaller_rest_then_by_mark_as_people_count() -> None:
    rolls = [
        roll("C-12", 9 * MON_0800, 5 * M),
        roll("C-9", 9 * MON_0800, 5 * M),
        roll("c-9", 9 * MON_0800, 5 * M),
        roll("Z-1", 9 * MON_0800, 4 * M),
    ]
    assert marks(pick(rolls, want(M)))[0] == ["Z-1", "C-9", "c-9", "C-12"]


@pytest.mark.parametrize(
    ("wish", "code"), [(want(0), "pick.nothing_wanted"), (want(-1), "pick.nothing_wanted"), (want(M, MON_0800 - 1), "pick.order_of_times")]
)
def test_a_wish_that_makes_no_sense_is_refused(wish: Want, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        pick([], wish)
    assert caught.value.reason.code == code


def test_nothing_to_pick_from_is_an_empty_answer() -> None:
    assert pick([], want(M, MON_0800)) == Choice((), (), ())


some_rolls = st.lists(
    st.builds(
        roll,
        st.text("AB-019", max_size=4),
        st.none() | st.integers(0, 6).map(lambda n: MON_0800 + (n - 2) * HOUR),
        st.integers(0, 3),
        st.integers(0, 3),
        ready=st.none() | st.integers(0, 2).map(lambda n: MON_0800 + (n - 1) * HOUR),
    ),
    max_size=8,
)


@given(some_rolls, st.integers(1, 3), st.booleans(), st.integers(0, 3), st.randoms(use_true_random=False))
def test_the_answer_is_complete_and_does_not_depend_on_the_order_of_the_question(
    rolls: list[Candidate], amount: int, one_piece: bool, hours: int, random: Random
) -> None:
    wish = want(amount, MON_0800 + hours * HOUR, one_piece)
    choice = pick(rolls, wish)
    shuffled = random.sample(rolls, len(rolls))
    assert marks(pick(shuffled, wish)) == marks(choice)
    assert len(choice.order) + len(choice.passed_over) + len(choice.unfit) == len(rolls)
    assert all(not why_not(c, wish) for c in choice.order)
    assert all(p.reasons for p in (*choice.passed_over, *choice.unfit))
    if choice.best:
        end = choice.best.expires_us
        assert all(p.candidate.expires_us is not None or end is None for p in choice.passed_over)
        assert all(end is None or (p.candidate.expires_us or 0) <= end for p in choice.passed_over)
    else:
        assert not choice.unfit


def test_several_rolls_make_up_an_amount_in_their_order_and_say_what_is_missing() -> None:
    takes, missing = draw([roll("A", 1, 3 * M), roll("B", 2, 5 * M)], 6 * M)
    assert [(t.candidate.mark, t.amount) for t in takes] == [("A", 3 * M), ("B", 3 * M)] and missing == 0
    assert draw([roll("A", 1, 3 * M)], 4 * M)[1] == M
    assert draw([], M) == ([], M)


def test_pieces_are_cut_from_clear_runs_the_longest_first() -> None:
    runs = {"A": (4 * M, 3 * M), "B": (50 * M,)}
    takes, missing = draw_pieces([roll("A", 1, 7 * M), roll("B", 2, 50 * M)], {5 * M: 1, 3 * M: 4}, lambda c: runs[c.mark])
    assert [(t.candidate.mark, t.amount, t.pieces) for t in takes] == [("A", 6 * M, 2), ("B", 11 * M, 3)] and not missing
    takes, missing = draw_pieces([roll("A", 1, 7 * M)], {5 * M: 1, 3 * M: 4}, lambda c: runs[c.mark])
    assert missing == {5 * M: 1, 3 * M: 2}, "seven metres in two runs hold no five"


@given(st.lists(st.lists(st.integers(0, 60), max_size=4), max_size=6), st.dictionaries(st.integers(1, 30), st.integers(0, 8), max_size=5))
def test_no_piece_is_cut_twice_or_from_nothing(rolls: list[list[int]], sizes: dict[int, int]) -> None:
    order = [roll(str(n), n, sum(r)) for n, r in enumerate(rolls)]
    takes, missing = draw_pieces(order, sizes, lambda c: rolls[int(c.mark)])
    assert all(0 < t.amount <= t.candidate.usable for t in takes)
    wanted = sum(size * n for size, n in sizes.items())
    assert sum(t.amount for t in takes) + sum(size * n for size, n in missing.items()) == wanted
    assert sum(t.pieces for t in takes) + sum(missing.values()) == sum(sizes.values())
    left = {size for size, n in missing.items() if n}
    if left:  # none of what is missing would still fit into an untouched roll
        used = {t.candidate.mark for t in takes}
        assert all(max(rolls[int(c.mark)], default=0) < min(left) for c in order if c.mark not in used)


def test_what_thaws_in_time_for_the_plan_is_no_reason_against_it() -> None:
    frozen = roll("U", None, 9 * M, ready=MON_0800 + 8 * HOUR)
    plan = Want(M, "um", MON_0800, MON_0800 + 9 * HOUR, True, ZONE, MON_0800 + 9 * HOUR)
    assert why_not(frozen, plan) == ()
    late = Want(M, "um", MON_0800, MON_0800 + 7 * HOUR, True, ZONE, MON_0800 + 7 * HOUR)
    assert [r.code for r in why_not(frozen, late)] == ["pick.not_thawed"]
