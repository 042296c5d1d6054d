"""Student's t: its distribution function and its points, by the continued fraction of the incomplete beta function (NIST Digital
Library of Mathematical Functions, 8.17.22)."""

from __future__ import annotations

import math

_TINY = 1e-300


def two_tails(t: float, degrees: float) -> float:
    """How often so large a |t| comes by chance."""
    if t * t < 1:  # by the part that t makes up: near nothing the other one has lost it
        return 1 - incomplete_beta(t * t / (degrees + t * t), 0.5, degrees / 2)
    return incomplete_beta(degrees / (degrees + t * t), degrees / 2, 0.5)


def upper_tail(t: float, degrees: float) -> float:
    """How often a t so large or larger comes by chance."""
    half = two_tails(t, degrees) / 2
    return half if t >= 0 else 1 - half


def point(tail: float, degrees: float) -> float:
    """The t that is exceeded with this probability. ValueError outside (0, 1)."""
    if not 0 < tail < 1:
        raise ValueError("a tail lies between 0 and 1")
    if tail > 0.5:
        return -point(1 - tail, degrees)
    low, high = 0.0, 1.0
    while upper_tail(high, degrees) > tail:
        low, high = high, 2 * high
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if upper_tail(middle, degrees) > tail else (low, middle)
    return (low + high) / 2


def incomplete_beta(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function, 0 ≤ x ≤ 1."""
    if x <= 0 or x >= 1:
        return float(x >= 1)
    if x > (a + 1) / (a + b + 2):
        return 1 - incomplete_beta(1 - x, b, a)
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)) / a
    return front / _fraction(x, a, b)


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction, by the modified method of Lentz."""
    value, c, d = 1.0, 1.0, 0.0
    for n in range(1, 2000):
        m = n // 2
        if n % 2:
            step = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            step = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1 / ((1 + step * d) or _TINY)
        c = (1 + step / c) or _TINY
        value *= c * d
        if abs(c * d - 1) < 1e-15:
            break
    return value
