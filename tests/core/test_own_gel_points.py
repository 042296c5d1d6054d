"""Gels of a shop's own pots beside the measured points of a peroxide system (R19)."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from inventory.core import gelpoints
from inventory.core.gelpoints import GelPoint
from inventory.core.spans import MINUTE_US as MIN


@given(st.integers(5, 90), st.sampled_from([16_000, 18_500, 20_000]), st.sampled_from([10_000, 12_500, 15_000]))
def test_own_pots_open_the_range_between_the_points_and_never_lengthen_its_low_end(minutes: int, temp: int, dose: int) -> None:
    points = tuple(
        GelPoint(t, d, m * MIN, m * MIN)
        for t, d, m in ((16_000, 10_000, 44), (16_000, 15_000, 31), (20_000, 10_000, 38), (20_000, 15_000, 26))
    )
    plain = gelpoints.interpolate(points, temp, dose)
    own = (GelPoint(temp, dose, minutes * MIN, minutes * MIN),)
    opened = gelpoints.widened(points, own, temp, dose)
    assert plain is not None and opened is not None
    assert opened[0] <= plain[0] and opened[1] >= plain[1] and opened[0] <= minutes * MIN <= opened[1]
    assert gelpoints.widened(points, (), temp, dose) == plain
    assert gelpoints.widened((), own, temp, dose) == (minutes * MIN, minutes * MIN)
    assert gelpoints.widened(points, own, 30_000, dose) is None
