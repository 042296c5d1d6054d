"""A cure chart against its recipe."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.readings import Span
from inventory.core.reasons import BadInput
from layups.core.cure import FAILS, PASSES, UNKNOWN, Conformance, Dwell, Ramp, conform, heating_began_us
from layups.core.traces import Trace, envelope, stretches

pytestmark = pytest.mark.core
S, MIN = 1_000_000, 60_000_000
HOUR = 60 * MIN
# Material characterization report for an out-of-autoclave prepreg, 2009: 180 −0/+5 °C, 2 h −0/+30 min; ramp 1–3 °C/min; cool
# 2 °C/min to 70 °C. (That 2 °C/min is the most that is allowed is our reading.)
BAND = Dwell("cure", 180_000, 185_000, 2 * HOUR, 2 * HOUR + 30 * MIN)
UP = Ramp("heat-up", 1_000, 3_000)
DOWN = Ramp("cool-down", None, 2_000, cools=True, to_mc=70_000)


def trace(name: str, *corners: tuple[float, float], step_s: int = 60) -> Trace:
    """Straight between (minutes, °C), read every `step_s`."""
    at = np.arange(round(corners[0][0] * 60), round(corners[-1][0] * 60) + 1, step_s)
    mc = np.interp(at, [m * 60 for m, _ in corners], [t * 1000 for _, t in corners])
    return Trace.of(name, list(at * S), [round(v) for v in mc])


def run(hold: float = 182.0, minutes: float = 130.0, lag: float = 0.0, step_s: int = 60, rate: float = 2.0) -> list[tuple[float, float]]:
    top = 10 + lag + (hold - 20) / rate
    return [(0, 20), (10 + lag, 20), (top, hold), (top + minutes - 2 * lag, hold), (top + minutes - 2 * lag + (hold - 60) / 1.5, 60)]


def codes(found: Conformance) -> list[str]:
    return [o.reason.code for s in found.stages for o in s.offences]


def test_a_run_that_keeps_to_its_recipe_passes() -> None:
    found = conform([trace("TC1", *run()), trace("TC2", *run(lag=3))], [UP, BAND, DOWN])
    assert (found.verdict, codes(found)) == (PASSES, [])
    assert found.heated_us is not None
    assert found.heated_us == pytest.approx(14 * MIN, abs=S)  # the lagging one leaves 20 °C at 13 min and is 2 K up a minute later


@pytest.mark.parametrize(("hold", "verdict"), [(179.99, FAILS), (180.0, PASSES), (185.0, PASSES), (185.01, FAILS)])
def test_low_and_high_limits_are_apart_and_both_belong_to_the_band(hold: float, verdict: str) -> None:
    """The same report: 180 −0/+5 °C, so 179.99 fails and 185.00 passes."""
    assert conform([trace("TC1", *run(hold))], [BAND]).verdict == verdict


def test_the_dwell_is_the_lagging_ones_and_too_hot_is_the_leading_ones() -> None:
    # TC1 enters at 90 min, TC2 at 100; TC1 leaves at 215, TC2 at 205: all in from 100 to 205, 105 minutes.
    one = trace("TC1", (0, 20), (90, 180), (91, 182), (214, 182), (215, 180), (300, 60))
    two = trace("TC2", (0, 20), (100, 180), (101, 182), (204, 182), (205, 180), (300, 60))
    (stage,) = conform([one, two], [BAND]).stages
    assert stage.span == Span(100 * MIN, 205 * MIN)
    assert [o.reason.code for o in stage.offences] == ["cure.too_short"]
    assert stage.offences[0].reason.numbers["held_us"] == 105 * MIN
    # An overshoot of the leading one before the lagging one has come is too hot as well.
    hot = trace("TC3", (0, 20), (60, 180), (70, 190), (80, 182), (240, 182), (300, 60))
    found = conform([trace("TC1", *run()), hot], [BAND])
    (offence,) = [o for o in found.stages[0].offences if o.reason.code == "cure.too_hot"]
    assert offence.thermocouple == "TC3"
    assert offence.reason.numbers["peak_mc"] == 190_000
    assert offence.spans == (Span(65 * MIN, 76 * MIN + 15 * S),)


def test_a_dwell_that_is_interrupted_does_not_add_up_and_says_who_fell_out() -> None:
    dip = trace("TC2", (0, 20), (90, 182), (150, 182), (155, 178), (160, 182), (230, 182), (300, 60))
    found = conform([trace("TC1", (0, 20), (90, 182), (230, 182), (300, 60)), dip], [BAND])
    assert codes(found) == ["cure.too_short", "cure.fell_out"]
    fell = found.stages[0].offences[1]
    assert fell.thermocouple == "TC2"
    assert fell.spans == (Span(152 * MIN + 30 * S, 157 * MIN + 30 * S),)
    assert conform([trace("TC1", *run(minutes=160))], [BAND]).stages[0].offences[0].reason.code == "cure.too_long"


def test_the_way_up_and_down_through_a_band_is_not_its_dwell() -> None:
    low = Dwell("first hold", 105_000, 115_000, 30 * MIN)
    good = trace("TC1", (0, 20), (45, 110), (85, 110), (121, 182), (245, 182), (305, 110), (345, 110), (380, 40))
    found = conform([good], [low, BAND])
    assert found.verdict == PASSES
    assert found.stages[0].span is not None
    assert found.stages[0].span.end_us < 100 * MIN
    # Straight through on the way up, and forty minutes in the band on the way down: that is no first hold.
    bad = trace("TC1", (0, 20), (81, 182), (205, 182), (241, 110), (281, 110), (320, 40))
    assert codes(conform([bad], [low, BAND])) == ["cure.too_short"]
    # A cooler stage after a hotter one is found on the way down.
    after = Dwell("post hold", 105_000, 115_000, 30 * MIN)
    assert conform([bad], [BAND, after]).verdict == PASSES


def test_a_ramp_is_judged_on_each_thermocouple_over_a_moving_window() -> None:
    fast = trace("TC2", (0, 20), (10, 20), (60, 120), (70, 160), (80, 182), (211, 182), (270, 70), (280, 60))
    found = conform([trace("TC1", *run()), fast], [UP, BAND])
    ramp = found.stages[0]
    assert [(o.reason.code, o.thermocouple) for o in ramp.offences] == [("cure.too_fast", "TC2")]
    assert ramp.offences[0].reason.numbers["worst_mc_min"] == 4_000
    # Windows of 5 min with more than 15 K: they begin when 2·(60 − t) + 4·(t + 5 − 60) > 15 and end when 4·(70 − t) + 2.2·(t − 65) < 15.
    (span,) = ramp.offences[0].spans
    assert span.start_us / MIN == pytest.approx(57.5, abs=0.01)
    assert span.end_us / MIN == pytest.approx((280 - 143 - 15) / 1.8 + 5, abs=0.01)
    # A step of a second is no rate: 3 K in one reading over five minutes at 2 °C/min is 2.6.
    jump = trace("TC1", (0, 20), (10, 20), (40, 80), (40 + 1 / 60, 83), (90, 182), (221, 182), (300, 70), (310, 60), step_s=1)
    assert conform([jump], [UP, BAND]).verdict == PASSES
    slow = trace("TC1", *run(rate=0.9))
    assert codes(conform([slow], [UP, BAND])) == ["cure.too_slow"]
    cold = [(a, b) for a, b in run()][:4]
    quick = trace("TC1", *cold, (cold[-1][0] + 40, 60))
    assert codes(conform([quick], [UP, BAND, DOWN])) == ["cure.too_fast"]


def test_a_chart_that_ends_before_the_cool_down_is_over_cannot_tell() -> None:
    found = conform([trace("TC1", *run()[:4], (300, 95))], [UP, BAND, DOWN])
    assert (found.verdict, codes(found)) == (UNKNOWN, ["cure.no_ramp"])


def test_a_gap_makes_a_pass_unknown_and_leaves_a_failure_a_failure() -> None:
    whole = trace("TC1", *run())
    keep = (whole.at_us < 120 * MIN) | (whole.at_us > 135 * MIN)
    found = conform([Trace.of("TC1", whole.at_us[keep], whole.mc[keep])], [UP, BAND])
    assert found.verdict == UNKNOWN
    (gap,) = found.stages[1].offences
    assert (gap.reason.code, gap.thermocouple, gap.spans) == ("cure.gap", "TC1", (Span(119 * MIN, 136 * MIN),))
    assert found.stages[0].verdict == PASSES
    hot = trace("TC1", *run(186))
    read = (hot.at_us < 120 * MIN) | (hot.at_us > 135 * MIN)
    assert conform([Trace.of("TC1", hot.at_us[read], hot.mc[read])], [BAND]).verdict == FAILS
    # With a rule that allows twenty minutes without a reading it passes.
    assert conform([Trace.of("TC1", whole.at_us[keep], whole.mc[keep])], [UP, BAND], gap_us=20 * MIN).verdict == PASSES


def test_a_thermocouple_that_dies_leaves_what_follows_unknown_and_does_not_fail_it() -> None:
    whole, dead = trace("TC1", *run()), trace("TC2", *run())
    early = dead.at_us < 60 * MIN
    found = conform([whole, Trace.of("TC2", dead.at_us[early], dead.mc[early])], [UP, BAND])
    assert found.verdict == UNKNOWN
    assert {o.reason.code for o in found.stages[1].offences} == {"cure.gap"}
    assert found.gaps["TC2"][0].start_us == 59 * MIN
    # Where the others fail, the run fails.
    found = conform([trace("TC1", *run(179)), Trace.of("TC2", dead.at_us[early], dead.mc[early])], [BAND])
    assert found.verdict == FAILS


def follows(at: np.ndarray, tau_s: float, hold_mc: float, start_s: float, end_s: float, offset: float) -> np.ndarray:
    """A part that follows an oven (2 °C/min from 20 °C to `hold_mc`, until `end_s`) with a time constant, in closed form."""
    rate, top = 2_000 / 60, start_s + (hold_mc - 20_000) * 60 / 2_000

    def rise(t: np.ndarray) -> np.ndarray:
        up = np.maximum(t - start_s, 0)
        return 20_000 + rate * (up - tau_s * (1 - np.exp(-up / tau_s)))

    def hold(t: np.ndarray) -> np.ndarray:
        return hold_mc - (hold_mc - rise(np.array(top))) * np.exp(-np.maximum(t - top, 0) / tau_s)

    cool = 25_000 + (hold(np.array(end_s)) - 25_000) * np.exp(-np.maximum(at - end_s, 0) / 3_000)
    return np.rint(np.where(at <= top, rise(at), np.where(at <= end_s, hold(at), cool)) + offset).astype(np.int64)


@settings(deadline=None, max_examples=40)
@given(st.floats(300, 1_500), st.floats(182_500, 184_000), st.floats(0, 900), st.floats(-400, 400))
def test_a_reading_a_second_and_one_a_minute_find_the_same_dwell(tau: float, hold: float, start: float, offset: float) -> None:
    """The lagging thermocouple's dwell from charts of 1 s and of 60 s agrees within a second."""
    end = round((start + 162 * 30 + 5 * tau + 7_800) / 60) * 60
    lags = [(tau, offset), (tau * 0.6, 300)]
    spans = []
    for step in (1, 60):
        at = np.arange(0, end + 3_601, step)
        traces = [Trace.of(f"TC{n}", at * S, follows(at, lag, hold, start, end, off)) for n, (lag, off) in enumerate(lags)]
        (stage,) = conform(traces, [Dwell("cure", 180_000, 185_000, 2 * HOUR)]).stages
        assert stage.span is not None
        spans.append(stage.span)
    assert abs(spans[0].start_us - spans[1].start_us) <= S
    assert abs(spans[0].end_us - spans[1].end_us) <= S


