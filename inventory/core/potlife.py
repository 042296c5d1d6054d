"""The pot-life window: from first mixing until "stop by", as an estimate with its range (R18).

What is known decides the method, by a table (`METHODS`): an amine's data-sheet pot life is corrected for temperature by the activation
energy of the amine–epoxide reaction; a peroxide system only interpolates measured gel points; other two-part systems keep their data
sheet's figure, unscaled. Kinetics join the table as one more method. Where none can tell, the window is None with what is missing:
the caller then refuses, or asks for a gel cup; it never falls back on another method.

Mass: no law of mass was found published, so none is invented. Over the test mass the window is the test mass's, with the caution that
it is shorter in truth; under it, it is not lengthened. Without kinetics no peak temperature is given.

Instants and durations are ints, µs, rounded down; masses µg; temperatures m°C; doses ppm of base resin; energies J/mol.
The pot is over at exactly `stop_us` = start + the low end. A page shows that instant rounded down to the minute, as all local text is,
so the time on the screen is never later than the one that refuses.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from typing import Protocol

from inventory.core import gelpoints
from inventory.core.gelpoints import GelPoint
from inventory.core.mixing import PPM, Kind, celsius
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.units import display

# Primary amine with epoxide: 55–60 kJ/mol, Thermochim. Acta 447 (2006) 167, abstract.
EA_LOW, EA_HIGH = 55_000, 60_000
GAS = Decimal("8.314462618")  # J/(mol K), exact by the SI since 2019 (to these digits)
# Pot lives that suppliers publish over temperature, from which the rule was checked, reach from 4.4 to 37.8 °C.
RULE_LOW_MC, RULE_HIGH_MC = 4_400, 37_800
# Up to this span those sheets, predicted from any one of their own points, are missed by up to 35 %; beyond it by up to 73 %.
FAR_MC = 10_000
# A pot is over the test mass when it is more than the weighing of it: 1 %. Common practice, no source.
MASS_SLACK_PPM = 10_000
LOWEST_MC, HIGHEST_MC = -30_000, 120_000
AID = say("An estimate, and only an aid: the supplier's data and the pot in your hand decide.")
_EXACT = Context(prec=28)


@dataclass(frozen=True, slots=True)
class PotSheet:
    """A data-sheet pot life, with the conditions that belong to it: the figure depends on mass, temperature and test method."""

    life_us: int
    temp_mc: int
    mass_ug: int
    method: str = ""

    def __post_init__(self) -> None:
        if self.life_us <= 0 or self.mass_ug <= 0:
            raise BadInput("pot.sheet", say("A data-sheet pot life needs a time and a test mass above zero."), "pot life")
        _check_temperature(self.temp_mc)


@dataclass(frozen=True, slots=True)
class System:
    """What is known of a resin system. `method` names an entry of the table, None lets `kind` choose. `usable_ppm`: the share of the
    low end after which the shop stops (its own rule; 1_000_000 = all of it). `own`: gels of the shop's own pots; they make the range
    between the points wider, never the low end later."""

    kind: Kind
    sheet: PotSheet | None = None
    points: tuple[GelPoint, ...] = ()
    method: str | None = None
    usable_ppm: int = PPM
    own: tuple[GelPoint, ...] = ()


@dataclass(frozen=True, slots=True)
class Batch:
    """One pot. `temp_mc` None: not recorded. `start_us`: first mixing; None for a plan, which then has no stop time."""

    mass_ug: int
    temp_mc: int | None
    dose_ppm: int | None = None
    start_us: int | None = None


@dataclass(frozen=True, slots=True)
class Window:
    """How long the pot lasts: between `low_us` and `high_us` after first mixing; use stops at the instant `stop_us`. Always an estimate
    and to be shown as one, with its cautions (and AID)."""

    low_us: int
    high_us: int
    stop_us: int | None
    method: str
    estimate: bool = True
    cautions: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Estimate:
    """A window, or None and what is missing to tell."""

    window: Window | None
    missing: Reason | None = None


class Method(Protocol):
    """The seam: kinetics and other methods are such functions, closed over their own parameters. `temp_mc` is the batch's."""

    def __call__(self, system: System, batch: Batch, temp_mc: int) -> Estimate: ...


def pot_window(system: System, batch: Batch, methods: Mapping[str, Method] | None = None) -> Estimate:
    """The window of a pot by the system's method. BadInput for what cannot be a pot ("pot.mass", "pot.temperature", "pot.system")."""
    if batch.mass_ug <= 0:
        raise BadInput("pot.mass", say("The mass of a pot must be above zero."), "mass")
    if not 0 < system.usable_ppm <= PPM:
        raise BadInput("pot.system", say("The usable share of a pot's time must be above zero and at most all of it."), "usable share")
    table = METHODS if methods is None else methods
    name = system.method or _default_method(system)
    if name not in table:
        return Estimate(
            None,
            Reason("pot.no_method", say("Cannot tell the pot life: the method “{name}” is not known here.", name=name), {"method": name}),
        )
    if batch.temp_mc is None:
        return Estimate(
            None, Reason("pot.temperature_missing", say("Cannot tell the pot life: temperature not recorded. Measure it and enter it."))
        )
    _check_temperature(batch.temp_mc)
    return table[name](system, batch, batch.temp_mc)


