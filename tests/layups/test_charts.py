"""The chart of a run is handed in, judged, kept, and bites where it does not pass."""

from __future__ import annotations

import json
from typing import Any

import pytest

from inventory import attachments
from inventory.models import Act, Attachment, Finding, Kinetics, Leg, Nonconformance
from inventory.recording.rebuild import rebuild
from inventory.verbs.deciding import Dispose
from inventory.verbs.voiding import Void
from layups.core.cure import FAILS, PASSES, UNKNOWN
from layups.demo.curves import Corner, chart_csv, cycle
from layups.models import CureChart as Row
from layups.models import CureRecipe, Design
from layups.reads import charts
from layups.verbs.charting import ChartColumn, CureChart
from layups.verbs.curing import CureLoad, CureOff, CureOn
from layups.verbs.joining import Join
from layups.verbs.shipping import Ship

from .day import Day, codes, new_day
from .jobs import tiller

pytestmark = pytest.mark.django_db
MIN = 60_000_000
TEXT = "room 20 °C\nramp 1 to 3 °C/min over 5 min\ndwell 118 −0/+6 °C for 60 −0/+20 min\ncool at most 2 °C/min to 60 °C"


@pytest.fixture
def day() -> Day:
    day = new_day()
    recipe = CureRecipe.objects.create(code="OVEN-120", version=1, name="oven, 120 °C", text=TEXT)
    Design.objects.filter(code="TIL").update(cure_recipe=recipe)
    return day


def run(day: Day, *numbers: str, cr: str = "CR-9", on: str = "08:10") -> None:
    """Loaded at 08:00, heating said to begin at 08:10, done at 11:00."""
    for n, number in enumerate(numbers or ("TIL-020",)):
        tiller(day, number, f"07:0{n}")
        day.do(day.at("08:00"), "cure_load", CureLoad(cr, "OV2", number))
    day.do(day.at(on), "cure_on", CureOn(cr))
    day.do(day.at("11:00"), "cure_off", CureOff(cr, place="FIN"))


GOOD = {"TC1": cycle(121, 65), "TC2": cycle(119, 64, lag=3)}
COLD = {"TC1": cycle(121, 65), "TC2": cycle(117, 64, lag=3)}


def kept(day: Day, columns: dict[str, list[Corner]], **more: Any) -> str:
    text = more.pop("text", None) or chart_csv(day.at("08:00"), "Europe/Copenhagen", columns, **more)
    return attachments.keep([text.encode()], "run.csv", day.yard.who("Odile"), day.at("12:00")).sha256


def hand_in(day: Day, lines: dict[str, list[Corner]], clock: str = "12:00", cr: str = "CR-9", **more: Any) -> Any:
    return day.do(day.at(clock), "cure_chart", CureChart(kept(day, lines), cr, **more), "Odile")


def findings() -> list[str]:
    return [f.code.split("/")[0] for f in Finding.objects.filter(closed_us=None).order_by("pk")]


def test_a_chart_that_passes_is_kept_with_its_file_and_its_verdict_by_stage_and_thermocouple(day: Day) -> None:
    run(day, "TIL-020", "TIL-021")
    out = hand_in(day, GOOD)
    assert out.data["parts"] == {"TIL-020": PASSES, "TIL-021": PASSES}
    assert (out.data["verdict"], out.reasons, findings()) == (PASSES, [], [])
    act = Act.objects.get(kind="chart")
    body = json.loads(act.body)
    assert body["file"] == [Attachment.objects.get().sha256, "run.csv"]
    assert body["run"] == "CR-9"
    doc = json.loads(Leg.objects.get(act=act, item__part__number="TIL-021").body)["chart"]
    assert [(s["name"], s["verdict"], s["each"]) for s in doc["stages"]] == [
        (name, PASSES, {"TC1 °C": PASSES, "TC2 °C": PASSES}) for name in ("ramp", "dwell", "cool")
    ]
    assert doc["recipe"] == ["OVEN-120", 1, TEXT]
    # Lagging: heats from minute 13, two kelvins above the hall a minute later.
    assert doc["heated_us"] == pytest.approx(day.at("08:14"), abs=5_000_000)
    assert rebuild(day.yard.site, day.at("13:00")).differences == []


