"""From a logger's file to a log that is kept: a kind of job. And a kept log's readings, calibration and lines.

Nothing is guessed: a file of another time, of the future, or that says otherwise than another log of its probe is refused in words.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from django.db.models import QuerySet

from inventory import attachments, jobs
from inventory.core.calibrated import Cover, calibration_text
from inventory.core.logfacts import Facts, facts_of, packed, unpacked
from inventory.core.numerals import shown
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.spans import day_text, local_date
from inventory.core.table import decode
from inventory.core.tlog import Log, read_log
from inventory.core.tlog import Probe as Column
from inventory.models import Attachment, Calibration, Job, Location, LogReadings, Probe, Site, TemperatureLog
from inventory.recording import canonical

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

KIND = say("temperature log")
MOST_KEPT = 200
"""How many gaps, and lines that were not understood, are kept by number; all are counted."""
LEEWAY_US = 300_000_000
"""How far a logger's clock may be ahead before its last reading lies in the future. Shop practice, no source."""
_COLDER_MC, _WARMER_MC = 12_000, 12_000
"""How far beyond its place's band the middle of a log may lie before the wrong unit is suspected. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class _Read:
    """What is to be kept of one file."""

    probe: Probe
    column: Column
    log: Log
    facts: Facts
    notes: list[str]


@jobs.kind(KIND)
def import_log(job: Job, tell: jobs.Tell) -> jobs.Finish:
    """Read the file of a job. Raises BadInput of `core.tlog`, and log.several_probes, .future, .again, .elsewhere, .differs."""
    said = json.loads(job.params)
    file = attachments.stored(said["file"])
    probe = Probe.objects.get(pk=said["probe"])
    decoded = decode(attachments.path_of(file.sha256).read_bytes())
    log = read_log(
        decoded.text,
        said["zone"],
        said["unit"],
        said["day_first"],
        tuple(said["stated"]) if said["stated"] else None,
        None if said["unit"] else _expected(said["place"]),
        [said["column"]] if said["column"] else [],
        tell=tell,
    )
    column = _one(log)
    zone = Site.objects.get(pk=job.site_id).zone
    notes = [r.text for r in log.notes] + ([decoded.note] if decoded.note else [])
    if column.at_us[-1] > job.asked_us + LEEWAY_US:
        text = say(
            "The log runs until {at}, which lies in the future: the logger's clock or the zone is wrong.",
            at=day_text(column.at_us[-1], zone),
        )
        raise BadInput("log.future", text, "file", last_us=column.at_us[-1])
    notes += _against_others(probe, said, column, zone)
    read = _Read(probe, column, log, facts_of(column.at_us, column.mc), notes)
    return partial(_keep, job, said, file, read)


def _expected(place: int | None) -> tuple[int, int] | None:
    """What a place may be at, by which a wrong unit is found out; None where its band says nothing."""
    row = Location.objects.select_related("storage").filter(pk=place).first() if place is not None else None
    if row is None or row.storage.low_mc is None or row.storage.high_mc is None:
        return None
    return row.storage.low_mc - _COLDER_MC, row.storage.high_mc + _WARMER_MC


def _one(log: Log) -> Column:
    full = [p for p in log.probes if p.at_us]
    if len(full) > 1:
        names = strung(", ", (say("“{name}”", name=shown(p.name)) for p in full))
        raise BadInput(
            "log.several_probes", say("The file has several probes: {names}. Say which column is this probe's.", names=names), "column"
        )
    return full[0]


def _against_others(probe: Probe, said: dict[str, Any], column: Column, zone: str) -> list[str]:
    """One probe is in one place and says one thing at a time."""
    notes = []
    first, last = column.at_us[0], column.at_us[-1]
    for other in standing().filter(probe=probe, first_us__lte=last, last_us__gte=first).order_by("pk"):
        span = say("{first} to {last}", first=day_text(other.first_us, zone), last=day_text(other.last_us, zone))
        if (other.location_id, other.delivery_id) != (said["place"], said["delivery"]):
            where = (
                other.location.name
                if other.location
                else say("delivery {delivery}", delivery=other.delivery.number)
                if other.delivery
                else "?"
            )
            text = say(
                "Log {pk} has {probe} in {where} from {span}: it cannot be in two places. Is it another probe's file?",
                pk=other.pk,
                probe=probe,
                where=where,
                span=span,
            )
            raise BadInput("log.elsewhere", text, "probe", log=other.pk)
        differs = _first_difference(readings_of(other), column, max(first, other.first_us), min(last, other.last_us))
        if differs is not None:
            text = say(
                "Log {pk} of {probe} covers {span} and says otherwise from {differs} on: one of the two is another "
                "probe's, or its clock was set wrong. Look at both; quality can withdraw the wrong one.",
                pk=other.pk,
                probe=probe,
                span=span,
                differs=day_text(differs, zone),
            )
            raise BadInput("log.differs", text, "file", log=other.pk, at_us=differs)
        if other.first_us <= first and other.last_us >= last:
            raise BadInput(
                "log.again", say("All of this stands in log {pk} already: nothing was kept twice.", pk=other.pk), "file", log=other.pk
            )
        notes.append(say("Log {pk} has {span} as well, with the same readings.", pk=other.pk, span=span))
    return notes


def _first_difference(other: tuple[Ints, Ints], column: Column, first: int, last: int) -> int | None:
    """The first instant of the time that both cover at which they do not say the same."""
    import numpy as np

    (at, mc), mine = other, (np.asarray(column.at_us, dtype=np.int64), np.asarray(column.mc, dtype=np.int64))
    rows = [(a[(a >= first) & (a <= last)], m[(a >= first) & (a <= last)]) for a, m in ((at, mc), mine)]
    size = min(rows[0][0].size, rows[1][0].size)
    off = np.flatnonzero((rows[0][0][:size] != rows[1][0][:size]) | (rows[0][1][:size] != rows[1][1][:size]))
    if off.size:
        return int(min(rows[0][0][off[0]], rows[1][0][off[0]]))
    longer = rows[0][0] if rows[0][0].size > size else rows[1][0]
    return int(longer[size]) if longer.size > size else None


def _keep(job: Job, said: dict[str, Any], file: Attachment, read: _Read) -> dict[str, Any]:
    """Within the transaction that ends the job."""
    f, log = read.facts, read.log
    doc = {
        "layout": log.layout,
        "column": read.column.name,
        "zone": said["zone"],
        "notes": read.notes,
        "left": [[e.first_line, e.last_line, e.text, e.given] for e in log.left[:MOST_KEPT]],
        "left_lines": sum(e.last_line - e.first_line + 1 for e in log.left),
        "gaps": [[g.start_us, g.end_us] for g in f.gaps[:MOST_KEPT]],
        "gap_count": len(f.gaps),
        "step_us": f.step_us,
    }
    row = TemperatureLog.objects.create(
        site_id=job.site_id,
        key=job.key,
        probe=read.probe,
        measures=read.probe.measures,
        location_id=said["place"],
        delivery_id=said["delivery"],
        sha256=file.sha256,
        name=said["name"],
        first_us=f.first_us,
        last_us=f.last_us,
        readings=f.readings,
        known_us=f.known_us,
        least_mc=f.least_mc,
        most_mc=f.most_mc,
        mean_mc=f.mean_mc,
        kinetic_mc=f.kinetic_mc,
        doc=canonical(doc),
        person_id=job.person_id,
        recorded_us=job.asked_us,
    )
    LogReadings.objects.create(log=row, packed=packed(read.column.at_us, read.column.mc))
    return {"log": row.pk, "readings": f.readings}


# --- of a log that is kept ----------------------------------------------------------------------------------


def standing() -> QuerySet[TemperatureLog]:
    """Logs that were not withdrawn."""
    return TemperatureLog.objects.filter(withdrawn__isnull=True).select_related("probe", "location", "delivery")


def readings_of(log: TemperatureLog) -> tuple[Ints, Ints]:
    """(instants, m°C)."""
    return unpacked(bytes(LogReadings.objects.get(pk=log.pk).packed))


def why_no_evidence(log: TemperatureLog, zone: str) -> str:
    """Why a log proves nothing by itself: its probe was past its calibration, or nobody knows; "" when it does."""
    covers = [Cover(c.done_on, c.due_on) for c in Calibration.objects.filter(probe=log.probe_id)]
    return calibration_text(covers, local_date(log.first_us, zone), local_date(log.last_us, zone))


def within(at: Ints, mc: Ints, from_us: int, to_us: int) -> tuple[Sequence[int] | Ints, Sequence[int] | Ints]:
    """The readings of [from, to]."""
    inside = (at >= from_us) & (at <= to_us)
    return at[inside], mc[inside]
