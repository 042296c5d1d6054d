"""Life limits that a customer or a design tightens: the tighter one counts, never the looser, and its name is told (R8)."""

from __future__ import annotations

import pytest

from inventory.core.exposure import Exposure
from inventory.core.limits import Limit, Moment, Reading, Source, judge, read_all
from inventory.core.spans import HOUR_US
from inventory.core.tighter import Tighter, tighten

ZONE = "Europe/Copenhagen"
AT = 1_774_821_600_000_000  # Monday 30 March 2026, 00:00 there
DAY_US = 24 * HOUR_US
WARM, LINE = 25_000, -12_000
OUT = Limit("out", "above", "laid", limit_us=120 * HOUR_US, threshold_mc=LINE)
STORAGE = Limit("storage", "calendar", "laid", months=6)
HEATS = Limit("heats", "heats", "laid", limit_n=3)


def reading(limit: Limit, *rules: Tighter, used_us: int = 0, heats: int = 0, made: int = AT, extended: int = 0) -> Reading:
    lots = tighten({7: Source(7, "PP-U lot 7", 3, (limit,), made_us=made)}, rules)
    total = Exposure(7, spent=((WARM, used_us),) if used_us else (), heats=heats)
    when = Moment(AT, WARM, ZONE, {(7, limit.name): extended} if extended else {}, AT)
    (found,) = read_all([total], lots, when)
    return found


def said(limit: Limit, *rules: Tighter, **more: int) -> tuple[str, str]:
    """The code and sentence of the one reason against laying it now."""
    when = Moment(AT, WARM, ZONE, {}, AT)
    (reason,) = judge([reading(limit, *rules, **more)], "lay", when)
    return reason.code, reason.text


def test_the_tighter_limit_counts_and_says_whose_it_is() -> None:
    rule = Tighter(3, "out", "Skerrow Sailing School", limit_us=48 * HOUR_US)
    assert not reading(OUT, rule, used_us=48 * HOUR_US - 1).over
    assert reading(OUT, rule, used_us=47 * HOUR_US).ends_us == AT + HOUR_US
    code, text = said(OUT, rule, used_us=50 * HOUR_US)
    assert code == "life.over" and "50 h 00 of 48 h used (tightened by Skerrow Sailing School)" in text


@pytest.mark.parametrize(
    ("limit", "rule"),
    [
        (OUT, Tighter(3, "out", "X", limit_us=200 * HOUR_US)),
        (STORAGE, Tighter(3, "storage", "X", months=9)),
        (STORAGE, Tighter(3, "storage", "X", limit_us=400 * DAY_US)),
        (HEATS, Tighter(3, "heats", "X", limit_n=9)),
        (OUT, Tighter(4, "out", "X", limit_us=1)),
    ],
)
def test_a_limit_is_never_loosened(limit: Limit, rule: Tighter) -> None:
    """A looser figure changes nothing, and so does one of another material."""
    own, found = reading(limit), reading(limit, rule)
    assert found.limit.by == ""
    assert (found.over, found.used, found.allowed, found.ends_us) == (own.over, own.used, own.allowed, own.ends_us)


def test_the_tightest_of_several_counts() -> None:
    rules = [Tighter(3, "Out", who, limit_us=hours * HOUR_US) for who, hours in (("a", 72), ("b", 48), ("c", 96))]
    found = reading(OUT, *rules, used_us=47 * HOUR_US)
    assert (found.limit.by, found.left) == ("b", HOUR_US)


def test_months_against_months_and_against_days() -> None:
    made = AT - 100 * DAY_US  # 20 December
    assert not reading(STORAGE, made=made).over
    assert reading(STORAGE, Tighter(3, "storage", "X", months=3), made=made).over
    assert reading(STORAGE, Tighter(3, "storage", "X", limit_us=99 * DAY_US), made=made).over
    assert not reading(STORAGE, Tighter(3, "storage", "X", limit_us=101 * DAY_US), made=made).over


def test_a_count_is_tightened_too() -> None:
    rule = Tighter(3, "heats", "design BRK", limit_n=1)
    assert not reading(HEATS, rule, heats=1).over
    assert said(HEATS, rule, heats=2) == ("life.over", "Heats is over: 2 of 1 (tightened by design BRK).")


def test_a_retest_extends_the_suppliers_date_and_not_the_customers() -> None:
    made, rule = AT - 100 * DAY_US, Tighter(3, "storage", "X", months=3)
    assert reading(STORAGE, rule, made=made, extended=AT + 900 * DAY_US).over
    assert not reading(STORAGE, made=AT - 300 * DAY_US, extended=AT + 900 * DAY_US).over


def test_what_cannot_be_applied_is_not_known() -> None:
    code, text = said(OUT, Tighter(3, "out", "X", months=2))
    assert code == "life.unknown" and "X tightens it" in text
    lots = tighten({7: Source(7, "lot", 3, (OUT,))}, (Tighter(3, "tack", "X", limit_us=1),))
    assert [r.over for r in read_all([Exposure(7)], lots, Moment(AT, WARM, ZONE, {}, AT))] == [False, True]


def test_it_reads_back_from_a_record_as_it_was_written() -> None:
    for rule in (Tighter(3, "out", "X", limit_us=5), Tighter(3, "storage", "Y", months=2), Tighter(3, "heats", "Z", limit_n=1)):
        assert Tighter.from_doc(rule.to_doc()) == rule
