"""The picture of a stack: a strip for each ply with its fibres drawn in their direction. Plain geometry; pages make it SVG."""

from __future__ import annotations

import math
from collections.abc import Iterator

from .notation import FABRIC, NO_DIRECTION, Layer

Stroke = tuple[float, float, float, float]


def strokes(layer: Layer, width: float, height: float, gap: float = 7) -> list[Stroke]:
    """Lines (x1, y1, x2, y2) inside a strip of the given size, y downwards, 0° to the right and 90° upwards."""
    if layer.form in NO_DIRECTION:
        return []
    turns = (0, 90_000) if layer.form == FABRIC else (0,)
    return [stroke for turn in turns for stroke in _ruled(math.radians((layer.angle_md + turn) / 1000), width, height, gap)]


def _ruled(angle: float, width: float, height: float, gap: float) -> Iterator[Stroke]:
    """Parallel lines through the strip, one of them through its middle."""
    along = math.cos(angle), -math.sin(angle)
    across = -along[1], along[0]
    reach = (abs(across[0]) * width + abs(across[1]) * height) / 2
    for n in range(-int(reach / gap), int(reach / gap) + 1):
        x, y = width / 2 + across[0] * n * gap, height / 2 + across[1] * n * gap
        ends = _clipped(x, y, *along, width, height)
        if ends is not None and ends[1] - ends[0] > 1:
            a, b = ends
            yield tuple(round(v, 1) for v in (x + along[0] * a, y + along[1] * a, x + along[0] * b, y + along[1] * b))  # type: ignore[misc]


def _clipped(x: float, y: float, dx: float, dy: float, width: float, height: float) -> tuple[float, float] | None:
    """From where to where the line runs inside the strip, in steps along its direction."""
    low, high = -math.inf, math.inf
    for start, step, end in ((x, dx, width), (y, dy, height)):
        if abs(step) < 1e-9:
            if not 0 <= start <= end:
                return None
            continue
        one, two = sorted((-start / step, (end - start) / step))
        low, high = max(low, one), min(high, two)
    return (low, high) if low < high else None
