"""Whether a new lot still comes from the material that its history describes.

Limits for strengths, after CMH-17-1G 8.4.1 and M. G. Vangel, "Lot acceptance and compliance testing using the sample mean and an extremum"
(Technometrics 44 (2002) 242): n new values pass when their mean is at least x̄ − k₂·s and the lowest at least x̄ − k₁·s, x̄ and s those of
the history. k₁ and k₂ are such that each of the two alone fails a good lot equally often, and both together with the chance α. Assumed:
one normal population, independent values, a history long enough for its x̄ and s to be taken for the truth. Where it is not, a good lot
fails more often than α; `allowing` gives the limits that hold for a history of m values (each of the two at α/2, so both together at most
α).

A change of the mean to either side, as it counts for areal weight or resin content, is judged by t: Welch's where both sides have two
values, else by the history's scatter alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

from inventory.core import student
from inventory.core.reasons import BadInput
from inventory.core.said import say

FEWEST, ENOUGH = 8, 20
"""Values of a history: fewer say nothing of its scatter; from fewer than ENOUGH limits are provisional (common practice, no source)."""
MOST_NEW, MOST = 200, 5000
_NORMAL = NormalDist()
_CELLS = 1 << 17


@dataclass(frozen=True, slots=True)
class Factors:
    """How many of the history's standard deviations below its mean the limits lie."""

    mean: float
    lowest: float


@dataclass(frozen=True, slots=True)
class Sample:
    n: int
    mean: float
    deviation: float
    lowest: float
    highest: float


@dataclass(frozen=True, slots=True)
class Change:
    """A change of the mean to either side. `p`: how often so large a one comes by chance; `low`, `high`: what the new mean may be."""

    t: float
    degrees: float
    p: float
    low: float
    high: float
    welch: bool


@dataclass(frozen=True, slots=True)
class Compared:
    """`mean_limit`, `lowest_limit`: by the history taken for the truth; `allowing_…`: by a history of so many values. For `side` "high" the
    limits are upper ones and "lowest" is the highest. `passes` by the first, `clearly` when the second fail it too."""

    history: Sample
    new: Sample
    side: str
    alpha: float
    factors: Factors
    allowing: Factors
    mean_limit: float
    lowest_limit: float
    allowing_mean: float
    allowing_lowest: float
    passes: bool
    clearly: bool
    change: Change
    provisional: bool


def compare(history: Sequence[float], new: Sequence[float], alpha: float = 0.05, side: str = "low") -> Compared:
    """The new values beside their history. BadInput equivalence.too_few, .no_scatter, .number, .alpha, .side, .too_many."""
    old, came = _checked(history, new, alpha, side)
    sign = -1.0 if side == "high" else 1.0
    worst = came.highest if side == "high" else came.lowest
    known, wide = factors(came.n, alpha), allowing(came.n, old.n, alpha)
    limits = [old.mean - sign * k * old.deviation for k in (known.mean, known.lowest, wide.mean, wide.lowest)]
    outside = [sign * (value - limit) < 0 for value, limit in zip((came.mean, worst, came.mean, worst), limits, strict=True)]
    return Compared(
        old, came, side, alpha, known, wide, limits[0], limits[1], limits[2], limits[3],
        passes=not any(outside[:2]), clearly=any(outside[2:]), change=changed(history, new, alpha), provisional=old.n < ENOUGH,
    )  # fmt: skip


def changed(history: Sequence[float], new: Sequence[float], alpha: float = 0.05) -> Change:
    """Whether the mean changed, two-sided at `alpha`."""
    old, came = _checked(history, new, alpha, "low")
    welch = came.n > 1
    a = old.deviation**2 / old.n
    b = came.deviation**2 / came.n if welch else old.deviation**2
    degrees = (a + b) ** 2 / (a**2 / (old.n - 1) + b**2 / (came.n - 1)) if welch else old.n - 1.0
    t = (came.mean - old.mean) / math.sqrt(a + b)
    # The range for the new mean, told before anything of the new lot is known: by the history's scatter.
    reach = student.point(alpha / 2, old.n - 1) * old.deviation * math.sqrt(1 / old.n + 1 / came.n)
    return Change(t, degrees, student.two_tails(t, degrees), old.mean - reach, old.mean + reach, welch)


@lru_cache(maxsize=512)
def factors(n: int, alpha: float) -> Factors:
    """The published factors for n new values, against a history that is taken for the truth."""
    if n == 1:
        k = _NORMAL.inv_cdf(1 - alpha)
        return Factors(k, k)
    low, high = alpha / 2, alpha  # the chance with which each of the two alone fails a good lot
    for _ in range(60):
        if high - low < 1e-10 * alpha:
            break
        each = (low + high) / 2
        low, high = (each, high) if 1 - _both(n, _single(n, each)) < alpha else (low, each)
    return _single(n, (low + high) / 2)


