"""The chart of a cure is handed in and judged by the recipe of each part's design. A fact: it is stored whatever it says, and what
does not pass is quality's until disposed of. A further chart of the same run counts instead; void it, and the one before counts again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.attachments import of_record
from inventory.core import logtimes
from inventory.core.numerals import shown
from inventory.core.reasons import BadInput, Reason, told_at
from inventory.core.said import say, strung
from inventory.core.spans import parse_date_text, zone_of
from inventory.models import Act, Finding
from inventory.recording import Line, Transaction, findings
from inventory.recording.findings import LATER, Found, reopen
from inventory.verbs.registry import BUILDER, OWNER, QUALITY, Call, Outcome, verb
from inventory.verbs.voiding import VOID_EFFECTS
from layups.core.cure import FAILS, PASSES, UNKNOWN, Dwell
from layups.core.cure_chart import sentence
from layups.core.traces import Trace
from layups.models import CureChart as Row
from layups.models import CureRun, Part
from layups.reads import charts
from layups.reads.chartfiles import Chart, Reading, chart_of, verdict

from .finding import listed, run_of, several, words

WORST = (FAILS, UNKNOWN, PASSES)
MOST_COLUMNS = 100


@dataclass(frozen=True, slots=True)
class ChartColumn:
    """A column of the chart that counts. `column`: its heading. `parts`: the parts that the thermocouple is on, commas between (empty:
    all of them). `calibrated`: the last day of its calibration; a chart that was taken later is no evidence by it."""

    column: str
    parts: str = ""
    calibrated: str = ""


@dataclass(frozen=True, slots=True)
class CureChart:
    """`attachment`: the SHA-256 of the chart's file, a CSV that was handed in before. `run`: the run's number (CR-311). `parts`: which
    parts, where not all of the run, or where there is no run. `columns`: those that count (empty: every thermocouple judges every
    part). `zone`: of the logger's clock (empty: the shop's). `unit`: °C or °F, where the file does not say. `dates`: day or month,
    whichever comes first in its dates, where that can be read in two ways. `begins`: when an elapsed time began, as 2026-03-30 15:40."""

    attachment: str
    run: str = ""
    parts: tuple[str, ...] = ()
    columns: tuple[ChartColumn, ...] = ()
    zone: str = ""
    unit: str = ""
    dates: str = ""
    begins: str = ""


@verb("cure_chart", CureChart, (BUILDER, QUALITY, OWNER), say("Hand in a cure chart"), observable=False)
def cure_chart(call: Call, p: CureChart) -> Outcome:
    if call.done_before():
        return _told(call.record([call.claim("chart", (), p, stance="observed")], "cure_chart"))
    file = of_record(p.attachment)
    if not file:
        raise BadInput("chart.needed", say("Hand in the chart first: a CSV file, as the logger exports it."), "attachment")
    run = run_of(call, p.run) if p.run.strip() else None
    parts, without = _parts(call, p, run)
    how = _how(call, p, run, parts)
    chart = chart_of(how)
    counts = _counting(p, parts, chart, how.zone)
    reacts = charts.reacting(part.design_id for part in parts)
    docs = {}
    for part in parts:
        recipe = part.design.cure_recipe
        assert recipe is not None
        told = verdict(counts[part.pk], recipe.text, reacts[part.design_id])
        docs[part.pk] = told | {"recipe": [recipe.code, recipe.version, recipe.text]}
    body = _body(file, how, run, parts, without, docs, chart) | {"uncalibrated": _late(p, chart, how.zone)}
    lines = [Line(part.pk, body={"chart": docs[part.pk]}) for part in parts]
    claim = call.claim("chart", lines, p, stance="observed", body=body, effects=(_keep(run, parts, docs),))
    return _told(call.record([claim], "cure_chart"))


def _told(receipts: list[Any]) -> Outcome:
    body = receipts[0].body
    where = say("run {run}", run=body["run"]) if body["run"] else listed(body["verdicts"])
    by_part = strung("; ", (say("{number} {word}", number=number, word=word) for number, word in body["verdicts"].items()))
    text = (
        say("Chart of {where}: {verdict}. ", where=where, verdict=body["verdict"])
        + (body["says"] if body["verdict"] != PASSES else "")
        + say(" ({by_part})", by_part=by_part)
    )
    data = {"run": body["run"], "verdict": body["verdict"], "parts": body["verdicts"], "record": receipts[0].act}
    return Outcome(" ".join(text.split()), receipts, data)


# --- what it is about --------------------------------------------------------------------------------


def _parts(call: Call, p: CureChart, run: CureRun | None) -> tuple[list[Part], list[str]]:
    """The parts that are judged, and the numbers of those whose design names no recipe."""
    if p.parts:
        ids = {m.id for m in several(call, p.parts[0], p.parts[1:], "parts")}
        found = list(charts.parts_by_id(ids).order_by("number"))
    elif run is not None:
        found = charts.parts_of_run(run)
        if not found:
            raise BadInput("run.empty", say("Nothing was loaded in run {run}: say which parts.", run=run.number), "parts")
    else:
        raise BadInput("run.needed", say("Say which run, or which parts."), "run")
    judged = [part for part in found if part.design.cure_recipe is not None]
    if not judged:
        designs = listed(sorted({part.design.code for part in found}))
        text = say("There is nothing to judge the chart by: name a cure recipe in the design {designs} first.", designs=designs)
        raise BadInput("chart.no_recipe", text, "run")
    return judged, [part.number for part in found if part.design.cure_recipe is None]


def _how(call: Call, p: CureChart, run: CureRun | None, parts: Sequence[Part]) -> Reading:
    """How the file is to be read: it must overlap the run, and be in the unit in which an oven can be."""
    with told_at("zone"):
        zone = str(zone_of(words(p.zone, "zone", 60) or call.who.zone))
    since = charts.loaded_since([part.pk for part in parts], run)
    hottest = max(
        s.high_mc for part in parts if part.design.cure_recipe for s in part.design.cure_recipe.recipe.stages if isinstance(s, Dwell)
    )
    if len(p.columns) > MOST_COLUMNS:
        raise BadInput("chart.columns", say("A chart has at most {most_columns} columns that count.", most_columns=MOST_COLUMNS), "columns")
    return Reading(
        sha256=of_record(p.attachment)["file"][0],
        zone=zone,
        columns=tuple(words(c.column, "column", 120, needed=True) for c in p.columns),
        unit=words(p.unit, "unit", 20),
        dates=words(p.dates, "dates", 20).casefold(),
        begins_us=_begins(p.begins, zone),
        stated=None if since is None else (since, call.now_us),
        hottest_mc=hottest,
    )


def _begins(text: str, zone: str) -> int | None:
    if not text.strip():
        return None
    read = logtimes.stamp(text.strip())
    if read is None:
        raise BadInput("chart.begins", say("“{text}” is no date with a time: write it as 2026-03-30 15:40.", text=shown(text)), "begins")
    with told_at("begins"):
        walls, _ = logtimes.walls([read], None, None)
        if read.offset_us is not None:
            return walls[0] - read.offset_us
        return logtimes.instants(walls, zone, [1])[0][0]


def _counting(p: CureChart, parts: Sequence[Part], chart: Chart, zone: str) -> dict[int, list[Trace]]:
    """For each part the thermocouples that judge it: on it, and calibrated when the chart was taken."""
    known = {part.number.casefold(): part.pk for part in parts} | {part.item.code.casefold(): part.pk for part in parts}
    if not p.columns:
        return {part.pk: list(chart.traces) for part in parts}
    by_name = {t.name.casefold(): t for t in chart.traces}
    late = {name.casefold() for name, _ in _late(p, chart, zone)}
    found: dict[int, list[Trace]] = {part.pk: [] for part in parts}
    for c in p.columns:
        trace = by_name.get(c.column.strip().casefold())
        if trace is None or trace.name.casefold() in late:
            continue
        named = [word.strip() for word in c.parts.split(",") if word.strip()]
        for word in named:
            if word.casefold() not in known:
                text = say(
                    "“{word}” is none of the parts that the chart is of: {listed}.",
                    word=shown(word),
                    listed=listed(part.number for part in parts),
                )
                raise BadInput("chart.other_part", text, "columns")
        for pk in {known[word.casefold()] for word in named} or found:
            if trace not in found[pk]:
                found[pk].append(trace)
    return found


def _late(p: CureChart, chart: Chart, zone: str) -> list[list[str]]:
    """The thermocouples whose calibration was over before the chart ended, with its last day."""
    ends = {t.name.casefold(): (t.name, t.last_us) for t in chart.traces}
    found = []
    for c in p.columns:
        if not c.calibrated.strip():
            continue
        with told_at("columns"):
            due = parse_date_text(c.calibrated)
        name, last = ends.get(c.column.strip().casefold(), ("", 0))
        if name and last >= due.end_us(zone):
            found.append([name, str(due)])
    return found


# --- what is kept --------------------------------------------------------------------------------------


def _body(
    file: dict[str, list[str]],
    how: Reading,
    run: CureRun | None,
    parts: Sequence[Part],
    without: list[str],
    docs: dict[int, dict[str, Any]],
    chart: Chart,
) -> dict[str, Any]:
    worst = min((docs[part.pk] for part in parts), key=lambda doc: WORST.index(doc["verdict"]))
    return file | {
        "run": run.number if run is not None else "",
        "verdict": worst["verdict"],
        "says": sentence(worst),
        "verdicts": {part.number: docs[part.pk]["verdict"] for part in parts},
        "without": without,
        "read": {
            "zone": how.zone,
            "columns": list(how.columns),
            "unit": how.unit,
            "dates": how.dates,
            "begins_us": how.begins_us,
            "stated": list(how.stated) if how.stated else None,
            "hottest_mc": how.hottest_mc,
        },
        "notes": [r.text for r in chart.notes],
        "left": chart.left,
    }


def _keep(run: CureRun | None, parts: Sequence[Part], docs: dict[int, dict[str, Any]]) -> Any:
    """A row for each part; findings of charts that this one replaces are settled, and its own are raised."""

    def effect(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        legs = dict(act.legs.values_list("item_id", "pk"))
        mine = {"run": run} if run is not None else {"run__isnull": True}
        before = list(Row.objects.filter(part__in=legs, **mine).values_list("act", flat=True))
        settled = Finding.objects.filter(item__in=legs, leg__act__in=before, closed_us__isnull=True, code__startswith=f"{charts.FAMILY}.")
        findings.close(list(settled), tx.now_us, LATER)
        Row.objects.bulk_create(
            Row(act=act, part=part, run=run, recipe=part.design.cure_recipe, verdict=docs[part.pk]["verdict"]) for part in parts
        )
        found = [
            Found(legs[part.pk], part.pk, part.pk, act.happened_us, _reason(part, run, docs[part.pk]))
            for part in parts
            if _bad(docs[part.pk])
        ]
        findings.write(found, (), tx.who.site, tx.now_us)

    return effect


def _bad(doc: dict[str, Any]) -> bool:
    return bool(doc["verdict"] != PASSES)


def _reason(part: Part, run: CureRun | None, doc: dict[str, Any]) -> Reason:
    code = charts.FAILED if doc["verdict"] == FAILS else charts.UNTOLD
    where = say(", run {run}", run=run.number) if run is not None else ""
    return Reason(
        code,
        say("Cure of {part}{where}: {sentence}", part=part.number, where=where, sentence=sentence(doc)),
        {"item": part.pk, "verdict": doc["verdict"]},
    )


def count_the_one_before(tx: Transaction, act: Act) -> None:
    """A chart is void: of each part the newest that is left counts again, and so does what it found."""
    if act.kind != "chart":
        return
    for row in Row.objects.filter(act=act):
        left = (
            Row.objects.filter(part=row.part_id, run=row.run_id, act__voided_by__isnull=True).exclude(act=act).order_by("-act_id").first()
        )
        if left is not None:
            mine = Finding.objects.filter(leg__act=left.act_id, item=row.part_id, closed_by=LATER)
            reopen(mine.filter(code__startswith=f"{charts.FAMILY}."))


if count_the_one_before not in VOID_EFFECTS:
    VOID_EFFECTS.append(count_the_one_before)
