"""Papers against required values (R6). Values of the storekeeper's day: two prepreg rolls of one lot."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.certificates import Line, Required, blocking, judge
from inventory.core.reasons import BadInput

pytestmark = pytest.mark.core
AREAL = Required("areal mass", "197", "211", "g/m²", per_roll=True)
RESIN = Required("resin", "40.0", "44.0", "%", per_roll=True)
TEX = Required("tex", "776", "824")


def test_one_roll_is_inside_its_limits_and_the_other_is_blocked_with_the_numbers() -> None:
    papers = {"T-7": {"Areal mass": "203", "resin": "42.3"}, "T-8": {"areal  mass": "205", "Resin": "45.1"}}
    lines = judge([AREAL, RESIN], {}, papers)
    assert [(line.name, line.roll, line.verdict) for line in lines] == [
        ("areal mass", "T-7", "inside"),
        ("areal mass", "T-8", "inside"),
        ("resin", "T-7", "inside"),
        ("resin", "T-8", "outside"),
    ]
    assert blocking(lines, "T-7") == []
    (reason,) = blocking(lines, "T-8")
    assert reason.code == "certificate.outside" and reason.text == "resin 45.1, limits 40.0–44.0 % (roll T-8)."
    assert reason.numbers == {"name": "resin", "roll": "T-8", "low": "40.0", "high": "44.0", "unit": "%", "value": "45.1"}
    assert blocking(lines) == [reason]


def test_the_lots_value_does_not_stand_for_each_roll() -> None:
    lines = judge([RESIN], {"resin": "42.0"}, {"T-7": {"resin": "42.3"}, "T-8": {}})
    assert [(line.roll, line.verdict) for line in lines] == [("", "inside"), ("T-7", "inside"), ("T-8", "missing")]
    (reason,) = blocking(lines, "T-8")
    assert reason.code == "certificate.missing"
    assert reason.text == "resin for roll T-8 is missing from the papers (limits 40.0–44.0 %): ask the supplier, or decide on it."
    assert blocking(lines, "T-7") == []


def test_a_missing_lot_value_blocks_every_roll() -> None:
    lines = judge([TEX], {}, {"A": {}, "B": {"tex": "800"}})
    assert [(line.roll, line.verdict) for line in lines] == [("", "missing"), ("B", "inside")]
    assert blocking(lines, "A") == blocking(lines, "B") == blocking(lines)
    assert blocking(lines)[0].text.startswith("tex is missing")


def test_values_of_all_rolls_stand_for_the_lots_and_one_outside_is_outside() -> None:
    lines = judge([TEX], {}, {"A": {"tex": "800"}, "B": {"tex": "825"}})
    assert [(line.roll, line.verdict) for line in lines] == [("A", "inside"), ("B", "outside")]
    assert blocking(lines, "A") == []


def test_a_roll_outside_is_outside_though_the_lot_is_inside() -> None:
    lines = judge([TEX], {"tex": "800"}, {"A": {"tex": "700"}})
    assert [line.verdict for line in lines] == ["inside", "outside"]


def test_with_none_needed_nothing_blocks_whatever_the_papers_say() -> None:
    assert judge([], {"resin": "n/a"}, {"A": {"resin": "?"}}) == [] == blocking([])


def test_an_empty_box_is_a_missing_value() -> None:
    assert judge([TEX], {"tex": "  "}, {})[0].verdict == "missing"


@pytest.mark.parametrize(
    ("low", "high", "value", "verdict", "says"),
    [
        ("", "0.15", "0.15", "inside", ""),
        ("", "0.15", "0.1500000001", "outside", "at most 0.15"),
        ("20", "", "20,0", "inside", ""),
        ("20", "", "19.999", "outside", "at least 20"),
        ("40.0", "44.0", "44.00", "inside", ""),
        ("40.0", "44.0", "40", "inside", ""),
        ("40.0", "44.0", "39.95", "outside", "limits 40.0–44.0"),
        ("", "", "-3", "inside", ""),
        ("", "", "", "missing", "no limits"),
    ],
)
def test_limits_belong_to_the_inside_and_compare_exactly(low: str, high: str, value: str, verdict: str, says: str) -> None:
    (line,) = judge([Required("x", low, high)], {"x": value}, {})
    assert line.verdict == verdict and says in (line.reason.text if line.reason else "")


@pytest.mark.parametrize(
    ("value", "code"),
    [
        ("n/a", "not_a_number"),
        ("<0.05", "not_a_number"),
        ("NaN", "not_a_number"),
        ("1e999", "not_a_number"),
        ("42.3 %", "not_a_number"),
        ("1,234", "ambiguous"),
    ],
)
def test_a_value_that_cannot_be_read_says_which_one(value: str, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        judge([RESIN], {}, {"T-7": {"resin": value}})
    error = caught.value
    assert error.reason.code == f"certificate.{code}" and error.where == "resin"
    assert error.reason.text.startswith("resin for roll T-7: ")
    assert error.reason.numbers == {"name": "resin", "roll": "T-7", "given": value}


def test_limits_that_cross_and_values_given_twice_are_refused() -> None:
    for call, code in (
        (lambda: judge([Required("x", "5", "4")], {}, {}), "certificate.limits_crossed"),
        (lambda: judge([TEX], {"tex": "1", "Tex": "2"}, {}), "certificate.name_twice"),
        (lambda: judge([TEX], {}, {"A": {"tex": "1", " tex ": "2"}}), "certificate.name_twice"),
    ):
        with pytest.raises(BadInput) as caught:
            call()
        assert caught.value.reason.code == code
    assert judge([Required("x", "5", "5")], {"x": "5.0"}, {})[0].verdict == "inside"


decimals = st.decimals(-1000, 1000, places=3)


@given(decimals, decimals, decimals)
def test_the_verdict_is_that_of_decimal_arithmetic(one: Decimal, other: Decimal, value: Decimal) -> None:
    low, high = min(one, other), max(one, other)
    (line,) = judge([Required("x", f"{low:f}", f"{high:f}")], {"x": f"{value:f}"}, {})
    assert isinstance(line, Line) and (line.verdict == "inside") == (low <= value <= high)
