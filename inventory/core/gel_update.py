"""What the shop's own gels say of a system: a factor on its predicted times, with its interval (R19).

Method. Each observed gel gives the logarithm of observed over predicted time. These scatter about the system's own logarithm m by Student's
t with four degrees of freedom (`FREEDOM`), whose tails let a pot that was mis-weighed, or of a bad lot, stand apart without dragging
the rest. Before any gel, m is normal about 0 with the prediction's own doubt (`PRIOR`, published pot lives predicted from
another of their points miss by 25 to 40 %); the scatter is anything from 3 to 60 %, equally likely in its logarithm. What is then known
of m follows by Bayes' rule, summed over a fine grid. Nothing is thrown away: every gel stays in the list, with its weight.

The factor goes into `pot_forecast.Chemistry.speed` (its inverse) where kinetics are known, or onto a data-sheet window (`applied`).
Peroxide systems take no factor: their gels become points to interpolate (`gelpoints`). A voided gel is left out and all computed anew,
so the answer never depends on the order of arrival.

Times are ints, µs; factors and weights ppm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from inventory.core.mixing import PPM, Kind
from inventory.core.potlife import Window
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, say_n

if TYPE_CHECKING:
    from numpy import complex128
    from numpy.typing import NDArray

    from inventory.core.kinetics import Floats

    Complexes = NDArray[complex128]

FREEDOM = 4.0
PRIOR = 0.3
LEAST_SCATTER, MOST_SCATTER = 0.03, 0.6
COVERED = 0.9  # of what is known lies within low and high
OUTLIER_PPM = 300_000  # a gel with less weight than this stands apart
LIMIT = 50  # an observed time fifty times off is a slip of the clock, not a gel
_REACH, _STEPS, _SCATTERS = 4.5, 1201, 25


@dataclass(frozen=True, slots=True)
class SeenGel:
    """One pot: what was predicted as likely for it *without* any factor, and when it gelled. `key` names the record."""

    key: str
    happened_us: int
    predicted_us: int
    observed_us: int

    def __post_init__(self) -> None:
        if self.predicted_us <= 0 or self.observed_us <= 0:
            raise BadInput("gel.time", say("A gel needs a predicted and an observed time above zero: check the two times."), "gelled at")
        if not self.predicted_us <= LIMIT * self.observed_us <= LIMIT**2 * self.predicted_us:
            text = say("Observed and predicted gel differ by more than fifty times: check the day, the clock and the system.")
            raise BadInput("gel.time", text, "gelled at", predicted_us=self.predicted_us, observed_us=self.observed_us)


@dataclass(frozen=True, slots=True)
class Factor:
    """What is known after so many gels, on times (2_000_000: twice as long as predicted): the median, the interval that covers
    nine tenths, and the same for the next single pot, which scatters besides."""

    gels: int
    factor_ppm: int
    low_ppm: int
    high_ppm: int
    next_low_ppm: int
    next_high_ppm: int


@dataclass(frozen=True, slots=True)
class Update:
    """`now`, and `history`: the same after each gel in the order in which they happened, beginning with none. `weights_ppm`: by key, how
    far each gel was believed (about a million at the middle). `apart`: a reason for each that stands apart."""

    now: Factor
    history: tuple[Factor, ...]
    weights_ppm: dict[str, int]
    apart: tuple[Reason, ...]


def update(gels: Sequence[SeenGel], prior: float = PRIOR) -> Update:
    """What a system's gels say, from whichever order. Two records of one key are BadInput gel.twice."""
    import numpy as np

    if not 0.01 <= prior <= 2:
        raise BadInput("gel.prior", say("The doubt of a prediction is a share from 0.01 to 2."), "prior")
    if len({gel.key for gel in gels}) != len(gels):
        raise BadInput("gel.twice", say("The same gel is listed twice: count it once."), "gels")
    rows = sorted(gels, key=lambda gel: (gel.happened_us, gel.key))
    logs = np.log([gel.observed_us / gel.predicted_us for gel in rows]) if rows else np.zeros(0)
    m, scatter, belief = _before(prior)
    history = [_told(0, m, belief)]
    for n, value in enumerate(logs, start=1):
        belief = belief + _likelihood(float(value), m, scatter)
        history.append(_told(n, m, belief))
    weights = _weights(logs, m, scatter, belief)
    by_key = {gel.key: round(PPM * w) for gel, w in zip(rows, weights, strict=True)}
    apart = tuple(_apart(gel, by_key[gel.key], history[-1]) for gel in rows if by_key[gel.key] < OUTLIER_PPM)
    return Update(history[-1], tuple(history), by_key, apart)


