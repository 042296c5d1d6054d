"""What a cure chart says of a part, as a record keeps it, and how far the resin came along it."""

from __future__ import annotations

import json
from random import Random

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from inventory.core.kinetic_sets import INFUSION_WARM, PREPREG, ROOM
from inventory.core.kinetic_text import Glass
from inventory.core.kinetics import ZERO_C_K, Fitted, rate
from inventory.core.reasons import BadInput
from inventory.core.tlog import read_log
from inventory.recording.claims import canonical
from layups.core.cure import FAILS, PASSES, UNKNOWN
from layups.core.cure_chart import cured_along, judged, sentence, thinned, traces_of
from layups.core.cure_recipe import read
from layups.core.traces import Trace

from .test_cure import MIN, run, trace

pytestmark = pytest.mark.core
# The figures of a material characterization report for an out-of-autoclave prepreg, 2009.
RECIPE = read("ramp 1 to 3 °C/min over 5 min\ndwell 180 −0/+5 °C for 120 −0/+30 min\ncool at most 2 °C/min to 70 °C")


def test_the_verdict_is_kept_by_stage_and_thermocouple_with_the_seconds_that_offend() -> None:
    hot = trace("TC2", (0, 20), (10, 20), (91, 182), (93, 182), (96, 188), (99, 182), (221, 182), (300, 60))
    doc = judged([trace("TC1", *run()), hot], RECIPE)
    assert doc["verdict"] == FAILS
    dwell = doc["stages"][1]
    assert (dwell["verdict"], dwell["each"]) == (FAILS, {"TC1": PASSES, "TC2": FAILS})
    (offence,) = dwell["offences"]
    assert (offence["word"], offence["thermocouple"], offence["count"]) == ("too hot", "TC2", 1)
    # 182 to 188 in three minutes: above 185 from a minute and a half in, until a minute and a half before the end.
    assert offence["spans"] == [[round(94.5 * MIN), round(97.5 * MIN)]]
    assert [t["peak_mc"] for t in doc["thermocouples"]] == [182_000, 188_000]
    assert json.loads(canonical(doc)) == doc  # whole numbers and texts only
    cold = judged([trace("TC1", (0, 20), (60, 120), (120, 20))], RECIPE)
    assert json.loads(canonical(cold)) == cold
    assert sentence(doc) == "The chart fails. dwell: TC2 came to 188 °C, at most 185 °C allowed."


def test_without_a_thermocouple_that_counts_nobody_can_tell() -> None:
    doc = judged([], RECIPE)
    assert doc["verdict"] == UNKNOWN
    assert "No thermocouple" in sentence(doc)
    assert sentence(judged([trace("TC1", *run())], RECIPE)) == "The chart passes."


@pytest.mark.parametrize(("hold", "verdict"), [(179.99, FAILS), (180.0, PASSES), (185.0, PASSES), (185.01, FAILS)])
def test_the_recipe_as_typed_judges_as_the_report_says(hold: float, verdict: str) -> None:
    """The same report: 179.99 fails and 185.00 passes."""
    assert judged([trace("TC1", *run(hold))], RECIPE)["verdict"] == verdict


def chart(seconds: int, step: int, hold: float = 182.0) -> str:
    """A chart as a logger writes it: two thermocouples, one behind the other."""
    at = np.arange(0, seconds + 1, step)
    one = np.interp(at, [0, 600, 600 + (hold - 20) * 30, 14_000, 18_000], [20, 20, hold, hold, 65])
    two = np.interp(at, [0, 780, 780 + (hold - 20) * 30, 14_100, 18_000], [20, 20, hold, hold, 65])
    rows = [
        f"2026-03-30 {6 + s // 3600:02d}:{s % 3600 // 60:02d}:{s % 60:02d};{a:.2f};{b:.2f}" for s, a, b in zip(at, one, two, strict=True)
    ]
    return "Time;TC1 °C;TC2 °C\n" + "\n".join(rows)


def test_a_file_of_several_columns_is_a_trace_each_and_one_second_or_sixty_say_the_same() -> None:
    spans = []
    for step in (1, 60):
        traces = traces_of(read_log(chart(18_000, step), "Europe/Copenhagen"))
        assert [t.name for t in traces] == ["TC1 °C", "TC2 °C"]
        doc = judged(traces, RECIPE)
        assert doc["verdict"] == PASSES
        spans.append(doc["stages"][1]["span"] + [doc["heated_us"]])
    assert all(abs(a - b) <= 1_000_000 for a, b in zip(*spans, strict=True))


