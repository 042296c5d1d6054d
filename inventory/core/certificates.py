"""A supplier's papers against what a material requires (R6): inside, outside or missing, per lot and per roll.

Values and limits are decimal text and are compared exactly; limits belong to the inside. A value that is required for
each roll is not stood for by the lot's. A roll's value counts even where the lot's would do: once known to be outside,
it is outside.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from inventory.core.numerals import number, shown
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say

Verdict = Literal["inside", "outside", "missing"]


@dataclass(frozen=True, slots=True)
class Required:
    """A value that the papers must state. `low` and `high` are decimal text, "" for no limit on that side; both "" ask
    for the value alone. `per_roll`: for each roll, not only for the lot."""

    name: str
    low: str = ""
    high: str = ""
    unit: str = ""
    per_roll: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One value judged. `roll` "" is the lot's own. `value` is the text as given, None when missing."""

    name: str
    roll: str
    value: str | None
    verdict: Verdict
    reason: Reason | None = None


def judge(required: Sequence[Required], lot: Mapping[str, str], rolls: Mapping[str, Mapping[str, str]]) -> list[Line]:
    """Judges a delivery's papers: `lot` holds value text by name, `rolls` the same for each roll's mark (an empty
    mapping for a roll whose paper gives nothing). Names compare without case; values nobody asked for are passed over.

    An empty `required` means "none needed": an empty list, and nothing blocks release. Raises BadInput
    certificate.not_a_number, .ambiguous, .limits_crossed, .name_twice, naming the value."""
    by_name = {_key(name): text for name, text in _once(lot, "").items()}
    by_roll = {mark: {_key(name): text for name, text in _once(values, mark).items()} for mark, values in rolls.items()}
    lines: list[Line] = []
    for need in required:
        _check_limits(need)
        of_lot = by_name.get(_key(need.name))
        of_rolls = {mark: values.get(_key(need.name)) for mark, values in by_roll.items()}
        every_roll = bool(of_rolls) and None not in of_rolls.values()
        if of_lot is not None or not (need.per_roll or every_roll):
            lines.append(_line(need, "", of_lot))
        lines += [_line(need, mark, text) for mark, text in of_rolls.items() if need.per_roll or text is not None]
    return lines


def blocking(lines: Sequence[Line], roll: str | None = None) -> list[Reason]:
    """What stands against release: of the whole delivery, or of one roll (the lot's lines and its own)."""
    return [line.reason for line in lines if line.reason and (roll is None or line.roll in ("", roll))]


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _once(values: Mapping[str, str], roll: str) -> dict[str, str]:
    """The values that were given (an empty box is not a value); the same name twice is an error, not a choice."""
    given = {name: text.strip() for name, text in values.items() if text.strip()}
    if len({_key(name) for name in given}) < len(given):
        raise BadInput("certificate.name_twice", say("The papers give a value twice{of}: keep one.", of=_of(roll)), where=roll)
    return given


def _of(roll: str) -> str:
    return say(" for roll {roll}", roll=roll) if roll else ""


def _check_limits(need: Required) -> None:
    if need.low and need.high and number(need.low, "certificate") > number(need.high, "certificate"):
        text = say(
            "The limits of {need} are crossed ({low} above {high}): correct the material.", need=need.name, low=need.low, high=need.high
        )
        raise BadInput("certificate.limits_crossed", text, where=need.name, low=need.low, high=need.high)


def _limits(need: Required) -> str:
    if need.low and need.high:
        text = say("limits {low}–{high}", low=need.low, high=need.high)
    elif need.low or need.high:
        text = say("at least {low}", low=need.low) if need.low else say("at most {high}", high=need.high)
    else:
        return say("no limits")
    return say("{text} {need_unit}", text=text, need_unit=need.unit).rstrip()


def _line(need: Required, roll: str, value: str | None) -> Line:
    numbers: dict[str, int | str | None] = {"name": need.name, "roll": roll, "low": need.low, "high": need.high, "unit": need.unit}
    if value is None:
        text = say(
            "{need}{of} is missing from the papers ({limits}): ask the supplier, or decide on it.",
            need=need.name,
            of=_of(roll),
            limits=_limits(need),
        )
        return Line(need.name, roll, None, "missing", Reason("certificate.missing", text, numbers))
    try:
        read = number(value, "certificate")
    except BadInput as error:
        text = say("{need}{of}: {error_reason}", need=need.name, of=_of(roll), error_reason=error.reason.text)
        raise BadInput(error.reason.code, text, where=need.name, name=need.name, roll=roll, given=shown(value)) from error
    low_fails = bool(need.low) and read < number(need.low, "certificate")
    high_fails = bool(need.high) and read > number(need.high, "certificate")
    if not (low_fails or high_fails):
        return Line(need.name, roll, value, "inside")
    text = say(
        "{need} {value}, {limits}{roll}.",
        need=need.name,
        value=value,
        limits=_limits(need),
        roll=say(" (roll {roll})", roll=roll) if roll else "",
    )
    return Line(need.name, roll, value, "outside", Reason("certificate.outside", text, {**numbers, "value": value}))
