"""A temperature log read for a decision: above which lines it was, for how long, and what lay there meanwhile."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.logfacts import thinned
from inventory.core.readings import Excursion, above
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import day_text
from inventory.core.temperature import display_celsius, parse_celsius
from inventory.logs import readings_of, standing, why_no_evidence
from inventory.models import Act, Item, LifeLimit, LifeSpec, TemperatureLog

from .stays import Stay, stays_in

MOST_SHOWN = 60
"""Excursions on a page, the longest of them; the others are counted."""


@dataclass(frozen=True, slots=True)
class Line:
    """A temperature above which time counts, and whose line it is. `charges`: a product's own, by which time is charged."""

    mc: int
    whose: str
    charges: bool


@dataclass(frozen=True, slots=True)
class Warm:
    """A stretch above a line. `touches`: how many things with this line or a lower one lay there; `lowest`: no lower line was there,
    so that it is this one by which the stretch is charged; `record`: by which it is charged already."""

    excursion: Excursion
    line: Line
    touches: int = 0
    lowest: bool = False
    record: int | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """What is to be charged."""

    excursion: Excursion
    line_mc: int


@dataclass(frozen=True, slots=True)
class Air:
    us: int
    most_mc: int


@dataclass(frozen=True, slots=True)
class View:
    """A log as its page and the interface for machines show it. `further`: stretches that are not listed."""

    lines: list[Line]
    warm: list[Warm]
    further: int
    above_us: dict[int, int]
    picture: list[list[tuple[int, int]]]
    no_evidence: str


def view(log: TemperatureLog, zone: str) -> View:
    at, mc = readings_of(log)
    stays, thresholds = _inside(log)
    lines = lines_of(log, thresholds.values())
    charges = charges_of(log) if log.location_id else []
    warm: list[Warm] = []
    total: dict[int, int] = {}
    for line in lines:
        found = above(at, mc, line.mc)
        total[line.mc] = sum(e.end_us - e.start_us for e in found)
        warm += [_warm(e, line, stays, thresholds, charges) for e in found]
    longest = sorted(warm, key=lambda w: w.excursion.start_us - w.excursion.end_us)[:MOST_SHOWN]
    shown = sorted(longest, key=lambda w: (w.excursion.start_us, w.line.mc))
    return View(lines, shown, len(warm) - len(shown), total, thinned(at, mc), why_no_evidence(log, zone))


def _inside(log: TemperatureLog) -> tuple[list[Stay], dict[int, set[int]]]:
    """Who lay in the place meanwhile, and the lines of each."""
    if log.location is None:
        return [], {}
    stays = stays_in(log.location, log.first_us, log.last_us + 1)
    lots = dict(Item.objects.filter(pk__in={s.item for s in stays}).values_list("pk", "lot"))
    limits = LifeLimit.objects.filter(spec__lots__in=set(lots.values()), clock="above", threshold_mc__isnull=False)
    by_lot: dict[int, set[int]] = defaultdict(set)
    for lot, mc in limits.values_list("spec__lots", "threshold_mc"):
        by_lot[lot].add(mc or 0)
    return stays, {item: by_lot[lot] for item, lot in lots.items() if lot in by_lot}


def lines_of(log: TemperatureLog, inside: Iterable[set[int]]) -> list[Line]:
    """The product lines, lowest first, and the upper end of the place's band."""
    if log.delivery is not None:
        spec = LifeSpec.objects.filter(material=log.delivery.material_id).order_by("-version").first()
        limits = LifeLimit.objects.filter(spec=spec, clock="above", threshold_mc__isnull=False) if spec else []
        return [
            Line(mc, say("{material} counts above it", material=log.delivery.material.code), True)
            for mc in sorted({r.threshold_mc or 0 for r in limits})
        ]
    product = [Line(mc, say("what lay there counts above it"), True) for mc in sorted({mc for lines in inside for mc in lines})]
    high = log.location.storage.high_mc if log.location else None
    band = [Line(high, say("the place’s own band"), False)] if high is not None and high not in {line.mc for line in product} else []
    return sorted(product + band, key=lambda line: line.mc)


def _warm(e: Excursion, line: Line, stays: Sequence[Stay], thresholds: dict[int, set[int]], charges: Sequence[Act]) -> Warm:
    there = {s.item for s in stays if s.from_us < e.end_us and s.to_us > e.start_us}
    theirs = {mc for item in there for mc in thresholds.get(item, ())}
    touched = sum(any(mc <= line.mc for mc in thresholds.get(item, ())) for item in there)
    record = next((a.pk for a, start, until in map(_span, charges) if start < e.end_us and until > e.start_us), None)
    return Warm(e, line, touched, line.charges and bool(theirs) and min(theirs) == line.mc, record)


