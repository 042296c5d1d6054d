"""Windows between steps: the numbers of the rule, at its edges and over days on which clocks change."""

from __future__ import annotations

import pytest

from inventory.core.reasons import Reason
from inventory.core.spans import HOUR_US, MINUTE_US
from layups.core.windows import Event, Window, judge, stands

ZONE = "Europe/Copenhagen"
MONDAY = 1_774_821_600_000_000  # 2026-03-30 00:00 there; the clocks went forward on the day before
GEL = Window("gelcoat to laminate", 1, 2, "gelcoat (1)", "ply 2", 2 * HOUR_US, 24 * HOUR_US, "abrade, then laminate", "abraded")
BOND = Window("surface to bond", "surface prepared", "bonded", "surface prepared", "bonded", None, 4 * HOUR_US, "prepare again", "wiped")


def at(hours: int, minutes: int = 0) -> int:
    return MONDAY + hours * HOUR_US + minutes * MINUTE_US


def gel(us: int) -> Event:
    return Event(us, frozenset({1}))


def lay(us: int, *lines: int) -> Event:
    return Event(us, frozenset(lines or {2}))


def reasons(window: Window, *events: Event) -> list[Reason]:
    """Against the last of them."""
    return list(judge([window], events[:-1], events[-1], "DIN-022", ZONE))


def codes(window: Window, *events: Event) -> list[str]:
    return [r.code for r in reasons(window, *events)]


def test_over_says_how_long_ago_and_how_long_at_most() -> None:
    (reason,) = reasons(GEL, gel(at(-22)), lay(at(9)))
    assert reason.code == "window.over"
    assert "31 h 00 ago, at most 24 h" in reason.text and "abrade, then laminate" in reason.text and "“abraded”" in reason.text
    assert (reason.numbers["used"], reason.numbers["most_us"], reason.numbers["limit"]) == (
        31 * HOUR_US,
        24 * HOUR_US,
        "gelcoat to laminate",
    )


def test_too_early_says_from_when() -> None:
    (reason,) = reasons(GEL, gel(at(8)), lay(at(9, 10)))
    assert reason.code == "window.too_early"
    assert "1 h 10 ago, at least 2 h" in reason.text and "10:00" in reason.text


@pytest.mark.parametrize(
    ("us", "code"),
    [
        (2 * HOUR_US - 1, ["window.too_early"]),
        (2 * HOUR_US, []),
        (24 * HOUR_US - 1, []),
        (24 * HOUR_US, ["window.over"]),
    ],
)
def test_at_exactly_the_limits(us: int, code: list[str]) -> None:
    """A limit of hours is over at exactly the limit; a waiting time is done at exactly its end."""
    assert codes(GEL, gel(at(8)), lay(at(8) + us)) == code


def test_the_hour_that_the_clock_skips_is_not_counted() -> None:
    """From Saturday 28 March 20:00 to Sunday 20:00 on the wall is 23 hours."""
    saturday = MONDAY - 28 * HOUR_US + HOUR_US
    assert codes(GEL, gel(saturday), lay(saturday + 23 * HOUR_US)) == []


def test_what_never_began_is_not_known_to_be_in_time() -> None:
    (reason,) = reasons(GEL, lay(at(9)))
    assert reason.code == "window.not_started"
    assert "at least 2 h and at most 24 h" in reason.text


def test_the_first_thing_after_it_closes_the_window_whichever_line_it_fills() -> None:
    assert codes(GEL, gel(at(8)), lay(at(9), 4)) == ["window.too_early"]
    assert codes(GEL, gel(at(8)), lay(at(11)), lay(at(40), 3)) == []


def test_of_two_pots_the_oldest_must_not_be_too_old_and_the_youngest_old_enough() -> None:
    assert codes(GEL, gel(at(0)), gel(at(12)), lay(at(24))) == ["window.over"]
    assert codes(GEL, gel(at(0)), gel(at(12)), lay(at(13))) == ["window.too_early"]
    assert codes(GEL, gel(at(0)), gel(at(12)), lay(at(14))) == []


def test_the_step_that_the_design_asks_for_begins_it_anew_and_needs_no_waiting() -> None:
    abraded = Event(at(31), step="Abraded")
    assert codes(GEL, gel(at(0)), abraded, lay(at(31, 5))) == []
    assert codes(GEL, gel(at(0)), abraded, lay(at(55))) == ["window.over"]
    assert codes(GEL, abraded, lay(at(31, 5))) == ["window.not_started"]


def test_a_step_done_again_begins_anew_also_after_it_was_closed() -> None:
    prepared, bonded = (lambda us: Event(us, step="surface prepared")), (lambda us: Event(us, step=" Bonded "))
    assert codes(BOND, prepared(at(8)), prepared(at(11)), bonded(at(13))) == []
    assert codes(BOND, prepared(at(8)), bonded(at(12))) == ["window.over"]
    assert codes(BOND, prepared(at(8)), bonded(at(9)), bonded(at(20))) == []
    assert codes(BOND, prepared(at(8)), bonded(at(9)), prepared(at(10)), bonded(at(20))) == ["window.over"]


def test_how_it_stands() -> None:
    now = stands(GEL, [gel(at(8))])
    assert (now.opens_us, now.ends_us) == (at(10), at(32))
    words = [now.word(us) for us in (at(9), at(10), at(32) - 1, at(32))]
    assert words == ["waits", "open", "open", "over"]
    assert stands(GEL, []).word(at(9)) == "" == stands(GEL, [gel(at(8)), lay(at(11))]).word(at(12))


def test_it_reads_back_from_a_record_as_it_was_written() -> None:
    for window in (GEL, BOND):
        assert Window.from_doc(window.to_doc()) == window
