"""Observed gels against their predictions (R19)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.gel import judge_gel
from inventory.core.potlife import Window
from inventory.core.reasons import BadInput
from inventory.core.spans import MINUTE_US as MIN

THIRTY = Window(30 * MIN, 30 * MIN, None, "gel points, interpolated")
RANGE = Window(20 * MIN, 40 * MIN, None, "gel points, interpolated")


@pytest.mark.parametrize("minutes", [47, 52, 58])
def test_pots_of_the_slow_lot_are_far_from_their_prediction_and_told_to_quality(minutes: int) -> None:
    """Lot V6 of the demo shop: logged gelling at 47–58 min against 30 predicted."""
    gel = judge_gel(THIRTY, minutes * MIN)
    assert (gel.word, gel.far, gel.ratio_ppm) == ("late", True, minutes * 1_000_000 // 30)
    assert gel.reason is not None
    assert gel.reason.code == "gel.far_late"
    assert gel.reason.text == f"Gelled late: after {minutes} min, predicted 30 min. Check lot, dose, temperature and scale."
    assert gel.reason.numbers["observed_us"] == minutes * MIN


@pytest.mark.parametrize(
    ("observed", "word", "far"),
    [
        (20 * MIN, "within", False),
        (40 * MIN, "within", False),
        (20 * MIN - 1, "early", False),
        (40 * MIN + 1, "late", False),
        (13 * MIN, "early", False),
        (13 * MIN - 1, "early", True),
        (54 * MIN, "late", False),
        (54 * MIN + 1, "late", True),
    ],
)
def test_the_ends_belong_to_the_window_and_more_than_35_percent_beyond_an_end_is_far(observed: int, word: str, far: bool) -> None:
    gel = judge_gel(RANGE, observed)
    assert (gel.word, gel.far, gel.reason is not None) == (word, far, far)


def test_a_far_early_gel_names_the_whole_range() -> None:
    gel = judge_gel(RANGE, 8 * MIN)
    assert gel.ratio_ppm == 400_000
    assert gel.reason is not None
    assert (gel.reason.code, gel.reason.text[:48]) == ("gel.far_early", "Gelled early: after 8 min, predicted 20 min to 4")


def test_a_pot_without_a_prediction_is_neither_good_nor_bad() -> None:
    gel = judge_gel(None, 30 * MIN)
    assert (gel.word, gel.ratio_ppm, gel.far, gel.reason) == ("no prediction", None, False, None)


@pytest.mark.parametrize("observed", [0, -1])
def test_a_gel_before_mixing_is_bad_input(observed: int) -> None:
    for window in (RANGE, None):
        with pytest.raises(BadInput):
            judge_gel(window, observed)


@given(st.integers(0, 600 * MIN), st.integers(0, 600 * MIN), st.integers(1, 10**12))
def test_the_word_and_the_ratio_agree(one: int, other: int, observed: int) -> None:
    gel = judge_gel(Window(min(one, other), max(one, other), None, "any"), observed)
    if gel.ratio_ppm is not None:
        assert {"early": gel.ratio_ppm < 1_000_000, "late": gel.ratio_ppm >= 1_000_000, "within": gel.ratio_ppm == 1_000_000}[gel.word]
    assert gel.far == (gel.reason is not None)
    assert not (gel.far and gel.word == "within")
