"""Kinetics against a general solver of differential equations, at the same error. Limits: an adiabatic time to gel in 1/100 of it at
1e-8; a thousand pots that lose heat in 1/200 of a loop over it at 2e-6.

The solver is scipy's, with the rate in plain `math` (the quickest for single numbers), stopped as soon as it has its answer, by
whichever of its methods and tolerances is quickest among those that meet the error. The truth is the same solver at 1e-12.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from inventory.core.cure_time import _nodes, time_to
from inventory.core.kinetic_sets import ROOM
from inventory.core.kinetics import GAS
from inventory.core.pot_heat import heat_pot
from tests.benchmarks.ground import rounds, say, timed

GEL, START_K, RISE_K = 0.577, 298.15, 225.0
POTS, LOOPED, CALLS = 1000, 20, 200
A1, E1, A2, E2, M, N = 2e5, 63_268.0, 118_000.0, 55_158.0, 0.3045, 1.6174
METHODS, TOLERANCES = ("DOP853", "RK45", "LSODA"), (1e-5, 3e-6, 1e-6, 3e-7, 1e-7, 3e-8, 1e-8, 1e-9)


def speed(temp: float, alpha: float) -> float:
    alpha = min(max(alpha, 0.0), 1.0)
    return (A1 * math.exp(-E1 / (GAS * temp)) + A2 * math.exp(-E2 / (GAS * temp)) * alpha**M) * (1 - alpha) ** N


def adiabatic(method: str, tolerance: float) -> float:
    def flow(_t: float, y: Any) -> list[float]:
        return [speed(START_K + RISE_K * y[0], y[0])]

    def gelled(_t: float, y: Any) -> float:
        return y[0] - GEL

    gelled.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(flow, (0, 1e7), [0.0], method=method, rtol=tolerance, atol=tolerance / 100, events=gelled)
    return float(run.t_events[0][0])


def pot(n: int, drawn: list[Any], method: str, tolerance: float) -> tuple[float, float]:
    """(time to gel, peak) of one pot, followed until it has both."""
    t0, ta, rise, loss = (float(v[n]) for v in drawn)

    def flow(_t: float, y: Any) -> list[float]:
        r = speed(y[1], y[0])
        return [r, rise * r - loss * (y[1] - ta)]

    def gelled(_t: float, y: Any) -> float:
        return y[0] - GEL

    def turned(t: float, y: Any) -> float:
        return flow(t, y)[1]

    def over(t: float, y: Any) -> float:
        return 1.0 if y[0] < GEL + 0.002 or turned(t, y) > 0 else -1.0

    turned.direction, over.direction, over.terminal = -1, -1, True  # type: ignore[attr-defined]
    scale = [tolerance / 100, tolerance * 100]
    run = solve_ivp(flow, (0, 1e8), [0.0, t0], method=method, rtol=tolerance, atol=scale, events=[gelled, turned, over])
    return float(run.t_events[0][0]), max([t0, float(run.y[1, -1]), *(float(y[1]) for y in run.y_events[1])])


def quickest(error: Callable[[str, float], float], allowed: float, job: Callable[[str, float], Any]) -> tuple[str, float]:
    """The method and the loosest tolerance that meet the error in the least time."""
    found = []
    for method in METHODS:
        for tolerance in TOLERANCES:
            if error(method, tolerance) <= allowed:
                found.append((min(timed(lambda m=method, t=tolerance: job(m, t)) for _ in range(3)), method, tolerance))  # type: ignore[misc]
                break
    _, method, tolerance = min(found)
    return method, tolerance


def one() -> None:
    truth = adiabatic("DOP853", 1e-13)
    ours = float(time_to(ROOM.law, START_K, GEL, rise_k=RISE_K))
    off = abs(ours / truth - 1)
    method, tolerance = quickest(lambda m, t: abs(adiabatic(m, t) / truth - 1), 1e-8, adiabatic)

    def mine() -> None:
        for _ in range(CALLS):
            time_to(ROOM.law, START_K, GEL, rise_k=RISE_K)

    a, b, ratio = rounds(mine, lambda: [adiabatic(method, tolerance) for _ in range(4)])
    share = ratio * 4 / CALLS
    found = f"{a / CALLS * 1e6:.0f} µs against {b / 4 * 1e3:.2f} ms ({method} {tolerance:g}), 1/{1 / share:.0f}"
    say("kinetics", f"adiabatic time to gel, off {off:.1e}", found, "at most 1/100", share <= 1 / 100 and off <= 1e-8)
    _nodes.cache_clear()
    first = timed(lambda: time_to(ROOM.law, START_K, GEL, rise_k=RISE_K))
    say("kinetics", "its first call, without remembered nodes", f"{first * 1e6:.0f} µs")


def many() -> None:
    rng = np.random.default_rng(1)
    drawn = [rng.uniform(288, 308, POTS), rng.uniform(288, 308, POTS), rng.uniform(150, 280, POTS), 10 ** rng.uniform(-5, -2.3, POTS)]
    truth = [pot(n, drawn, "LSODA", 1e-12) for n in range(LOOPED)]

    def off(found: list[tuple[float, float]]) -> float:
        """The worse of both answers: the time's share, and the peak's share of the adiabatic rise."""
        pairs = zip(found, truth, drawn[2], strict=False)
        return max(max(abs(g / tg - 1), abs(p - tp) / rise) for (g, p), (tg, tp), rise in pairs)

    def loop(method: str, tolerance: float) -> list[tuple[float, float]]:
        return [pot(n, drawn, method, tolerance) for n in range(LOOPED)]

    pots = heat_pot(ROOM.law, GEL, *drawn)
    error = off([(float(pots.gel_s[n]), float(pots.peak_k[n])) for n in range(LOOPED)])
    method, tolerance = quickest(lambda m, t: off(loop(m, t)), 2e-6, loop)
    a, b, ratio = rounds(lambda: heat_pot(ROOM.law, GEL, *drawn), lambda: loop(method, tolerance), count=15)
    whole = b * POTS / LOOPED
    share = ratio * LOOPED / POTS
    found = f"{a * 1e3:.1f} ms against {whole * 1e3:.0f} ms ({method} {tolerance:g}), 1/{1 / share:.0f}"
    say("kinetics", f"{POTS} pots losing heat, off {error:.1e}", found, "at most 1/200", share <= 1 / 200 and error <= 2e-6)


def main() -> None:
    one()
    many()