def test_heating_begins_when_the_cold_part_begins_to_heat_and_not_when_it_is_loaded() -> None:
    # Loaded at 16 °C, up to the hall's 22 °C in an hour, heated from minute 60.
    part = trace("TC1", (0, 16), (50, 22), (60, 22), (140, 182), (270, 182))
    assert heating_began_us([part], 180_000, 22_000) == pytest.approx(61 * MIN, abs=S)
    without = heating_began_us([part], 180_000, None)
    assert without is not None
    assert without == pytest.approx(16 * MIN + 40 * S, abs=S)
    aborted = trace("TC1", (0, 20), (60, 120), (120, 20))
    assert heating_began_us([aborted], 180_000, 22_000) is None
    found = conform([aborted], [BAND])
    assert (found.verdict, found.heated_us, codes(found)) == (FAILS, None, ["cure.not_reached"])
    assert found.stages[0].offences[0].reason.numbers["highest_mc"] == 120_000


@given(st.lists(st.lists(st.integers(15_000, 25_000), min_size=5, max_size=5), min_size=2, max_size=4), st.integers(15_000, 25_000))
def test_the_envelope_is_the_lowest_and_highest_of_all_at_any_instant(rows: list[list[int]], level: int) -> None:
    traces = [Trace.of(f"T{n}", [n * 7 * S + k * 60 * S for k in range(5)], row) for n, row in enumerate(rows)]
    lagging, leading = envelope(traces)
    start, end = max(int(t.at_us[0]) for t in traces), min(int(t.at_us[-1]) for t in traces)
    at = np.linspace(start, end, 501)
    lines = np.stack([np.interp(at, t.at_us, t.mc) for t in traces])
    assert np.allclose(np.interp(at, lagging.at_us, lagging.mc), lines.min(axis=0), atol=1)
    assert np.allclose(np.interp(at, leading.at_us, leading.mc), lines.max(axis=0), atol=1)
    # At the readings themselves; between two of them a bend may be taken along.
    inside = stretches(lagging, Span(start, end), low=level)
    for t, v in zip(lagging.at_us, lagging.mc, strict=True):
        if start <= t <= end and abs(v - level) > 1:
            assert (v > level) == any(s.start_us <= t <= s.end_us for s in inside)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: conform([], [BAND]), "cure.no_thermocouple"),
        (lambda: conform([trace("TC1", *run())], [UP]), "cure.no_stage"),
        (lambda: conform([trace("A", (0, 20), (60, 30)), trace("B", (100, 20), (160, 30))], [BAND]), "cure.no_overlap"),
        (lambda: Trace.of("TC1", [0], [20_000]), "readings.none"),
        (lambda: Trace.of("TC1", [0, 0], [20_000, 20_000]), "readings.order"),
        (lambda: Dwell("x", 185_000, 180_000, HOUR), "cure.band"),
        (lambda: Dwell("x", 180_000, 185_000, HOUR, MIN), "cure.dwell"),
        (lambda: Ramp("x", 3_000, 1_000), "cure.ramp"),
        (lambda: Ramp("x", 1_000, 3_000, window_us=MIN), "cure.window"),
        (lambda: Ramp("x", 1_000, 3_000, from_mc=100_000, to_mc=50_000), "cure.ramp"),
    ],
)
def test_a_chart_or_recipe_that_cannot_be_is_refused(call: Callable[[], object], code: str) -> None:
    with pytest.raises(BadInput) as caught:
        call()
    assert caught.value.reason.code == code
