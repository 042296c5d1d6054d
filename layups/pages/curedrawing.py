"""A cure chart as a picture: every thermocouple, the bands of the recipe, and where it offends, by shape and word. Beside it stand a
sentence and tables that say the same, so nobody has to see it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.core.readings import Span
from inventory.core.said import say
from inventory.core.spans import MINUTE_US, Zone, local
from inventory.pages.charts import label, ticks
from layups.core.cure import Dwell
from layups.core.cure_chart import Along, thinned
from layups.core.cure_recipe import read
from layups.core.traces import Trace

WIDE, HIGH = 960.0, 430.0
LEFT, RIGHT, BOTTOM = 62.0, WIDE - 14.0, HIGH - 84.0
LANE, LANES = 19.0, 5
MOST_MARKS = 60
_POINTS = 900
_STEPS_MIN = (1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 240, 360, 480, 720, 1440, 2880)
_SHAPES = {"passes": "M-5 0l3.5 4 6.5-8", "fails": "M-4.5-4.5l9 9m0-9l-9 9", "cannot tell": "M-3-3q0-3 3-3t3 3q0 2-3 3v2m0 2v1.5"}
At = Callable[[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Mark:
    """One offence as it is numbered on the picture and in the table."""

    number: int
    stage: str
    offence: dict[str, Any]


def marks_of(doc: dict[str, Any]) -> list[Mark]:
    """The offences in the order of the stages."""
    found = [(s["name"], o) for s in doc.get("stages", ()) for o in s["offences"]]
    return [Mark(n, stage, o) for n, (stage, o) in enumerate(found, 1)]


def picture(doc: dict[str, Any], traces: Sequence[Trace], zone: Zone) -> SafeString:
    """The temperatures over the time of the day."""
    if not traces:
        return SafeString("")
    marks = marks_of(doc)
    lines = [(t.name, *thinned(t, _POINTS)) for t in traces]
    top = 16.0 + LANE * min(len([m for m in marks if m.offence["spans"]]), LANES)
    bands = [s for s in read(doc["recipe"][2]).stages if isinstance(s, Dwell)]
    lows = [float(y.min()) for _, _, y in lines]
    highs = [float(y.max()) for _, _, y in lines] + [float(s.high_mc) for s in bands]
    start, end = min(int(at[0]) for _, at, _ in lines), max(int(at[-1]) for _, at, _ in lines)
    rows = _rows(min(lows) / 1000, max(highs) / 1000)
    at = _scale(start, end, rows, top)
    names = {stage.name for stage in bands}
    parts = (
        _bands([(s.name, s.low_mc, s.high_mc) for s in bands], {s["name"]: s["span"] for s in doc["stages"] if s["name"] in names}, at),
        _grid(rows, start, end, at, top, zone),
        _traces(lines, at),
        _offences(marks, {t.name: t for t in traces}, at, top),
        _stages(doc["stages"], at),
    )
    frame = '<svg class="chart cure" viewBox="0 0 {} {}" aria-hidden="true" focusable="false">{}{}{}{}{}</svg>'
    return format_html(frame, WIDE, HIGH, *parts)


def conversion(lines: Sequence[Along], zone: Zone) -> SafeString:
    """The degree of cure over the time of the day, in per cent."""
    shown = [line for line in lines if line.alpha]
    if not shown:
        return SafeString("")
    start, end = min(line.at_us[0] for line in shown), max(line.at_us[-1] for line in shown)
    rows = [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
    at = _scale(start, end, rows, 16.0)
    drawn = [(line.name, line.at_us, [a * 100_000 for a in line.alpha]) for line in shown]
    frame = '<svg class="chart cure" viewBox="0 0 {} {}" aria-hidden="true" focusable="false">{}{}</svg>'
    return format_html(frame, WIDE, HIGH - 30, _grid(rows, start, end, at, 16.0, zone, "%"), _traces(drawn, at))


def _rows(low: float, high: float) -> list[float]:
    found = ticks(min(low, 0.0) if low < 0 else 0.0, high, 6)
    step = found[1] - found[0] if len(found) > 1 else 10.0
    return [*found, found[-1] + step] if found[-1] < high + step * 0.15 else found


def _scale(start: int, end: int, rows: Sequence[float], top: float) -> At:
    def at(us: float, mc: float) -> tuple[float, float]:
        across = (us - start) / max(end - start, 1)
        up = (mc / 1000 - rows[0]) / (rows[-1] - rows[0])
        return round(LEFT + across * (RIGHT - LEFT), 1), round(BOTTOM - up * (BOTTOM - top), 1)

    return at


def _grid(rows: Sequence[float], start: int, end: int, at: At, top: float, zone: Zone, unit: str = "°C") -> SafeString:
    heights = [(at(start, y * 1000)[1], label(y)) for y in rows]
    lines = format_html_join("", '<path class="grid" d="M{} {}H{}"/>', ((LEFT, y, RIGHT) for y, _ in heights))
    names = format_html_join("", '<text x="{}" y="{}" text-anchor="end">{}</text>', ((LEFT - 8, y + 5, name) for y, name in heights))
    hours = [(at(us, 0)[0], words) for us, words in clock_ticks(start, end, zone)]
    posts = format_html_join("", '<path class="grid post" d="M{} {}V{}"/>', ((x, top, BOTTOM) for x, _ in hours))
    clocks = format_html_join("", '<text x="{}" y="{}" text-anchor="middle">{}</text>', ((x, BOTTOM + 19, words) for x, words in hours))
    return format_html('{}{}{}{}<text class="scale" x="{}" y="{}">{}</text>', lines, posts, names, clocks, 4, 12, unit)


def clock_ticks(start: int, end: int, zone: Zone) -> list[tuple[int, str]]:
    """Round times of the day on the shop's clock, about nine of them; with the day where the chart runs over midnight."""
    minutes = max((end - start) // MINUTE_US, 1)
    step = next((s for s in _STEPS_MIN if minutes / s <= 9), _STEPS_MIN[-1]) * MINUTE_US
    moment = local(start, zone)
    past = (moment.hour * 60 + moment.minute) * MINUTE_US + moment.second * 1_000_000 + moment.microsecond
    first = start - past % step + (step if past % step else 0)
    over = local(end, zone).date() != moment.date()
    found = []
    for us in range(first, end + 1, step):
        t = local(us, zone)
        found.append(
            (
                us,
                say("{day}. {hour}:{minute}", day=t.day, hour=f"{t.hour:02d}", minute=f"{t.minute:02d}")
                if over
                else f"{t.hour:02d}:{t.minute:02d}",
            )
        )
    return found


def _bands(bands: Sequence[tuple[str, int, int]], spans: dict[str, list[int] | None], at: At) -> SafeString:
    """Between low and high: over the stretch in which it was held, and faintly beside it."""
    drawn = []
    for name, low, high in bands:
        y, foot = at(0, high)[1], at(0, low)[1]
        tall = max(foot - y, 3.0)
        drawn.append(("band", LEFT, y, RIGHT - LEFT, tall))
        span = spans.get(name)
        if span is not None:
            x, until = at(span[0], 0)[0], at(span[1], 0)[0]
            drawn.append((say("band held"), x, y, max(round(until - x, 1), 2.0), tall))
    return format_html_join("", '<rect class="{}" x="{}" y="{}" width="{}" height="{}"/>', drawn)


def _traces(lines: Sequence[tuple[str, Any, Any]], at: At) -> SafeString:
    paths = format_html_join(
        "", '<path class="line l{}" d="M{}"/>', ((n % 4, _path(zip(t, y, strict=True), at)) for n, (_, t, y) in enumerate(lines))
    )
    ends: list[tuple[float, float, str]] = []
    taken: list[float] = []
    for n, (name, t, y) in enumerate(lines[:12]):
        k = int(len(t) * (0.30 + 0.06 * (n % 6)))
        x, height = at(float(t[k]), float(y[k]))
        height = _free(height - 8, taken)
        taken.append(height)
        ends.append((x, height, name))
    return format_html("{}{}", paths, format_html_join("", '<text class="scale name" x="{}" y="{}">{}</text>', ends))


def _free(y: float, taken: Sequence[float]) -> float:
    while any(abs(y - t) < 13 for t in taken):
        y += 13
    return round(y, 1)


def _path(points: Any, at: At) -> str:
    return "L".join(f"{x} {y}" for x, y in (at(float(us), float(mc)) for us, mc in points))


def _offences(marks: Sequence[Mark], traces: dict[str, Trace], at: At, top: float) -> SafeString:
    """At the top a bar for each with its number and its word, and a thick line along the thermocouple; dashed lines join the two."""
    drawn = []
    for lane, mark in enumerate([m for m in marks if m.offence["spans"]][:MOST_MARKS]):
        y = 4 + LANE * (lane % LANES)
        spans = mark.offence["spans"]
        xs = [(at(a, 0)[0], at(b, 0)[0]) for a, b in spans]
        trace = traces.get(mark.offence["thermocouple"])
        for (a, b), (x, until) in zip(spans, xs, strict=True):
            if trace is not None:
                drawn.append(format_html('<path class="off-line" d="M{}"/>', _path(zip(*trace.cut(Span(a, b)), strict=True), at)))
            drawn.append(format_html('<path class="off-post" d="M{} {}V{}M{} {}V{}"/>', x, y + 14, BOTTOM, until, y + 14, BOTTOM))
            drawn.append(format_html('<rect class="off" x="{}" y="{}" width="{}" height="14"/>', x, y, max(round(until - x, 1), 4.0)))
        drawn.append(
            _word(
                say(
                    "{mark} {word} {thermocouple}", mark=mark.number, word=mark.offence["word"], thermocouple=mark.offence["thermocouple"]
                ).strip(),
                xs[0],
                y,
            )
        )
    return format_html_join("", "{}", ((d,) for d in drawn))


def _word(words: str, bar: tuple[float, float], y: float) -> SafeString:
    """Behind the bar, or before it where it would run over the edge."""
    before = bar[1] > WIDE * 0.72
    x, anchor = (bar[0] - 5, "end") if before else (bar[1] + 5, "start")
    return format_html('<text class="off-word" x="{}" y="{}" text-anchor="{}">{}</text>', round(x, 1), y + 12, anchor, words)


def _stages(stages: Sequence[dict[str, Any]], at: At) -> SafeString:
    """Under the clock a bar for each stage where it was found, with its name and a tick, a cross or a question mark."""
    drawn = []
    for n, stage in enumerate(stages):
        if stage["span"] is None:
            continue
        x, until = at(stage["span"][0], 0)[0], at(stage["span"][1], 0)[0]
        y = BOTTOM + 30 + 26 * (n % 2)
        tone = {"passes": "passes", "fails": "fails"}.get(stage["verdict"], "unsure")
        wide, shape = max(round(until - x, 1), 20.0), _SHAPES[stage["verdict"]]
        mark = '<path class="stage-mark {}" transform="translate({} {})" d="{}"/>'
        drawn.append(format_html('<rect class="stage {}" x="{}" y="{}" width="{}" height="21"/>', tone, x, y, wide))
        drawn.append(format_html(mark, tone, x + 11, y + 10.5, shape))
        drawn.append(format_html('<text class="scale" x="{}" y="{}">{}</text>', x + 22, y + 15, stage["name"]))
    return format_html_join("", "{}", ((d,) for d in drawn))
