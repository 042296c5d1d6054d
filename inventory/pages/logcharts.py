"""The picture of a temperature log: lines that stop at gaps, days below, and the levels that count. It goes with a sentence and
with tables, so nobody has to see it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.core.said import say
from inventory.core.spans import local, start_of_day_us

from .charts import ticks

WIDE, HIGH = 760, 300
LEFT, RIGHT, TOP, BOTTOM = 58.0, 16.0, 20.0, 46.0
HOUR_US, DAY_US = 3_600_000_000, 86_400_000_000
STEPS_H = (1, 2, 3, 6, 12)
MOST_MARKS = 8

Points = Sequence[tuple[int, int]]


def svg(lines: Sequence[Points], levels: Sequence[tuple[int, str]], zone: str) -> SafeString:
    """`lines`: (instant, m°C) by stretch; `levels`: (m°C, its name)."""
    every = [p for line in lines for p in line]
    first, last = every[0][0], max(every[-1][0], every[0][0] + 1)
    heights = [mc / 1000 for _, mc in every] + [mc / 1000 for mc, _ in levels]
    scale = _scale(min(heights), max(heights))
    low, high = scale[0], scale[-1]

    def across(us: int) -> float:
        return round(LEFT + (us - first) / (last - first) * (WIDE - LEFT - RIGHT), 1)

    def up(mc: float) -> float:
        return round(HIGH - BOTTOM - (mc / 1000 - low) / (high - low) * (HIGH - BOTTOM - TOP), 1)

    grid = format_html_join(
        "", '<path class="grid" d="M{} {}H{}"/><text x="{}" y="{}" text-anchor="end">{}</text>',
        ((LEFT, up(t * 1000), WIDE - RIGHT, LEFT - 8, up(t * 1000) + 4, f"{t:g}".replace("-", "−")) for t in scale),
    )  # fmt: skip
    dates = marks(first, last, zone)
    below = format_html_join(
        "", '<path class="grid" d="M{} {}V{}"/><text x="{}" y="{}" text-anchor="{}">{}</text>',
        ((x, TOP, HIGH - BOTTOM, x, HIGH - BOTTOM + 18, _anchor(x), text) for x, text in ((across(us), t) for us, t in dates)),
    )  # fmt: skip
    drawn = format_html_join(
        "", '<path class="line" d="M{}"/>', (("L".join(f"{across(us)} {up(mc)}" for us, mc in _wide(line)),) for line in lines)
    )
    named = format_html_join(
        "", '<path class="level" d="M{} {}H{}"/><text class="scale" x="{}" y="{}" text-anchor="end">{}</text>',
        ((LEFT, up(mc), WIDE - RIGHT, WIDE - RIGHT - 4, up(mc) - 5, name) for mc, name in levels),
    )  # fmt: skip
    unit = format_html('<text class="scale" x="{}" y="{}">°C</text>', LEFT + 4, TOP - 6)
    frame = '<svg class="chart log-chart" viewBox="0 0 {} {}" aria-hidden="true" focusable="false">{}{}{}{}{}</svg>'
    return format_html(frame, WIDE, HIGH, grid, below, named, drawn, unit)


def _wide(line: Points) -> list[tuple[int, int]]:
    """A lone reading is drawn as a short stroke, or one would not see it."""
    return [*line, (line[0][0] + 1, line[0][1])] if len(line) == 1 else list(line)


def _anchor(x: float) -> str:
    return "start" if x < LEFT + 30 else "end" if x > WIDE - RIGHT - 30 else "middle"


def _scale(low: float, high: float) -> list[float]:
    """Round figures from at or below the least to at or above the largest value."""
    found = ticks(low, high) or [low, high]
    step = found[1] - found[0] if len(found) > 1 else 1.0
    while found[0] > low:
        found.insert(0, found[0] - step)
    while found[-1] < high or len(found) < 2:
        found.append(found[-1] + step)
    return found


def marks(first: int, last: int, zone: str) -> list[tuple[int, str]]:
    """Where the time is written: midnights, or whole hours of a short log, at most about eight, by the clock of the zone."""
    start = local(first, zone)
    days = (last - first) / DAY_US
    if days > MOST_MARKS / 4:
        step = next(n for n in (1, 2, 5, 7, 14, 30, 60, 120, 400, 4_000, 100_000) if days / n <= MOST_MARKS)
        dates = (start.date() + timedelta(days=n) for n in range(1, int(days) + 2, step))
        found = [
            (
                start_of_day_us(day, zone),
                say("{day} {day_2}", day=day.day, day_2=f"{day:%b}") if days < 300 else say("{day} {year}", day=f"{day:%b}", year=day.year),
            )
            for day in dates
        ]
    else:
        step = next((n for n in STEPS_H if days * 24 / n <= MOST_MARKS), 12)
        found = [(us, _clock(local(us, zone))) for us in range(first // HOUR_US * HOUR_US + HOUR_US, last + 1, HOUR_US)]
        found = [(us, text) for us, text in found if local(us, zone).hour % step == 0]
    return [(us, text) for us, text in found if first <= us <= last]


def _clock(moment: datetime) -> str:
    return say("{day} {moment}", day=moment.day, moment=f"{moment:%b}") if moment.hour == 0 else f"{moment:%H:%M}"
