"""What a recipe's pot will do, from all that is known of it: data sheet, gel points, kinetics, and what own gels taught (R18, R19).

One place for the mix verb, which stores what it was told, and for whoever looks before mixing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from inventory.core import potlife
from inventory.core.gel_update import applied, rate_doubt, speed_of
from inventory.core.places import FRESH_US
from inventory.core.pot_forecast import Chemistry, Doubt, Pot, kinetic_method, likely_us
from inventory.core.pot_vessel import Resin
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, say_n
from inventory.core.vessel_text import Stand, usual_pot
from inventory.kinetics import Known, chemistry_of, fitted_for
from inventory.models import Location, Reading, Recipe
from inventory.recipes import core_system

from .gels import OwnGel, Taught, gels_of, taught

KINETICS = "kinetics"


@dataclass(frozen=True, slots=True)
class PotSystem:
    """A recipe at an instant. `chemistry` is taught already; None without kinetics. `trouble`: why its kinetics cannot be used."""

    recipe: Recipe
    core: potlife.System
    known: Known | None
    chemistry: Chemistry | None
    doubt: Doubt
    taught: Taught
    trouble: Reason | None = None

    @property
    def ready_us(self) -> int:
        return self.recipe.ready_us or 0


@dataclass(frozen=True, slots=True)
class Batch:
    """One pot: what it weighs, the temperature of bench and resin, hardener per base resin, how it stands (None: nobody said)."""

    mass_ug: int
    temp_mc: int | None
    dose_ppm: int
    stand: Stand | None = None
    start_us: int | None = None


def pot_system(site: int, recipe: Recipe, before_us: int | None = None) -> PotSystem:
    """What is known of a recipe, with the gels that happened before an instant. Three queries, or four where gels were seen."""
    core, known, chemistry, trouble = core_system(recipe), None, None, None
    if core.kind != "peroxide":
        known = fitted_for(recipe=recipe)
    if known is not None:
        try:
            chemistry = chemistry_of(recipe, known)
        except BadInput as bad:
            trouble = bad.reason
    lesson = taught(gels_of(site, recipe, before_us), lambda gels: _predicted(core, chemistry, gels))
    doubt, now = Doubt(), lesson.known.now
    if core.kind == "peroxide":
        core = replace(core, own=lesson.points())
    if chemistry is not None and now.gels:
        chemistry = replace(chemistry, speed=chemistry.speed * speed_of(now))
        doubt = replace(doubt, rate=rate_doubt(now, doubt.rate))
    if known is not None:
        core = replace(core, method=KINETICS)
    return PotSystem(recipe, core, known, chemistry, doubt, lesson, trouble)


def bench_mc(place: Location, at_us: int) -> int | None:
    """The newest reading of a place that is fresh enough to judge by."""
    fresh = Reading.objects.filter(location=place, at_us__lte=at_us, at_us__gt=at_us - FRESH_US).order_by("-at_us")
    return fresh.values_list("temp_mc", flat=True).first()


def standing(stand: Stand | None, name: str, mass_ug: int, temp_mc: int, resin: Resin) -> Pot:
    """A pot as the core takes it; a cup as tall as it is wide where nobody said."""
    mass = mass_ug / 1e9
    return usual_pot(name, mass, temp_mc, resin) if stand is None else stand.pot(name, mass, temp_mc, resin)


def estimate(system: PotSystem, batch: Batch) -> potlife.Estimate:
    """The window of a pot. Without an answer it says what is missing; it never falls back on another method."""
    if system.trouble is not None:
        return potlife.Estimate(None, system.trouble)
    methods = dict(potlife.METHODS)
    if system.chemistry is not None and batch.temp_mc is not None:
        pot = standing(batch.stand, "pot", batch.mass_ug, batch.temp_mc, system.chemistry.resin)
        methods[KINETICS] = kinetic_method(system.chemistry, pot, system.doubt)
    elif system.chemistry is not None:
        methods[KINETICS] = potlife.METHODS["sheet"]  # it only has to be there: the missing temperature is told first
    core = potlife.Batch(batch.mass_ug, batch.temp_mc, batch.dose_ppm, batch.start_us)
    told = potlife.pot_window(system.core, core, methods)
    if told.window is None:
        return told
    if system.chemistry is not None:
        return _kinetic(system, told.window)
    window = applied(told.window, system.taught.known.now, system.core.kind, batch.start_us)
    return potlife.Estimate(replace(window, cautions=(*window.cautions, *_no_time(system, window))))


def _kinetic(system: PotSystem, window: potlife.Window) -> potlife.Estimate:
    """Refused outside the fitted range where its kinetics ask so."""
    outside = next((c for c in window.cautions if c.code == "kinetics.outside_range"), None)
    if outside is not None and system.known is not None and system.known.strict:
        return potlife.Estimate(None, replace(outside, code="kinetics.refused_outside"))
    gels = system.taught.known.now.gels
    version = say(", version {version}", version=system.known.version) if system.known is not None else ""
    lesson = say_n("; taught by {n} own gel", "; taught by {n} own gels", gels) if gels else ""
    cautions = (*window.cautions, *_no_time(system, window))
    return potlife.Estimate(replace(window, method=window.method + version + lesson, cautions=cautions))


def _no_time(system: PotSystem, window: potlife.Window) -> list[Reason]:
    if window.low_us > system.ready_us:
        return []
    text = say("It is over before it is ready: mix less, cool the resin, or use a slower system.")
    return [Reason("pot.no_time", text, {"ready_us": system.ready_us, "stop_us": window.low_us})]


def body_of(system: PotSystem, batch: Batch, told: potlife.Estimate) -> dict[str, Any]:
    """What a pot's record keeps of its estimate, so that it can be read when everything else has changed."""
    if told.window is None:
        return {}
    window = told.window
    body: dict[str, Any] = {"low_us": window.low_us, "high_us": window.high_us, "method": window.method}
    body["cautions"] = [caution.text for caution in window.cautions]
    if system.recipe.ready_us is not None:
        body["ready_us"] = system.recipe.ready_us
    if system.known is not None:
        body["kinetics"] = {"name": system.known.fit.name, "version": system.known.version}
    if rests := system.taught.rests_on:
        body["gels"] = rests
        body["gels_factor_ppm"] = system.taught.known.now.factor_ppm
    return body


