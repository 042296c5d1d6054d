"""Inspections: readings as typed become a result, a limit and a verdict, exactly.

Pressures are whole pascals (10 mbar = 1 000 Pa), hardness and its mean are exact fractions. A limit counts as met at
exactly the limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core.numerals import leading_number, number, plain, shown
from inventory.core.quantities import UNITS
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung

DROP, HARDNESS, TAP = "drop_test", "hardness", "tap_test"
KINDS = {
    DROP: say("Drop test"),
    HARDNESS: say("Hardness"),
    TAP: say("Tap test"),
    "dimensions": say("Dimensions"),
    "roundness": say("Roundness"),
    "visual": say("Visual"),
}
DEFECT = {HARDNESS: say("soft laminate"), TAP: say("hollow sound")}
"""What a failed test is recorded as; a failed drop test is a leak in the bag, not in the part."""
_PA = {"": Fraction(100), **{name.casefold(): UNITS["pressure"][name] for name in ("mbar", "hPa", "Pa", "kPa", "bar", "psi", "inHg")}}
_HARDEST = 100  # Barcol and Shore both end there


@dataclass(frozen=True, slots=True)
class Verdict:
    """`result` and `limit` as shown; `limit` is empty where the design states none."""

    passed: bool
    result: str
    limit: str = ""


def kind_of(text: str) -> str:
    kind = "_".join(text.casefold().split())
    if kind not in KINDS:
        known = strung(", ", KINDS.values())
        raise BadInput(
            "inspection.unknown_kind", say("“{text}” is not a test known here. Use one of {known}.", text=shown(text), known=known), "kind"
        )
    return kind


def judge(kind: str, readings: str, passed: bool | None, drop_limit_pa: int | None, hardness_min: str) -> Verdict:
    """The verdict on readings as typed. Where the design states a limit the readings decide and `passed` must be left
    out; elsewhere `passed` must be said.

    BadInput: inspection.no_readings, .verdict_missing, .verdict_given, .out_of_scale, and what `number` raises."""
    if kind == DROP and drop_limit_pa is not None:
        _alone(passed)
        return _drop(readings, drop_limit_pa)
    if kind == HARDNESS and hardness_min:
        _alone(passed)
        return _hardness(readings, hardness_min)
    if passed is None:
        raise BadInput("inspection.verdict_missing", say("The design states no limit for this test: say whether it passed."), "passed")
    mean = say("mean {mean}", mean=plain(_mean(_hardnesses(readings)), 1)) if kind == HARDNESS and readings.strip() else ""
    return Verdict(passed, mean or ("passed" if passed else "failed"))


def _alone(passed: bool | None) -> None:
    if passed is not None:
        raise BadInput(
            "inspection.verdict_given", say("The design's limit decides this test: leave “passed” empty and give the readings."), "passed"
        )


def _drop(readings: str, limit_pa: int) -> Verdict:
    rise = pressure_pa(readings)
    return Verdict(rise <= limit_pa, _mbar(rise), _mbar(limit_pa))


def pressure_pa(text: str) -> Fraction:
    """A rise in pressure as typed; a number without a unit is in mbar. A fall is read as zero rise."""
    if not text.strip():
        raise BadInput("inspection.no_readings", say("Say how far the pressure rose, for example 4 mbar."), "readings")
    value, unit = leading_number(text, "inspection")
    if unit.casefold() not in _PA:
        said = say("“{unit}” is not a unit of pressure known here. Use mbar, Pa, psi or inHg.", unit=shown(unit))
        raise BadInput("inspection.unknown_unit", said, "readings")
    return max(value * _PA[unit.casefold()], Fraction(0))


def _mbar(pa: Fraction | int) -> str:
    text = plain(Fraction(pa) / 100, 2).rstrip("0").rstrip(".")
    return say("{text} mbar", text=text)


def _hardness(readings: str, least: str) -> Verdict:
    values = _hardnesses(readings)
    mean, minimum = _mean(values), number(least, "inspection")
    shows = 1
    while round(mean * 10**shows) == round(minimum * 10**shows) and mean < minimum and shows < 6:
        shows += 1  # a mean below its minimum never reads like one that reaches it
    return Verdict(
        mean >= minimum, say("mean {mean} of {values}", mean=plain(mean, shows), values=len(values)), say("minimum {least}", least=least)
    )


def _mean(values: list[Fraction]) -> Fraction:
    return sum(values, Fraction(0)) / len(values)


def _hardnesses(readings: str) -> list[Fraction]:
    """Readings separated by blanks or semicolons (a comma may be a decimal one)."""
    words = readings.replace(";", " ").split()
    if not words:
        raise BadInput("inspection.no_readings", say("Give the readings, separated by blanks: 36 38 35 …"), "readings")
    if len(words) > 200:
        raise BadInput("inspection.no_readings", say("That is more than 200 readings: give those of one part."), "readings")
    values = [number(word, "inspection") for word in words]
    for word, value in zip(words, values, strict=True):
        if not 0 <= value <= _HARDEST:
            raise BadInput(
                "inspection.out_of_scale",
                say("{word} is not on the scale from 0 to {hardest}: read it again.", word=shown(word), hardest=_HARDEST),
                "readings",
            )
    return values
