"""Pots whose window comes from kinetics, and what the shop's own gels teach the next one (R18, R19)."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.core.reasons import BadInput, Refused
from inventory.models import Kinetics, Outbox, PotCurve, Recipe
from inventory.outbox import draw_pot_curve
from inventory.reads.forecasts import asked, look
from inventory.reads.pots import Batch, PotSystem, estimate, pot_system
from inventory.verbs.voiding import Void
from layups.demo.anchor import MINUTE_US
from tests.ledger.pots import Pots, body_of

pytestmark = pytest.mark.django_db
KG = 10**9


@pytest.fixture
def pots() -> Pots:
    return Pots()


def system(pots: Pots, code: str = "INF", before_us: int | None = None) -> PotSystem:
    return pot_system(pots.store.site.pk, Recipe.objects.select_related("resin", "hardener").get(code=code), before_us)


def enter(code: str = "INF", **changes: Any) -> None:
    """A further version of a recipe's kinetics."""
    recipe = Recipe.objects.get(code=code)
    row = Kinetics.objects.filter(recipe__code="INF").order_by("-version").first()
    assert row is not None
    values = {f.attname: getattr(row, f.attname) for f in Kinetics._meta.local_concrete_fields if f.name not in ("id", "recipe", "version")}
    last = Kinetics.objects.filter(recipe=recipe).count()
    Kinetics.objects.create(recipe=recipe, version=last + 1, **(values | changes))


# --- the window ----------------------------------------------------------------------------------


def test_a_pot_with_kinetics_keeps_its_window_method_version_and_cautions(pots: Pots) -> None:
    """Its data sheet says 120 min for 150 g at 25 °C; 1.3 kg heats itself, and its low end comes sooner although it is cooler."""
    body = body_of(pots.infusion(vessel="cup", size="120 mm"))
    assert 85 * MINUTE_US < body["low_us"] < 110 * MINUTE_US < body["high_us"]
    assert body["stop_us"] == pots.at() + body["low_us"]
    assert body["vessel"] == {"kind": "cup", "um": 120_000}
    assert body["kinetics"] == {"name": "room-temperature infusion epoxy, a published shape", "version": 1}
    assert body["method"].startswith("kinetics: ") and body["method"].endswith(", version 1")
    assert any("smoke" in text for text in body["cautions"]) and any("at which temperatures" in text for text in body["cautions"])
    assert "gels" not in body and "ready_us" not in body


def test_the_pot_of_its_data_sheet_likely_lasts_what_the_sheet_says(pots: Pots) -> None:
    """The anchor: 150 g in a cup as tall as it is wide at 25 °C, 120 min."""
    recipe = Recipe.objects.select_related("resin", "hardener").get(code="INF")
    seen = look(system(pots), asked(recipe, "115.3846 g", temperature="25"))
    assert seen.ways[0].likely_us == pytest.approx(120 * MINUTE_US, rel=1e-3)


def test_the_laminating_epoxy_keeps_its_estimate_from_the_data_sheet(pots: Pots) -> None:
    """55 to 60 kJ/mol over 25 min for 500 g at 25 °C: 33.8 to 34.7 min at 21 °C. How it stands changes nothing, but is kept."""
    body = body_of(pots.laminating(vessel="tray", size="20 x 30 cm"))
    assert (body["low_us"] / MINUTE_US, body["high_us"] / MINUTE_US) == pytest.approx((33.8, 34.7), abs=0.05)
    assert "kinetics" not in body and body["vessel"]["kind"] == "tray"


def test_poured_out_flat_the_same_mass_lasts_longer_and_stays_cool(pots: Pots) -> None:
    cup, tray = (body_of(pots.infusion(vessel=v, size=s)) for v, s in (("cup", "120 mm"), ("film", "2 mm")))
    assert tray["low_us"] > 3 * cup["low_us"] and not any("smoke" in text for text in tray["cautions"])


def test_a_vessel_that_cannot_be_is_told_at_its_field(pots: Pots) -> None:
    with pytest.raises(BadInput) as caught:
        pots.infusion(vessel="cup", size="9 kg")
    assert caught.value.where == "size"


