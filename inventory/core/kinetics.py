"""How fast a thermoset reacts: rate laws, with the range in which their constants were fitted.

A law says dα/dt (1/s) at a temperature (K) and a conversion α (0 to 1). Four published forms: nth order, autocatalytic (Kamal and
Sourour), either of them slowed by diffusion (a logistic brake, or free volume with Rabinowitch's sum of resistances), and the
form with two regimes. No law here ever runs backwards: where a formula would go below zero, the rate is zero.

A law is worth no more than the range it was fitted in: `Fitted` carries it, and `range_reasons` says what lies outside. Temperatures
inside are floats in K, since everything here is an exponential of 1/T; the doors' m°C become K once, in `kelvin`.
numpy is imported when first computed with: nobody who only looks at the shelf pays for it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from inventory.core.mixing import celsius
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

GAS = 8.314462618  # J/(mol K), exact by the SI since 2019 (to these digits)
ZERO_C_K = 273.15
# Colder or hotter than this no resin is mixed or cured: a number out there is in the wrong unit.
COLDEST_K, HOTTEST_K = 200.0, 800.0


class Law(Protocol):
    """`breaks`: conversions at which the formula changes (an integration must not step over them). `needs_seed`: nothing starts from
    α = 0. `raw`: the rate for α within (0, 1), broadcast over both; `rate` takes any α and any shape. `raw_slope`: the same rate, and
    by what share it grows per kelvin."""

    @property
    def breaks(self) -> tuple[float, ...]: ...
    @property
    def needs_seed(self) -> bool: ...
    def raw(self, temp_k: Floats, alpha: Floats) -> Floats: ...
    def raw_slope(self, temp_k: Floats, alpha: Floats) -> tuple[Floats, Floats]: ...


@dataclass(frozen=True, slots=True)
class Arrhenius:
    """k = a·exp(−e/RT): `a` in 1/s, `e` in J/mol."""

    a: float
    e: float

    def __post_init__(self) -> None:
        _finite(a=self.a, e=self.e)
        if self.e < 0:
            raise _bad(say("The activation energy cannot be below zero: check its sign and unit (J/mol)."), say("activation energy"))

    def at(self, temp_k: float) -> float:
        return self.a * math.exp(-self.e / (GAS * temp_k))


@dataclass(frozen=True, slots=True)
class Logistic:
    """The brake 1/(1 + exp(c·(α − αc))), αc = `base` + `slope`·T: published with T in °C by some and in K by others, so `in_celsius`
    belongs to the constants."""

    c: float
    base: float
    slope: float
    in_celsius: bool

    def __post_init__(self) -> None:
        _finite(c=self.c, base=self.base, slope=self.slope)
        if self.c <= 0:
            raise _bad(say("The brake of diffusion must grow with conversion: its constant must be above zero."), "c")


@dataclass(frozen=True, slots=True)
class FreeVolume:
    """1/k = 1/kc + 1/kd with kd = `rate`·exp(−`b`/fv), fv = `expansion`·(T − Tg) + `at_glass`; no free volume, no reaction. The
    glass temperature follows DiBenedetto from `tg0_k` to `tg1_k` (K) with `lam`."""

    rate: Arrhenius
    b: float
    expansion: float
    at_glass: float
    tg0_k: float
    tg1_k: float
    lam: float

    def __post_init__(self) -> None:
        _finite(b=self.b, expansion=self.expansion, at_glass=self.at_glass, tg0=self.tg0_k, tg1=self.tg1_k, lam=self.lam)
        if min(self.b, self.expansion, self.at_glass, self.lam, self.rate.a) <= 0 or not 0 < self.tg0_k < self.tg1_k:
            raise _bad(
                say("Diffusion by free volume needs constants above zero, and a glass temperature that rises with cure."),
                say("free volume"),
            )

    def limit(self, temp_k: Floats, alpha: Floats) -> Floats:
        """kd, 1/s."""
        import numpy as np

        volume = self.expansion * (temp_k - glass_k(self.tg0_k, self.tg1_k, self.lam, alpha)) + self.at_glass
        open_ = volume > 0
        safe = np.where(open_, volume, 1.0)
        slowed: Floats = np.where(open_, self.rate.a * np.exp(-self.rate.e / (GAS * temp_k) - self.b / safe), 0.0)
        return slowed


@dataclass(frozen=True, slots=True)
class Kamal:
    """dα/dt = (k1 + k2·α^m)·(1 − α)^n, with a brake of diffusion or none. Without `k2` it is of nth order; without `k1` it needs a
    seed, for nothing starts at α = 0."""

    n: float
    k1: Arrhenius | None = None
    k2: Arrhenius | None = None
    m: float = 0.0
    brake: Logistic | FreeVolume | None = None

    def __post_init__(self) -> None:
        _finite(n=self.n, m=self.m)
        if min(self.n, self.m) < 0:
            raise _bad(say("The orders of a reaction cannot be below zero."), "order")
        given = [k for k in (self.k1, self.k2) if k is not None]
        if not given or min(k.a for k in given) < 0 or max(k.a for k in given) == 0:
            raise _bad(say("The law has no rate: give k1, k2 or both, with a factor above zero."), "k1")

    @property
    def breaks(self) -> tuple[float, ...]:
        return ()

    @property
    def needs_seed(self) -> bool:
        return (self.k1 is None or self.k1.a == 0) and self.m > 0

    def raw(self, temp_k: Floats, alpha: Floats) -> Floats:
        import numpy as np

        inverse = -1.0 / (GAS * temp_k)
        limit = self.brake.limit(temp_k, alpha) if isinstance(self.brake, FreeVolume) else None
        k: Floats | float = 0.0
        for law, weight in ((self.k1, 1.0), (self.k2, alpha**self.m if self.k2 is not None else 0.0)):
            if law is None or law.a == 0:
                continue
            own = law.a * np.exp(law.e * inverse)
            k = k + weight * (own if limit is None else own * limit / (own + limit))
        found = k * (1.0 - alpha) ** self.n
        if isinstance(self.brake, Logistic):
            centre = self.brake.base + self.brake.slope * (temp_k - ZERO_C_K if self.brake.in_celsius else temp_k)
            found = found / (1.0 + np.exp(np.minimum(self.brake.c * (alpha - centre), 700.0)))
        return found

    def raw_slope(self, temp_k: Floats, alpha: Floats) -> tuple[Floats, Floats]:
        import numpy as np

        if self.brake is not None:
            return _by_difference(self, temp_k, alpha)
        inverse = -1.0 / (GAS * temp_k)
        k: Floats | float = 0.0
        pull: Floats | float = 0.0
        for law, weight in ((self.k1, 1.0), (self.k2, alpha**self.m if self.k2 is not None else 0.0)):
            if law is not None and law.a != 0:
                own = weight * law.a * np.exp(law.e * inverse)
                k, pull = k + own, pull + law.e * own
        return k * (1.0 - alpha) ** self.n, -pull / k * inverse / temp_k


def nth_order(a: float, e: float, n: float) -> Kamal:
    """dα/dt = a·exp(−e/RT)·(1 − α)^n."""
    return Kamal(n, k1=Arrhenius(a, e))


@dataclass(frozen=True, slots=True)
class TwoRegime:
    """Up to `switch`: (k1 + k2·α)·(1 − α)·(`b` − α); above it: k3·(1 − α). The rate jumps at the switch. k2's factor is below zero in
    the published constants, so the first form can reach zero before the switch: in the cold the law then stands still."""

    k1: Arrhenius
    k2: Arrhenius
    k3: Arrhenius
    b: float
    switch: float

    def __post_init__(self) -> None:
        _finite(b=self.b, switch=self.switch)
        if not 0 < self.switch < self.b or self.switch >= 1 or min(self.k1.a, self.k3.a) <= 0:
            raise _bad(say("A law with two regimes needs 0 < switch < b, and factors of k1 and k3 above zero."), "switch")

    @property
    def breaks(self) -> tuple[float, ...]:
        return (self.switch,)

    @property
    def needs_seed(self) -> bool:
        return False

    def raw(self, temp_k: Floats, alpha: Floats) -> Floats:
        import numpy as np

        inverse = -1.0 / (GAS * temp_k)
        k1, k2, k3 = (k.a * np.exp(k.e * inverse) for k in (self.k1, self.k2, self.k3))
        low = np.maximum(k1 + k2 * alpha, 0.0) * (self.b - alpha)
        found: Floats = np.where(alpha <= self.switch, low, k3) * (1.0 - alpha)
        return found

    def raw_slope(self, temp_k: Floats, alpha: Floats) -> tuple[Floats, Floats]:
        return _by_difference(self, temp_k, alpha)


def _by_difference(law: Law, temp_k: Floats, alpha: Floats) -> tuple[Floats, Floats]:
    """Where the derivative is long to write: 0.001 K apart. A rate of zero has no slope."""
    import numpy as np

    here, there = law.raw(temp_k, alpha), law.raw(temp_k + 1e-3, alpha)
    return here, np.where(here > 0, (there / np.where(here > 0, here, 1.0) - 1.0) / 1e-3, 0.0)


def rate(law: Law, temp_k: Floats | float, alpha: Floats | float) -> Floats:
    """dα/dt in 1/s, never below zero, for temperatures (K) and conversions of any shapes that broadcast; zero at α ≥ 1.
    BadInput kinetics.temperature or kinetics.conversion for what is not finite or not physical."""
    import numpy as np

    temps = np.asarray(check_kelvin(temp_k), dtype=float)
    given = np.asarray(alpha, dtype=float)
    if not np.isfinite(given).all() or (given < 0).any():
        raise _bad(say("A conversion is a number from 0 to 1."), "conversion", "kinetics.conversion")
    found: Floats = np.where(given >= 1, 0.0, np.maximum(law.raw(temps, np.minimum(given, 1.0)), 0.0))
    return found


@dataclass(frozen=True, slots=True)
class Fitted:
    """A law with what belongs to its constants. `temps_mc`, `alphas`: where it was fitted (None: the source does not say, which is
    told with every answer). `seed`: the conversion at which its source starts it. `heat_j_kg`: heat of reaction per kg of mixed
    resin; None where the source gives none, and then no temperature of a pot is computed."""

    name: str
    source: str
    law: Law
    temps_mc: tuple[int, int] | None
    alphas: tuple[float, float] | None = None
    seed: float = 0.0
    heat_j_kg: float | None = None

    def __post_init__(self) -> None:
        if not self.name or not self.source:
            raise _bad(say("Constants need a name and the source they are from."), "source")
        if self.temps_mc is not None and self.temps_mc[0] > self.temps_mc[1]:
            raise _bad(say("The range of temperatures starts with the lower one."), "range")
        if self.heat_j_kg is not None and not 0 < self.heat_j_kg < 5e6:
            raise _bad(say("The heat of reaction must be above zero, in J/kg (an epoxy gives 300 000 to 600 000)."), "heat")
        check_start(self.law, self.seed)


def range_reasons(fit: Fitted, low_mc: int, high_mc: int, alpha: float | None = None, *, strict: bool = False) -> list[Reason]:
    """Why the answer of `fit` between these temperatures (and up to `alpha`) is to be doubted; empty within its range. `strict`
    names the same with codes that refuse: kinetics.refused_outside."""
    code = "kinetics.refused_outside" if strict else "kinetics.outside_range"
    if fit.temps_mc is None:
        text = say("Nobody said at which temperatures “{fit}” was fitted: make a gel cup before you rely on it.", fit=fit.name)
        return [Reason("kinetics.range_unknown", text, {"name": fit.name})]
    found = []
    low, high = fit.temps_mc
    if low_mc < low or high_mc > high:
        asked = (
            celsius(low_mc) if low_mc == high_mc else say("{celsius} to {celsius_2}", celsius=celsius(low_mc), celsius_2=celsius(high_mc))
        )
        text = say(
            "“{fit}” was fitted from {celsius} to {celsius_2}, asked for {asked}: make a gel cup.",
            fit=fit.name,
            celsius=celsius(low),
            celsius_2=celsius(high),
            asked=asked,
        )
        numbers: dict[str, int | str | None] = {"low_mc": low, "high_mc": high, "asked_low_mc": low_mc, "asked_high_mc": high_mc}
        found.append(Reason(code, text, numbers))
    if alpha is not None and fit.alphas is not None and not fit.alphas[0] <= alpha <= fit.alphas[1]:
        text = say(
            "“{fit}” was fitted for conversions from {alphas} to {alphas_2}, asked for {alpha}.",
            fit=fit.name,
            alphas=f"{fit.alphas[0]:.2f}",
            alphas_2=f"{fit.alphas[1]:.2f}",
            alpha=f"{alpha:.2f}",
        )
        found.append(Reason(code, text, {"asked_alpha_ppm": round(alpha * 1_000_000)}))
    return found


# --- small helpers -------------------------------------------------------------------------------


def glass_k(tg0_k: float, tg1_k: float, lam: float, alpha: Floats) -> Floats:
    """Glass temperature (K) at a conversion, by DiBenedetto: Tg0 + (Tg1 − Tg0)·λα/(1 − (1 − λ)α)."""
    return tg0_k + (tg1_k - tg0_k) * lam * alpha / (1.0 - (1.0 - lam) * alpha)


def kelvin(mc: int) -> float:
    """m°C in K. BadInput kinetics.temperature for what cannot be a resin's."""
    return float(check_kelvin(mc / 1000 + ZERO_C_K))


