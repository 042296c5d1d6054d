"""An observed gel against its prediction (R19).

Every observed gel is recorded and becomes a point for the system's next prediction (`gelpoints.GelPoint`, or the factor that many of
them make, `gel_update`); one that is far from its prediction is told to quality: it may be the lot, the dose, the scale, the
thermometer or the prediction. What a prediction means belongs to its method: a data-sheet pot life may end before the resin stops
flowing, so "late" says less there than "early". Durations are ints, µs, counted from first mixing, as the window is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from inventory.core.potlife import Window
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import duration

# Beyond this share of the end of the window that was missed, quality is told. Shop practice, no source; it lies just above the third
# by which a good estimate may miss.
FAR_PPM = 350_000
PPM = 1_000_000

Word = Literal["within", "early", "late", "no prediction"]


@dataclass(frozen=True, slots=True)
class Gel:
    """`ratio_ppm`: observed over the end of the window that was missed, rounded down (1_000_000 within; None without a prediction).
    `far`: so far off that quality must know, with the `reason`."""

    word: Word
    ratio_ppm: int | None
    far: bool
    reason: Reason | None = None


def judge_gel(window: Window | None, observed_us: int) -> Gel:
    """Compare an observed gel time with the window predicted for that pot. The ends belong to the window, and exactly 35 % off is
    not yet far. BadInput "gel.time" for a gel before mixing."""
    if observed_us <= 0:
        text = say("The pot cannot have gelled before it was mixed: check the two times.")
        raise BadInput("gel.time", text, "gelled at", observed_us=observed_us)
    if window is None:
        return Gel("no prediction", None, False)
    low, high = window.low_us, window.high_us
    if low <= observed_us <= high:
        return Gel("within", PPM, False)
    word: Word = "early" if observed_us < low else "late"
    end = low if word == "early" else high
    if abs(observed_us - end) * PPM <= FAR_PPM * end:
        return Gel(word, _ratio(observed_us, end), False)
    return Gel(word, _ratio(observed_us, end), True, _told(word, window, observed_us, end))


def _ratio(observed_us: int, end_us: int) -> int | None:
    return observed_us * PPM // end_us if end_us else None


def _told(word: Word, window: Window, observed_us: int, end_us: int) -> Reason:
    expected = duration(window.low_us)
    if duration(window.high_us) != expected:
        expected += say(" to {high}", high=duration(window.high_us))
    ratio = _ratio(observed_us, end_us)
    numbers: dict[str, int | str | None] = {
        "observed_us": observed_us,
        "low_us": window.low_us,
        "high_us": window.high_us,
        "ratio_ppm": ratio,
        "method": window.method,
    }
    text = say(
        "Gelled {word}: after {observed}, predicted {expected}. Check lot, dose, temperature and scale.",
        word=word,
        observed=duration(observed_us),
        expected=expected,
    )
    return Reason(f"gel.far_{word}", text, numbers)
