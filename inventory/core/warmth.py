"""Temperature-weighted life: what a temperature history is worth at a reference temperature, and the one temperature that ages alike.

Ageing at T is exp(−Ea/R·(1/T − 1/Tref)) times as fast as at the reference (Arrhenius). Summed over a history it gives the time at the
reference that ages alike; turned back into a temperature, the mean kinetic temperature. It informs: a specification's own clock decides.

The activation energy is a field of each material and off by default. None is published for the ageing of prepreg; the 83.144 kJ/mol
of the pharmacopoeia is a convention for medicines and is never taken for a resin.

**Between two readings** one of two rules is taken, and said:
"straight"  the rate runs straight from one reading to the next (the trapezoid on the rate). The usual one: a probe that is read by
            the clock has passed through everything between its readings, and the error falls with the square of their distance.
"held"      a reading stands until the next one. Only right for a logger that writes when something changes; on a rising flank it
            is half a step late.
A gap (see `readings`) is left out of both, and said: nobody knows how warm it was.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.core.readings import STEPS_TO_A_GAP, Excursion, Span, above, arrays, gaps, longest_step_us, usual_step_us
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Singles = NDArray[np.float32]
    Log = tuple[NDArray[np.int64], NDArray[np.int32]]

GAS = 8.314462618  # J/(mol·K), CODATA 2018, exact by definition
ZERO_MC = 273_150
MEDICINE_EA = 83_144  # J/mol: USP general chapter on mean kinetic temperature
RULES = ("straight", "held")
LEAST_EA, MOST_EA = 10_000, 300_000
_BLOCK = 65_536  # readings at a time: a block and its temporaries stay in the processor's cache


@dataclass(frozen=True, slots=True)
class Warmth:
    """A history, weighted. `equivalent_us`: the time at `ref_mc` that ages alike; `kinetic_mc`: the constant temperature that ages
    alike over the same time; `mean_mc`: the plain mean over time; `known_us`: the time that readings cover; `unknown`: the
    gaps, which count nowhere."""

    equivalent_us: int
    ref_mc: int
    kinetic_mc: float
    mean_mc: float
    warmest_mc: int
    known_us: int
    unknown: tuple[Span, ...]
    rule: str

    @property
    def unknown_us(self) -> int:
        return sum(span.length_us for span in self.unknown)


def check_energy(ea_j_mol: int) -> None:
    """Raises BadInput warmth.energy outside 10 to 300 kJ/mol, where no ageing lies: most often kJ were given for J."""
    if not LEAST_EA <= ea_j_mol <= MOST_EA:
        text = say(
            "An activation energy of ageing lies between 10 000 and 300 000 J/mol: check the figure and its unit (60 kJ/mol is 60 000)."
        )
        raise BadInput("warmth.energy", text, "activation_energy", ea_j_mol=ea_j_mol)


def rate(mc: float, ref_mc: int, ea_j_mol: int) -> float:
    """How many times as fast it ages at `mc` as at `ref_mc` (both m°C, above absolute zero)."""
    return math.exp(ea_j_mol / GAS * (1000 / (ref_mc + ZERO_MC) - 1000 / (mc + ZERO_MC)))


def weighted(
    at_us: Sequence[int] | Ints,
    mc: Sequence[int] | Ints,
    ref_mc: int,
    ea_j_mol: int | None,
    rule: str = "straight",
    most_us: int | None = None,
) -> Warmth | Reason:
    """One probe's history in double precision. `most_us`: from which distance on two readings have a gap between them; None: three
    usual steps.

    Reason warmth.off when the material has no activation energy; warmth.too_few when fewer than two readings belong together.
    Raises BadInput warmth.energy, warmth.rule, warmth.reference, and those of `readings.arrays`."""
    import numpy as np

    if ea_j_mol is None:
        text = say("This material has no activation energy, so nothing is weighted by temperature: its own clocks stand as they are.")
        return Reason("warmth.off", text)
    _check(ref_mc, ea_j_mol, rule)
    at, values = arrays(at_us, mc)
    most = longest_step_us(at, most_us)
    steps = np.diff(at)
    steps[steps > most] = 0
    known = int(steps.sum())
    if not known:
        text = say("Fewer than two readings lie close enough together: there is no time between them to weight.")
        return Reason("warmth.too_few", text, {"readings": int(at.size)})
    speed = speeds(values, ref_mc, ea_j_mol)
    plain = values.astype(np.float64)
    aged, warm = (float((_between(y, rule) * steps).sum()) for y in (speed, plain))
    kinetic = kinetic_mc(aged / known, ref_mc, ea_j_mol)
    return Warmth(
        round(aged), ref_mc, kinetic, warm / known, _warmest(values, steps), known, tuple(gaps(at, most_us)) if at.size > 1 else (), rule
    )


def time_above(at_us: Sequence[int] | Ints, mc: Sequence[int] | Ints, level_mc: int, most_us: int | None = None) -> list[Excursion]:
    """When the probe that is handed in was above a specification's threshold, for a freezer event. Hand in the probe in the product
    (or in its dummy load), not the one in the air, which shows every defrost. Gaps are left out: ask `readings.gaps`."""
    return above(at_us, mc, level_mc, most_us)


def equivalent_many(logs: Sequence[Log], ref_mc: int, ea_j_mol: int, rule: str = "straight", most_us: int | None = None) -> list[float]:
    """The equivalent time (µs) of each log, for years of readings at once: in single precision, within 1e-5 of `weighted`.

    Each log is (instants int64, m°C int32), both (N,), checked when it was stored: times rise, nothing below absolute zero. Blocks
    of readings are worked off one after another, so no array of the size of the whole is made."""
    _check(ref_mc, ea_j_mol, rule)
    return [_equivalent(at, mc, ref_mc, ea_j_mol, rule, most_us) for at, mc in logs]


def speeds(mc: Ints, ref_mc: int, ea: int) -> Floats:
    """The rate at each temperature (m°C)."""
    import numpy as np

    return np.exp(ea / GAS * (1000 / (ref_mc + ZERO_MC) - 1000 / (mc + ZERO_MC).astype(np.float64)))


def _equivalent(at: Ints, mc: NDArray[np.int32], ref_mc: int, ea: int, rule: str, most_us: int | None) -> float:
    import numpy as np

    usual = usual_step_us(at) or 0
    most = STEPS_TO_A_GAP * usual if most_us is None else longest_step_us(at[:2], most_us)
    slope, offset = np.float32(-1000 * ea / GAS), np.float32(1000 * ea / GAS / (ref_mc + ZERO_MC))
    room, counts = np.empty(_BLOCK + 1, dtype=np.float32), np.empty(_BLOCK, dtype=np.int64)  # once: fresh pages are dear
    ones = np.ones(_BLOCK, dtype=np.float32)  # a dot with ones sums twice as fast as a sum
    total = 0.0
    for first in range(0, at.size - 1, _BLOCK):
        size = min(_BLOCK, at.size - 1 - first)
        speed, steps = room[: size + 1], counts[:size]
        np.copyto(speed, mc[first : first + size + 1])
        speed += np.float32(ZERO_MC)
        np.divide(slope, speed, out=speed)
        speed += offset
        np.exp(speed, out=speed)
        np.subtract(at[first + 1 : first + size + 1], at[first : first + size], out=steps)
        total += _aged(speed, steps, ones[:size], usual, most, rule)
    return total


def _aged(speed: Singles, steps: Ints, ones: Singles, usual: int, most: int, rule: str) -> float:
    """What a block ages. A logger that reads by the clock has one step nearly everywhere: that part is a plain sum, and only the few
    other steps are weighted one by one; to turn every step into a float costs as much as half of the exponentials."""
    import numpy as np

    other = np.flatnonzero(steps != usual)
    if 4 * other.size > steps.size:
        weights = np.where(steps > most, 0, steps).astype(np.float32)
        left = float(np.dot(weights, speed[:-1]))
        return (left + float(np.dot(weights, speed[1:]))) / 2 if rule == "straight" else left
    whole = float(np.dot(ones, speed[:-1]))
    if rule == "straight":
        whole += (float(speed[-1]) - float(speed[0])) / 2
    worth = usual if usual <= most else 0  # a rule may call the usual step a gap
    step = np.where(steps[other] > most, 0, steps[other])
    pairs = speed[other].astype(np.float64)
    if rule == "straight":
        pairs = (pairs + speed[other + 1]) / 2
    return worth * whole + float(np.dot(step - worth, pairs))


def _between(y: Floats, rule: str) -> Floats:
    return (y[:-1] + y[1:]) / 2 if rule == "straight" else y[:-1]


def _warmest(values: Ints, steps: Ints) -> int:
    """Of the readings that belong to a known stretch."""
    import numpy as np

    live = steps > 0
    return int(values[np.concatenate([live, [False]]) | np.concatenate([[False], live])].max())


def kinetic_mc(mean_rate: float, ref_mc: int, ea: int) -> float:
    """The temperature of a rate: 1/T = 1/Tref − R·ln(rate)/Ea."""
    return 1000 / (1000 / (ref_mc + ZERO_MC) - GAS * math.log(mean_rate) / ea) - ZERO_MC


def _check(ref_mc: int, ea: int, rule: str) -> None:
    check_energy(ea)
    if rule not in RULES:
        raise BadInput(
            "warmth.rule", say("The rule between readings is one of: {rules}.", rules=strung(", ", RULES)), "rule", rule=rule[:24]
        )
    if not -ZERO_MC < ref_mc <= 300_000:
        raise BadInput("warmth.reference", say("The reference temperature must lie above absolute zero and under 300 °C."), "reference")
