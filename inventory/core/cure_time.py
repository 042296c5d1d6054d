"""How long a resin takes to a conversion, held at a temperature or heating itself without loss; and how far it is along a chart.

Where nothing but the conversion changes the rate (isothermal: T fixed; adiabatic: T = T0 + rise·(α − α0), exactly, for any law), time is
an integral over conversion: t = ∫ dα / rate(T(α), α). It is taken by Gauss–Legendre rules on panels in logit(α), where both ends of
every published law are smooth; two rules are compared and the panels halved until they agree. That is as exact as a general solver of
differential equations and takes a hundredth of its time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from inventory.core.kinetics import Law, check_kelvin, check_start, rate
from inventory.core.reasons import BadInput
from inventory.core.said import say

if TYPE_CHECKING:
    from inventory.core.kinetics import Floats

NEVER_S = 3.2e9  # a hundred years: what takes longer does not happen in a shop
FINE, COARSE = 24, 16
AGREE = 1e-10
MOST_HALVINGS = 8
_NEAR_ZERO = 0.01
_POWER = 8  # α = c·s⁸ near α = 0: makes any power of α, however flat, smooth at the end of the panel


def time_to(law: Law, temp_k: Floats | float, alpha: float, *, start: float = 0.0, rise_k: Floats | float = 0.0) -> Floats:
    """Seconds from conversion `start` to `alpha`, for start temperatures (K) of any shape; `rise_k`: the adiabatic rise H/cp (K) of
    a full conversion, 0 for a resin held at its temperature. Infinite where it is never reached (vitrified, or over a hundred
    years). Within 1e-8 of the true integral. BadInput kinetics.temperature, kinetics.conversion, kinetics.needs_seed."""
    import numpy as np

    _check(law, temp_k, alpha, start, rise_k)
    single = not isinstance(temp_k, np.ndarray) and not isinstance(rise_k, np.ndarray)
    if alpha <= start:
        return np.zeros(() if single else np.broadcast_shapes(np.shape(temp_k), np.shape(rise_k)))
    temps = temp_k if single else np.asarray(temp_k, dtype=float)[..., None]
    rises = rise_k if single else np.asarray(rise_k, dtype=float)[..., None]
    with np.errstate(all="ignore"):
        for halving in range(MOST_HALVINGS + 1):
            at, since, fine_w, coarse_w = _nodes(start, alpha, law.breaks, 2**halving)
            slow = 1.0 / law.raw(temps + rises * since, at)
            fine, coarse = slow[..., : fine_w.size].dot(fine_w), slow[..., fine_w.size :].dot(coarse_w)
            settled = (abs(fine - coarse) <= AGREE * fine) | ~(fine < NEVER_S)
            if settled.all():
                break
        found: Floats = np.where(fine < NEVER_S, fine, math.inf)
    return found


def adiabatic_k(temp_k: float, rise_k: float, alpha: float, start: float = 0.0) -> float:
    """The temperature (K) of a pot without loss at a conversion: an identity of energy, the same for any kinetics."""
    return temp_k + rise_k * (alpha - start)


def conversion_at(law: Law, temp_k: float, seconds: float, *, start: float = 0.0) -> float:
    """The conversion after `seconds` held at `temp_k`, to 1e-9. Newton's steps on the integral, kept within a bracket."""
    _duration(seconds)
    _check(law, temp_k, start, start, 0.0)
    low, high = start, 1.0 - 1e-12
    guess = min(start + 0.1, 0.5 * (low + high))
    for _ in range(200):
        spent = float(time_to(law, temp_k, guess, start=start))
        low, high = (guess, high) if spent < seconds else (low, guess)
        better = guess + (seconds - spent) * float(rate(law, temp_k, guess)) if math.isfinite(spent) else low
        if not low < better < high:
            better = 0.5 * (low + high)
        if abs(better - guess) < 1e-12 or high - low < 1e-12:
            return better
        guess = better
    return guess