def test_a_chart_that_fails_stops_shipping_and_building_in_until_quality_has_decided(day: Day) -> None:
    run(day)
    out = hand_in(day, COLD)
    assert "TC2 °C came to 117 °C only" in out.text
    assert findings() == ["chart.failed"]
    case = Nonconformance.objects.get()
    assert (case.code, case.cause.part.number) == ("chart", "TIL-020")
    assert "finding.open" in codes(day.refused(day.at("13:00"), "ship", Ship("TIL-020", "P-03"), "Ines"))
    day.start(day.at("12:30"), "DIN", "DIN-900", "FIN")
    assert codes(day.refused(day.at("13:00"), "join", Join("TIL-020", "DIN-900"))) == ["finding.open"]
    day.do(day.at("13:10"), "dispose", Dispose("TIL-020", "use_as_is", "letter 7 of the design authority"), "Odile")
    assert findings() == []
    assert day.do(day.at("13:20"), "join", Join("TIL-020", "DIN-900")).text


def test_a_part_whose_design_asks_for_a_chart_does_not_go_out_without_one(day: Day) -> None:
    run(day)
    refused = codes(day.refused(day.at("13:00"), "ship", Ship("TIL-020", "P-03"), "Ines"))
    assert "chart.missing" in refused
    hand_in(day, GOOD)
    assert day.do(day.at("13:00"), "ship", Ship("TIL-020", "P-03"), "Ines").text


def test_the_newest_chart_that_is_not_void_counts_and_both_are_kept(day: Day) -> None:
    run(day)
    bad = hand_in(day, COLD)
    good = hand_in(day, GOOD, "12:10")
    assert (findings(), Row.objects.count()) == ([], 2)
    part = Row.objects.all()[0].part
    (newest,) = charts.newest_of([part.pk])[part.pk].values()
    assert newest.verdict == PASSES
    day.do(day.at("12:20"), "void", Void(good.data["record"], "the wrong file"), "Odile")
    assert findings() == ["chart.failed"]
    third = hand_in(day, {"TC1": cycle(127, 65)}, "12:30")
    assert Finding.objects.filter(closed_us=None).get().leg.act_id == third.data["record"]
    day.do(day.at("12:40"), "void", Void(third.data["record"], "another run's"), "Odile")
    assert Finding.objects.filter(closed_us=None).get().leg.act_id == bad.data["record"]
    assert rebuild(day.yard.site, day.at("12:45")).differences == []
    day.do(day.at("12:50"), "void", Void(bad.data["record"], "another run's too"), "Odile")
    assert findings() == []
    assert charts.newest_of([part.pk]) == {}


def test_what_quality_decided_stays_decided_when_a_later_chart_is_voided(day: Day) -> None:
    run(day)
    hand_in(day, COLD)
    day.do(day.at("12:05"), "dispose", Dispose("TIL-020", "use_as_is", "letter 7"), "Odile")
    good = hand_in(day, GOOD, "12:10")
    day.do(day.at("12:20"), "void", Void(good.data["record"], "the wrong file"), "Odile")
    assert findings() == []


def test_a_void_in_the_middle_changes_nothing(day: Day) -> None:
    run(day)
    bad, good = hand_in(day, COLD), hand_in(day, GOOD, "12:10")
    hand_in(day, GOOD, "12:15")
    day.do(day.at("12:20"), "void", Void(good.data["record"], "a copy"), "Odile")
    day.do(day.at("12:21"), "void", Void(bad.data["record"], "another run's"), "Odile")
    assert findings() == []


def test_a_gap_is_cannot_tell_and_is_for_quality_as_well(day: Day) -> None:
    run(day)
    lines = chart_csv(day.at("08:00"), "Europe/Copenhagen", GOOD).splitlines()
    sha = kept(day, {}, text="\n".join(lines[:80] + lines[100:]))
    out = day.do(day.at("12:00"), "cure_chart", CureChart(sha, "CR-9"), "Odile")
    assert out.data["verdict"] == UNKNOWN
    assert findings() == ["chart.cannot_tell"]


