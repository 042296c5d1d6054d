"""A year of one-minute readings of twenty freezers, weighted by temperature, against the bare numpy pass over the same readings.
At most 1.5.

The bare pass does what cannot be left out, in single precision and in place: m°C to kelvin, one exponential a reading, one sum. Ours
also reads every instant, weights each step by its length, leaves gaps out and keeps the freezers apart."""

from __future__ import annotations

import numpy as np

from inventory.core.warmth import GAS, ZERO_MC, equivalent_many, weighted
from tests.benchmarks.ground import rounds, say

FREEZERS, READINGS, MINUTE_US, EA, REF_MC, MOST = 20, 525_600, 60_000_000, 60_000, -18_000, 1.5


def logs() -> list[tuple[np.ndarray, np.ndarray]]:
    chance = np.random.default_rng(1)
    made = []
    for _ in range(FREEZERS):
        steps = np.full(READINGS, MINUTE_US, dtype=np.int64)
        steps[chance.random(READINGS) < 1e-4] *= 90  # a logger that was read out, or forgotten
        mc = -18_000 + 1_500 * np.sin(np.arange(READINGS) / 40) + chance.normal(0, 200, READINGS)
        made.append((np.cumsum(steps), mc.astype(np.int32)))
    return made


def bare(mc: np.ndarray) -> float:
    kelvin = mc.astype(np.float32)
    kelvin += np.float32(ZERO_MC)
    np.divide(np.float32(-1000 * EA / GAS), kelvin, out=kelvin)
    kelvin += np.float32(1000 * EA / GAS / (REF_MC + ZERO_MC))
    np.exp(kelvin, out=kelvin)
    return float(kelvin.sum())


def main() -> None:
    year = logs()
    table = np.stack([mc for _, mc in year])
    ours, limit, ratio = rounds(lambda: equivalent_many(year, REF_MC, EA), lambda: bare(table))
    alone = weighted(*year[0], REF_MC, EA)
    off = abs(equivalent_many(year[:1], REF_MC, EA)[0] / alone.equivalent_us - 1)
    found = f"{ours * 1e3:.0f} ms against {limit * 1e3:.0f} ms, {ratio:.2f}"
    say("warmth", f"{FREEZERS} freezers × {READINGS:,} readings, weighted", found, f"at most {MOST}", ratio <= MOST)
    say("warmth", "single against double precision", f"{off:.1e}", "at most 1e-5", off <= 1e-5)