def conversion_along(law: Law, times_s: Sequence[float], temps_k: Sequence[float], *, start: float = 0.0) -> list[float]:
    """The conversion at each reading of a chart (times in s, rising; K, straight between readings). Runge–Kutta of fourth order,
    with steps short enough that the conversion moves by a hundredth at most. BadInput kinetics.chart."""
    import numpy as np

    times, temps = np.asarray(times_s, dtype=float), np.asarray(temps_k, dtype=float)
    if times.size < 2 or times.shape != temps.shape or not np.isfinite(times).all() or (np.diff(times) <= 0).any():
        raise BadInput("kinetics.chart", say("A chart needs at least two readings, each later than the one before."), "chart")
    check_kelvin(temps)
    alpha, found = check_start(law, start), [check_start(law, start)]
    for t0, t1, temp0, temp1 in zip(times[:-1], times[1:], temps[:-1], temps[1:], strict=True):
        alpha = _across(law, float(t1 - t0), float(temp0), float(temp1), alpha)
        found.append(alpha)
    return found


def _across(law: Law, length: float, temp0: float, temp1: float, alpha: float) -> float:
    at, step = 0.0, length

    def speed(where: float, a: float) -> float:
        return float(rate(law, temp0 + (temp1 - temp0) * where / length, min(max(a, 0.0), 1.0)))

    while at < length:
        k1 = speed(at, alpha)
        step = min(step, length - at)
        while True:
            k2 = speed(at + step / 2, alpha + step * k1 / 2)
            k3 = speed(at + step / 2, alpha + step * k2 / 2)
            k4 = speed(at + step, alpha + step * k3)
            if step * max(k1, k2, k3, k4) <= max(0.01, 0.2 * alpha if alpha < 0.05 else 0.01) * (1.000001) or step < 1e-3:
                break
            step /= 2
        alpha = min(alpha + step * (k1 + 2 * k2 + 2 * k3 + k4) / 6, 1.0)
        at += step
        step *= 2
        if length - at < 1e-9 * length:
            break
    return alpha


def _check(law: Law, temp_k: Floats | float, alpha: float, start: float, rise_k: Floats | float) -> None:
    check_kelvin(temp_k)
    check_start(law, start)
    if not 0 <= alpha < 1:
        text = say("The conversion to reach lies from 0 to below 1: no law reaches 1 in any time.")
        raise BadInput("kinetics.conversion", text, "conversion")
    least, most = (rise_k, rise_k) if isinstance(rise_k, (float, int)) else (float(rise_k.min()), float(rise_k.max()))
    if not (least >= 0 and most < 2000):  # not-a-number fails both
        raise BadInput(
            "kinetics.heat", say("The adiabatic rise is a number of kelvins, not below zero: check heat and heat capacity."), "heat"
        )


def _duration(seconds: float) -> None:
    if not (math.isfinite(seconds) and seconds >= 0):
        raise BadInput("kinetics.time", say("A time is a number of seconds, not below zero."), "time")


# --- nodes and weights ---------------------------------------------------------------------------


@lru_cache(maxsize=8)
def _legendre(count: int) -> tuple[Floats, Floats]:
    """Gauss–Legendre nodes and weights on [0, 1]."""
    import numpy as np

    x, w = np.polynomial.legendre.leggauss(count)
    return (x + 1) / 2, w / 2


@lru_cache(maxsize=512)
def _nodes(start: float, end: float, breaks: tuple[float, ...], panels: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Conversions of the fine rule and then of the coarse one, the same less `start`, and the weights (dα) of both."""
    import numpy as np

    fine, coarse = _rule(start, end, breaks, panels, FINE), _rule(start, end, breaks, panels, COARSE)
    at = np.concatenate([fine[0], coarse[0]])
    return at, at - start, fine[1], coarse[1]


def _rule(start: float, end: float, breaks: tuple[float, ...], panels: int, count: int) -> tuple[Floats, Floats]:
    import numpy as np

    x, w = _legendre(count)
    edges = [start, *(b for b in breaks if start < b < end), end]
    at, weights = [], []
    if start == 0:
        near = min(_NEAR_ZERO, edges[1] / 2)
        at.append(near * x**_POWER)
        weights.append(near * _POWER * x ** (_POWER - 1) * w)
        edges[0] = near
    for low, high in pairwise(edges):
        left, right = math.log(low / (1 - low)), math.log(high / (1 - high))
        width = (right - left) / panels
        for n in range(panels):
            alpha = 1 / (1 + np.exp(-(left + width * (n + x))))
            at.append(alpha)
            weights.append(width * w * alpha * (1 - alpha))
    return np.concatenate(at), np.concatenate(weights)