def test_each_part_is_judged_by_its_own_thermocouples(day: Day) -> None:
    run(day, "TIL-020", "TIL-021")
    columns = (ChartColumn("TC1 °C", "TIL-020"), ChartColumn("tc2 °c", "TIL-021"))
    out = hand_in(day, COLD, columns=columns)
    assert out.data["parts"] == {"TIL-020": PASSES, "TIL-021": FAILS}
    (finding,) = Finding.objects.filter(closed_us=None)
    assert finding.item.part.number == "TIL-021"
    assert hand_in(day, COLD, "12:10", columns=(columns[0],)).data["parts"] == {"TIL-020": PASSES, "TIL-021": UNKNOWN}
    wrong = CureChart(kept(day, COLD), "CR-9", columns=(ChartColumn("TC1 °C", "TIL-099"),))
    assert day.bad(day.at("12:20"), "cure_chart", wrong, "Odile") == "chart.other_part"


def test_a_thermocouple_past_its_calibration_is_no_evidence(day: Day) -> None:
    run(day)
    good = ChartColumn("TC1 °C", calibrated="2026-12-31")
    out = hand_in(day, COLD, columns=(good, ChartColumn("TC2 °C", calibrated="2026-03-29")))
    assert out.data["verdict"] == PASSES
    assert json.loads(Act.objects.get(kind="chart").body)["uncalibrated"] == [["TC2 °C", "2026-03-29"]]
    # The last day counts through that day.
    assert hand_in(day, COLD, "12:10", columns=(good, ChartColumn("TC2 °C", calibrated="2026-03-30"))).data["verdict"] == FAILS
    none = hand_in(day, GOOD, "12:20", columns=(ChartColumn("TC1 °C", calibrated="2026-02"),))
    assert none.data["verdict"] == UNKNOWN
    assert "No thermocouple" in none.text


def test_a_file_that_is_of_another_day_or_no_chart_is_refused_in_words_and_nothing_is_kept(day: Day) -> None:
    run(day)
    acts = Act.objects.count()

    def bad(text: str, **more: Any) -> str:
        return day.bad(day.at("12:00"), "cure_chart", CureChart(kept(day, {}, text=text), "CR-9", **more), "Odile")

    text = chart_csv(day.at("08:00"), "Europe/Copenhagen", GOOD)
    assert bad(chart_csv(day.at("08:00", -40), "Europe/Copenhagen", GOOD)) == "tlog.other_time"
    assert bad("hello, this is no chart") == "tlog.no_time"
    assert bad(text, zone="Mars/Olympus") == "zone.unknown"
    assert bad(text, columns=(ChartColumn("TC9"),)) == "tlog.unknown_probe"
    assert bad(text, dates="both") == "chart.dates"
    assert (
        bad(
            text.replace(" °C", ""),
        )
        == "tlog.no_unit"
    )
    assert day.bad(day.at("12:00"), "cure_chart", CureChart("0" * 64, "CR-9"), "Odile") == "attachment.unknown"
    assert day.bad(day.at("12:00"), "cure_chart", CureChart("", "CR-9"), "Odile") == "chart.needed"
    assert day.bad(day.at("12:00"), "cure_chart", CureChart(kept(day, GOOD)), "Odile") == "run.needed"
    assert day.bad(day.at("12:00"), "cure_chart", CureChart(kept(day, GOOD), "CR-1"), "Odile") == "run.unknown"
    assert (Act.objects.count(), Row.objects.count()) == (acts, 0)
    assert day.do(day.at("12:00"), "cure_chart", CureChart(kept(day, {}, text=text.replace(" °C", "")), "CR-9", unit="C"), "Odile")


def test_fahrenheit_and_elapsed_seconds_are_read_as_they_are_said(day: Day) -> None:
    run(day)
    rows = ["Time (s);TC1 (F)"]
    good = chart_csv(day.at("08:00"), "UTC", {"TC1": cycle(121, 65)}).splitlines()[1:]
    rows += [f"{n * 60};{float(line.split(';')[1]) * 1.8 + 32:.2f}" for n, line in enumerate(good)]
    sha = kept(day, {}, text="\n".join(rows))
    assert day.do(day.at("12:00"), "cure_chart", CureChart(sha, "CR-9", begins="2026-03-30 08:00"), "Odile").data["verdict"] == PASSES
    assert day.bad(day.at("12:00"), "cure_chart", CureChart(sha, "CR-9", begins="this morning"), "Odile") == "chart.begins"


