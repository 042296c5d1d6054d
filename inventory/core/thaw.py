"""Thawing: may this roll or kit be opened, and will water settle on its bag (R15)?

Instants and durations are ints, µs; temperatures m°C; relative humidity ppm of saturation (45 % = 450_000).

A half-thawed return starts again: the ledger resets `warm_since_us` when the item goes back, so nothing here remembers it.
A reason needs the local time at which the item is ready. This module knows no zone, so the caller hands in `clock`, which turns an
instant into the words of its page: `functools.partial(spans.clock_text, zone=site.zone)`; the number itself is in `ready_at_us`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_CEILING, Context, Decimal, localcontext

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import limit_text, progress

# Magnus over water: WMO-No. 8, Annex 4.B; it is stated for −45 … 60 °C.
MAGNUS_B, MAGNUS_C = Decimal("17.62"), Decimal("243.12")
MAGNUS_LOW_MC, MAGNUS_HIGH_MC = -45_000, 60_000
# A surface less than this above the dew point is called close to it: common practice in coating work, no source.
NEAR_DEW_MC = 3_000
_EXACT = Context(prec=28)


@dataclass(frozen=True, slots=True)
class Thaw:
    """How far a thaw has come. `ready_at_us`: when it may be opened; for a frozen item, if it were taken out at the instant
    asked about; None when no take-out is recorded, so that nobody can tell. `done_us` may exceed `needed_us`."""

    ready: bool
    ready_at_us: int | None
    done_us: int
    needed_us: int
    frozen: bool = False


def thaw_status(frozen: bool, warm_since_us: int | None, needed_us: int, at_us: int) -> Thaw:
    """The thaw of an item at `at_us`. Exactly at the end of its time it is ready. An item that needs none is always ready, also
    frozen. Not frozen and without a take-out on record, it is *not* ready: unknown is not thawed."""
    if needed_us < 0:
        raise BadInput("thaw.needed", say("A thaw time cannot be negative."), "thaw", needed_us=needed_us)
    if not needed_us:
        return Thaw(True, at_us, 0, 0, frozen)
    if frozen:
        return Thaw(False, at_us + needed_us, 0, needed_us, True)
    if warm_since_us is None:
        return Thaw(False, None, 0, needed_us)
    ready_at_us = warm_since_us + needed_us
    return Thaw(at_us >= ready_at_us, ready_at_us, max(0, at_us - warm_since_us), needed_us)


def thaw_reasons(thaw: Thaw, clock: Callable[[int], str]) -> list[Reason]:
    """Why the item may not be opened or used yet; empty when it is ready. One of "thaw.frozen", "thaw.unknown", "thaw.short"."""
    if thaw.ready:
        return []
    numbers: dict[str, int | str | None] = {"done_us": thaw.done_us, "needed_us": thaw.needed_us, "ready_at_us": thaw.ready_at_us}
    if thaw.ready_at_us is None:
        text = say(
            "No take-out is recorded, and it needs {needed} to thaw: record when it left the freezer.", needed=limit_text(thaw.needed_us)
        )
        return [Reason("thaw.unknown", text, numbers)]
    when = clock(thaw.ready_at_us)
    if thaw.frozen:
        return [
            Reason(
                "thaw.frozen", say("Frozen: {needed} thaw, {when} if taken out now.", needed=limit_text(thaw.needed_us), when=when), numbers
            )
        ]
    return [
        Reason(
            "thaw.short",
            say("Still thawing: {progress}, from {when}.", progress=progress(thaw.done_us, thaw.needed_us), when=when),
            numbers,
        )
    ]


def open_reasons(thaw: Thaw, bag_dry: bool | None, clock: Callable[[int], str]) -> list[Reason]:
    """Why the bag may not be opened: its time *and* a dry bag (R15). `bag_dry` None means that nobody has looked, which is asked
    only once the time is over: before that the answer could still change. An item that needs no thaw has no bag to look at."""
    reasons = thaw_reasons(thaw, clock)
    if bag_dry is False:
        reasons.append(Reason("thaw.bag_wet", say("The bag is wet: leave it closed until it is dry, then look again.")))
    elif bag_dry is None and not reasons and thaw.needed_us:
        reasons.append(Reason("thaw.bag_unasked", say("Is the bag dry? Look before opening it.")))
    return reasons


# --- dew point -----------------------------------------------------------------------------------


def dew_point_mc(temp_mc: int, rh_ppm: int) -> int:
    """The dew point of air in m°C, rounded up (the careful side for a cold bag). Magnus over water, also below 0 °C.

    BadInput "dew.temperature" outside −45…60 °C, where the formula is not stated; "dew.humidity" outside 0 < RH ≤ 100 %."""
    if not MAGNUS_LOW_MC <= temp_mc <= MAGNUS_HIGH_MC:
        text = say("The air temperature must lie between −45 and 60 °C for a dew point: check the reading and its unit.")
        raise BadInput("dew.temperature", text, "temperature", temp_mc=temp_mc)
    if not 0 < rh_ppm <= 1_000_000:
        text = say("The relative humidity must be above 0 and at most 100 %: check the reading and its unit.")
        raise BadInput("dew.humidity", text, "humidity", rh_ppm=rh_ppm)
    with localcontext(_EXACT):  # Decimal, so that every machine rounds the same way
        air = Decimal(temp_mc) / 1000
        gamma = (Decimal(rh_ppm) / 1_000_000).ln() + MAGNUS_B * air / (MAGNUS_C + air)
        dew = MAGNUS_C * gamma / (MAGNUS_B - gamma)
        return int((dew * 1000).to_integral_value(ROUND_CEILING))


def bag_advice(surface_mc: int | None, dew_mc: int) -> Reason | None:
    """Advice on opening, from the bag's surface temperature (measured or computed) against the dew point. It never blocks: the
    eye on the bag does. None when the surface is clear of the dew point, or when its temperature is not known."""
    if surface_mc is None or surface_mc > dew_mc + NEAR_DEW_MC:
        return None
    numbers: dict[str, int | str | None] = {"surface_mc": surface_mc, "dew_mc": dew_mc, "margin_mc": surface_mc - dew_mc}
    figures = say("bag {celsius}, dew point {celsius_2}", celsius=_celsius(surface_mc), celsius_2=_celsius(dew_mc))
    if surface_mc <= dew_mc:
        return Reason("bag.below_dew_point", say("Water settles on this bag ({figures}): leave it closed.", figures=figures), numbers)
    return Reason(
        "bag.near_dew_point", say("Close to the dew point ({figures}): wait, or wipe the bag and look twice.", figures=figures), numbers
    )


def _celsius(mc: int) -> str:
    return say("{decimal} °C", decimal=f"{Decimal(mc) / 1000:.1f}").replace("-", "−")
