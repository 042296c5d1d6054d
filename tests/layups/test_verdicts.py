"""Readings become verdicts: exactly, and at the limit. Limits from the demo's products."""

from __future__ import annotations

import pytest

from inventory.core.reasons import BadInput
from layups.core.verdicts import judge, kind_of, pressure_pa

pytestmark = pytest.mark.core


@pytest.mark.parametrize(
    ("typed", "passed", "result"),
    [
        ("14", False, "14 mbar"),
        ("+14 mbar", False, "14 mbar"),
        ("4", True, "4 mbar"),
        ("10 mbar", True, "10 mbar"),
        ("1001 Pa", False, "10.01 mbar"),
        ("0,4 kPa", True, "4 mbar"),
        ("-2", True, "0 mbar"),
    ],
)
def test_a_drop_test_passes_up_to_its_limit(typed: str, passed: bool, result: str) -> None:
    verdict = judge("drop_test", typed, None, drop_limit_pa=1000, hardness_min="")
    assert (verdict.passed, verdict.result, verdict.limit) == (passed, result, "10 mbar")


def test_ten_hardness_readings_are_judged_by_their_mean() -> None:
    verdict = judge("hardness", "27 29 26 31 28 30 25 29 28 27", None, None, "35")
    assert (verdict.passed, verdict.result, verdict.limit) == (False, "mean 28.0 of 10", "minimum 35")
    assert judge("hardness", "34 36 35", None, None, "35").passed


def test_a_mean_just_below_its_minimum_does_not_read_as_the_minimum() -> None:
    verdict = judge("hardness", " ".join(["35"] * 24 + ["34"]), None, None, "35")
    assert (verdict.passed, verdict.result) == (False, "mean 34.96 of 25")


def test_a_test_without_a_limit_needs_somebody_to_say() -> None:
    assert judge("tap_test", "", True, None, "").passed
    with pytest.raises(BadInput, match="say whether it passed"):
        judge("tap_test", "", None, None, "")


def test_nobody_says_passed_over_the_readings() -> None:
    with pytest.raises(BadInput) as bad:
        judge("hardness", "27 28", True, None, "35")
    assert bad.value.reason.code == "inspection.verdict_given"


@pytest.mark.parametrize(
    ("kind", "typed", "code"),
    [
        ("hardness", "", "inspection.no_readings"),
        ("hardness", "27 abc", "inspection.not_a_number"),
        ("hardness", "27 281", "inspection.out_of_scale"),
        ("hardness", "1,234", "inspection.ambiguous"),
        ("hardness", "1 " * 201, "inspection.no_readings"),
        ("drop_test", "", "inspection.no_readings"),
        ("drop_test", "4 furlongs", "inspection.unknown_unit"),
        ("drop_test", "1e3", "inspection.not_a_number"),
    ],
)
def test_readings_that_cannot_be_read_are_asked_for_again(kind: str, typed: str, code: str) -> None:
    with pytest.raises(BadInput) as bad:
        judge(kind, typed, None, 1000, "35")
    assert bad.value.reason.code == code


def test_a_test_is_found_by_its_words_or_asked_for() -> None:
    assert kind_of("Drop test") == "drop_test"
    with pytest.raises(BadInput):
        kind_of("x-ray")


def test_pressures_are_exact() -> None:
    assert pressure_pa("9.99") == 999
