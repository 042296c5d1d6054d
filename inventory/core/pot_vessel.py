"""From a cup, a tray, a film or a shop's own figure to how fast a pot loses its heat.

loss = hS/(m·cp), in 1/s. `h` counts still air and radiation together. Lengths in m, masses in kg, areas in m² inside; the doors' integers
become these once, here. A pot is treated as one temperature; `biot` says how far that holds, `runaway_number` whether the middle of
a block could run away although its surface is cool.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from inventory.core.kinetics import GAS
from inventory.core.reasons import BadInput
from inventory.core.said import say

# Still air at a wall with radiation: 8 to 12 W/(m² K). Common practice, no source.
STILL_AIR = 10.0
# Unfilled epoxy: 1 800 J/(kg K), 1 150 kg/m³, 0.2 W/(m K). Common practice, no source; a system may state its own.
HEAT_CAPACITY, DENSITY, CONDUCTS = 1800.0, 1150.0, 0.2
# Up to here one temperature stands for the whole pot: the usual bound of the lumped form (heat-transfer tables).
LUMPED_BIOT = 0.1
Shape = Literal["slab", "cylinder", "sphere"]
_ORDER: dict[Shape, int] = {"slab": 0, "cylinder": 1, "sphere": 2}


@dataclass(frozen=True, slots=True)
class Resin:
    """What the heat balance asks of a mixed resin: J/(kg K), kg/m³, W/(m K)."""

    heat_capacity: float = HEAT_CAPACITY
    density: float = DENSITY
    conducts: float = CONDUCTS

    def __post_init__(self) -> None:
        _positive(**{"heat capacity": self.heat_capacity, "density": self.density, "conductivity": self.conducts})


@dataclass(frozen=True, slots=True)
class Vessel:
    """How a given mass stands. `area_m2` is what gives heat off, `depth_m` its smaller half-thickness (for `biot`), `shape` the body it
    is nearest to."""

    name: str
    area_m2: float
    depth_m: float
    shape: Shape


def cup(mass_kg: float, diameter_m: float, resin: Resin, *, bottom: bool = False) -> Vessel:
    """An upright round cup: the wall it wets and its open top, and its bottom if that stands free."""
    _positive(mass=mass_kg, diameter=diameter_m)
    base = math.pi / 4 * diameter_m**2
    height = mass_kg / resin.density / base
    area = math.pi * diameter_m * height + base * (2 if bottom else 1)
    flat = height < diameter_m / 2
    return Vessel("cup", area, height / 2 if flat else diameter_m / 2, "slab" if flat else "cylinder")


def tray(mass_kg: float, area_m2: float, resin: Resin, *, bottom: bool = False) -> Vessel:
    """Poured flat over an area: the open top, and the bottom where it is thin metal that stands free."""
    _positive(mass=mass_kg, area=area_m2)
    depth = mass_kg / resin.density / area_m2
    return Vessel("tray", area_m2 * (2 if bottom else 1), depth / 2 if bottom else depth, "slab")


def film(mass_kg: float, thickness_m: float, resin: Resin, *, sides: int = 1) -> Vessel:
    """Spread on a tool or brushed out: as much area as the mass covers at that thickness, off one side or both."""
    _positive(mass=mass_kg, thickness=thickness_m)
    if sides not in (1, 2):
        raise BadInput("pot.vessel", say("A film gives off heat on one side or on two."), "sides", sides=sides)
    return Vessel("film", sides * mass_kg / resin.density / thickness_m, thickness_m / sides, "slab")


def loss_per_s(vessel: Vessel, mass_kg: float, resin: Resin, h: float = STILL_AIR) -> float:
    """hS/(m·cp), 1/s, of a vessel in still air (`h` in W/(m² K))."""
    _positive(mass=mass_kg, h=h)
    return h * vessel.area_m2 / (mass_kg * resin.heat_capacity)


def own_loss_per_s(hs_w_per_k: float, mass_kg: float, resin: Resin) -> float:
    """The same from a shop's own hS (W/K), measured by letting warm water cool in that vessel: hS = m·cp·ln(…)/t. Zero is a pot that
    is wrapped up."""
    _positive(mass=mass_kg)
    if not (math.isfinite(hs_w_per_k) and hs_w_per_k >= 0):
        raise BadInput("pot.vessel", say("The heat loss hS is a number of W/K, not below zero."), "hS")
    return hs_w_per_k / (mass_kg * resin.heat_capacity)


def hs_from_cooling(mass_kg: float, heat_capacity: float, warm_k: float, later_k: float, around_k: float, seconds: float) -> float:
    """hS (W/K) from one cooling test without reaction: m·cp·ln((T0 − Ta)/(T − Ta))/t."""
    _positive(mass=mass_kg, time=seconds, **{"heat capacity": heat_capacity})
    if not warm_k > later_k > around_k:
        raise BadInput("pot.vessel", say("A cooling test starts warm and ends cooler, both above the room's temperature."), "temperature")
    return mass_kg * heat_capacity * math.log((warm_k - around_k) / (later_k - around_k)) / seconds


def biot(vessel: Vessel, resin: Resin, h: float = STILL_AIR) -> float:
    """h·depth/λ: above LUMPED_BIOT the middle is warmer than one temperature for all says."""
    return h * vessel.depth_m / resin.conducts


# --- runaway of the middle -----------------------------------------------------------------------


def runaway_number(vessel: Vessel, resin: Resin, temp_k: float, rate_per_s: float, heat_j_kg: float, energy_j_mol: float) -> float:
    """Frank-Kamenetskii's δ of a block whose surface is held at `temp_k`: E/(RT²)·depth²·ρ·H·rate/λ. Above `critical` no steady
    temperature exists: the middle runs away."""
    heat = resin.density * heat_j_kg * rate_per_s
    return energy_j_mol / (GAS * temp_k**2) * vessel.depth_m**2 * heat / resin.conducts


@lru_cache(maxsize=8)
def critical(shape: Shape) -> float:
    """The largest δ with a steady temperature: 0.878 for a slab, 2 for a cylinder, 3.322 for a sphere. Computed, not looked up.

    θ'' + (k/x)θ' + δe^θ = 0 with θ(1) = 0 is one curve y(ξ), y'' + (k/ξ)y' + e^y = 0 from y(0) = 0, seen at all scales:
    δ = ξ²·e^y(ξ). So the critical δ is the greatest value of that along one integration (Runge–Kutta, fourth order)."""
    k, step, xi = _ORDER[shape], 1e-3, 1e-3
    y, slope = -(xi**2) / (2 * (k + 1)), -xi / (k + 1)  # the series at the centre, where k/ξ cannot be computed
    best = 0.0

    def bend(x: float, value: float, fall: float) -> float:
        return -math.exp(value) - k / x * fall

    while True:
        delta = xi**2 * math.exp(y)
        if delta < best:
            return best
        best = delta
        a1, b1 = slope, bend(xi, y, slope)
        a2, b2 = slope + step / 2 * b1, bend(xi + step / 2, y + step / 2 * a1, slope + step / 2 * b1)
        a3, b3 = slope + step / 2 * b2, bend(xi + step / 2, y + step / 2 * a2, slope + step / 2 * b2)
        a4, b4 = slope + step * b3, bend(xi + step, y + step * a3, slope + step * b3)
        y += step / 6 * (a1 + 2 * a2 + 2 * a3 + a4)
        slope += step / 6 * (b1 + 2 * b2 + 2 * b3 + b4)
        xi += step


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise BadInput("pot.vessel", say("The {name} must be a number above zero: measure it and enter it.", name=name), name)
