"""What a pot will do, from kinetics: from when until when it can be used, how hot it gets, and whether it could smoke or boil.

Each pot is computed at its likely numbers and with each doubtful number at both of its ends: temperature, mass, rate. The deviations are
taken as independent, so their logarithms add as squares; low and high are the ends that follow. Use stops at the low end.
Several pots (one cup, two, a tray) are answered side by side by one vectorised run.

Outward, instants are ints in µs after first mixing and temperatures m°C, as everywhere on the shelf. Without a heat of reaction no
temperature of a pot is given (`peak` is None), and the time is that of resin held at its temperature, with a caution.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from inventory.core import pot_vessel
from inventory.core.cure_time import NEVER_S, time_to
from inventory.core.gelation import Viscosity, time_until_thick
from inventory.core.kinetics import GAS, ZERO_C_K, Fitted, kelvin, range_reasons
from inventory.core.mixing import PPM, celsius
from inventory.core.pot_heat import Heated, heat_pot
from inventory.core.pot_vessel import Resin, Vessel
from inventory.core.potlife import Batch, Estimate, Method, System, Window
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say

if TYPE_CHECKING:
    from inventory.core.kinetics import Floats

# Above this a pot is taken to smoke: common practice, no source. A system may state its own.
SMOKE_MC = 150_000
US = 1_000_000


@dataclass(frozen=True, slots=True)
class Chemistry:
    """A resin system as kinetics see it. `gel`: conversion at which the pot is over; `speed`: factor on the law's rate from the data
    sheet (`gelation.anchored`) or from observed gels (`gel_update`); `viscosity` and `thick_pa_s`: stop when it is that thick, if
    sooner. `boils_mc`: what in it boils first (styrene 145 °C, from memory)."""

    fit: Fitted
    gel: float
    resin: Resin = field(default_factory=Resin)
    speed: float = 1.0
    viscosity: Viscosity | None = None
    thick_pa_s: float | None = None
    smokes_mc: int = SMOKE_MC
    boils_mc: int | None = None

    def __post_init__(self) -> None:
        if not self.fit.seed < self.gel < 0.99:
            raise BadInput("kinetics.conversion", say("The conversion at gel must lie above the start and below 0.99."), "gel")
        if not (math.isfinite(self.speed) and 0 < self.speed < 1e6):
            raise BadInput("pot.scenario", say("The factor on the rate must be above zero."), "speed")
        if (self.viscosity is None) != (self.thick_pa_s is None):
            raise BadInput("gel.viscosity", say("Stopping at a viscosity needs both its law and the viscosity to stop at."), "viscosity")

    @property
    def rise_k(self) -> float:
        """Adiabatic rise of a full conversion, K; 0 where the heat is not known."""
        return (self.fit.heat_j_kg or 0.0) / self.resin.heat_capacity


@dataclass(frozen=True, slots=True)
class Pot:
    """One pot: mass (kg), resin and room (m°C), how it stands. `hs_w_per_k`: the shop's own figure in place of the vessel's area."""

    name: str
    mass_kg: float
    resin_mc: int
    around_mc: int
    vessel: Vessel
    h: float = pot_vessel.STILL_AIR
    hs_w_per_k: float | None = None

    def loss(self, resin: Resin) -> float:
        if self.hs_w_per_k is not None:
            return pot_vessel.own_loss_per_s(self.hs_w_per_k, self.mass_kg, resin)
        return pot_vessel.loss_per_s(self.vessel, self.mass_kg, resin, self.h)


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far each number may be off, either way: K of temperature, shares of mass and of rate. The share of rate is what leaving one
    point out of published pot lives misses by, 25 to 40 %; the shop's own gels narrow it."""

    temp_k: float = 1.0
    mass: float = 0.02
    rate: float = 0.3

    def __post_init__(self) -> None:
        if not (0 <= self.temp_k < 30 and 0 <= self.mass < 0.9 and 0 <= self.rate < 0.9):
            raise BadInput("pot.doubt", say("Doubts are: kelvins from 0 to 30, and shares of mass and of rate from 0 to 0.9."), "doubt")


@dataclass(frozen=True, slots=True)
class Range:
    """low ≤ likely ≤ high; µs after first mixing, or m°C. None: never, within a hundred years."""

    low: int
    likely: int | None
    high: int | None


