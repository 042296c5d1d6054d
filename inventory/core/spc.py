"""Control charts for values that come in one by one, such as one certificate value a lot: limits and the four run rules.

Limits of an individuals chart: the mean, and three sigmas on either side, where sigma is the mean of the moving ranges divided by
1.128 (the mean range of two normal values). Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2; the rules 6.3.2
("Western Electric rules").
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from inventory.core.reasons import BadInput
from inventory.core.said import say

D2 = 1.1283791670955126  # 2/√π
FEWEST = 8
"""Fewer values say nothing of how much they scatter (common practice, no source)."""
ENOUGH = 20
"""Limits from fewer are provisional (common practice, no source)."""
MOST = 5000


@dataclass(frozen=True, slots=True)
class Signal:
    """A rule that was broken: its number (1 to 4), at which value (counted from 0), and a sentence."""

    rule: int
    at: int
    text: str


@dataclass(frozen=True, slots=True)
class Control:
    """Centre and limits in the values' unit. `sigma`: of one value. `provisional`: from few values."""

    mean: float
    sigma: float
    low: float
    high: float
    provisional: bool
    signals: tuple[Signal, ...]


def individuals(values: Sequence[float], baseline: int | None = None) -> Control:
    """The chart of values in their order in time. `baseline`: how many of the first make the limits; all of them else. BadInput
    chart.too_few, .no_scatter, .number, .too_many."""
    if len(values) > MOST:
        raise BadInput("chart.too_many", say("A chart takes at most {most} values.", most=MOST), "values")
    if not all(math.isfinite(v) for v in values):
        raise BadInput("chart.number", say("Every value is a number."), "values")
    first = list(values[: baseline or len(values)])
    if len(first) < FEWEST:
        text = say(
            "{first} values are too few to tell how much they scatter: at least {fewest}, better {enough}.",
            first=len(first),
            fewest=FEWEST,
            enough=ENOUGH,
        )
        raise BadInput("chart.too_few", text, "values", values=len(first))
    mean = math.fsum(first) / len(first)
    sigma = math.fsum(abs(b - a) for a, b in itertools.pairwise(first)) / (len(first) - 1) / D2
    if sigma == 0:
        raise BadInput("chart.no_scatter", say("All values are the same: a chart needs the scatter of measurements."), "values")
    scaled = [(v - mean) / sigma for v in values]
    return Control(mean, sigma, mean - 3 * sigma, mean + 3 * sigma, len(first) < ENOUGH, tuple(signals(scaled)))


def known(values: Sequence[float], mean: float, sigma: float) -> Control:
    """The chart of values of a process whose mean and sigma are known from elsewhere. BadInput as `individuals`; chart.sigma."""
    if len(values) > MOST:
        raise BadInput("chart.too_many", say("A chart takes at most {most} values.", most=MOST), "values")
    if not all(math.isfinite(v) for v in (*values, mean, sigma)) or not values:
        raise BadInput("chart.number", say("Enter at least one value, and only numbers."), "values")
    if not sigma > 0 or not all(math.isfinite((v - mean) / sigma) for v in values):
        raise BadInput("chart.sigma", say("Sigma is above nothing, and not smaller than every number can tell."), "sigma")
    scaled = [(v - mean) / sigma for v in values]
    return Control(mean, sigma, mean - 3 * sigma, mean + 3 * sigma, False, tuple(signals(scaled)))


def run_length() -> float:
    """How many values of a process in control come, on average, until rule 1 is broken by chance: 1/(2Φ(−3))."""
    return 1 / math.erfc(3 / math.sqrt(2))


_RULES: tuple[tuple[int, int, int, float, str], ...] = (
    (1, 1, 1, 3, say("beyond three sigmas")),
    (2, 2, 3, 2, say("two of three beyond two sigmas on one side")),
    (3, 4, 5, 1, say("four of five beyond one sigma on one side")),
    (4, 8, 8, 0, say("eight in a row on one side of the mean")),
)
"""(number, how many, of how many, beyond how many sigmas, words)."""


def signals(scaled: Sequence[float]) -> list[Signal]:
    """Where each rule is broken; `scaled` in sigmas from the mean. A rule is told at the value that completes its pattern."""
    found = []
    for rule, least, window, sigmas, words in _RULES:
        for at in range(len(scaled)):
            if at + 1 < window and rule in (1, 4):
                continue
            recent = scaled[max(0, at - window + 1) : at + 1]
            for beyond in _sides(sigmas):
                if beyond(scaled[at]) and sum(map(beyond, recent)) >= least:
                    found.append(Signal(rule, at, say("Value {at}: {words}.", at=at + 1, words=words)))
                    break
    return sorted(found, key=lambda s: (s.at, s.rule))


def _sides(sigmas: float) -> tuple[Callable[[float], bool], Callable[[float], bool]]:
    return (lambda v: v > sigmas), (lambda v: v < -sigmas)
