"""How long a cold roll needs to warm through: the coldest point of a long cylinder in still or moving air.

The roll is taken as a solid cylinder that warms through its round side only. Its open core and its two ends warm it as well, so the
truth is sooner, never later. Of the exact series the first term is used, θ = C1·e^(−ζ²·Fo)·J0(ζ·r/R) with ζ·J1(ζ)/J0(ζ) = Bi, which
is good from Fo = 0.2 on (within 2 %; any textbook on heat transfer). Below Bi 0.1 a body is so nearly of one temperature that the
lumped form e^(−2·Bi·Fo) will do; above it, it promises a warm roll hours too early, so it is refused there.

Temperatures m°C, times µs, everything else SI in floats (m, W/(m·K), W/(m²·K), kg/m³, J/(kg·K)).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from inventory.core.reasons import BadInput
from inventory.core.said import say

LUMPED_BELOW = 0.1
FIRST_TERM_FROM = 0.2
_FIRST_ZERO = 2.404825557695773  # of J0: where ζ goes when the surface is held at the temperature of the air
_POINTS = 32  # the trapezoid rule on a periodic integrand: exact to the last digit here
_LONGEST_S = 10**8


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll as a cylinder. `conductivity` across its layers (air between them makes it less than the solid's), `film`: the heat
    transfer coefficient at its surface, with the bag; 5–10 in still air (common practice, no source)."""

    radius_m: float
    conductivity: float
    density: float
    heat_capacity: float
    film: float

    def __post_init__(self) -> None:
        for name in ("radius_m", "conductivity", "density", "heat_capacity", "film"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                word = name.removesuffix("_m").replace("_", " ")
                raise BadInput("warmup.not_above_zero", say("The {word} of the roll must be above zero: enter it.", word=word), name)
        if not 1e-9 < self.biot < 1e9:
            raise BadInput(
                "warmup.no_roll", say("No roll conducts so: check size, conductivity and surface, and their units."), "conductivity"
            )

    @property
    def biot(self) -> float:
        """Resistance inside over resistance at the surface: h·R/k."""
        return self.film * self.radius_m / self.conductivity

    @property
    def diffusivity(self) -> float:
        """m²/s."""
        return self.conductivity / (self.density * self.heat_capacity)


@dataclass(frozen=True, slots=True)
class Warming:
    """When the coldest point reaches the wanted temperature, and how the surface stands then. `method`: "first term" or
    "lumped". `bound`: the wanted temperature comes before Fo 0.2, where the first term does not hold; the time is that of
    Fo 0.2, by which it has surely come."""

    time_us: int
    surface_mc: int
    biot: float
    fourier: float
    method: str
    bound: bool = False


def bessel(order: int, x: float) -> float:
    """J0 or J1 at 0 ≤ x ≤ 3, by Bessel's integral."""
    steps = (math.pi * (n + 0.5) / _POINTS for n in range(_POINTS))
    return sum(math.cos(order * t - x * math.sin(t)) for t in steps) / _POINTS


def first_root(biot: float) -> tuple[float, float]:
    """(ζ, C1) of the first term for a cylinder. Raises BadInput warmup.not_above_zero."""
    if not (math.isfinite(biot) and biot > 0):
        raise BadInput("warmup.not_above_zero", say("The Biot number must be above zero."), "biot")
    low, high = 0.0, _FIRST_ZERO
    for _ in range(80):  # ζ·J1 − Bi·J0 rises from −Bi at 0 to above zero where J0 is zero
        middle = (low + high) / 2
        if middle * bessel(1, middle) < biot * bessel(0, middle):
            low = middle
        else:
            high = middle
    zeta = (low + high) / 2
    j0, j1 = bessel(0, zeta), bessel(1, zeta)
    return zeta, 2 * j1 / (zeta * (j0 * j0 + j1 * j1))


def warm_through(roll: Roll, start_mc: int, air_mc: int, wanted_mc: int, method: str = "") -> Warming:
    """The time (µs, rounded up) until the coldest point of `roll` has come from `start_mc` to `wanted_mc` in air of `air_mc`.

    `method` "" takes the first term; "lumped" is refused unless Bi < 0.1 (BadInput warmup.not_lumped). BadInput warmup.order unless
    start < wanted < air, warmup.too_long beyond three years, warmup.method."""
    if not start_mc < wanted_mc < air_mc:
        text = say(
            "A roll warms from its start towards the air: the wanted temperature must lie between the two, and below that of the air."
        )
        raise BadInput("warmup.order", text, "wanted", start_mc=start_mc, wanted_mc=wanted_mc, air_mc=air_mc)
    if method not in ("", "first term", "lumped"):
        raise BadInput("warmup.method", say("The method is “first term” or “lumped”."), "method", method=method[:24])
    left = (air_mc - wanted_mc) / (air_mc - start_mc)
    return _lumped(roll, start_mc, air_mc, left) if method == "lumped" else _first_term(roll, start_mc, air_mc, left)


def _first_term(roll: Roll, start_mc: int, air_mc: int, left: float) -> Warming:
    zeta, c1 = first_root(roll.biot)
    fourier = math.log(c1 / left) / zeta**2
    bound = fourier < FIRST_TERM_FROM
    fourier = max(fourier, FIRST_TERM_FROM)
    surface = c1 * math.exp(-(zeta**2) * fourier) * bessel(0, zeta)
    return Warming(_time_us(roll, fourier), _at(start_mc, air_mc, surface), roll.biot, fourier, say("first term"), bound)


def _lumped(roll: Roll, start_mc: int, air_mc: int, left: float) -> Warming:
    if roll.biot >= LUMPED_BELOW:
        text = say(
            "This roll is too thick to be taken as of one temperature (Bi {biot}, which must be under "
            "{lumped_below}): its middle stays cold long after its surface is warm. Use the first term.",
            biot=f"{roll.biot:.2f}",
            lumped_below=LUMPED_BELOW,
        )
        raise BadInput("warmup.not_lumped", text, "method", biot_ppm=round(roll.biot * 10**6))
    fourier = -math.log(left) / (2 * roll.biot)
    return Warming(_time_us(roll, fourier), _at(start_mc, air_mc, left), roll.biot, fourier, "lumped")


def _at(start_mc: int, air_mc: int, left: float) -> int:
    return round(air_mc - (air_mc - start_mc) * left)


def _time_us(roll: Roll, fourier: float) -> int:
    seconds = fourier * roll.radius_m**2 / roll.diffusivity
    if seconds > _LONGEST_S:
        raise BadInput(
            "warmup.too_long", say("That comes to more than three years: check the figures of the roll and their units."), "roll"
        )
    return math.ceil(seconds * 1_000_000)
