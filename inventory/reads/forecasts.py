"""Look before mixing: what a pot would do, and what splitting it or pouring it out flat would change. Nothing is recorded.

Three clocks that are often taken for one: the pot's life, its gel, and the open time of the same resin once it lies thin on the laminate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from inventory.core import potlife
from inventory.core.mixing import PPM, celsius
from inventory.core.pot_forecast import Forecast, Range, forecast
from inventory.core.reasons import BadInput, Reason, told_at
from inventory.core.said import say, say_n
from inventory.core.spans import duration
from inventory.core.temperature import parse_celsius
from inventory.core.units import parse
from inventory.core.vessel_text import Stand, stand_of
from inventory.models import Recipe

from .pots import Batch, PotSystem, estimate, standing

TRAY = Stand("tray", 6_000_000)  # 20 × 30 cm
LAID = Stand("film", 500)  # half a millimetre: resin in a wet layup. Common practice, no source.
OPEN = say("Open time on the laminate")
LOOK_MASS_UG = 10**12
"""A tonne: more than is mixed in one pot."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way to hold the same mass. Use stops at `low_us`; None: nobody can tell, `why` says so. `high_us` None: not within a hundred
    years. `peak_mc` None: none is told."""

    name: str
    low_us: int | None = None
    likely_us: int | None = None
    high_us: int | None = None
    why: str = ""
    peak_mc: Range | None = None
    peak_us: int | None = None
    cautions: tuple[Reason, ...] = ()
    curve: tuple[tuple[int, int, int], ...] = ()

    @property
    def words(self) -> str:
        return span(self.low_us, self.high_us)


@dataclass(frozen=True, slots=True)
class Clock:
    """One of the three: what it means, and how long (None with the reason)."""

    name: str
    low_us: int | None
    high_us: int | None
    note: str

    @property
    def words(self) -> str:
        return span(self.low_us, self.high_us)


@dataclass(frozen=True, slots=True)
class Look:
    """What is told before a pot is mixed. `ways` begins with the pot as it was asked for; `no_peak`: why no temperature is told;
    `rests`: what the answer rests on."""

    batch: Batch
    told: potlife.Estimate
    ways: tuple[Way, ...]
    clocks: tuple[Clock, ...]
    ready_us: int
    no_peak: str
    rests: tuple[str, ...]
    cautions: tuple[Reason, ...]


def look(system: PotSystem, batch: Batch) -> Look:
    """BadInput pot.mass, pot.temperature and what the core says of figures that cannot be."""
    if not 0 < batch.mass_ug <= LOOK_MASS_UG:
        raise BadInput("pot.mass", say("The mass of a pot lies above zero and below a tonne: check it and its unit."), "mass")
    told = estimate(system, batch)
    ways = _kinetic_ways(system, batch) if system.chemistry is not None and told.window is not None else _plain_ways(system, batch)
    return Look(
        batch,
        told,
        tuple(ways),
        tuple(_clocks(system, batch, told)),
        system.ready_us,
        _no_peak(system, ways),
        tuple(_rests(system, batch)),
        told.window.cautions if told.window is not None else (),
    )


def span(low_us: int | None, high_us: int | None) -> str:
    """ "34 min to 35 min", "more than 12 h", or nothing."""
    if low_us is None:
        return ""
    if high_us is None:
        return say("more than {low}", low=duration(low_us))
    low, high = duration(low_us), duration(high_us)
    return low if low == high else say("{low} to {high}", low=low, high=high)


# --- side by side --------------------------------------------------------------------------------


def _held(batch: Batch) -> list[tuple[str, int, Stand | None]]:
    """The ways to compare: (name, in so many pots, how each stands)."""
    asked = batch.stand
    if asked is not None and asked.kind in ("tray", "film"):
        return [(say("as {asked_kind}", asked_kind=asked.kind), 1, asked), (say("one cup"), 1, None)]
    one = say("one pot") if asked is None or asked.kind == "own" else say("one cup")
    each = one.removeprefix("one ") + "s"
    return [
        (one, 1, asked),
        (say("2 {each}", each=each), 2, asked),
        (say("4 {each}", each=each), 4, asked),
        (say("tray, 20 × 30 cm"), 1, TRAY),
    ]


def _kinetic_ways(system: PotSystem, batch: Batch) -> list[Way]:
    """All of them by one run."""
    chemistry, temp = system.chemistry, batch.temp_mc
    assert chemistry is not None and temp is not None  # there is a window
    pots = [standing(stand, name, batch.mass_ug // parts or 1, temp, chemistry.resin) for name, parts, stand in _held(batch)]
    share = system.core.usable_ppm
    return [_way(told) for told in forecast(chemistry, pots, system.doubt, ready_us=system.ready_us, usable_ppm=share)]


def _way(told: Forecast) -> Way:
    cautions, over, peak, curve = told.cautions, told.over, told.peak_mc, told.curve
    if over is None:
        return Way(told.name, why=say("It does not gel as far as its kinetics go."), cautions=cautions, curve=curve)
    return Way(told.name, told.stop_us, over.likely, over.high, "", peak, told.peak_us, cautions, curve)


def _plain_ways(system: PotSystem, batch: Batch) -> list[Way]:
    """Without kinetics: no law of mass or shape is known, so splitting changes only the cautions."""
    found = []
    for name, parts, stand in _held(batch):
        if stand is not None and stand.kind in ("tray", "film"):
            found.append(Way(name, why=say("Longer than in a pot; how much longer nobody can tell without kinetics.")))
            continue
        told = estimate(system, replace(batch, mass_ug=batch.mass_ug // parts or 1, start_us=None))
        if told.window is None:
            found.append(Way(name, why=told.missing.text if told.missing else ""))
        else:
            found.append(Way(name, told.window.low_us, None, told.window.high_us, cautions=told.window.cautions))
    return found


def _no_peak(system: PotSystem, ways: list[Way]) -> str:
    if any(way.peak_mc is not None for way in ways):
        return ""
    if system.core.kind == "peroxide":
        return say("No peak temperature is told: a peroxide system has no rate law here, only the gel points that were measured.")
    if system.known is None:
        return say("No peak temperature is told: nobody has entered kinetics for this system, and nothing else supports one.")
    if system.known.fit.heat_j_kg is None:
        return say("No peak temperature is told: the kinetics state no heat of reaction.")
    return say("No peak temperature is told.")


# --- three clocks --------------------------------------------------------------------------------


def _clocks(system: PotSystem, batch: Batch, told: potlife.Estimate) -> list[Clock]:
    window, missing = told.window, told.missing.text if told.missing else ""
    note = say("Until it can no longer be used from the pot ({method}).", method=window.method) if window is not None else missing
    life = Clock(say("Pot life"), window.low_us if window else None, window.high_us if window else None, note)
    return [life, _gel(system, batch, told), _open(system, batch)]


def _gel(system: PotSystem, batch: Batch, told: potlife.Estimate) -> Clock:
    if system.chemistry is not None and batch.temp_mc is not None and told.window is not None:
        pot = standing(batch.stand, "pot", batch.mass_ug, batch.temp_mc, system.chemistry.resin)
        (one,) = forecast(system.chemistry, [pot], system.doubt)
        gel = one.gel
        return Clock(
            say("Gel"),
            gel.low if gel else None,
            gel.high if gel else None,
            say("At {gel} conversion, in this pot.", gel=f"{system.chemistry.gel:.0%}"),
        )
    if system.core.kind == "peroxide":
        note = say("Between the measured gel points; outside them nobody can tell.")
        window = told.window
        return Clock(say("Gel"), window.low_us if window else None, window.high_us if window else None, note)
    seen = [lesson.gel.observed_us for lesson in system.taught.lessons if not lesson.apart]
    if seen:
        pots = say_n("{n} own pot", "{n} own pots", len(seen))
        return Clock(say("Gel"), min(seen), max(seen), say("As {pots} gelled, whatever their size and temperature.", pots=pots))
    return Clock(say("Gel"), None, None, say("Later than the pot life of a data sheet; how much later is not known. Time a gel cup."))


def _open(system: PotSystem, batch: Batch) -> Clock:
    """Open time on the laminate: the same resin where it lies thin and stays at the room's temperature."""
    recipe, temp = system.recipe, batch.temp_mc
    if system.chemistry is not None and temp is not None and system.trouble is None:
        (one,) = forecast(system.chemistry, [standing(LAID, "film", batch.mass_ug, temp, system.chemistry.resin)], system.doubt)
        if one.over is not None:
            return Clock(OPEN, one.over.low, one.over.high, say("As a film of 0.5 mm at the room's temperature, by the kinetics."))
    if recipe.open_us and recipe.open_temp_mc is not None and temp is not None and recipe.kind != "peroxide":
        return _sheet_open(recipe, recipe.open_us, recipe.open_temp_mc, system, temp)
    note = say("Not known: neither kinetics nor the data sheet's open time has been entered. It is longer than the pot's life.")
    return Clock(OPEN, None, None, note)