def amine_life(sheet: PotSheet, temp_mc: int, ea: int) -> int:
    """The data-sheet pot life at another temperature: life · exp(Ea/R · (1/T − 1/T0)), µs, rounded down."""
    with localcontext(_EXACT):  # Decimal, so that every machine rounds the same way
        inverse = 1000 / Decimal(temp_mc + 273_150) - 1000 / Decimal(sheet.temp_mc + 273_150)
        return int(sheet.life_us * (ea / GAS * inverse).exp())


def quicker(ea: float, from_mc: int, to_mc: int) -> float:
    """How many times as fast an activation energy (J/mol) makes it at another temperature."""
    _check_kelvin(from_mc, to_mc)
    return math.exp(ea / float(GAS) * (1000 / (from_mc + 273_150) - 1000 / (to_mc + 273_150)))


def rule_energy(from_mc: int, to_mc: int, times: float = 2.0) -> float:
    """The activation energy (J/mol) that a rule of thumb means: so many times as fast at the second temperature as at the first."""
    _check_kelvin(from_mc, to_mc)
    if from_mc == to_mc:
        raise BadInput("pot.temperature", say("A rule of thumb needs two temperatures."), "temperature")
    return float(GAS) * math.log(times) / (1000 / (from_mc + 273_150) - 1000 / (to_mc + 273_150))


@dataclass(frozen=True, slots=True)
class Fit:
    """A straight line through the logarithms of times over 1/T. `energy` J/mol; `misses`: each point's share by which the others miss
    it (None where they cannot tell), `worst` the largest."""

    energy: float
    intercept: float
    misses: tuple[float | None, ...]

    @property
    def worst(self) -> float | None:
        return max((miss for miss in self.misses if miss is not None), default=None)

    def at(self, temp_mc: int) -> float:
        """The time at a temperature, in the unit of the points."""
        _check_kelvin(temp_mc)
        power = self.intercept + self.energy / float(GAS) * 1000 / (temp_mc + 273_150)
        if not -50 < power < 50:
            raise BadInput("pot.points", say("By these points the time would be beyond counting: check temperatures and times."), "points")
        return math.exp(power)


def fitted(points: Sequence[tuple[int, float]]) -> Fit:
    """Least squares through (temperature in m°C, time). BadInput pot.points for fewer than two temperatures."""
    energy, intercept = _line(points)
    misses: list[float | None] = []
    for n, (temp, time) in enumerate(points):
        others = [point for m, point in enumerate(points) if m != n]
        told = Fit(*_line(others), ()).at(temp) if len({t for t, _ in others}) > 1 else None
        misses.append(None if told is None else abs(told / time - 1))
    return Fit(energy, intercept, tuple(misses))


def _line(points: Sequence[tuple[int, float]]) -> tuple[float, float]:
    if len({temp for temp, _ in points}) < 2:
        raise BadInput("pot.points", say("Enter pot lives at two temperatures at least."), "points")
    _check_kelvin(*(temp for temp, _ in points))
    xs = [1000 / (temp + 273_150) / float(GAS) for temp, _ in points]
    ys = [math.log(time) for _, time in points]
    x0, y0 = math.fsum(xs) / len(xs), math.fsum(ys) / len(ys)
    slope = math.fsum((x - x0) * (y - y0) for x, y in zip(xs, ys, strict=True)) / math.fsum((x - x0) ** 2 for x in xs)
    return slope, y0 - slope * x0


def _check_kelvin(*temps_mc: int) -> None:
    """Rates are compared between −100 and 500 °C: far outside the exponent would say nothing."""
    if not all(-100_000 <= temp <= 500_000 for temp in temps_mc):
        raise BadInput(
            "pot.temperature", say("These temperatures are not ones at which resin cures: check them and their unit."), "temperature"
        )


def judge_pot(stop_us: int | None, at_us: int, clock: Callable[[int], str]) -> list[Reason]:
    """May the pot still be used (R20)? Over at exactly the stop. `clock` turns an instant into the page's words, as in `thaw`.
    A pot without a stop time has no window: that is no permission, so it is a reason as well."""
    if stop_us is None:
        return [Reason("pot.no_window", say("Nobody can tell how long this pot lasts: make a gel cup, or let quality set a stop time."))]
    if at_us < stop_us:
        return []
    return [Reason("pot.over", say("Stop time {clock} passed: mix a new pot.", clock=clock(stop_us)), {"stop_us": stop_us, "at_us": at_us})]


def revised_stop_us(current_us: int | None, later_us: int | None, by_person: bool) -> int | None:
    """A later estimate may shorten a pot's time by itself; only a person may lengthen it, or take it away."""
    if by_person or current_us is None:
        return later_us
    return current_us if later_us is None else min(current_us, later_us)


# --- the methods ---------------------------------------------------------------------------------