@dataclass(frozen=True, slots=True)
class Forecast:
    """One pot. Usable from `ready_us` to `stop_us` (None: it does not gel); `over` is that end with its range, `why` what ends it
    ("gels" or "too thick"), `gel` when it gels, which is later where it is too thick before. `peak_mc`
    and `peak_us` are None without a heat of reaction. `curve`: (µs, m°C, conversion in ppm)."""

    name: str
    ready_us: int
    stop_us: int | None
    over: Range | None
    why: str
    gel: Range | None
    peak_mc: Range | None
    peak_us: int | None
    method: str
    cautions: tuple[Reason, ...]
    curve: tuple[tuple[int, int, int], ...]


def forecast(
    chemistry: Chemistry, pots: Sequence[Pot], doubt: Doubt | None = None, *, ready_us: int = 0, usable_ppm: int = PPM
) -> list[Forecast]:
    """What each pot will do. `ready_us`: when mixing (and any induction time) is done. `usable_ppm`: the share of the low end after which
    the shop stops. BadInput pot.mass, pot.system, kinetics.temperature and what `heat_pot` raises."""
    if not pots:
        return []
    if not 0 < usable_ppm <= PPM or ready_us < 0:
        raise BadInput("pot.system", say("The usable share is above zero and at most all; ready cannot be before mixing."), "usable share")
    ways = _ways(doubt or Doubt())
    runs = [(pot, way) for pot in pots for way in ways]
    heated, over = _run(chemistry, runs)
    curve = None if heated is None else heated.curve()
    found = []
    for n, pot in enumerate(pots):
        here = slice(n * len(ways), (n + 1) * len(ways))
        gel = _spread(over[0][here] if heated is None else [float(v) for v in heated.gel_s[here]])
        ends = _soonest(_spread(over[0][here]), gel)
        peak = None if heated is None else _peak(pot, [float(v) for v in heated.peak_k[here]])
        stop = None if ends is None else ends.low * usable_ppm // PPM
        gel_mc = pot.resin_mc if heated is None else _mc(float(heated.gel_k[here.start]))
        found.append(
            Forecast(
                pot.name,
                ready_us,
                stop,
                ends,
                over[1][here.start],
                gel,
                peak,
                None if heated is None else _us(float(heated.peak_s[here.start])),
                say("kinetics: {fit}", fit=chemistry.fit.name),
                tuple(_cautions(chemistry, pot, peak, stop, ready_us, gel_mc)),
                () if curve is None else _points(curve, here.start),
            )
        )
    return found


def likely_us(chemistry: Chemistry, pots: Sequence[Pot]) -> list[int | None]:
    """When each pot is likely over, µs, without any doubt: what its gel is compared with. None: never. One run for all."""
    return [_us(seconds) for seconds in _run(chemistry, [(pot, (0.0, 1.0, 1.0)) for pot in pots])[1][0]] if pots else []


def kinetic_method(chemistry: Chemistry, pot: Pot, doubt: Doubt | None = None) -> Method:
    """Kinetics as one more entry of `potlife.METHODS`: the pot's vessel and room, with the mass and temperature of each batch."""

    def method(system: System, batch: Batch, temp_mc: int) -> Estimate:
        own = Pot(pot.name, batch.mass_ug / 1e9, temp_mc, pot.around_mc, pot.vessel, pot.h, pot.hs_w_per_k)
        (told,) = forecast(chemistry, [own], doubt, usable_ppm=system.usable_ppm)
        if told.over is None:
            text = say("It does not gel at {celsius} as far as its kinetics go: warm it, or make a gel cup.", celsius=celsius(temp_mc))
            return Estimate(None, Reason("pot.never_gels", text, {"temp_mc": temp_mc}))
        stop = None if batch.start_us is None or told.stop_us is None else batch.start_us + told.stop_us
        high = int(NEVER_S) * US if told.over.high is None else told.over.high
        return Estimate(Window(told.over.low, high, stop, told.method, cautions=told.cautions))

    return method


