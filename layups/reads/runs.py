"""A cure run on one page: its parts, what its charts said, and whether heating began when the record says. A constant number of queries."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import BadInput
from inventory.models import Act, Attachment, ItemState, Leg
from layups.core.cure import FAILS, PASSES, UNKNOWN
from layups.models import CureChart, CureRun, Part

from . import chartfiles, charts
from .charts import Differs

MISSING = "missing"
WORST = (FAILS, UNKNOWN, MISSING, PASSES)


@dataclass(frozen=True, slots=True)
class PartIn:
    """A part of the run: the chart that counts for it with its whole verdict (None and empty where there is none), and the start of
    its cure that is on record. `verdict`: passes, fails, cannot tell, missing; "" where its design asks for no chart."""

    part: Part
    verdict: str
    chart: CureChart | None
    doc: dict[str, Any]
    start: Act | None


@dataclass(frozen=True, slots=True)
class Record:
    """A chart that was handed in: its record, its file (None where that row is gone), which parts it counts for."""

    act: Act
    body: dict[str, Any]
    file: Attachment | None
    counts_for: tuple[str, ...]
    void: Act | None


@dataclass(frozen=True, slots=True)
class RunPage:
    """`run` is None for a cure outside of any run."""

    run: CureRun | None
    parts: tuple[PartIn, ...]
    records: tuple[Record, ...]
    differs: tuple[Differs, ...]

    @property
    def number(self) -> str:
        return self.run.number if self.run is not None else ""

    @property
    def verdict(self) -> str:
        """The worst of its parts'; "" where none asks for a chart."""
        found = [p.verdict for p in self.parts if p.verdict]
        return min(found, key=WORST.index) if found else ""


def run_page(site: int, number: str) -> RunPage:
    """Raises CureRun.DoesNotExist."""
    run = CureRun.objects.select_related("location").get(site=site, number=number)
    rows = charts.charts_of(run)
    parts = {p.pk: p for p in charts.parts_of_run(run)}
    more = charts.parts_by_id({r.part_id for r in rows} - parts.keys())
    return _page(run, sorted([*parts.values(), *more], key=lambda p: p.number), rows)


def lone_page(part: Part) -> RunPage:
    """The cure of one part outside of any run."""
    (row,) = charts.parts_by_id([part.pk])
    return _page(None, [row], charts.charts_of(None, part))


def _page(run: CureRun | None, parts: list[Part], rows: list[CureChart]) -> RunPage:
    number = run.number if run is not None else ""
    live = [r for r in rows if not hasattr(r.act, "voided_by")]
    newest: dict[int, CureChart] = {}
    for row in sorted(live, key=lambda r: r.act_id):
        newest[row.part_id] = row
    docs = charts.verdicts_of(newest.values())
    starts = charts.starts_of([p.pk for p in parts], number)
    told = {pk: docs.get((row.act_id, pk), {}) for pk, row in newest.items()}
    states = dict(ItemState.objects.filter(pk__in=[p.pk for p in parts]).values_list("pk", "doc"))
    found = tuple(PartIn(p, _verdict(p, newest.get(p.pk), states), newest.get(p.pk), told.get(p.pk, {}), starts.get(p.pk)) for p in parts)
    return RunPage(run, found, _records(rows, newest), tuple(charts.differing(parts, told, number)))


def _verdict(part: Part, row: CureChart | None, states: dict[int, str]) -> str:
    """Before a part is cured nobody asks for its chart."""
    if row is not None:
        return row.verdict
    asks = part.design.cure_recipe_id is not None and json.loads(states.get(part.pk, "{}")).get("cured") is not None
    return MISSING if asks else ""


def _records(rows: list[CureChart], newest: dict[int, CureChart]) -> tuple[Record, ...]:
    acts: dict[int, list[CureChart]] = {}
    for row in rows:
        acts.setdefault(row.act_id, []).append(row)
    bodies = {act: json.loads(of[0].act.body) for act, of in acts.items()}
    files = {f.sha256: f for f in Attachment.objects.filter(sha256__in=[b["file"][0] for b in bodies.values()]).order_by("-pk")}
    found = []
    for act, of in acts.items():
        counts = tuple(r.part.number for r in of if newest.get(r.part_id) == r)
        body = bodies[act]
        found.append(Record(of[0].act, body, files.get(body["file"][0]), counts, getattr(of[0].act, "voided_by", None)))
    return tuple(found)


# --- one chart, drawn again from its file ------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Drawn:
    """A chart with the verdict of one part. `traces` is empty, and `why` says so, where the file is not there any more."""

    doc: dict[str, Any]
    traces: tuple[Any, ...]
    along: tuple[Any, ...]
    why: str = ""


def drawn(record: Act, part: Part) -> Drawn:
    """What a record says of a part, with its lines from the file."""
    leg = Leg.objects.filter(act=record, item=part.pk).first()
    doc = json.loads(leg.body).get("chart", {}) if leg is not None else {}
    body = json.loads(record.body)
    try:
        chart = chartfiles.chart_of(reading_of(body))
    except BadInput as bad:
        return Drawn(doc, (), (), bad.reason.text)
    traces = tuple(chartfiles.on_part(chart, doc))
    kinetics = doc.get("cured", {}).get("kinetics")
    return Drawn(doc, traces, chartfiles.along(traces, kinetics) if kinetics and traces else ())


def reading_of(body: dict[str, Any]) -> chartfiles.Reading:
    """How the file was read then."""
    read = body["read"]
    stated = read["stated"]
    return chartfiles.Reading(
        body["file"][0],
        read["zone"],
        tuple(read["columns"]),
        read["unit"],
        read["dates"],
        read["begins_us"],
        (stated[0], stated[1]) if stated else None,
        read["hottest_mc"],
    )


# --- lists -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Listed:
    run: CureRun
    charts: int
    verdict: str
    parts: tuple[str, ...]


def runs(site: int, before: int | None = None, most: int = 50) -> list[Listed]:
    """Runs, newest first, with the worst of what counts. Two queries."""
    rows = CureRun.objects.filter(site=site).select_related("location").order_by("-pk")
    found = list((rows.filter(pk__lt=before) if before is not None else rows)[:most])
    by_run: dict[int, dict[int, CureChart]] = {r.pk: {} for r in found}
    counted: dict[int, set[int]] = {r.pk: set() for r in found}
    told = CureChart.objects.filter(run__in=found, act__voided_by__isnull=True).select_related("part").order_by("act_id")
    for row in told:
        by_run[row.run_id or 0][row.part_id] = row
        counted[row.run_id or 0].add(row.act_id)
    return [_listed(r, by_run[r.pk].values(), len(counted[r.pk])) for r in found]


def _listed(run: CureRun, rows: Iterable[CureChart], count: int) -> Listed:
    found = list(rows)
    worst = min((r.verdict for r in found), key=WORST.index, default="")
    return Listed(run, count, worst, tuple(sorted(r.part.number for r in found)))