def applied(window: Window, factor: Factor, kind: Kind, start_us: int | None = None) -> Window:
    """A data-sheet window as the shop's own gels correct it: its range opens as far as their median says. Earlier gels pull the low end,
    and with it the stop, forward; later ones move the high end only, because a data sheet's pot life ends before the gel, and an estimate
    never lengthens a pot's time by itself. `start_us`: first mixing, from which a stop time keeps its share of the low end. A
    peroxide system's window is returned as it is: its gels are points already."""
    if kind == "peroxide" or factor.gels == 0:
        return window
    low = window.low_us * min(factor.factor_ppm, PPM) // PPM
    high = window.high_us * max(factor.factor_ppm, PPM) // PPM
    stop = window.stop_us
    if stop is not None and start_us is not None:
        stop = start_us + (stop - start_us) * min(factor.factor_ppm, PPM) // PPM
    method = say_n("{method}; corrected by {n} own gel", "{method}; corrected by {n} own gels", max(factor.gels, 1), method=window.method)
    return replace(window, low_us=low, high_us=high, stop_us=stop, method=method)


def rate_doubt(factor: Factor, usual: float) -> float:
    """How far the rate of the next pot may be off, as a share: half of what covers nine tenths of it; never more than before."""
    if factor.gels == 0:
        return usual
    return min(usual, math.sqrt(factor.next_high_ppm / factor.next_low_ppm) - 1)


def speed_of(factor: Factor) -> float:
    """The factor on the rate of a law that makes its times those: the inverse, since time is one over rate."""
    return PPM / factor.factor_ppm


# --- Bayes' rule on a grid -----------------------------------------------------------------------


def _before(prior: float) -> tuple[Floats, Floats, Floats]:
    """The grid of m (across) and scatter (down), and the logarithm of what is believed before any gel."""
    import numpy as np

    m = np.linspace(-_REACH, _REACH, _STEPS)
    scatter = np.geomspace(LEAST_SCATTER, MOST_SCATTER, _SCATTERS)[:, None]
    return m, scatter, np.broadcast_to(-((m / prior) ** 2) / 2, (_SCATTERS, _STEPS))


def _likelihood(value: float, m: Floats, scatter: Floats) -> Floats:
    import numpy as np

    found: Floats = -np.log(scatter) - (FREEDOM + 1) / 2 * np.log1p(((value - m) / scatter) ** 2 / FREEDOM)
    return found


def _shares(belief: Floats) -> Floats:
    import numpy as np

    shares: Floats = np.exp(belief - belief.max())
    shares /= shares.sum()
    return shares


def _told(gels: int, m: Floats, belief: Floats) -> Factor:
    import numpy as np

    shares = _shares(belief)
    tails = (0.5, (1 - COVERED) / 2, (1 + COVERED) / 2)
    middle, low, high = _quantiles(m, shares.sum(axis=0), tails)
    # The next pot scatters besides: what is known of m, spread by the density of t (a convolution, row by row of the scatter).
    size, spreads = _spreads()
    whole = np.fft.irfft((np.fft.rfft(shares, size, axis=1) * spreads).sum(axis=0), size)
    spread = whole[_STEPS - 1 : 2 * _STEPS - 1]
    _, next_low, next_high = _quantiles(m, spread, tails)
    return Factor(gels, *(round(PPM * float(np.exp(v))) for v in (middle, low, high, next_low, next_high)))


@lru_cache(maxsize=1)
def _spreads() -> tuple[int, Complexes]:
    """The Fourier transforms of the density of t, for each scatter, and their size."""
    import numpy as np

    lags = np.arange(1 - _STEPS, _STEPS) * (2 * _REACH / (_STEPS - 1))
    scatter = np.geomspace(LEAST_SCATTER, MOST_SCATTER, _SCATTERS)[:, None]
    density = (1 + (lags / scatter) ** 2 / FREEDOM) ** (-(FREEDOM + 1) / 2)
    size = 1 << (3 * _STEPS).bit_length()
    return size, np.fft.rfft(density / density.sum(axis=1, keepdims=True), size, axis=1)


def _quantiles(m: Floats, shares: Floats, tails: Sequence[float]) -> list[float]:
    import numpy as np

    summed = np.cumsum(np.maximum(shares, 0.0))
    summed = (summed - np.maximum(shares, 0.0) / 2) / summed[-1]  # up to the middle of each cell
    return [float(v) for v in np.interp(tails, summed, m)]


def _weights(logs: Floats, m: Floats, scatter: Floats, belief: Floats) -> list[float]:
    """How far t believes each gel, (1 + r²/ν)⁻¹, averaged over what is known."""
    shares = _shares(belief)
    return [float((shares / (1 + ((value - m) / scatter) ** 2 / FREEDOM)).sum()) for value in logs]


def _apart(gel: SeenGel, weight_ppm: int, now: Factor) -> Reason:
    ratio = gel.observed_us * PPM // gel.predicted_us
    numbers: dict[str, int | str | None] = {"key": gel.key, "ratio_ppm": ratio, "weight_ppm": weight_ppm, "factor_ppm": now.factor_ppm}
    text = say(
        "This gel stands apart (ratio {ratio}, the others {factor}): check its masses, lot and temperature.",
        ratio=f"{ratio / PPM:.2f}",
        factor=f"{now.factor_ppm / PPM:.2f}",
    )
    return Reason("gel.stands_apart", text, numbers)