def check_kelvin(temp_k: Floats | float) -> Floats | float:
    """`temp_k` as given, or BadInput kinetics.temperature: absolute zero, not finite, or so far off that the unit must be wrong."""
    lowest, highest = (temp_k, temp_k) if isinstance(temp_k, (float, int)) else (float(temp_k.min()), float(temp_k.max()))
    if not (lowest >= COLDEST_K and highest <= HOTTEST_K):  # not-a-number fails both
        text = say(
            "A resin reacts between {coldest_k} and {hottest_k} °C: check the temperature and its unit.",
            coldest_k=f"{COLDEST_K - ZERO_C_K:.0f}",
            hottest_k=f"{HOTTEST_K - ZERO_C_K:.0f}",
        )
        raise _bad(text, "temperature", "kinetics.temperature")
    return temp_k


def check_start(law: Law, start: float) -> float:
    """The conversion to start from, or BadInput: kinetics.conversion, kinetics.needs_seed."""
    if not 0 <= start < 1:  # refuses not-a-number too
        raise _bad(say("The conversion to start from lies from 0 to below 1."), "start", "kinetics.conversion")
    if start == 0 and law.needs_seed:
        text = say(
            "This law never starts by itself: its rate at conversion 0 is zero. Give a conversion to start from, for example 0.0001."
        )
        raise _bad(text, "start", "kinetics.needs_seed")
    return start


def _finite(**values: float) -> None:
    for name, value in values.items():
        if not math.isfinite(value):
            raise _bad(say("{name} is not a finite number.", name=name), name)


def _bad(text: str, where: str, code: str = "kinetics.constants") -> BadInput:
    return BadInput(code, text, where)
