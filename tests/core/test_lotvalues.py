"""One value lot by lot, and what a certificate states beside the material's threads."""

from __future__ import annotations

import random

import pytest
from scipy import stats

from inventory.core.lotvalues import lot_values, newest, words
from inventory.core.plausible import Geometry, by_threads, caution

pytestmark = pytest.mark.core
TOW = Geometry("tow", filaments=3_000, filament_nm=7_000, fibre_mg_cm3=1_760, tex_ug_m=198_000)
WEAVE = Geometry("fabric", ends_per_m=500, picks_per_m=500, tex_ug_m=198_000)


def test_each_part_says_plainly_when_there_is_too_little_data() -> None:
    found = lot_values([1.0, 2.0, 3.0])
    assert (found.chart, found.change, found.basis) == (None, None, None)
    assert found.no_chart == "Too little data: 3 of 8 lots."
    assert found.no_change == "Too little data: 2 of 8 lots." and found.no_basis == "Too little data: 3 of 18 lots."
    eight = lot_values([1.0, 2.0] * 4)
    assert eight.chart is not None and eight.chart.provisional and eight.change is None and eight.basis is None
    assert lot_values([1.0, 2.0] * 9).basis is not None
    assert "All values are the same" in lot_values([5.0] * 9).no_chart
    assert lot_values([]).no_change == "Too little data: 0 of 8 lots."


def test_limits_come_from_the_lots_before_the_newest_and_at_most_from_twenty() -> None:
    rng = random.Random(1)
    values = [rng.gauss(600, 5) for _ in range(12)]
    assert lot_values(values).baseline == 11 and lot_values(values[:8]).baseline == 8
    assert lot_values(values * 4).baseline == 20
    calm, wild = lot_values([*values, 600.0]), lot_values([*values, 900.0])
    assert calm.chart is not None and wild.chart is not None and calm.chart.high == wild.chart.high, (
        "the newest does not widen its own limits"
    )


def test_the_newest_lot_lies_where_nineteen_in_twenty_would() -> None:
    """The range of one new value: x̄ ± t·s·√(1 + 1/n), by scipy."""
    values = [598.0, 602, 605, 596, 601, 599, 603, 600, 597, 604]
    found = lot_values([*values, 600.0]).change
    mean, deviation = sum(values) / 10, float(stats.tstd(values))
    reach = stats.t.isf(0.025, 9) * deviation * (1 + 1 / 10) ** 0.5
    assert found is not None and (found.low, found.high) == pytest.approx((mean - reach, mean + reach), rel=1e-9)
    assert not lot_values([*values, mean + 0.99 * reach]).changed and lot_values([*values, mean + 1.01 * reach]).changed


def test_a_rule_is_asked_about_at_the_lot_that_breaks_it_and_not_after() -> None:
    values = [598.0, 602, 605, 596, 601, 599, 603, 600, 597, 604]
    (told,) = newest("areal mass", [*values, 700.0])
    assert (
        told.code == "values.rule_1"
        and told.text.startswith("areal mass 700, by limits")
        and "of 10 lots: beyond three sigmas" in told.text
    )
    assert newest("areal mass", [*values, 700.0, 601.0]) == []
    chart = lot_values([*values, 700.0, 601.0]).chart
    assert chart is not None and [words(s) for s in chart.signals if s.at == 10] == ["beyond three sigmas"]
    assert newest("areal mass", [1.0, 100.0]) == [], "nothing with too little data"


def test_a_certificate_that_its_threads_cannot_give_is_asked_about() -> None:
    """Carbon fibre data sheet CFA-001: 3 000 filaments of 7 µm, 1.76 g/cm³, 198 tex fit within 3 %. 5 × 5 per cm of it weigh 198 g/m²
    (exact)."""
    assert caution("linear density", "198", "tex", TOW) is None and caution("tex", "198 tex", "", TOW) is None
    told = caution("linear density", "398", "tex", TOW)
    assert told is not None and told.code == "geometry.tex" and told.text.startswith("linear density 398: ")
    assert caution("linear density", "7516 ft/lb", "", TOW) is None and caution("linear density", "3700 ft/lb", "", TOW) is not None
    assert by_threads(WEAVE) == 198_000
    assert caution("areal mass", "193", "g/m²", WEAVE) is None and caution("areal mass", "5.7 oz/yd²", "", WEAVE) is None
    told = caution("areal mass", "330", "g/m²", WEAVE)
    assert told is not None and told.code == "geometry.areal" and "of the dry fabric or of the prepreg" in told.text


@pytest.mark.parametrize(
    ("name", "text", "unit", "known"),
    [
        ("areal mass", "330", "g/m²", Geometry("fabric")),
        ("areal mass", "330", "g/m²", Geometry("prepreg", ends_per_m=500, picks_per_m=500, tex_ug_m=198_000)),
        ("areal mass", "330", "g/m²", Geometry("fabric", ends_per_m=500, tex_ug_m=198_000)),
        ("linear density", "398", "tex", Geometry("tow", filaments=3_000, tex_ug_m=198_000)),
        ("resin", "40", "%", WEAVE),
        ("areal mass", "about 330", "g/m²", WEAVE),
        ("areal mass", "0", "g/m²", WEAVE),
        ("areal mass", "-5", "g/m²", WEAVE),
        ("linear density", "0 yd/lb", "", TOW),
    ],
)
def test_where_nobody_can_tell_nothing_is_said(name: str, text: str, unit: str, known: Geometry) -> None:
    assert caution(name, text, unit, known) is None


def test_the_fibre_of_a_prepreg_and_a_tape_are_compared() -> None:
    prepreg = Geometry("prepreg", ends_per_m=500, picks_per_m=500, tex_ug_m=198_000)
    assert caution("fibre areal mass", "330", "g/m²", prepreg) is not None and caution("fibre areal mass", "200", "g/m²", prepreg) is None
    tape = Geometry("ud", ends_per_m=375, tex_ug_m=800_000)  # 3.75 ends of 800 tex a centimetre: 300 g/m²
    assert by_threads(tape) == 300_000 and caution("areal mass", "400", "g/m²", tape) is not None
