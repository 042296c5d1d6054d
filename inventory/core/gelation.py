"""When a resin gels: by conversion, by viscosity, or anchored to the data sheet.

By conversion: at the gel point of the network (Flory and Stockmayer), which real gels pass a little later. By viscosity: where Castro and
Macosko's law reaches what can no longer be worked. Anchored: the law keeps its shape, and one factor on its rate makes it gel in the
data sheet's pot when the data sheet says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.core.kinetics import GAS, check_kelvin
from inventory.core.reasons import BadInput
from inventory.core.said import say

if TYPE_CHECKING:
    from inventory.core.kinetics import Floats

# What can no longer be spread or drawn through a reinforcement: 100 Pa·s on a brush, 1 Pa·s in an infusion. Common practice, no source.
BRUSH_PA_S, INFUSION_PA_S = 100.0, 1.0


def gel_point(ratio: float, functionality: float, other: float = 2.0) -> float:
    """The conversion (of the scarcer groups) at which an endless network forms: 1/√(r·(f − 1)·(g − 1)). `ratio` r ≤ 1: scarcer over
    more plentiful groups; `functionality` f: active hydrogens of the amine; `other` g: epoxides of the resin. BadInput
    gel.never for a mixture that can never gel, gel.point for figures that cannot be."""
    if not (0 < ratio <= 1 and math.isfinite(functionality) and math.isfinite(other) and functionality >= 1 and other >= 1):
        text = say("A gel point needs the ratio of the groups (above 0, at most 1) and at least one group on each molecule.")
        raise BadInput("gel.point", text, "ratio")
    spread = ratio * (functionality - 1) * (other - 1)
    if spread <= 1 + 1e-12:
        text = say("This mixture never gels: too little hardener, or molecules that only make chains. Check the ratio and the hardener.")
        raise BadInput("gel.never", text, "ratio")
    return 1 / math.sqrt(spread)


@dataclass(frozen=True, slots=True)
class Viscosity:
    """Castro and Macosko: μ = μ0(T)·(αg/(αg − α))^(a + b·α), μ0 = `factor`·exp(`energy`/RT). Pa·s, J/mol. Endless from αg on."""

    factor: float
    energy: float
    gel: float
    a: float
    b: float

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) for v in (self.factor, self.energy, self.gel, self.a, self.b)):
            raise BadInput("gel.viscosity", say("The constants of a viscosity are finite numbers."), "viscosity")
        if self.factor <= 0 or not 0 < self.gel < 1 or self.a < 0 or self.a + self.b * self.gel < 0 or self.energy < 0:
            text = say("A viscosity needs a factor above zero, a gel point between 0 and 1, and exponents that make it rise with cure.")
            raise BadInput("gel.viscosity", text, "viscosity")

    def fresh(self, temp_k: Floats | float) -> Floats:
        """Pa·s before any cure."""
        import numpy as np

        found: Floats = self.factor * np.exp(self.energy / (GAS * np.asarray(check_kelvin(temp_k), dtype=float)))
        return found

    def at(self, temp_k: Floats | float, alpha: Floats | float) -> Floats:
        """Pa·s at temperatures and conversions that broadcast; infinite at the gel point and beyond."""
        import numpy as np

        given = np.asarray(alpha, dtype=float)
        if not np.isfinite(given).all() or (given < 0).any():
            raise BadInput("kinetics.conversion", say("A conversion is a number from 0 to 1."), "conversion")
        left = np.maximum(self.gel - given, 0.0)
        with np.errstate(divide="ignore"):
            grown = np.where(left > 0, (self.gel / np.where(left > 0, left, 1.0)) ** (self.a + self.b * given), math.inf)
        found: Floats = self.fresh(temp_k) * grown
        return found

    def conversion_at(self, temp_k: float, limit_pa_s: float) -> float:
        """The conversion at which the resin is as thick as `limit_pa_s` at `temp_k`; 0 where it is that thick when fresh. By bisection."""
        if not (math.isfinite(limit_pa_s) and limit_pa_s > 0):
            raise BadInput("gel.viscosity", say("The viscosity to stop at is a number of Pa·s above zero."), "limit")
        low, high = 0.0, self.gel
        if float(self.fresh(temp_k)) >= limit_pa_s:
            return 0.0
        while high - low > 1e-13:
            middle = (low + high) / 2
            low, high = (middle, high) if float(self.at(temp_k, middle)) < limit_pa_s else (low, middle)
        return low


def time_until_thick(viscosity: Viscosity, limit_pa_s: float, alphas: Floats, times_s: Floats, temps_k: Floats) -> Floats:
    """Seconds until each pot of a curve (points, points × scenarios: `pot_heat.Heated.curve`) is as thick as the limit; infinite where
    it never is within it. Warm resin thins before it thickens, so it is the last rise over the limit before gel that counts, unless
    it was over it from the start. Between points, time and temperature follow cubics in logit(α)."""
    import numpy as np

    with np.errstate(invalid="ignore", over="ignore"):
        thick = viscosity.at(temps_k, np.minimum(alphas, 1.0)[:, None]) >= limit_pa_s
    u = np.log(alphas / (1 - alphas))
    found = np.full(times_s.shape[1], math.inf)
    for n in range(times_s.shape[1]):
        under = np.flatnonzero(~thick[:, n])
        if not under.size:
            found[n] = 0.0
        elif under[-1] + 1 < len(alphas):
            found[n] = _crossing(viscosity, limit_pa_s, u, times_s[:, n], temps_k[:, n], int(under[-1]))
    return found


def _crossing(viscosity: Viscosity, limit_pa_s: float, u: Floats, times_s: Floats, temps_k: Floats, k: int) -> float:
    """The time between points k and k + 1 at which the limit is met."""
    first = max(0, min(k - 1, len(u) - 4))
    near = slice(first, first + 4)
    low, high = float(u[k]), float(u[k + 1])
    for _ in range(50):
        middle = (low + high) / 2
        alpha = 1 / (1 + math.exp(-middle))
        over = float(viscosity.at(_between(u[near], temps_k[near], middle), alpha)) >= limit_pa_s
        low, high = (low, middle) if over else (middle, high)
    return min(max(_between(u[near], times_s[near], low), float(times_s[k])), float(times_s[k + 1]))


def _between(x: Floats, y: Floats, at: float) -> float:
    """The polynomial through the points (Lagrange)."""
    total = 0.0
    for i, (xi, yi) in enumerate(zip(x, y, strict=True)):
        weight = 1.0
        for j, xj in enumerate(x):
            weight *= (at - xj) / (xi - xj) if j != i else 1.0
        total += weight * float(yi)
    return total


def anchored(gel_seconds: Callable[[float], float], sheet_s: float) -> float:
    """The factor on a law's rate with which `gel_seconds(factor)` is the data sheet's time. `gel_seconds` falls with the factor (it is a
    pot of the sheet's mass, vessel and temperature). Secant steps in logarithms within a bracket of 1/1000 to 1000, to 1e-6.

    BadInput gel.anchor when the sheet's time is out of any reach: then the law is another resin's."""
    if not (math.isfinite(sheet_s) and sheet_s > 0):
        raise BadInput("gel.anchor", say("The data sheet's time must be above zero."), "pot life")

    def off(x: float) -> float:
        seconds = gel_seconds(math.exp(x))
        return math.log(seconds / sheet_s) if math.isfinite(seconds) else 50.0

    low, high = math.log(1e-3), math.log(1e3)
    f_low, f_high = off(low), off(high)
    if f_low < 0 or f_high > 0:
        text = say("No factor up to a thousand makes this law gel when the data sheet says: it is another resin's law. Choose another.")
        raise BadInput("gel.anchor", text, "pot life")
    x, side = 0.0, 0
    for _ in range(100):
        here = off(x)
        if abs(here) < 1e-6 or high - low < 1e-9:
            break
        if here > 0:
            low, f_low, f_high, side = x, here, f_high / 2 if side > 0 else f_high, 1
        else:
            high, f_high, f_low, side = x, here, f_low / 2 if side < 0 else f_low, -1
        x = (low * f_high - high * f_low) / (f_high - f_low)
    return math.exp(x)