def test_a_cure_outside_of_a_run_is_charted_by_its_parts_and_a_design_without_recipe_says_so(day: Day) -> None:
    tiller(day)
    day.do(day.at("08:10"), "cure_on", CureOn(parts=("TIL-020",)))
    day.do(day.at("11:00"), "cure_off", CureOff(parts=("TIL-020",)))
    out = day.do(day.at("12:00"), "cure_chart", CureChart(kept(day, GOOD), parts=("TIL-020",)), "Odile")
    assert out.data["parts"] == {"TIL-020": PASSES}
    Design.objects.filter(code="TIL").update(cure_recipe=None)
    again = CureChart(kept(day, GOOD), parts=("TIL-020",))
    assert day.bad(day.at("12:10"), "cure_chart", again, "Odile") == "chart.no_recipe"


def test_the_same_chart_sent_twice_counts_once_whatever_became_of_the_design(day: Day) -> None:
    run(day)
    key, said = day.key(), CureChart(kept(day, COLD), "CR-9")
    first = day.do(day.at("12:00"), "cure_chart", said, "Odile", key=key)
    Design.objects.filter(code="TIL").update(cure_recipe=None)
    again = day.do(day.at("12:01"), "cure_chart", said, "Odile", key=key)
    assert again.replay
    assert (again.data, again.text) == (first.data, first.text)
    assert Row.objects.count() == 1


def test_a_start_that_the_chart_puts_elsewhere_is_told_and_put_right_by_a_void_and_a_record_told_late(day: Day) -> None:
    """R11: the recorded start is 08:10, by the chart the lagging one begins to heat at 08:14; out time ran until then."""
    run(day)
    out = hand_in(day, GOOD)
    (row,) = Row.objects.select_related("part__item")
    parts, docs = [row.part], {row.part_id: charts.verdicts_of([row])[(out.data["record"], row.part_id)]}
    (found,) = charts.differing(parts, docs, "CR-9")
    assert found.start is not None and found.start.happened_us == day.at("08:10")
    assert found.later_us == pytest.approx(4 * MIN, abs=5_000_000)
    day.do(day.at("12:30"), "void", Void(found.start.pk, "by the chart it began at 08:14"), "Odile")
    assert charts.differing(parts, docs, "CR-9")[0].start is None
    day.do(day.at("12:31"), "cure_on", CureOn("CR-9", ("TIL-020",)), "Odile", happened=found.chart_us)
    assert charts.differing(parts, docs, "CR-9") == []
    state = json.loads(row.part.item.state.__class__.objects.get(pk=row.part_id).doc)
    assert state["cured"] == day.at("11:00")
    assert "curing" not in state
    assert rebuild(day.yard.site, day.at("13:00")).differences == []


def test_the_degree_of_cure_stands_beside_the_verdict_where_kinetics_are_known(day: Day) -> None:
    run(day)
    out = hand_in(day, GOOD)
    (row,) = Row.objects.all()
    doc = charts.verdicts_of([row])[(out.data["record"], row.part_id)]
    if "none" in doc["cured"]:
        assert "PP-T" in doc["cured"]["none"]
    Kinetics.objects.create(
        material=day.yard.material["PP-T"], version=9, name="shape of a prepreg", source="a paper", form="published",
        constants='{"set": "prepreg"}', seed_ppm=10_000, gel_ppm=577_000, tg0_mc=0, tg1_mc=190_000, lambda_ppm=400_000,
    )  # fmt: skip
    out = hand_in(day, GOOD, "12:10")
    row = Row.objects.get(act=out.data["record"])
    cured = charts.verdicts_of([row])[(out.data["record"], row.part_id)]["cured"]
    assert cured["of"] == "PP-T" and cured["by"] == "shape of a prepreg"
    assert 0 < cured["lagging"]["ppm"] < cured["leading"]["ppm"] < 1_000_000
    assert 0 < cured["lagging"]["glass_mc"] < cured["leading"]["glass_mc"] < 190_000
    assert any("fitted" in text for text in cured["reasons"])
