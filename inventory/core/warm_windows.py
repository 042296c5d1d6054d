"""The worst window of a temperature history: of all stretches of one length, the one with the highest mean kinetic temperature.

Windows begin or end at a reading; between readings the same rule holds as for the whole (see `warmth`). A window with a gap in it is no
candidate: nobody knows how warm it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.core.readings import arrays, longest_step_us
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.warmth import RULES, check_energy, kinetic_mc, speeds

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

_REF_MC = 20_000  # falls out of the result


@dataclass(frozen=True, slots=True)
class Window:
    start_us: int
    end_us: int
    kinetic_mc: float


def worst_window(
    at_us: Sequence[int] | Ints, mc: Sequence[int] | Ints, window_us: int, ea_j_mol: int, rule: str = "straight"
) -> Window | Reason:
    """Reason window.none where no stretch of that length is without a gap. Raises BadInput window.length, warmth.energy, .rule, and
    those of `readings.arrays`."""
    import numpy as np

    check_energy(ea_j_mol)
    if rule not in RULES:
        raise BadInput(
            "warmth.rule", say("The rule between readings is one of: {rules}.", rules=strung(", ", RULES)), "rule", rule=rule[:24]
        )
    if window_us <= 0:
        raise BadInput("window.length", say("The length of the window must be above zero."), "window", window_us=window_us)
    at, values = arrays(at_us, mc)
    starts = np.concatenate([at, at - window_us])
    starts = starts[(starts >= at[0]) & (starts <= at[-1] - window_us)]
    if starts.size and at.size > 1:
        starts = starts[_without_gap(at, starts, window_us)]
    if not starts.size or at.size < 2:
        return Reason("window.none", say("No stretch of that length is without a gap: ask for a shorter one."), {"window_us": window_us})
    speed = speeds(values, _REF_MC, ea_j_mol)
    aged = _aged(at, speed, starts + window_us, rule) - _aged(at, speed, starts, rule)
    worst = int(aged.argmax())
    start = int(starts[worst])
    return Window(start, start + window_us, kinetic_mc(float(aged[worst]) / window_us, _REF_MC, ea_j_mol))


def _without_gap(at: Ints, starts: Ints, window_us: int) -> NDArray[np.bool_]:
    import numpy as np

    wide = np.concatenate([[0], np.cumsum(np.diff(at) > longest_step_us(at))])
    first = np.searchsorted(at, starts, side="right") - 1
    last = np.searchsorted(at, starts + window_us, side="left")
    found: NDArray[np.bool_] = wide[np.minimum(last, at.size - 1)] == wide[first]
    return found


def _aged(at: Ints, speed: Floats, when: Ints, rule: str) -> Floats:
    """What has aged from the first reading to each instant, by the rule between readings."""
    import numpy as np

    steps = np.diff(at).astype(np.float64)
    each = steps * ((speed[:-1] + speed[1:]) / 2 if rule == "straight" else speed[:-1])
    total = np.concatenate([[0.0], np.cumsum(each)])
    n = np.clip(np.searchsorted(at, when, side="right") - 1, 0, at.size - 2)
    part = (when - at[n]).astype(np.float64)
    slope = (speed[n + 1] - speed[n]) / steps[n] if rule == "straight" else np.zeros(n.size)
    found: Floats = total[n] + speed[n] * part + slope * part * part / 2
    return found
