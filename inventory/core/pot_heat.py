"""A pot that heats itself and loses heat, many scenarios at once.

m·cp·dT/dt = m·H·dα/dt − hS·(T − Ta), with dα/dt from any law. Divided by dα/dt, conversion becomes the running variable:

    dT/dα = H/cp − loss·(T − Ta)/rate(T, α),   dt/dα = 1/rate(T, α),   loss = hS/(m·cp) in 1/s

A runaway, a wall in time, is a gentle slope over conversion: the temperature can never rise faster than H/cp. All scenarios share one
grid of u = logit(α), so a power of α is computed once for all of them. Radau IIA collocation (`STAGES` stages) holds for films, where
the loss is stiff, as well as for drums.

The pot is of one temperature throughout. That holds where the resin conducts better than its surface loses (`pot_vessel.biot`).
Temperatures K, times s, loss 1/s.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from inventory.core.cure_time import NEVER_S
from inventory.core.kinetics import Law, check_kelvin, check_start
from inventory.core.reasons import BadInput
from inventory.core.said import say

if TYPE_CHECKING:
    from numpy import float64, intp
    from numpy.typing import NDArray

    Floats = NDArray[float64]

STAGES = 6
FULL = 0.9999  # what is called fully cured here; the peak is looked for up to it
FIRST = 1e-8  # where a law that starts at 0 begins to be followed: the time before it is α/rate, less than a millionth of the whole
PAST_FASTEST = 0.5  # no law's rate at one temperature rises beyond this conversion, so a pot that cools from here on has had its peak
STILL_PER_S = 1e-13  # a slower reaction stands still
TOLERANCE = 8e-3  # of what a step's highest Legendre coefficient may be: with it times are within 2e-6, checked against a solver
NEWTON_K = 0.02  # the last change of Newton's: what is left is its square, times some hundredths
LONGEST_LATE = 0.8  # of u, where peaks are: a longer step's polynomial would blur them
MOST_STEPS = 400
SHORTEST = 1e-4  # of u: a step is not made shorter for the sake of its error
UNSETTLED = 1e3  # the error of a step whose temperatures were not found
MOST_ROUNDS = 12


@dataclass(frozen=True, slots=True)
class Heated:
    """What pots did, an array over the scenarios. `gel_s`: time to the conversion asked for (infinite: never), with the temperature
    then; `peak_k`, `peak_s`: the highest temperature and when (of a pot that loses nothing: when it is FULL). The time of a flat peak,
    as a film's, is known less sharply than its height."""

    gel_s: Floats
    gel_k: Floats
    peak_k: Floats
    peak_s: Floats
    _parts: tuple[tuple[Floats, Floats, Floats, NDArray[intp]], ...]

    def curve(self) -> tuple[Floats, Floats, Floats]:
        """Conversions (points), and times (s) and temperatures (K), points × scenarios. A pot is followed until it is past its gel and
        past its peak, and stays there while others go on."""
        import numpy as np

        times, temps = [], []
        for _, time, temp, live in self._parts:
            if live.size == self.gel_s.size:
                times.append(time)
                temps.append(temp)
                continue
            for rows, found in ((times, time), (temps, temp)):
                whole = np.repeat(rows[-1][-1:], len(found), axis=0)
                whole[:, live] = found
                rows.append(whole)
        return np.concatenate([part[0] for part in self._parts]), np.concatenate(times), np.concatenate(temps)


def heat_pot(
    law: Law,
    gel: float,
    start_k: Floats | float,
    around_k: Floats | float,
    rise_k: Floats | float,
    loss_per_s: Floats | float,
    *,
    start: float = 0.0,
    speed: Floats | float = 1.0,
) -> Heated:
    """Follow pots from conversion `start` past `gel` until each has passed its peak. The five numbers of a scenario broadcast to one
    axis; `rise_k` is H/cp (K), `speed` multiplies the law's rate. Within 2e-6 of the true times, and of the true rise.

    BadInput kinetics.temperature, kinetics.conversion, kinetics.needs_seed, pot.scenario."""
    import numpy as np

    check_start(law, start)
    if not start < gel < FULL:
        raise BadInput("kinetics.conversion", say("The conversion at gel must lie above the start and below 1."), "gel")
    given = [np.atleast_1d(np.asarray(v, dtype=float)) for v in (start_k, around_k, rise_k, loss_per_s, speed)]
    t0, ta, rise, loss, fast = (np.ascontiguousarray(v) for v in np.broadcast_arrays(*given))
    check_kelvin(t0)
    check_kelvin(ta)
    if not (
        (rise >= 0).all() and (rise < 2000).all() and (loss >= 0).all() and (loss < 1e6).all() and (fast > 0).all() and (fast < 1e9).all()
    ):
        raise BadInput(
            "pot.scenario", say("Heat, loss and speed of a pot are finite numbers, not below zero (its speed above zero)."), "pot"
        )
    with np.errstate(all="ignore"):
        return _Walk(law, t0, ta, rise, loss, fast).run(max(start, FIRST), gel)