def _sheet_open(recipe: Recipe, open_us: int, at_mc: int, system: PotSystem, temp_mc: int) -> Clock:
    """A film has its own figure; the amine reaction's energies carry it to another temperature, as they do the pot's."""
    sheet = potlife.PotSheet(open_us, at_mc, 1, say("open time"))
    core = potlife.System(system.core.kind, sheet)
    window = potlife.pot_window(core, potlife.Batch(1, temp_mc)).window
    if window is None:
        return Clock(OPEN, None, None, say("Hotter than the data sheet's open time holds for."))
    return Clock(OPEN, window.low_us, window.high_us, say("As a film, by the {method}.", method=window.method))


def _rests(system: PotSystem, batch: Batch) -> list[str]:
    found = []
    if system.known is not None:
        fit = system.known.fit
        found.append(
            say("Kinetics version {version}: {fit}. Source: {source}.", version=system.known.version, fit=fit.name, source=fit.source)
        )
        doubt = system.doubt
        found.append(
            say(
                "Range: {temp_k} K, {mass} of mass and {rate} of rate either way.",
                temp_k=f"{doubt.temp_k:g}",
                mass=f"{doubt.mass:.0%}",
                rate=f"{doubt.rate:.0%}",
            )
        )
        if batch.stand is None:
            found.append(say("Nobody said how it stands: a cup as tall as it is wide is assumed."))
    if system.taught.known.now.gels:
        now = system.taught.known.now
        n = say_n("{n} own gel", "{n} own gels", now.gels)
        ends = say("{low} to {high}", low=f"{now.low_ppm / 1000000.0:.2f}", high=f"{now.high_ppm / 1000000.0:.2f}")
        found.append(
            say(
                "{count}: {factor} times as long as predicted ({ends} with nine tenths of certainty).",
                count=n,
                factor=f"{now.factor_ppm / 1000000.0:.2f}",
                ends=ends,
            )
        )
    return found