def test_outside_the_fitted_range_it_is_flagged_or_refused_as_the_version_says(pots: Pots) -> None:
    enter(low_mc=30_000, high_mc=90_000)
    assert any("was fitted from 30.0 °C to 90.0 °C" in text for text in body_of(pots.infusion())["cautions"])
    enter(low_mc=30_000, high_mc=90_000, strict=True)
    with pytest.raises(Refused) as caught:
        pots.infusion()
    assert [reason.code for reason in caught.value.reasons] == ["kinetics.refused_outside"]
    assert body_of(pots.infusion(minutes=30))["stop_us"] == pots.at(30), "a gel cup of one's own still sets a stop time"


def test_a_data_sheet_out_of_the_laws_reach_is_said_and_not_guessed_around(pots: Pots) -> None:
    Recipe.objects.filter(code="INF").update(pot_us=MINUTE_US // 10**6)
    with pytest.raises(Refused) as caught:
        pots.infusion()
    assert [reason.code for reason in caught.value.reasons] == ["gel.anchor"]


def test_without_a_temperature_nobody_can_tell(pots: Pots) -> None:
    with pytest.raises(Refused) as caught:
        pots.infusion(temperature="")
    assert "pot.temperature_missing" in [reason.code for reason in caught.value.reasons]


def test_a_pot_that_is_over_before_it_is_ready_says_so(pots: Pots) -> None:
    Recipe.objects.filter(code="INF").update(ready_us=150 * MINUTE_US)
    body = body_of(pots.infusion())
    assert body["ready_us"] == 150 * MINUTE_US and any("over before it is ready" in text for text in body["cautions"])


def test_the_curve_over_temperatures_is_that_of_the_same_method(pots: Pots) -> None:
    pots.infusion()
    row = Outbox.objects.get(topic="pot_curve")
    draw_pot_curve(row, pots.at(1))
    points = {at: low for at, low, _ in json.loads(PotCurve.objects.get().points)}
    assert len(points) == 21 and points[21_000] == body_of(pots.store["P-1"].code)["low_us"]
    assert list(points.values()) == sorted(points.values(), reverse=True)


# --- gels teach ----------------------------------------------------------------------------------


def test_slow_gels_teach_the_next_pot_and_its_record_names_them(pots: Pots) -> None:
    before = estimate(system(pots), Batch(1_300 * 10**6, 21_000, 300_000)).window
    records = [pots.seen(minutes, day) for day, minutes in ((-5, 200), (-4, 210), (-3, 190))]
    body = body_of(pots.infusion())
    assert before is not None and body["low_us"] > 1.15 * before.low_us
    assert body["gels"] == records and body["gels_factor_ppm"] > 1_200_000
    assert body["method"].endswith("taught by 3 own gels")


def test_gels_that_happened_later_teach_nothing_earlier(pots: Pots) -> None:
    pots.seen(200, -5)
    pots.seen(200, -3)
    assert len(system(pots).taught.rests_on) == 2
    assert len(system(pots, before_us=pots.at(day=-4)).taught.rests_on) == 1
    assert system(pots, "LAM").taught.rests_on == []


def test_a_voided_gel_takes_its_lesson_back(pots: Pots) -> None:
    one = pots.seen(200, -5)
    alone = system(pots).taught
    two = pots.seen(420, -4)
    assert system(pots).taught.rests_on == [one, two]
    pots.store.do(pots.at(), "Odile", "void", Void(two, "the wrong pot was looked at"))
    assert system(pots).taught == alone


def test_one_pot_that_was_mis_weighed_is_named_and_does_not_wreck_it(pots: Pots) -> None:
    for day in range(-9, -3):
        pots.seen(130 + day % 3, day)
    clean = system(pots).taught
    bad = pots.seen(900, -2)
    taught = system(pots).taught
    assert taught.known.now.factor_ppm == pytest.approx(clean.known.now.factor_ppm, rel=0.05)
    (apart,) = [lesson for lesson in taught.lessons if lesson.apart]
    assert apart.gel.act == bad and "stands apart" in apart.apart and apart.weight_ppm is not None and apart.weight_ppm < 300_000
    assert [lesson.after.gels for lesson in taught.lessons if lesson.after] == [1, 2, 3, 4, 5, 6, 7], "the history is kept"


def test_many_gels_that_agree_narrow_the_range(pots: Pots) -> None:
    wide = estimate(system(pots), Batch(300 * 10**6, 21_000, 300_000)).window
    for day in range(-12, 0):
        pots.seen(133 + day % 2, day)
    narrow = estimate(system(pots), Batch(300 * 10**6, 21_000, 300_000)).window
    assert wide is not None and narrow is not None
    assert narrow.high_us / narrow.low_us < wide.high_us / wide.low_us
    assert system(pots).doubt.rate < 0.2


def test_gels_teach_a_new_version_too(pots: Pots) -> None:
    for day in (-5, -4, -3):
        pots.seen(200, day)
    enter(constants='{"set": "room", "speed": 3}', gel_by="conversion")
    taught = system(pots).taught
    assert len(taught.rests_on) == 3 and taught.known.now.factor_ppm > 1_600_000, "three times as fast was far too fast"


def test_a_slip_of_the_clock_is_named_and_left_out(pots: Pots) -> None:
    pots.seen(1, -5)
    taught = system(pots).taught
    assert taught.rests_on == [] and "fifty times" in taught.lessons[0].apart


def test_early_gels_shorten_a_data_sheets_pot_life_and_late_ones_never_lengthen_its_stop(pots: Pots) -> None:
    for day in (-5, -4, -3):
        pots.seen(24, day, "laminating")
    body = body_of(pots.laminating())
    assert 23 * MINUTE_US < body["low_us"] < 27 * MINUTE_US and body["high_us"] == pytest.approx(34.7 * MINUTE_US, rel=2e-3)
    for day in range(-2, 20):
        pots.seen(60, day, "laminating")
    later = body_of(pots.laminating(pots.at(day=21)))
    assert later["low_us"] == pytest.approx(33.8 * MINUTE_US, rel=2e-3) and later["high_us"] > 50 * MINUTE_US


def test_a_peroxide_system_has_points_and_no_factor(pots: Pots) -> None:
    """Within its own points a pot of its own widens the range; it never lengthens the low end."""
    start = pots.at(day=-2)
    pot = pots.mix("PE", "2000 g", "X", "30 g", start, temperature="20")
    pots.gel(pot, start + 45 * MINUTE_US)
    known = system(pots, "PE")
    assert known.chemistry is None and len(known.core.own) == 1
    window = estimate(known, Batch(2_030 * 10**6, 20_000, 15_000)).window
    assert window is not None and (window.low_us, window.high_us) == (26 * MINUTE_US, 45 * MINUTE_US)
    assert estimate(known, Batch(2_030 * 10**6, 15_000, 15_000)).missing is not None, "15 °C lies outside the points"


def test_it_asks_as_often_for_ten_gels_as_for_two(pots: Pots) -> None:
    recipe = Recipe.objects.select_related("resin", "hardener").get(code="INF")
    counts = []
    for days in ((-20, -19), range(-18, -10)):
        for day in days:
            pots.seen(140, day)
        with CaptureQueriesContext(connection) as caught:
            pot_system(pots.store.site.pk, recipe)
        counts.append(len(caught))
    assert counts[0] == counts[1] <= 4


def test_a_pot_that_stands_apart_becomes_no_gel_point(pots: Pots) -> None:
    for n, minutes in enumerate((27, 26, 27, 25, 26, 240)):
        start = pots.at(day=n - 8)
        pot = pots.mix("PE", "2000 g", "X", "30 g", start, temperature="20")
        pots.gel(pot, start + minutes * MINUTE_US)
    known = system(pots, "PE")
    assert [lesson.gel.observed_us // MINUTE_US for lesson in known.taught.lessons if lesson.apart] == [240]
    assert len(known.core.own) == 5
    window = estimate(known, Batch(2_030 * 10**6, 20_000, 15_000)).window
    assert window is not None and (window.low_us, window.high_us) == (25 * MINUTE_US, 27 * MINUTE_US)