@lru_cache(maxsize=512)
def allowing(n: int, m: int, alpha: float) -> Factors:
    """Factors that allow for a history of only m values: of a t, and of the lowest of n against m, each at α/2; of one value, at α."""
    each = alpha if n == 1 else alpha / 2
    mean = student.point(each, m - 1) * math.sqrt(1 / n + 1 / m)
    return Factors(mean, mean if n == 1 else _lowest(n, m, each))


def _single(n: int, each: float) -> Factors:
    """The factors with which each of the two fails a good lot so often."""
    return Factors(-_NORMAL.inv_cdf(each) / math.sqrt(n), -_NORMAL.inv_cdf(-math.expm1(math.log1p(-each) / n)))


def _both(n: int, k: Factors) -> float:
    """How often n standard normal values have no one below −k.lowest and a mean not below −k.mean: the n-fold convolution of a cut
    normal distribution, on a fine grid."""
    import numpy as np

    width = k.lowest + 8.5
    cells = min(8192, _CELLS // n)
    step = width / cells
    edges = np.array([math.erf((-k.lowest + i * step) / math.sqrt(2)) for i in range(cells + 1)])
    size = 1 << (n * cells).bit_length()
    # The masses of the cells stand at their middles, which scatters by step²/12 too much: a second difference takes it out.
    masses = np.diff(edges) / 2
    wave = np.fft.rfft(masses, size)
    angle = 2 * np.pi * np.arange(len(wave)) / size
    whole = np.fft.irfft(wave**n * (1 + (1 - np.cos(angle)) * n / 12), size)[: n * cells]
    at = (-k.mean * n + n * k.lowest) / step - n / 2  # the sum's place on the grid of middles
    below = np.concatenate(([0.0], np.cumsum(whole)))
    return float(below[-1] - np.interp(at + 0.5, np.arange(len(below)), below))


def _lowest(n: int, m: int, each: float) -> float:
    """k with which the lowest of n new values lies below x̄ − k·s of m old ones with this chance: integrated over x̄ and s."""
    import numpy as np

    degrees = m - 1
    spread = 8 / math.sqrt(2 * degrees)
    s = np.linspace(max(1e-6, 1 - spread), 1 + spread, 161)
    z = np.linspace(-7, 7, 81) / math.sqrt(m)
    log_s = degrees / 2 * math.log(degrees / 2) - math.lgamma(degrees / 2) + math.log(2)
    of_s = np.exp(log_s + (degrees - 1) * np.log(s) - degrees * s * s / 2) * _simpson(161) * (s[1] - s[0])
    of_z = np.exp(-m * z * z / 2) * math.sqrt(m / (2 * math.pi)) * _simpson(81) * (z[1] - z[0])
    low, high = 0.0, 4.0

    def fails(k: float) -> float:
        places = (k * s[:, None] - z[None, :]).ravel()
        stays = np.array([(math.erfc(-x / math.sqrt(2)) / 2) ** n for x in places]).reshape(len(s), len(z))
        return 1 - float(of_s @ stays @ of_z)

    while fails(high) > each:
        low, high = high, 2 * high
    for _ in range(24):
        middle = (low + high) / 2
        low, high = (middle, high) if fails(middle) > each else (low, middle)
    return (low + high) / 2


def _simpson(points: int) -> list[float]:
    return [(1.0 if i in (0, points - 1) else 4.0 if i % 2 else 2.0) / 3 for i in range(points)]


def _checked(history: Sequence[float], new: Sequence[float], alpha: float, side: str) -> tuple[Sample, Sample]:
    if side not in ("low", "high"):
        raise BadInput("equivalence.side", say("Say low where low values are bad, as of a strength, or high."), "side")
    if not 0.0001 <= alpha <= 0.5:
        raise BadInput("equivalence.alpha", say("The chance of failing a good lot is a share from 0.01 to 50 %."), "alpha")
    if not all(math.isfinite(v) for v in (*history, *new)):
        raise BadInput("equivalence.number", say("Every value is a number."), "history")
    if len(history) > MOST or len(new) > MOST_NEW:
        raise BadInput(
            "equivalence.too_many",
            say("At most {most} values of a history and {most_new} new ones.", most=MOST, most_new=MOST_NEW),
            "new" if len(new) > MOST_NEW else "history",
        )
    if not new:
        raise BadInput("equivalence.too_few", say("Enter at least one value of the new lot."), "new", values=0)
    if len(history) < FEWEST:
        text = say(
            "Too little data: {history} of {fewest} values. A history says nothing of its scatter with fewer; better {enough}.",
            history=len(history),
            fewest=FEWEST,
            enough=ENOUGH,
        )
        raise BadInput("equivalence.too_few", text, "history", values=len(history))
    found = _sample(history)
    if not found.deviation > 0:
        raise BadInput(
            "equivalence.no_scatter", say("All values of the history are the same: it needs the scatter of measurements."), "history"
        )
    return found, _sample(new)


def _sample(values: Sequence[float]) -> Sample:
    n = len(values)
    mean = math.fsum(values) / n
    deviation = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (n - 1)) if n > 1 else 0.0
    return Sample(n, mean, deviation, min(values), max(values))