class _Walk:
    """The steps over u = logit(α), all scenarios together."""

    def __init__(self, law: Law, t0: Floats, ta: Floats, rise: Floats, loss: Floats, fast: Floats) -> None:
        import numpy as np

        self.law, self.ta, self.rise, self.loss, self.fast = law, ta, rise, loss, fast
        self.temp, self.time = t0.copy(), np.zeros_like(t0)
        self.peak_k, self.peak_s = t0.copy(), np.zeros_like(t0)
        self.live = np.arange(t0.size)  # who is still followed: those that have passed their peak are let go
        self.after = 1.0  # the conversion from which a pot that cools has ended
        self.step = 4.0  # of u: the start, where hardly anything happens, is crossed in strides
        self.taken = 4.0, 1e-3  # the last step that held, and its error
        self.last: tuple[float, Floats] | None = None
        self.parts: list[tuple[Floats, Floats, Floats, NDArray[intp]]] = []

    def run(self, first: float, gel: float) -> Heated:
        import numpy as np

        if first == FIRST:
            # At the start's own temperature; nodes crowd at zero, where a power of α turns sharply.
            nodes, matrix, _ = _radau(STAGES)
            c = nodes[:, None]
            self.time = 4 * first * matrix[-1] @ (c**3 / self._speed(self.temp, first * c**4))
        self.soonest = self._soonest(first, gel)
        self.parts.append((np.array([first]), self.time[None].copy(), self.temp[None].copy(), self.live))
        stops = sorted({_logit(gel), *(_logit(b) for b in self.law.breaks if first < b < FULL)})
        for stop in [s for s in stops if s <= _logit(gel)]:
            first = self._until(first, stop)
        gel_s, gel_k = self.time.copy(), self.temp.copy()
        self.after = max(gel, PAST_FASTEST, *self.law.breaks)
        if first >= self.after:
            self._let_go(self._slope(self.temp, np.array(first)))
        for stop in [*(s for s in stops if s > _logit(gel)), _logit(FULL)]:
            first = self._until(first, stop)
        return Heated(np.where(gel_s < NEVER_S, gel_s, math.inf), gel_k, self.peak_k, self.peak_s, tuple(self.parts))

    def _soonest(self, first: float, gel: float) -> Floats:
        """Roughly when it would gel without loss, from the warmer of the two: the scale on which an error in time counts."""
        import numpy as np

        low, high = _logit(max(first, 1e-4)), _logit(gel)
        alpha = 1 / (1 + np.exp(-(low + (high - low) * (np.arange(12) + 0.5) / 12)))[:, None]
        temps = np.maximum(self.temp, self.ta) + self.rise * alpha
        rough: Floats = (alpha * (1 - alpha) / self._speed(temps, alpha)).sum(axis=0) * (high - low) / 12
        return rough

    def _speed(self, temp: Floats, alpha: Floats) -> Floats:
        """dα/dt, kept from standing quite still, so that the time stays a number."""
        import numpy as np

        found: Floats = np.maximum(self.fast * self.law.raw(temp, alpha), STILL_PER_S)
        return found

    def _slope(self, temp: Floats, alpha: Floats) -> Floats:
        """dT/du."""
        found: Floats = alpha * (1 - alpha) * (self.rise - self.loss * (temp - self.ta) / self._speed(temp, alpha))
        return found

    def _until(self, first: float, stop: float) -> float:
        """Step from conversion `first` to u = `stop`, with steps as long as the error allows."""
        u, left = _logit(first), MOST_STEPS
        while stop - u > 1e-12 and self.live.size:
            longest = self.step if u < 0 else min(self.step, LONGEST_LATE)
            step = (stop - u) / math.ceil((stop - u) / longest)
            error = max(self._step(u, step), 1e-9)
            left -= 1
            longer = 0.85 * error ** (-1 / STAGES)
            if left <= 0 or (error >= UNSETTLED and step < SHORTEST):
                self._park(u)
                left = MOST_STEPS
                continue
            if error <= 1 or (error < UNSETTLED and step < SHORTEST):
                u += step
                self._keep()
                # Where the error has been growing from step to step, it is expected to go on growing (Gustafsson's control).
                before_step, before_error = self.taken
                longer = min(longer, longer * step / before_step * (before_error / error) ** (1 / STAGES))
                self.taken = step, error
            self.step = step * min(2.0, max(0.3, longer))
        return 1 / (1 + math.exp(-stop))

    def _park(self, u: float) -> None:
        """Pots that cool until they stand still have no further conversion to follow: they stay where they are, for good. Where none
        is such, the numbers are beyond this method, and that is said."""
        import numpy as np

        still = (self._speed(self.ta, np.array(1 / (1 + math.exp(-u)))) < 1 / NEVER_S) & (self.time < math.inf)
        if not still.any():
            text = say("A pot could not be followed: its numbers lie too far apart. Check heat, loss and the factor on the rate.")
            raise BadInput("pot.not_followed", text, "pot")
        self.time = np.where(still, math.inf, self.time)
        self.rise, self.loss = np.where(still, 0.0, self.rise), np.where(still, 0.0, self.loss)
        self.step, self.last = 0.1, None

    def _step(self, u: float, step: float) -> float:
        """Try one step; what came of it waits in `self.tried`. The error is in units of what is allowed."""
        import numpy as np

        c, a, top = _radau(STAGES)
        alpha = (1 / (1 + np.exp(-(u + step * c))))[:, None]
        width = alpha * (1 - alpha) * step  # dα, were the whole step at that place
        temps, settled = self._solve(alpha, width, step)
        if not settled:
            return UNSETTLED
        slow = width / self._speed(temps, alpha)
        slope = width * self.rise - slow * self.loss * (temps - self.ta)
        times = self.time + a @ slow
        self.tried = alpha, temps, times, slope, slow, step
        # The highest power that the step's polynomials hold: what lies beyond it is smaller still.
        room = np.maximum(self.rise * 0.1, 1.0)
        off = np.maximum(abs(top @ slope) / room, abs(top @ slow) / np.maximum(times[-1], self.soonest))
        if times[-1].max() > NEVER_S:
            off = np.where(times[-1] > NEVER_S, 0.0, off)
        return min(float(off.max()) / TOLERANCE, 0.9 * UNSETTLED)

    def _solve(self, alpha: Floats, width: Floats, step: float) -> tuple[Floats, bool]:
        """The temperatures at the stages, by Newton; who is done is left out of the next round."""
        import numpy as np

        temps = here = self._guess(step)
        who, a, base, worst = None, _radau(STAGES)[1], self.temp, math.inf
        ta, rise, loss, fast = self.ta, self.rise, self.loss, self.fast
        for _ in range(MOST_ROUNDS):
            speed, steeper = self.law.raw_slope(here, alpha)
            slow = width / np.maximum(fast * speed, STILL_PER_S)
            steeper = np.where(fast * speed > STILL_PER_S, steeper, 0.0)
            cooling = slow * loss
            over = here - ta
            miss = base + a @ (width * rise - cooling * over) - here
            change = _solved(a, cooling * (over * steeper - 1.0), miss)
            here = here + change
            if who is None:
                temps = here
            else:
                temps[:, who] = here
            sizes = abs(change).max(axis=0)
            before, worst = worst, float(sizes.max())
            if worst < NEWTON_K:
                return temps, True
            if not worst < 500 or worst > 2 * before:
                break
            open_ = np.flatnonzero(sizes >= NEWTON_K)
            if open_.size < 0.6 * sizes.size:  # the others are done
                who = open_ if who is None else who[open_]
                here, base, ta, rise, loss, fast = (v[..., open_] for v in (here, base, ta, rise, loss, fast))
        return temps, False

    def _guess(self, step: float) -> Floats:
        """Where the stages' temperatures may lie: the last step's polynomial drawn on, through fewer of its points for a longer step."""
        import numpy as np

        if self.last is None:
            return np.repeat(self.temp[None], STAGES, axis=0)
        length, temps = self.last
        c = _radau(STAGES)[0]
        points = STAGES if step < 1.3 * length else 2
        through = np.vander(c[-points:], increasing=True)
        ahead = np.vander(1 + step / length * c, points, increasing=True)
        guess: Floats = (ahead @ np.linalg.inv(through)) @ temps[-points:]
        return np.maximum(guess, 150.0, out=guess)

    def _keep(self) -> None:
        """Take the tried step: look for a peak within it, and go on from its end."""
        import numpy as np

        alpha, temps, times, slope, slow, step = self.tried
        row = temps.argmax(axis=0)[None]
        self._higher(self.live, np.take_along_axis(temps, row, axis=0)[0], np.take_along_axis(times, row, axis=0)[0])
        inside = np.flatnonzero((slope[:-1].max(axis=0) > 0) & (slope[-1] < 0))
        if inside.size:
            self._peak(inside, slope[:, inside], slow[:, inside])
        self.temp, self.time, self.last = temps[-1], times[-1], (step, temps)
        self.parts.append((alpha[:, 0], times, temps, self.live))
        if alpha[-1, 0] > self.after:
            self._let_go(slope[-1])

    def _let_go(self, slope: Floats) -> None:
        """Follow no further who cools, or stands still."""
        import numpy as np

        kept = np.flatnonzero((slope >= 0) & (self.time < NEVER_S))
        if kept.size < self.live.size:
            for name in ("ta", "rise", "loss", "fast", "soonest", "temp", "time", "live"):
                setattr(self, name, getattr(self, name)[kept])
            self.last = self.last and (self.last[0], self.last[1][:, kept])

    def _higher(self, who: NDArray[intp], temp: Floats, time: Floats) -> None:
        """Remember these temperatures where they are the highest yet."""
        higher = temp > self.peak_k[who]
        self.peak_k[who[higher]], self.peak_s[who[higher]] = temp[higher], time[higher]

    def _peak(self, which: NDArray[intp], slope: Floats, slow: Floats) -> None:
        """Where the step's polynomial of dT/du falls through zero: the peak to the accuracy of the step, not of its points."""
        import numpy as np

        c = _radau(STAGES)[0]
        powers = np.linalg.inv(np.vander(c, increasing=True))
        heat, clock = powers @ slope, powers @ slow
        last = STAGES - 1 - (slope[::-1] > 0).argmax(axis=0)  # the last node that still rises
        pair = np.stack([last, last + 1])
        (low, high), (up, down) = c[pair], np.take_along_axis(slope, pair, axis=0)
        x = low + (high - low) * up / (up - down)
        turning = powers[1:] @ slope * np.arange(1, STAGES)[:, None]
        for _ in range(3):
            x = np.clip(x - _value(heat, x) / _value(turning, x), low, high)
        orders = np.arange(1, STAGES + 1)[:, None]
        temp = self.temp[which] + x * _value(heat / orders, x)
        time = self.time[which] + x * _value(clock / orders, x)
        self._higher(self.live[which], temp, time)