def side_by_side(mass_kg: float, resin_mc: int, around_mc: int, diameter_m: float, resin: Resin, tray_m2: float = 0.06) -> list[Pot]:
    """The same resin in one cup, in two, in four, and poured into a tray (by default 20 × 30 cm): what to compare before mixing."""
    ways = []
    for parts in (1, 2, 4):
        each = mass_kg / parts
        name = say("one cup") if parts == 1 else say("{parts} cups", parts=parts)
        ways.append(Pot(name, each, resin_mc, around_mc, pot_vessel.cup(each, diameter_m, resin)))
    return [*ways, Pot(say("tray"), mass_kg, resin_mc, around_mc, pot_vessel.tray(mass_kg, tray_m2, resin))]


# --- the runs ------------------------------------------------------------------------------------

Way = tuple[float, float, float]


def _ways(doubt: Doubt) -> list[Way]:
    """(K warmer, factor on mass, factor on rate): the likely one first, then each doubt at both ends."""
    t, m, r = doubt.temp_k, doubt.mass, doubt.rate
    return [(0.0, 1.0, 1.0), (t, 1.0, 1.0), (-t, 1.0, 1.0), (0.0, 1 + m, 1.0), (0.0, 1 - m, 1.0), (0.0, 1.0, 1 + r), (0.0, 1.0, 1 - r)]


def _run(chemistry: Chemistry, runs: list[tuple[Pot, Way]]) -> tuple[Heated | None, tuple[list[float], list[str]]]:
    import numpy as np

    law, fit = chemistry.fit.law, chemistry.fit
    start = np.array([kelvin(pot.resin_mc) + warmer for pot, (warmer, _, _) in runs])
    speed = np.array([chemistry.speed * rate for _, (_, _, rate) in runs])
    for pot, _ in runs:
        if not (math.isfinite(pot.mass_kg) and pot.mass_kg > 0):
            raise BadInput("pot.mass", say("The mass of a pot must be above zero."), "mass")
    if fit.heat_j_kg is None:
        held = time_to(law, start, chemistry.gel, start=fit.seed) / speed
        return None, ([float(v) for v in held], ["gels"] * len(runs))
    around = np.array([kelvin(pot.around_mc) + warmer for pot, (warmer, _, _) in runs])
    # The same vessel with more in it: more heat behind the same surface.
    loss = np.array([pot.loss(chemistry.resin) / mass for pot, (_, mass, _) in runs])
    heated = heat_pot(law, chemistry.gel, start, around, chemistry.rise_k, loss, start=fit.seed, speed=speed)
    over, why = [float(v) for v in heated.gel_s], ["gels"] * len(runs)
    if chemistry.viscosity is not None and chemistry.thick_pa_s is not None:
        thick = time_until_thick(chemistry.viscosity, chemistry.thick_pa_s, *heated.curve())
        why = [say("too thick") if t < g else say("gels") for t, g in zip(thick, over, strict=True)]
        over = [min(float(t), g) for t, g in zip(thick, over, strict=True)]
    return heated, (over, why)


def _spread(seconds: list[float]) -> Range | None:
    """The range of a time from its runs: logarithms of independent doubts add as squares."""
    likely = seconds[0]
    if not math.isfinite(min(seconds)):
        return None
    if likely <= 0:
        return Range(0, 0, 0)
    if not math.isfinite(likely):
        return Range(_us(min(seconds)) or 0, None, None)
    logs = [math.log(s / likely) if s > 0 else -50.0 for s in seconds[1:]]
    pairs = list(zip(logs[::2], logs[1::2], strict=True))
    down = math.sqrt(sum(min(*pair, 0.0) ** 2 for pair in pairs))
    up = math.sqrt(sum(max(*pair, 0.0) ** 2 for pair in pairs))
    return Range(_us(likely * math.exp(-down)) or 0, _us(likely), _us(likely * math.exp(up)) if math.isfinite(up) else None)


def _soonest(over: Range | None, gel: Range | None) -> Range | None:
    """What is over by thickness is over at the latest when it may gel: the low end is the sooner of the two."""
    return over if over is None or gel is None else Range(min(over.low, gel.low), over.likely, over.high)