def _amine(system: System, batch: Batch, temp_mc: int) -> Estimate:
    sheet = system.sheet
    if sheet is None:
        return _no_sheet()
    low, high = sorted(amine_life(sheet, temp_mc, ea) for ea in (EA_LOW, EA_HIGH))
    cautions = _mass_cautions(sheet.mass_ug, batch)
    if not RULE_LOW_MC <= temp_mc <= RULE_HIGH_MC:
        span = say("{celsius} to {celsius_2}", celsius=celsius(RULE_LOW_MC), celsius_2=celsius(RULE_HIGH_MC))
        text = say("{celsius} is outside {span}, where the correction was checked: make a gel cup.", celsius=celsius(temp_mc), span=span)
        cautions += (Reason("pot.outside_range", text, {"temp_mc": temp_mc}),)
    elif abs(temp_mc - sheet.temp_mc) > FAR_MC:
        text = say(
            "Far from the data sheet's {celsius}: over such a span estimates have missed by a third and more.",
            celsius=celsius(sheet.temp_mc),
        )
        cautions += (Reason("pot.far_from_sheet", text, {"temp_mc": temp_mc, "sheet_temp_mc": sheet.temp_mc}),)
    return Estimate(_window(system, batch, low, high, say("data sheet, corrected for temperature (55–60 kJ/mol)"), cautions))


def _sheet_unscaled(system: System, batch: Batch, temp_mc: int) -> Estimate:
    """No law of temperature is known for the system: its figure holds at its temperature and is not lengthened below."""
    sheet = system.sheet
    if sheet is None:
        return _no_sheet()
    if temp_mc > sheet.temp_mc:
        hotter = say("{celsius} is hotter than the data sheet's {celsius_2}", celsius=celsius(temp_mc), celsius_2=celsius(sheet.temp_mc))
        text = say("Cannot tell the pot life: {hotter}. Make a gel cup and time it.", hotter=hotter)
        return Estimate(None, Reason("pot.hotter_than_sheet", text, {"temp_mc": temp_mc, "sheet_temp_mc": sheet.temp_mc}))
    cautions = _mass_cautions(sheet.mass_ug, batch)
    return Estimate(_window(system, batch, sheet.life_us, sheet.life_us, say("data sheet, not corrected"), cautions))


def _gel_points(system: System, batch: Batch, temp_mc: int) -> Estimate:
    if batch.dose_ppm is None:
        return Estimate(None, Reason("pot.dose_missing", say("Cannot tell when it gels: the dose is not recorded.")))
    gel = gelpoints.widened(system.points, system.own, temp_mc, batch.dose_ppm)
    if gel is None:
        return Estimate(None, gelpoints.missing((*system.points, *system.own), temp_mc, batch.dose_ppm))
    # The smallest of the cups, also where a larger one lies nearer: the caution may come early, never late.
    cup_ug = min((p.mass_ug for p in system.points if p.mass_ug), default=None)
    cautions = _mass_cautions(cup_ug, batch)
    if system.usable_ppm == PPM:
        text = say("These are gel times: the resin thickens before it gels, so stop when it drags.")
        cautions += (Reason("pot.gel_not_pot_life", text),)
    return Estimate(_window(system, batch, *gel, say("gel points, interpolated"), cautions))


METHODS: Mapping[str, Method] = {"amine": _amine, "sheet": _sheet_unscaled, "gel points": _gel_points}


def _default_method(system: System) -> str:
    if system.kind == "peroxide" or (system.sheet is None and system.points):
        return say("gel points")
    return "amine" if system.kind == "amine" else "sheet"


def _window(system: System, batch: Batch, low: int, high: int, method: str, cautions: tuple[Reason, ...]) -> Window:
    stop = None if batch.start_us is None else batch.start_us + low * system.usable_ppm // PPM
    return Window(low, high, stop, method, cautions=cautions)


def _mass_cautions(test_ug: int | None, batch: Batch) -> tuple[Reason, ...]:
    if test_ug is None or batch.mass_ug * PPM <= test_ug * (PPM + MASS_SLACK_PPM):
        return ()
    masses = say("{mass} against {test}", mass=display(batch.mass_ug, "ug"), test=display(test_ug, "ug"))
    text = say("Over the test mass ({masses}): it heats itself and gels sooner than shown. Split or tray it.", masses=masses)
    return (Reason("pot.over_test_mass", text, {"mass_ug": batch.mass_ug, "test_mass_ug": test_ug}),)


def _no_sheet() -> Estimate:
    text = say("Cannot tell the pot life: enter the data sheet's time with its mass and temperature, or make a gel cup and time it.")
    return Estimate(None, Reason("pot.no_sheet", text))


def _check_temperature(temp_mc: int) -> None:
    if not LOWEST_MC <= temp_mc <= HIGHEST_MC:
        text = say("{celsius} is not a temperature at which resin is mixed: check the reading and its unit.", celsius=celsius(temp_mc))
        raise BadInput("pot.temperature", text, "temperature", temp_mc=temp_mc)