def _predicted(core: potlife.System, chemistry: Chemistry | None, gels: list[OwnGel]) -> list[int | None]:
    """The likely time of each pot as the untaught system would tell it; None where it cannot."""
    if chemistry is not None:
        whole = [gel for gel in gels if gel.temp_mc is not None]
        pots = [standing(gel.stand, "pot", gel.mass_ug, gel.temp_mc or 0, chemistry.resin) for gel in whole]
        told = dict(zip((gel.act for gel in whole), likely_us(chemistry, pots), strict=True))
        return [told.get(gel.act) for gel in gels]
    found: list[int | None] = []
    for gel in gels:
        batch = potlife.Batch(gel.mass_ug, gel.temp_mc, gel.dose_ppm)
        window = potlife.pot_window(core, batch).window
        found.append(None if window is None else (window.low_us + window.high_us) // 2)
    return found


def curve(system: PotSystem, batch: Batch) -> list[list[int]]:
    """The window over bench temperatures from 10 K below to 10 K above: rows of [m°C, low µs, high µs]; temperatures for
    which nobody can tell are left out."""
    rows = []
    for step in range(-10, 11):
        at = (batch.temp_mc or 0) + step * 1000
        try:
            window = estimate(system, replace(batch, temp_mc=at)).window
        except BadInput:  # colder or hotter than resin is
            continue
        if window is not None:
            rows.append([at, window.low_us, window.high_us])
    return rows
