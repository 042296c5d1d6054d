"""A chart's file as traces: read from where attachments lie, and judged by what the cores say. Nothing here writes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from inventory import attachments
from inventory.core.reasons import BadInput, Reason, told_at
from inventory.core.said import say, strung
from inventory.core.table import decode
from inventory.core.tlog import read_log
from inventory.kinetics import known
from inventory.models import Kinetics
from layups.core.cure_chart import Along, cured_along, judged, traces_of
from layups.core.cure_recipe import read
from layups.core.traces import Trace

from .charts import Reacts

MOST_BYTES = 12_000_000
TEXTS = ("text/csv", "text/plain")
PPM = 1_000_000
_FIELDS = {"file": "attachment", "chart": "attachment", "probes": "columns", "time": "attachment", "day_first": "dates"}
DATES = {"": None, "day": True, "month": False}


@dataclass(frozen=True, slots=True)
class Reading:
    """How a file is to be read, as its record keeps it: which columns, in which zone and unit, in which order its dates are, when an
    elapsed time began (µs), and the period (µs) in which the run lay."""

    sha256: str
    zone: str
    columns: tuple[str, ...] = ()
    unit: str = ""
    dates: str = ""
    begins_us: int | None = None
    stated: tuple[int, int] | None = None
    hottest_mc: int = 250_000


@dataclass(frozen=True, slots=True)
class Chart:
    """Its thermocouples in the order of the columns, and what was done with the rest of the file."""

    traces: tuple[Trace, ...]
    notes: tuple[Reason, ...]
    left: int


@lru_cache(maxsize=6)
def chart_of(how: Reading) -> Chart:
    """The same bytes read the same way are the same chart, so the last few are kept. Raises BadInput attachment.unknown, chart.gone,
    chart.not_text, chart.too_big, import.encoding, tlog.*, chart.single, chart.too_long."""
    if how.dates not in DATES:
        raise BadInput("chart.dates", say("Say “day” or “month”: which comes first in the dates of the chart."), "dates")
    with told_at(_FIELDS):
        log = read_log(
            _text(how.sha256),
            how.zone,
            unit=how.unit,
            day_first=DATES[how.dates],
            stated=how.stated,
            expected_mc=(-30_000, how.hottest_mc + 80_000),
            probes=how.columns,
            start_us=how.begins_us,
        )
        return Chart(tuple(traces_of(log)), log.notes, sum(e.last_line - e.first_line + 1 for e in log.left))


def _text(sha256: str) -> str:
    file = attachments.stored(sha256)
    if file.media_type not in TEXTS:
        raise BadInput("chart.not_text", say("{file} is no text: export the chart as CSV, and hand that in.", file=file.name), "file")
    if file.size > MOST_BYTES:
        most = say("{most_bytes} MB", most_bytes=f"{MOST_BYTES / 1000000.0:.0f}")
        raise BadInput(
            "chart.too_big", say("The chart is larger than {most}: export the one run, a reading every few seconds.", most=most), "file"
        )
    try:
        data = attachments.path_of(file.sha256).read_bytes()
    except OSError as error:
        raise BadInput(
            "chart.gone", say("{file} is not where papers are kept: restore it, or hand it in again.", file=file.name), "file"
        ) from error
    return decode(data).text


def verdict(traces: Sequence[Trace], text: str, reacts: Reacts) -> dict[str, Any]:
    """What the chart says of a part: its verdict by the recipe's text, and how far it came by its kinetics."""
    return judged(traces, read(text)) | {"cured": cured(traces, reacts)}


def cured(traces: Sequence[Trace], reacts: Reacts) -> dict[str, Any]:
    """Where the kinetics are known, the end of the conversion; else why there is none."""
    if reacts.known is None:
        names = strung(", ", reacts.without[:6])
        why = say("Nobody has entered the kinetics of {names}.", names=names) if names else say("The design has no line that reacts.")
        return {"none": say("No degree of cure: {why}", why=why)}
    if not traces:
        return {"none": say("No degree of cure: no thermocouple counts.")}
    return {"kinetics": reacts.known.pk, "of": reacts.of, "by": reacts.known.fit.name} | _ends(along(traces, reacts.known.pk or 0))


def _ends(lines: Iterable[Along]) -> dict[str, Any]:
    found: dict[str, Any] = {"reasons": []}
    for line in lines:
        found["reasons"] += [r.text for r in line.reasons if r.text not in found["reasons"]]
        if line.alpha:
            found[line.name] = {"ppm": round(line.alpha[-1] * PPM), "glass_mc": line.glass_mc[-1] if line.glass_mc else None}
    return found


def along(traces: Sequence[Trace], kinetics: int) -> tuple[Along, ...]:
    """The conversion along the chart, by one version of kinetics."""
    by = known(Kinetics.objects.select_related("recipe", "material").get(pk=kinetics))
    return cured_along(traces, by.fit, by.glass, by.strict)


def on_part(chart: Chart, doc: Mapping[str, Any]) -> list[Trace]:
    """The thermocouples that a verdict was judged by."""
    names = {t["name"] for t in doc.get("thermocouples", ())}
    return [t for t in chart.traces if t.name in names]
