"""Charts as SVG, drawn here: a polar one and lines. Each goes with a sentence and a table, so nobody has to see it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.worksheets.registry import Chart

SIZE, EDGE = 360, 46
WIDE, HIGH = 620, 320
LINE, NEAR = 15.0, 130.0
"""How far apart the names of two lines stand, downwards and across, at least one of them."""


def svg(chart: Chart) -> SafeString:
    """The picture; hidden from screen readers, which get its sentence."""
    return _polar(chart) if chart.kind == "polar" else _lines(chart)


def ticks(low: float, high: float, about: int = 4) -> list[float]:
    """Round figures from `low` to `high`, about so many."""
    span = (high - low) or abs(high) or 1.0
    step = 10 ** math.floor(math.log10(span / about))
    step *= next(k for k in (1, 2, 5, 10) if span / (step * k) <= about * 1.5)
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def label(value: float) -> str:
    return f"{value:g}".replace("-", "−")


def _polar(chart: Chart) -> SafeString:
    most = max(r for series in chart.series for _, r in series.points)
    rings = [t for t in ticks(0, most) if t > 0]
    outer = max([*rings, most])
    middle, reach = SIZE / 2, SIZE / 2 - EDGE

    def at(angle: float, radius: float) -> tuple[float, float]:
        turn = math.radians(angle)
        return round(middle + math.cos(turn) * radius / outer * reach, 1), round(middle - math.sin(turn) * radius / outer * reach, 1)

    radii = ((middle, round(t / outer * reach, 1)) for t in rings)
    circles = format_html_join("", '<circle class="grid" cx="{0}" cy="{0}" r="{1}"/>', radii)
    spokes = format_html_join("", '<path class="grid" d="M{} {}L{} {}"/>', ((*at(a, 0), *at(a, outer)) for a in range(0, 360, 45)))
    names = format_html_join(
        "", '<text x="{}" y="{}" text-anchor="middle">{}°</text>',
        ((at(a, outer * 1.13)[0], at(a, outer * 1.13)[1] + 5, label(a if a <= 180 else a - 360)) for a in range(0, 360, 45)),
    )  # fmt: skip
    scale = format_html_join(
        "", '<text class="scale" x="{}" y="{}">{}</text>', ((at(67.5, t)[0] + 3, at(67.5, t)[1], f"{label(t)} {chart.y}") for t in rings)
    )
    shapes = format_html_join(
        "", '<path class="line l{}" d="M{}Z"/>',
        ((n, "L".join(f"{x} {y}" for x, y in (at(a, r) for a, r in series.points))) for n, series in enumerate(chart.series)),
    )  # fmt: skip
    parts = (circles, spokes, shapes, names, scale)
    frame = '<svg class="chart polar" viewBox="0 0 {0} {0}" aria-hidden="true" focusable="false">{1}{2}{3}{4}{5}</svg>'
    return format_html(frame, SIZE, *parts)


def _lines(chart: Chart) -> SafeString:
    points = [point for series in chart.series for point in series.points]
    x_ticks, y_ticks = _span([x for x, _ in points]), _span([y for _, y in points])
    left, right, top, bottom = 64.0, WIDE - 16.0, 14.0, HIGH - 52.0

    def at(x: float, y: float) -> tuple[float, float]:
        across = (x - x_ticks[0]) / ((x_ticks[-1] - x_ticks[0]) or 1)
        up = (y - y_ticks[0]) / ((y_ticks[-1] - y_ticks[0]) or 1)
        return round(left + across * (right - left), 1), round(bottom - up * (bottom - top), 1)

    grid = format_html_join("", '<path class="grid" d="M{} {}H{}"/>', ((left, at(x_ticks[0], y)[1], right) for y in y_ticks))
    xs = format_html_join(
        "", '<text x="{}" y="{}" text-anchor="middle">{}</text>', ((at(x, y_ticks[0])[0], bottom + 20, label(x)) for x in x_ticks)
    )
    heights = ((left - 8, at(x_ticks[0], y)[1] + 5, label(y)) for y in y_ticks)
    ys = format_html_join("", '<text x="{}" y="{}" text-anchor="end">{}</text>', heights)
    shapes = format_html_join(
        "", '<path class="line l{}" d="M{}"/>',
        ((n, "L".join(f"{x} {y}" for x, y in (at(*p) for p in series.points))) for n, series in enumerate(chart.series)),
    )  # fmt: skip
    axis = format_html(
        '<text x="{}" y="{}" text-anchor="middle">{}</text><text class="scale" x="{}" y="{}">{}</text>',
        (left + right) / 2, HIGH - 8, chart.x, left + 4, top + 12, chart.y,
    )  # fmt: skip
    ends = _apart([(*at(*series.points[-1]), series.name) for series in chart.series if len(chart.series) > 1])
    names = format_html_join("", '<text class="scale" x="{}" y="{}" text-anchor="end">{}</text>', ((x, y - 7, name) for x, y, name in ends))
    frame = '<svg class="chart" viewBox="0 0 {} {}" aria-hidden="true" focusable="false">{}{}{}{}{}{}</svg>'
    return format_html(frame, WIDE, HIGH, grid, xs, ys, shapes, names, axis)


def _apart(ends: list[tuple[float, float, str]]) -> list[tuple[float, float, str]]:
    """Names of lines that end close together stand one below the other."""
    placed: list[tuple[float, float, str]] = []
    for x, y, name in sorted(ends, key=lambda end: end[1]):
        while any(abs(y - other) < LINE and abs(x - there) < NEAR for there, other, _ in placed):
            y += LINE
        placed.append((x, y, name))
    return placed


def _span(values: Sequence[float]) -> list[float]:
    """Ticks that begin at or below the least and end at or above the largest value."""
    low, high = min(values), max(values)
    found = ticks(low, high) or [low, high]
    step = found[1] - found[0] if len(found) > 1 else (abs(high) or 1.0)
    if found[0] > low + 1e-12:
        found.insert(0, found[0] - step)
    if found[-1] < high - 1e-12:
        found.append(found[-1] + step)
    return found if len(found) > 1 else [found[0], found[0] + step]
