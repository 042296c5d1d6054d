"""Loggers: their files come in, their probes are calibrated, and what a product probe saw is charged (R16).

A log is a row of its own, like a room's reading; what is charged by it is a record like any other.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from inventory import attachments, jobs
from inventory.core.numerals import shown
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.spans import parse_date_text, start_of_day_us, zone_of
from inventory.logs import KIND
from inventory.models import Calibration, LogWithdrawal, Probe, TemperatureLog
from inventory.reads import logs as reads

from .arrivals import at_field
from .exposing import Expose, expose
from .registry import OWNER, QUALITY, SHOP, Call, Outcome, refuse, verb
from .releasing import delivery_of
from .resolve import place_of

DAY_US = 86_400_000_000
_OFFSET = re.compile(r"(?:UTC|GMT)?\s*([+\-\u2212])\s*(\d{1,2})(?::?00)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TakeLog:
    """`file`: the SHA-256 of a file that was handed in. It is of a `place`, or of a `delivery`. `probe`: as labelled; of a new one say
    what it `measures`, "product" or "air". `column`: which of several; `unit`: °C or °F where the file does not say. `zone`: of local
    times, as Europe/Copenhagen or +01:00; empty is the site's. `day_first`: where the dates can be read both ways. `from_day` and
    `to_day`: the days that it should cover, 2026-03-30."""

    file: str
    probe: str
    place: str = ""
    delivery: str = ""
    measures: str = ""
    column: str = ""
    unit: str = ""
    zone: str = ""
    day_first: bool | None = None
    from_day: str = ""
    to_day: str = ""


@verb("take_log", TakeLog, SHOP, say("Take in a temperature log"), observable=False)
def take_log(call: Call, p: TakeLog) -> Outcome:
    if bool(p.place.strip()) == bool(p.delivery.strip()):
        raise BadInput("log.of_what", say("Say the place that the log is of, or the delivery: one of the two."), "place")
    place = place_of(call, p.place) if p.place.strip() else None
    delivery = delivery_of(call, p.delivery) if place is None else None
    with at_field("file"):
        file = attachments.stored(p.file)
    zone = _zone(p.zone, call.who.zone)
    stated = _stated(p, call.who.zone)
    probe = probe_of(call, p)
    said: dict[str, Any] = {
        "file": file.sha256,
        "name": file.name,
        "probe": probe.pk,
        "place": place.pk if place else None,
        "delivery": delivery.pk if delivery else None,
        "column": p.column.strip()[:120],
        "unit": p.unit.strip()[:24],
        "zone": zone,
        "day_first": p.day_first,
        "stated": stated,
    }
    where = place.name if place else say("delivery {delivery}", delivery=delivery.number) if delivery else ""
    job, again = jobs.ask(
        KIND, say("{file}, {probe} in {where}", file=file.name, probe=probe, where=where), said, call.who, call.key, call.now_us
    )
    text = say("{file} is being read.", file=file.name) if job.state in jobs.OPEN else say("{file} was read.", file=file.name)
    return Outcome(text, [], {"job": job.pk, "again": again, "probe": probe.name})


def probe_of(call: Call, p: TakeLog) -> Probe:
    """The probe, made when it is new. BadInput probe.needed, probe.new, probe.measures."""
    name = " ".join(p.probe.split())[:60]
    if not name:
        raise BadInput("probe.needed", say("Say which probe wrote it: the name on its label."), "probe")
    measures = p.measures.strip().casefold()
    if measures not in ("", "product", "air"):
        raise BadInput("probe.measures", say("A probe measures “product” (it, or its dummy load) or “air”."), "measures")
    known = Probe.objects.filter(site=call.who.site, name__iexact=name).first()
    if known is None:
        if not measures:
            raise BadInput("probe.new", say("“{name}” is new here: say whether it measures the product or the air.", name=name), "measures")
        known, _ = Probe.objects.get_or_create(site_id=call.who.site, name=name, defaults={"measures": measures})
    if measures and known.measures != measures:
        text = say(
            "{known} is on record as measuring the {measures}: correct what you said, or have the probe corrected in the admin.",
            known=known,
            measures=known.measures,
        )
        raise BadInput("probe.measures", text, "measures")
    return known


def _zone(text: str, usual: str) -> str:
    """A zone's name; an offset in whole hours becomes the zone that has it. (Its name counts the other way round.)"""
    said = text.strip()
    found = _OFFSET.fullmatch(said)
    if found:
        hours = int(found[2]) * (1 if found[1] == "+" else -1)
        said = "UTC" if not hours else f"Etc/GMT{-hours:+d}"
    with at_field("zone"):
        zone_of(said or usual)
    return said or usual


def _stated(p: TakeLog, zone: str) -> list[int] | None:
    if not p.from_day.strip() and not p.to_day.strip():
        return None
    days: list[date] = []
    for name in ("from_day", "to_day"):
        if not getattr(p, name).strip():
            raise BadInput("log.days", say("Say both the first and the last day, or neither."), name)
        with at_field(name):
            days.append(parse_date_text(getattr(p, name)).last_day)
    if days[1] < days[0]:
        raise BadInput("log.days", say("The last day comes before the first: correct one of the two."), "to_day")
    return [start_of_day_us(days[0], zone), start_of_day_us(days[1], zone) + DAY_US]


