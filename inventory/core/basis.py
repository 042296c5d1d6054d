"""Basis values: what nearly all of a material can be counted on for, from a sample of normal values.

A B-basis value is exceeded by 90 % of the material with 95 % confidence, an A-basis value by 99 %: mean − k·s, where k is the
one-sided tolerance factor of the normal distribution, the 95 % point of a non-central t divided by √n. Source: CMH-17-1G, chapter
8; NIST/SEMATECH e-Handbook 7.2.6.3. The distribution is integrated here, so no table ends.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

from inventory.core.reasons import BadInput
from inventory.core.said import say

CONFIDENCE = 0.95
SHARES = {"B": 0.90, "A": 0.99}
FEWEST = {"B": 3, "A": 3}
USUAL = {"B": 18, "A": 55}
"""How many values, of several lots, reviewers usually ask for before such a value is published (CMH-17-1G: robust sampling, 18 for B
and 55 for A; from memory)."""
_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class Basis:
    """`value` = mean − k·s, in the values' unit; `thin`: fewer values than are usually asked for."""

    value: float
    k: float
    mean: float
    deviation: float
    n: int
    thin: bool


def basis(values: Sequence[float], kind: str) -> Basis:
    """`kind`: "A" or "B". The values are taken for a random sample of one normal population. BadInput basis.kind, .too_few, .number."""
    if kind not in SHARES:
        raise BadInput("basis.kind", say("A basis value is A or B."), "kind")
    if not all(math.isfinite(v) for v in values):
        raise BadInput("basis.number", say("Every value is a number."), "values")
    n = len(values)
    if n < FEWEST[kind]:
        raise BadInput(
            "basis.too_few",
            say("{count} values are too few: at least {fewest}, usually {usual}.", count=n, fewest=FEWEST[kind], usual=USUAL[kind]),
            "values",
            values=n,
        )
    mean = math.fsum(values) / n
    deviation = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (n - 1))
    k = factor(n, kind)
    return Basis(mean - k * deviation, k, mean, deviation, n, n < USUAL[kind])


@cache
def factor(n: int, kind: str) -> float:
    """The one-sided tolerance factor k for `n` values. ValueError for n < 2."""
    if n < 2:
        raise ValueError("a tolerance factor needs two values")
    shift = _NORMAL.inv_cdf(SHARES[kind]) * math.sqrt(n)
    low, high = 0.0, 4.0
    while noncentral_t(high, n - 1, shift) < CONFIDENCE:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if noncentral_t(middle, n - 1, shift) < CONFIDENCE else (low, middle)
    return (low + high) / 2 / math.sqrt(n)


def noncentral_t(t: float, degrees: int, shift: float) -> float:
    """P(T ≤ t) of the non-central t distribution: Φ(t·s − shift) averaged over s, the root of a chi-square over its degrees of
    freedom. Simpson's rule over twelve deviations; checked against scipy."""
    centre, wide = math.sqrt(max(degrees - 1, 0) / degrees), 1 / math.sqrt(2 * degrees)
    low, high = max(0.0, centre - 12 * wide), centre + 12 * wide
    log_scale = degrees / 2 * math.log(degrees) - math.lgamma(degrees / 2) - (degrees / 2 - 1) * math.log(2)
    steps = 600
    width = (high - low) / steps
    total = 0.0
    for i in range(steps + 1):
        s = low + i * width
        weight = 1 if i in (0, steps) else 4 if i % 2 else 2
        if s <= 0:
            density = math.exp(log_scale) if degrees == 1 else 0.0
        else:
            density = math.exp(log_scale + (degrees - 1) * math.log(s) - degrees * s * s / 2)
        total += weight * density * _NORMAL.cdf(t * s - shift)
    return total * width / 3


def normalised(value: float, thickness: float, nominal: float) -> float:
    """A fibre-dominated strength or stiffness as it would be at the nominal ply thickness, so that panels with more or less resin
    compare: value × thickness / nominal. Source: CMH-17-1G, 2.4.3. BadInput basis.thickness."""
    if not (math.isfinite(thickness) and math.isfinite(nominal) and thickness > 0 and nominal > 0):
        raise BadInput("basis.thickness", say("A thickness is above nothing."), "thickness")
    return value * thickness / nominal
