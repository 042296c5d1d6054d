"""Charts of an oven, invented: what a logger would have written, from corners of time and temperature."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence

from inventory.core.spans import MINUTE_US, Zone, local

Corner = tuple[float, float]
"""Minutes after the chart begins, and °C."""


def chart_csv(begins_us: int, zone: Zone, columns: Mapping[str, Sequence[Corner]], step_s: int = 60, minutes: float | None = None) -> str:
    """A file as loggers export it: local times, a column a thermocouple, straight between its corners."""
    last = minutes if minutes is not None else max(line[-1][0] for line in columns.values())
    rows = [";".join(["Time", *(f"{name} °C" for name in columns)])]
    for n in range(int(last * 60) // step_s + 1):
        at = n * step_s / 60
        moment = local(begins_us + round(at * MINUTE_US), zone)
        rows.append(";".join([f"{moment:%Y-%m-%d %H:%M:%S}", *(f"{_at(line, at):.1f}" for line in columns.values())]))
    return "\n".join(rows) + "\n"


def _at(line: Sequence[Corner], minute: float) -> float:
    n = bisect_right([m for m, _ in line], minute)
    if n == 0 or n == len(line):
        return line[0][1] if n == 0 else line[-1][1]
    (m0, t0), (m1, t1) = line[n - 1], line[n]
    return t0 + (t1 - t0) * (minute - m0) / (m1 - m0)


def cycle(hold: float, minutes: float, room: float = 20.0, waits: float = 10.0, rate: float = 2.0, lag: float = 0.0) -> list[Corner]:
    """Waits, heats at `rate` °C/min, holds, cools at 1.5 °C/min to 45 °C; one that lags comes later and leaves with the others."""
    top = waits + lag + (hold - room) / rate
    ends = waits + (hold - room) / rate + minutes
    return [(0, room), (waits + lag, room), (top, hold), (ends, hold), (ends + (hold - 45) / 1.5, 45)]