@dataclass(frozen=True, slots=True)
class Calibrate:
    """`done` and `due`: days, 2026-03-30; both belong to it. `reference`: the certificate."""

    probe: str
    done: str
    due: str
    reference: str = ""


@verb("calibrate", Calibrate, (QUALITY, OWNER), say("Enter a probe's calibration"), observable=False)
def calibrate(call: Call, p: Calibrate) -> Outcome:
    probe = Probe.objects.filter(site=call.who.site, name__iexact=" ".join(p.probe.split())[:60]).first()
    if probe is None:
        raise BadInput(
            "probe.unknown", say("There is no probe “{probe}”: it comes with its first log.", probe=shown(p.probe.strip())), "probe"
        )
    with at_field("done"):
        done = parse_date_text(p.done).last_day
    with at_field("due"):
        due = parse_date_text(p.due).last_day
    if due < done:
        raise BadInput("calibration.order", say("It is due before it was done: correct one of the two days."), "due")
    if start_of_day_us(done, call.who.zone) > call.now_us:
        raise BadInput("calibration.future", say("It was done on a day that has not come yet: correct it."), "done")
    reference = " ".join(p.reference.split())[:120]
    Calibration.objects.get_or_create(
        probe=probe,
        done_on=done,
        due_on=due,
        reference=reference,
        defaults={"person_id": call.who.person, "recorded_us": call.now_us},
    )
    return Outcome(say("{probe} is calibrated from {done} to {due}.", probe=probe, done=done, due=due), [], {"probe": probe.name})


@dataclass(frozen=True, slots=True)
class ChargeLog:
    """`log`: its number. `at_us`: an instant within the time that was too warm. `line`: above which temperature the time counts; empty:
    the lowest line of what lay inside. `word`: why the probe is believed although it is not in calibration. `reason`: why."""

    log: int
    at_us: int
    line: str = ""
    word: str = ""
    reason: str = ""


@verb("charge_log", ChargeLog, (QUALITY,), say("Charge what lay in it"), observable=False, confirm=True)
def charge_log(call: Call, p: ChargeLog) -> Outcome:
    """By the verb of a freezer event, whose rules stand there."""
    log = log_of(call, p.log)
    if log.location is None:
        raise BadInput(
            "log.not_a_place", say("Log {pk} is of a delivery: its time is charged when the delivery comes in.", pk=log.pk), "log"
        )
    with at_field("line"):
        found = reads.event_at(log, p.at_us, p.line)
    why_not = reads.against_charging(log, call.who.zone, p.word)
    if why_not and not call.done_before():
        refuse(call, "charge_log", p, *why_not)
    air = reads.air_beside(log, found.excursion)
    evidence = say("log {pk} of {probe} ({log}, {sha256})", pk=log.pk, probe=log.probe, log=log.name, sha256=log.sha256[:12])
    event = Expose(
        place=log.location.code,
        from_us=found.excursion.start_us,
        to_us=found.excursion.end_us,
        warmest=celsius(found.excursion.peak_mc),
        evidence=evidence + (say("; not in calibration, believed: {split}", split=strung(" ", p.word.split())) if p.word.strip() else ""),
        reason=p.reason,
        line=celsius(found.line_mc),
        air_time=say("{us} min", us=round(air.us / 60000000)) if air else "",
        air_warmest=celsius(air.most_mc) if air else "",
    )
    outcome = expose(call, event)
    return Outcome(outcome.text, outcome.receipts, {**outcome.data, "log": log.pk})


@dataclass(frozen=True, slots=True)
class WithdrawLog:
    """`log`: its number. `reason`: why it is the wrong one."""

    log: int
    reason: str


@verb("withdraw_log", WithdrawLog, (QUALITY,), say("Withdraw a log"), observable=False, confirm=True)
def withdraw_log(call: Call, p: WithdrawLog) -> Outcome:
    """It stays to be read and counts nowhere. What was charged by it stands until that record is void."""
    log = log_of(call, p.log)
    reason = " ".join(p.reason.split())[:240]
    if not reason:
        raise BadInput("reason.missing", say("Say why it is the wrong one."), "reason")
    charged = reads.charged_by(log)
    if charged:
        text = say("Record {pk} charges time by this log: void that first if it was wrong.", pk=charged[0].pk)
        refuse(call, "withdraw_log", p, Reason("log.charged", text, {"record": charged[0].pk}))
    LogWithdrawal.objects.get_or_create(log=log, defaults={"reason": reason, "person_id": call.who.person, "at_us": call.now_us})
    return Outcome(say("Log {pk} is withdrawn.", pk=log.pk), [], {"log": log.pk})


def log_of(call: Call, number: int) -> TemperatureLog:
    """BadInput log.unknown."""
    rows = TemperatureLog.objects.filter(site=call.who.site).select_related("probe", "location__storage", "delivery")
    found = rows.filter(pk=number).first() if 0 < number < 2**53 else None
    if found is None:
        raise BadInput("log.unknown", say("There is no log {number}.", number=number), "log")
    return found


def celsius(mc: int) -> str:
    return say("{decimal} °C", decimal=Decimal(mc) / 1000)
