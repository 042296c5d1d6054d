"""An oven's chart against a recipe, to try out: nothing is recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.readings import Span
from inventory.core.reasons import told_at
from inventory.core.said import say, strung
from inventory.core.spans import local, zone_of
from inventory.core.temperature import display_celsius
from inventory.core.tlog import MOST_TEXT, read_log
from inventory.worksheets.registry import CURE, Chart, Figure, Series, Sheet, Table, figure, worksheet
from layups.core.cure import PASSES, Dwell
from layups.core.cure_chart import judged, sentence, thinned, traces_of
from layups.core.cure_recipe import CureRecipe, read, write
from layups.core.traces import Trace


def _example() -> str:
    """Two thermocouples, the second of which stays too cold; invented."""
    lines = [say("Time;TC1 °C;TC2 °C")]
    for m in range(0, 181, 3):
        one = min(20 + max(m - 6, 0) * 2.2, 121.0, 121 - (m - 120) * 1.6)
        two = min(20 + max(m - 8, 0) * 2.1, 117.5, 118 - (m - 120) * 1.5)
        lines.append(f"2026-03-30 {8 + m // 60:02d}:{m % 60:02d};{one:.1f};{two:.1f}")
    return "\n".join(lines)


_RECIPE = say(
    "room 20 °C\ngap at most 10 min\nramp 1 to 3 °C/min over 5 min\ndwell 118 −0/+6 °C for 60 −0/+25 min\ncool at most 2 °C/min to 60 °C"
)


@dataclass(frozen=True, slots=True)
class CureChart:
    """A chart as text, and the recipe that it is judged by."""

    chart: str = figure(
        say("Chart"), default=_example(), words=say("Paste its lines with their heading, or choose the file below."), rows=8, most=MOST_TEXT
    )
    recipe: str = figure(say("Recipe"), default=_RECIPE, words=say("A stage a line: ramp, dwell, cool; and “room”, “gap”."), rows=6)
    unit: str = figure(say("Unit"), default="", words=say("°C or °F, where the file does not say."))
    zone: str = figure(say("Zone of its times"), default="UTC", words=say("A name such as Europe/Copenhagen."))
    columns: str = figure(say("Columns"), default="", words=say("The headings that count, commas between; empty: every thermocouple."))


@worksheet(
    "cure-chart", CureChart, say("Cure chart"), say("An oven's chart against a recipe: which stage failed, by which probe, when."), CURE
)
def cure_chart(p: CureChart) -> Sheet:
    recipe = read(p.recipe)
    columns = [c.strip() for c in p.columns.split(",") if c.strip()]
    with told_at("zone"):
        zone = zone_of(p.zone.strip() or "UTC")
    hottest = max(s.high_mc for s in recipe.stages if isinstance(s, Dwell))
    with told_at({"file": "chart", "probes": "columns", "time": "chart", "unit": "unit", "columns": "columns", "day_first": "chart"}):
        log = read_log(p.chart, zone, p.unit.strip(), expected_mc=(-30_000, hottest + 80_000), probes=columns)
        traces = traces_of(log)
    with told_at({"chart": "chart"}):
        doc = judged(traces, recipe)
    began = doc["heated_us"]
    left = sum(e.last_line - e.first_line + 1 for e in log.left)
    notes = [say("Read as: {splitlines}.", splitlines=strung("; ", write(recipe).splitlines())), *(note.text for note in log.notes)]
    notes += (
        [
            say(
                "{left} lines were not understood and left out, the first one line {first_line}.",
                left=left,
                first_line=log.left[0].first_line,
            )
        ]
        if left
        else []
    )
    return Sheet(
        headline=sentence(doc),
        figures=(
            Figure(say("verdict"), doc["verdict"], doc["verdict"]),
            Figure(say("heating began"), _clock(began, zone) if began is not None else say("not to the first band"), _iso(began, zone)),
            *(_hottest(t) for t in doc["thermocouples"]),
        ),
        notes=tuple(notes),
        cautions=(say("An aid: the approved process specification and qualified people decide."),),
        tables=_tables(doc, zone),
        charts=(_drawn(doc, traces, recipe),),
    )


def _clock(us: int, zone: Any) -> str:
    return f"{local(us, zone):%Y-%m-%d %H:%M:%S}"


def _iso(us: int | None, zone: Any) -> str | None:
    return None if us is None else local(us, zone).isoformat(timespec="seconds")


def _hottest(t: dict[str, Any]) -> Figure:
    return Figure(say("{name} at its hottest", name=t["name"]), display_celsius(t["peak_mc"]), t["peak_mc"] / 1000, "°C")


def _ends(span: list[int] | None, zone: Any) -> list[str]:
    return [_clock(t, zone) for t in span] if span is not None else ["–", "–"]


def _tables(doc: dict[str, Any], zone: Any) -> tuple[Table, ...]:
    names = [t["name"] for t in doc["thermocouples"]]
    stages = tuple((s["name"], s["asked"], s["verdict"], *_ends(s["span"], zone), *(s["each"][n] for n in names)) for s in doc["stages"])
    found = [Table(say("Stages"), (say("stage"), say("asked"), say("verdict"), say("from"), say("until"), *names), stages)]
    offences = [
        (n, s["name"], o["word"], o["thermocouple"] or "all", *(_clock(t, zone) for t in span), o["text"])
        for n, (s, o) in enumerate(((s, o) for s in doc["stages"] for o in s["offences"]), 1)
        for span in o["spans"]
    ]
    if offences:
        found.append(
            Table(
                say("Where it offends"),
                (say("no."), say("stage"), say("what"), say("thermocouple"), say("from"), say("until"), say("in words")),
                tuple(offences),
            )
        )
    return tuple(found)


def _drawn(doc: dict[str, Any], traces: Sequence[Trace], recipe: CureRecipe) -> Chart:
    """Every thermocouple, the limits of the dwells, and the stretches that offend as lines of their own with their word."""
    start = min(t.first_us for t in traces)

    def line(name: str, at: Any, y: Any) -> Series:
        return Series(name, tuple(((float(us) - start) / 60e6, float(mc) / 1000) for us, mc in zip(at, y, strict=True)))

    series = [line(t.name, *thinned(t, 600)) for t in traces]
    by_name, number_ = {t.name: t for t in traces}, 0
    for stage in doc["stages"]:
        for o in stage["offences"]:
            number_ += 1
            trace = by_name.get(o["thermocouple"])
            for a, b in o["spans"][:3] if trace is not None else ():
                series.append(line(say("{number} {word}", number=number_, word=o["word"]), *trace.cut(Span(a, b))))  # type: ignore[union-attr]
    bands = [
        say("{name} {low} to {high}", name=s.name, low=display_celsius(s.low_mc), high=display_celsius(s.high_mc))
        for s in recipe.stages
        if isinstance(s, Dwell)
    ]
    says = (
        say("Bands: {bands}. {sentence}", bands=strung("; ", bands), sentence=sentence(doc))
        if doc["verdict"] != PASSES
        else say("Bands: {bands}. All of it within.", bands=strung("; ", bands))
    )
    return Chart(say("Chart"), "line", say("minutes"), "°C", tuple(s for s in series if len(s.points) > 1)[:20], says)