# --- charging ------------------------------------------------------------------------------------------------


def event_at(log: TemperatureLog, at_us: int, line: str = "") -> Event:
    """The stretch of a log that holds an instant, above a line; without one, above the lowest of what lay inside then. Raises
    BadInput log.no_event, temperature.*."""
    at, mc = readings_of(log)
    if line.strip():
        wanted = parse_celsius(line, "°C")
        found = _holding(above(at, mc, wanted), at_us)
        if found is not None:
            return Event(found, wanted)
        raise _no_event(log, say("above {wanted}", wanted=display_celsius(wanted)))
    stays, thresholds = _inside(log)
    for mc_line in sorted({mc for lines in thresholds.values() for mc in lines}):
        found = _holding(above(at, mc, mc_line), at_us)
        there = [s for s in stays if found and s.from_us < found.end_us and s.to_us > found.start_us]
        if found is not None and any(mc_line in thresholds.get(s.item, ()) for s in there):
            return Event(found, mc_line)
    raise _no_event(log, say("above a line of what lay inside"))


def _holding(found: Iterable[Excursion], at_us: int) -> Excursion | None:
    return next((e for e in found if e.start_us <= at_us <= e.end_us), None)


def _no_event(log: TemperatureLog, what: str) -> BadInput:
    return BadInput("log.no_event", say("Log {pk} was not {what} at that time: take a time from its list.", pk=log.pk, what=what), "at_us")


def against_charging(log: TemperatureLog, zone: str, word: str) -> list[Reason]:
    """What speaks against charging by this log: it is withdrawn, its probe hung in the air, or it proves nothing by itself and nobody
    has given their word for it."""
    reasons = []
    if hasattr(log, "withdrawn"):
        reasons.append(
            Reason(
                "log.withdrawn",
                say("Log {pk} is withdrawn: {withdrawn_reason}", pk=log.pk, withdrawn_reason=log.withdrawn.reason),
                {"log": log.pk},
            )
        )
    if log.measures != "product":
        text = say("{probe} hangs in the air and shows every defrost: time is charged by a probe in the product.", probe=log.probe)
        reasons.append(Reason("log.air_probe", text, {"log": log.pk}))
    why = why_no_evidence(log, zone)
    if why and not word.strip():
        text = say("{why} Say why it is believed all the same, such as a check against another thermometer.", why=why)
        reasons.append(Reason("log.not_evidence", text, {"log": log.pk}))
    return reasons


def air_beside(log: TemperatureLog, event: Excursion) -> Air | None:
    """For how long and how warm the air was about an event, above the place's band, by the air's own log; None without one."""
    assert log.location is not None
    high = log.location.storage.high_mc
    rows = standing().filter(location=log.location_id, measures="air", first_us__lt=event.end_us, last_us__gt=event.start_us)
    other = rows.order_by("-recorded_us", "-pk").first()
    if high is None or other is None:
        return None
    met = [e for e in above(*readings_of(other), high) if e.start_us < event.end_us and e.end_us > event.start_us]
    return Air(sum(e.end_us - e.start_us for e in met), max(e.peak_mc for e in met)) if met else None


def charges_of(log: TemperatureLog) -> list[Act]:
    """Live records that charge time of this log's place within its time."""
    rows = Act.objects.filter(site=log.site_id, kind="expose", voided_by__isnull=True, happened_us__lt=log.last_us + 1)
    found = [(act, *_span(act)[1:], _event(act)["place"]) for act in rows.order_by("pk")]
    return [act for act, start, until, place in found if place == log.location_id and until > log.first_us and start <= log.last_us]


def charged_by(log: TemperatureLog) -> list[Act]:
    """Live records that rest on this log."""
    return [act for act in charges_of(log) if _event(act)["evidence"].startswith(f"log {log.pk} of ")]


def _event(act: Act) -> dict[str, Any]:
    event: dict[str, Any] = json.loads(act.body)["event"]
    return event


def _span(act: Act) -> tuple[Act, int, int]:
    event = _event(act)
    return act, event["from_us"], event["until_us"]


def picture_words(log: TemperatureLog, zone: str) -> str:
    """What one sees in the picture, for who cannot."""
    span = say("{first} to {last}", first=day_text(log.first_us, zone), last=day_text(log.last_us, zone))
    return say(
        "{readings} readings, {span}, from {least} to {most}.",
        readings=log.readings,
        span=span,
        least=display_celsius(log.least_mc),
        most=display_celsius(log.most_mc),
    )