def _value(powers: Floats, x: Floats) -> Floats:
    """Polynomials (coefficients × scenarios, lowest first) at their `x`, by Horner."""
    found: Floats = powers[-1]
    for row in powers[-2::-1]:
        found = found * x + row
    return found


def _solved(a: Floats, slopes: Floats, miss: Floats) -> Floats:
    """x of (1 − a·diag(slopes))·x = miss for each scenario, by elimination without pivots: Radau's matrix needs none. In single
    precision, since the next round's miss is not: a change need not be exact, only what it leads to."""
    import numpy as np

    single = np.float32
    rows = np.empty((STAGES, STAGES + 1, miss.shape[1]), dtype=single)
    np.multiply(-a.astype(single)[:, :, None], slopes.astype(single), out=rows[:, :STAGES])
    rows[:, STAGES] = miss
    for k in range(STAGES):
        rows[k, k] += 1
        pivot = rows[k, k + 1 :] / rows[k, k]
        rows[:, k + 1 :] -= rows[:, k, None] * pivot
        rows[k, k + 1 :] = pivot
    return rows[:, STAGES].astype(float)


def _logit(alpha: float) -> float:
    return math.log(alpha / (1 - alpha))


@lru_cache(maxsize=4)
def _radau(count: int) -> tuple[Floats, Floats, Floats]:
    """Radau IIA with `count` stages: nodes, matrix, and the row that gives the highest Legendre coefficient of values at the nodes.
    The nodes are the roots of P(s) − P(s−1) on [0, 1]; the matrix is that of integrating the polynomials through them."""
    import numpy as np
    from numpy.polynomial import legendre

    c = (np.sort(legendre.legroots([*[0.0] * (count - 1), -1.0, 1.0])) + 1) / 2
    c[-1] = 1.0
    orders = np.arange(1, count + 1)
    a = (c[:, None] ** orders / orders) @ np.linalg.inv(np.vander(c, increasing=True))
    top = np.linalg.inv(legendre.legvander(2 * c - 1, count - 1))[-1]
    return c, a, top