def _peak(pot: Pot, kelvins: list[float]) -> Range:
    likely = kelvins[0]
    pairs = list(zip(kelvins[1::2], kelvins[2::2], strict=True))
    down = math.sqrt(sum(min(a - likely, b - likely, 0.0) ** 2 for a, b in pairs))
    up = math.sqrt(sum(max(a - likely, b - likely, 0.0) ** 2 for a, b in pairs))
    lowest = min(likely, kelvin(pot.resin_mc))  # it was that warm when it was mixed
    return Range(_mc(max(likely - down, lowest)), _mc(likely), _mc(likely + up))


def _points(curve: tuple[Floats, Floats, Floats], n: int) -> tuple[tuple[int, int, int], ...]:
    alphas, times, temps = curve
    rows = zip(alphas, times[:, n], temps[:, n], strict=True)
    points = [(us, _mc(float(k)), round(float(a) * PPM)) for a, t, k in rows if (us := _us(float(t))) is not None]
    return tuple(p for p, before in zip(points, [None, *points], strict=False) if before is None or p[0] > before[0])


def _us(seconds: float) -> int | None:
    return int(seconds * US) if seconds < NEVER_S else None


def _mc(temp_k: float) -> int:
    return round((temp_k - ZERO_C_K) * 1000)


# --- the cautions --------------------------------------------------------------------------------


def _cautions(chemistry: Chemistry, pot: Pot, peak: Range | None, stop: int | None, ready_us: int, gel_mc: int) -> list[Reason]:
    low, high = sorted((pot.resin_mc, pot.around_mc))
    found = range_reasons(chemistry.fit, low, max(high, gel_mc), chemistry.gel)
    if stop is None:
        found.append(Reason("pot.never_gels", say("It does not gel as far as its kinetics go: warm it, or make a gel cup.")))
    elif stop <= ready_us:
        text = say("It is over before it is ready: mix less, cool the resin, or use a slower system.")
        found.append(Reason("pot.no_time", text, {"ready_us": ready_us, "stop_us": stop}))
    if peak is None:
        text = say("Its heat of reaction is not known: the time holds for a thin film, a pot gels sooner. No temperature can be told.")
        return [*found, Reason("pot.no_heat", text)]
    found += _too_hot(chemistry, peak)
    return found + _middle(chemistry, pot)


def _too_hot(chemistry: Chemistry, peak: Range) -> list[Reason]:
    found = []
    worst, likely = peak.high or 0, peak.likely or 0
    limits = [(say("smoke"), chemistry.smokes_mc), *([(say("boil"), chemistry.boils_mc)] if chemistry.boils_mc is not None else [])]
    for word, limit in limits:
        if worst >= limit:
            sure = say("Will") if likely >= limit else say("Could")
            text = say(
                "{sure} {word}: up to {celsius} in this pot. Split it, or pour it into a tray, before mixing.",
                sure=sure,
                word=word,
                celsius=celsius(worst // 1000 * 1000),
            )
            code = f"pot.{'will' if likely >= limit else 'could'}_{word}"
            found.append(Reason(code, text, {"peak_mc": likely, "worst_mc": worst, "limit_mc": limit}))
    return found


def _middle(chemistry: Chemistry, pot: Pot) -> list[Reason]:
    """Whether one temperature for the whole pot may be believed."""
    import numpy as np

    if pot.hs_w_per_k is not None or pot_vessel.biot(pot.vessel, chemistry.resin, pot.h) <= pot_vessel.LUMPED_BIOT:
        return []
    around = kelvin(pot.around_mc)
    alphas = np.linspace(max(chemistry.fit.seed, 0.01), chemistry.gel, 60)
    speed, steeper = chemistry.fit.law.raw_slope(np.array(around), alphas)
    top = int(np.argmax(speed))
    number = pot_vessel.runaway_number(
        pot.vessel,
        chemistry.resin,
        around,
        chemistry.speed * float(speed[top]),
        chemistry.fit.heat_j_kg or 0.0,
        float(steeper[top]) * GAS * around**2,
    )
    limit = pot_vessel.critical(pot.vessel.shape)
    numbers: dict[str, int | str | None] = {"delta_ppm": round(number * PPM), "critical_ppm": round(limit * PPM)}
    if number > limit:
        return [
            Reason("pot.middle_runs_away", say("Its middle can run away although its wall is cool: split it or pour it out flat."), numbers)
        ]
    return [Reason("pot.middle_warmer", say("Its middle will be warmer than told: one temperature is shown for the whole pot."), numbers)]