def asked(
    recipe: Recipe,
    resin: str,
    hardener: str = "",
    others: str = "",
    temperature: str = "",
    vessel: str = "",
    size: str = "",
    at_us: int = 0,
) -> Batch:
    """A batch as it is typed: masses in g, the temperature in °C; without a hardener's mass, the recipe's target. `at_us`: when it is
    mixed. BadInput at the field where something cannot be read."""
    base = _mass(resin, "resin")
    dose = round(Fraction(_mass(hardener, "hardener") * PPM, base)) if hardener.strip() else recipe.target_ppm
    rest = _mass(others, "others") if others.strip() else 0
    if not temperature.strip():
        raise BadInput("pot.temperature_missing", say("Measure the temperature at the bench and enter it."), "temperature")
    with told_at("temperature"):
        temp = parse_celsius(temperature, "°C" if temperature.strip()[-1:].isdigit() else None)
    if not potlife.LOWEST_MC <= temp <= potlife.HIGHEST_MC:
        text = say("{celsius} is not a temperature at which resin is mixed: check the reading and its unit.", celsius=celsius(temp))
        raise BadInput("pot.temperature", text, "temperature")
    return Batch(base + base * dose // PPM + rest, temp, dose, stand_of(vessel, size), at_us or None)


def _mass(text: str, where: str) -> int:
    with told_at(where):
        found = parse(text, "g", "ug")
    if not 0 < found <= LOOK_MASS_UG:
        raise BadInput("pot.mass", say("A mass lies above zero and below a tonne: check it and its unit."), where)
    return found