def test_a_column_that_was_read_once_is_named() -> None:
    text = "Time;TC1 °C;TC2 °C\n2026-03-30 06:00;20;20\n2026-03-30 06:01;21;\n2026-03-30 06:02;22;"
    with pytest.raises(BadInput) as caught:
        traces_of(read_log(text, "UTC"))
    assert (caught.value.reason.code, caught.value.where) == ("chart.single", "columns")
    assert [t.name for t in traces_of(read_log(text, "UTC"), ["tc1 °c"])] == ["TC1 °C"]


# --- degree of cure --------------------------------------------------------------------------------


def line(corners: list[tuple[float, float]], step_s: int = 30) -> Trace:
    return trace("TC1", *corners, step_s=step_s)


def test_the_conversion_along_published_cycles() -> None:
    """Values computed from the constants of Johnston's form that three public files repeat: a cycle of 20 to 110 °C at 2 °C/min, an
    hour, to 180 °C, two hours ends at 0.8264; 177 °C for half an hour gives 0.5548."""
    cycle = line([(0, 20), (45, 110), (105, 110), (140, 180), (260, 180)])
    (along,) = cured_along([cycle], PREPREG)
    assert along.alpha[-1] == pytest.approx(0.8264, abs=2e-4)
    (held,) = cured_along([line([(0, 177), (30, 177)])], PREPREG)
    assert held.alpha[-1] == pytest.approx(0.5548, abs=2e-4)


@pytest.mark.parametrize("fit", [PREPREG, ROOM, INFUSION_WARM])
@pytest.mark.parametrize("seed", range(3))
def test_the_conversion_along_any_chart_is_that_of_a_general_solver(fit: Fitted, seed: int) -> None:
    """Against scipy's solver over random charts."""
    rng = Random(seed)
    top = 180 if fit is PREPREG else 80
    corners = [(0.0, 20.0)]
    for _ in range(rng.randint(3, 8)):
        corners.append((corners[-1][0] + rng.uniform(5, 60), rng.uniform(20, top)))
    chart = line([(round(m), t) for m, t in corners])
    (along,) = cured_along([chart], fit)
    seconds = (chart.at_us - chart.at_us[0]) / 1e6

    def speed(t: float, alpha: np.ndarray) -> np.ndarray:
        return rate(fit.law, float(np.interp(t, seconds, chart.mc)) / 1000 + ZERO_C_K, np.clip(alpha, 0, 1))

    found = solve_ivp(speed, (0, seconds[-1]), [fit.seed], method="LSODA", rtol=1e-8, atol=1e-11, max_step=30)
    assert along.alpha[-1] == pytest.approx(found.y[0][-1], abs=2e-5)


def test_the_lagging_one_is_cured_least_and_the_leading_one_most() -> None:
    one, two = line([(0, 20), (60, 150), (90, 150)]), Trace.of("TC2", *_lists(line([(0, 20), (70, 140), (90, 140)])))
    lagging, leading = cured_along([one, two], PREPREG, Glass(0, 200_000, 0.4))
    assert (lagging.name, leading.name) == ("lagging", "leading")
    assert lagging.alpha[-1] < leading.alpha[-1]
    assert lagging.glass_mc is not None and leading.glass_mc is not None
    assert 0 < lagging.glass_mc[-1] < leading.glass_mc[-1] < 200_000
    assert [r.code for r in lagging.reasons] == ["kinetics.range_unknown"]


def _lists(t: Trace) -> tuple[list[int], list[int]]:
    return [int(v) for v in t.at_us], [int(v) for v in t.mc]


def test_a_cure_outside_the_range_of_the_fit_says_so_or_gives_no_answer() -> None:
    """INFUSION_WARM was checked from 50 to 80 °C; the way up from 20 °C does not matter where next to nothing cures there."""
    inside, outside = line([(0, 20), (10, 70), (200, 70)]), line([(0, 20), (10, 25), (2_000, 25)])
    (good,) = cured_along([inside], INFUSION_WARM)
    assert good.reasons == ()
    (bad,) = cured_along([outside], INFUSION_WARM)
    assert [r.code for r in bad.reasons] == ["kinetics.outside_range"] and bad.alpha
    (none,) = cured_along([outside], INFUSION_WARM, strict=True)
    assert none.alpha == () and [r.code for r in none.reasons] == ["kinetics.refused_outside"]


def test_peaks_survive_thinning() -> None:
    rng = np.random.default_rng(1)
    mc = rng.integers(20_000, 21_000, 20_000)
    mc[7_777], mc[15_001] = 99_000, -5_000
    long = Trace.of("TC1", [int(k) * 1_000_000 for k in range(20_000)], [int(v) for v in mc])
    at, y = thinned(long, 800)
    assert len(at) <= 820
    assert (y.max(), y.min()) == (99_000, -5_000)
    assert (at[0], at[-1]) == (0, 19_999 * 1_000_000)
    assert list(at) == sorted(set(at))
