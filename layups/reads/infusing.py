"""Does a design's panel fill in the time that its resin gives: every way of feeding it, or what is missing to say so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.core.cure_time import time_to
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.temperature import display_celsius
from inventory.kinetics import Known, fitted_for
from inventory.models import Recipe
from layups.core.infusion import SCATTER, Bed, Fill, Thickening, choices, compare
from layups.models import Design, Infusion, Ply

KELVIN_MC = 273_150
POINTS = 24
"""Points of a viscosity curve that is computed from kinetics; between them its logarithm is straight."""
_NEEDED = {
    "length_um": say("length"), "width_um": say("width"), "permeability_e18": say("permeability"), "porosity_ppm": say("porosity"),
    "pressure_pa": say("pressure difference"), "room_mc": say("temperature of resin and tool"), "starts_us": say("when the flow starts"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Filling:
    """`fills`: the quickest way first; empty where `missing` says what is not known or `wrong` what cannot be. `at`: the temperature in
    words, `resin`: where its viscosity is from, `typed`: what is known, as the infusion worksheet takes it."""

    fills: tuple[Fill, ...]
    at: str
    resin: str
    scatter: float
    missing: tuple[str, ...]
    wrong: str
    typed: Mapping[str, str]


def filling_of(design: Design) -> Filling | None:
    """None for a design that is not infused. At most three queries."""
    row = Infusion.objects.filter(design=design).first()
    if row is None:
        if design.process != "infusion":
            return None
        return Filling((), "", "", SCATTER["woven"], (say("everything about its flow"),), "", {})
    scatter = SCATTER["woven"] if row.scatter_ppm is None else row.scatter_ppm / 1e6
    at = "" if row.room_mc is None else display_celsius(row.room_mc)
    missing = [word for name, word in _NEEDED.items() if getattr(row, name) is None]
    try:
        resin = None if missing else _resin(row, _recipe(design))
        if resin is None:
            missing += (
                [] if missing else [say("how the resin's viscosity rises: its start, doubling and stop, or kinetics with a viscosity")]
            )
            return Filling((), at, "", scatter, tuple(missing), "", typed(row))
        curve, stop_s, source = resin
        fills = _fills(row, scatter, curve, stop_s)
    except BadInput as bad:
        return Filling((), at, "", scatter, (), bad.reason.text, typed(row))
    return Filling(tuple(fills), at, source, scatter, (), "", typed(row))


def _fills(row: Infusion, scatter: float, curve: Thickening, stop_s: float) -> list[Fill]:
    bed = Bed((row.permeability_e18 or 0) / 1e18, (row.porosity_ppm or 0) / 1e6, float(row.pressure_pa or 0), scatter)
    more = {name: value for name, value in (("inlet", _metres(row.inlet_um)), ("runners", row.runners)) if value is not None}
    ways = choices((row.length_um or 0) / 1e6, (row.width_um or 0) / 1e6, **more)  # type: ignore[arg-type]
    return compare(ways, bed, curve, (row.starts_us or 0) / 1e6, stop_s)


def _metres(um: int | None) -> float | None:
    return None if um is None else um / 1e6


def _recipe(design: Design) -> Recipe | None:
    line = Ply.objects.filter(design=design, wets=True).select_related("recipe").first()
    return line.recipe if line is not None else None


# --- the resin's time ---------------------------------------------------------------------------------


def _resin(row: Infusion, recipe: Recipe | None) -> tuple[Thickening, float, str] | None:
    """Its viscosity, when it must stop, and where that is from. What was entered for this design comes first."""
    if row.fresh_upa_s is not None and row.doubles_us is not None and row.stops_us is not None:
        fresh, doublings = row.fresh_upa_s / 1e6, row.stops_us / row.doubles_us
        if doublings > 60:
            text = say("The viscosity would double more than sixty times before the stop: check both times.")
            raise BadInput("infusion.viscosity", text, "doubles_us")
        stop = row.stops_us / 1e6
        return Thickening((0.0, stop), (fresh, fresh * 2**doublings)), stop, say("as entered for this design")
    known = fitted_for(recipe=recipe) if recipe is not None else None
    if known is None or known.viscosity is None or known.thick_pa_s is None:
        return None
    return _by_kinetics(known, ((row.room_mc or 0) + KELVIN_MC) / 1000, row.stops_us)


def _by_kinetics(known: Known, kelvin: float, stops_us: int | None) -> tuple[Thickening, float, str] | None:
    """Held at its temperature, from mixing until it is as thick as its kinetics say is too thick."""
    viscosity, start = known.viscosity, known.fit.seed
    assert viscosity is not None and known.thick_pa_s is not None
    low, high = known.fit.temps_mc or (None, None)
    outside = low is not None and high is not None and not low <= round(kelvin * 1000) - KELVIN_MC <= high
    if outside and known.strict:
        raise BadInput("infusion.viscosity", say("The temperature lies outside the range that the kinetics hold for."), "room_mc")
    end = viscosity.conversion_at(kelvin, known.thick_pa_s)
    if end <= start:
        text = say("By its kinetics the resin is too thick to flow from the start at this temperature.")
        raise BadInput("infusion.viscosity", text, "room_mc")
    alphas = [start + (end - start) * n / POINTS for n in range(POINTS + 1)]
    times = [float(time_to(known.fit.law, kelvin, alpha, start=start)) for alpha in alphas]
    thick = [float(viscosity.at(kelvin, alpha)) for alpha in alphas]
    kept = [n for n in range(POINTS + 1) if times[n] < float("inf") and (n == 0 or times[n] > times[n - 1])]
    curve = Thickening(tuple(times[n] for n in kept), tuple(thick[n] for n in kept))
    stop = curve.times[-1] if stops_us is None else min(stops_us / 1e6, curve.times[-1])
    return curve, stop, say("by {fit}", fit=known.fit.name) + (say(", outside the range it was fitted in") if outside else "")


def typed(row: Infusion) -> dict[str, str]:
    """What is known of it, in the words of the worksheet's fields."""
    minute = 60_000_000
    known = {
        "length": (row.length_um, 1e6, "m"),
        "width": (row.width_um, 1e6, "m"),
        "permeability": (row.permeability_e18, 1e18, "m²"),
        "fibre_volume": (None if row.porosity_ppm is None else 1_000_000 - row.porosity_ppm, 1e4, "%"),
        "pressure": (row.pressure_pa, 1e2, "mbar"),
        "viscosity": (row.fresh_upa_s, 1e3, "mPa·s"),
        "doubles": (row.doubles_us, minute, "min"),
        "starts": (row.starts_us, minute, "min"),
        "stops": (row.stops_us, minute, "min"),
    }
    return {
        name: say("{value} {unit}", value=f"{value / per:.9g}", unit=unit)
        for name, (value, per, unit) in known.items()
        if value is not None
    }
