"""A, B and D of 10 000 laminates at once, against a loop over a general laminate library (`composites`). At most 1/50."""

from __future__ import annotations

import numpy as np
from composites import laminated_plate

from layups.core.stiffness import Elastic, many, reduced
from tests.benchmarks.ground import rounds, say

LAMINATES, PLIES, LOOPED = 10_000, 8, 200
PLY = Elastic(181e9, 10.3e9, 7.17e9, 0.28)


def main() -> None:
    angles = np.random.default_rng(5).integers(-90_000, 90_000, (LAMINATES, PLIES))
    q, t = np.array([[reduced(PLY)] * PLIES]), np.full((1, PLIES), 0.125e-3)
    props = (PLY.e1, PLY.e2, PLY.nu12, PLY.g12, PLY.g12, PLY.g12)

    def loop() -> list[object]:
        return [laminated_plate(stack=list(row / 1000), plyt=0.125e-3, laminaprop=props) for row in angles[:LOOPED]]

    a, _, d = many(q, t, angles)
    for n, other in enumerate(loop()):
        assert np.allclose(a[n], other.A, rtol=1e-9, atol=1) and np.allclose(d[n], other.D, rtol=1e-9, atol=1e-6)  # type: ignore[attr-defined]
    ours, theirs, ratio = rounds(lambda: many(q, t, angles), loop, count=15)
    share = ratio * LOOPED / LAMINATES
    found = f"{ours * 1e3:.1f} ms against {theirs * LAMINATES / LOOPED:.2f} s, 1/{1 / share:.0f}"
    say("laminates", f"A, B, D of {LAMINATES:,} laminates of {PLIES} plies", found, "at most 1/50", share <= 1 / 50)
