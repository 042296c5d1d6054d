"""The worksheets of cure, through REST."""

from __future__ import annotations

import pytest

from tests.ledger.bench import Bench

from .client import Machine, body, token_for

pytestmark = pytest.mark.django_db
CYCLE = "0 min; 20 °C\n45 min; 110 °C\n105 min; 110 °C\n140 min; 180 °C\n260 min; 180 °C"


@pytest.fixture
def machine() -> Machine:
    return Machine(token_for(Bench(), "Bram", "read"))


def test_the_degree_of_cure_along_published_cycles(machine: Machine) -> None:
    """From the constants of Johnston's form that three public files repeat: this cycle ends at 0.8264, 177 °C for 30 min at 0.5548."""
    doc = body(machine.post("numbers/cure/", {"schedule": CYCLE, "system": "prepreg", "conversion": "80 %"}))
    assert doc["figures"]["degree of cure at the end"]["value"] == pytest.approx(0.8264, abs=2e-4)
    assert 140 < doc["figures"]["reaches 80 % after"]["value"] < 260
    doc = body(machine.post("numbers/cure/", {"schedule": "0 min; 177 °C\n30 min; 177 °C", "system": "prepreg", "conversion": "60 %"}))
    assert doc["figures"]["degree of cure at the end"]["value"] == pytest.approx(0.5548, abs=2e-4)
    assert doc["figures"]["reaches 60 % after"]["text"] == "never here"
    assert "fitted" in " ".join(doc["cautions"])


def test_the_time_to_a_conversion_of_own_constants_is_the_closed_form(machine: Machine) -> None:
    """nth order, exact: t = ((1 − α)^(1 − n) − 1)/((n − 1)·k); n 1.5, k 1e-3/s, α 0.84 takes 3 000 s."""
    own = {"system": "own", "form": "nth order", "constants": '{"a": 0.001, "e": 0, "n": 1.5}', "conversion": "84 %"}
    doc = body(machine.post("numbers/cure/", {"schedule": "0 h; 80 °C\n2 h; 80 °C", **own}))
    assert doc["figures"]["reaches 84 % after"]["value"] == pytest.approx(50, abs=0.01)


def test_a_glass_temperature_follows_and_says_when_it_overtakes_the_part(machine: Machine) -> None:
    glass = {"glass_uncured": "60 °C", "glass_cured": "220 °C", "glass_lambda": "1"}
    doc = body(machine.post("numbers/cure/", {"schedule": "0 h; 110 °C\n8 h; 110 °C", "system": "prepreg", "conversion": "50 %", **glass}))
    assert doc["figures"]["glass temperature at the end"]["value"] > 110
    assert doc["figures"]["turns to glass after"]["value"] > 0


@pytest.mark.parametrize(
    ("figures", "code", "where"),
    [
        ({"schedule": "0 min; 20 °C"}, "cure.schedule", "schedule"),
        ({"schedule": "0 min; 20 °C\n0 min; 30 °C"}, "cure.schedule", "schedule"),
        ({"schedule": "0 min; 20 °C\n9000 h; 30 °C"}, "cure.schedule", "schedule"),
        ({"schedule": "0 min; 20 °C\n30 min; 900 °C"}, "kinetics.temperature", "schedule"),
        ({"system": "butter"}, "worksheet.choice", "system"),
        ({"system": "own", "form": "guess", "constants": "{}"}, "kinetics.form", "form"),
        ({"system": "own", "form": "nth order", "constants": "{}"}, "kinetics.text", "constants"),
        ({"conversion": "100 %"}, "kinetics.conversion", "conversion"),
        ({"start": "0 %"}, "kinetics.needs_seed", "start"),
        ({"glass_cured": "200 °C"}, "worksheet.needed", "glass_uncured"),
        ({"glass_uncured": "200 °C", "glass_cured": "100 °C", "glass_lambda": "0.4"}, "kinetics.glass", "glass_cured"),
    ],
)
def test_what_cannot_be_computed_is_told_at_its_field(machine: Machine, figures: dict[str, str], code: str, where: str) -> None:
    answer = machine.post("numbers/cure/", {"schedule": CYCLE, "system": "prepreg", "conversion": "80 %"} | figures)
    found = body(answer)
    assert (answer.status_code, found["code"], found["where"]) == (400, code, where)


RECIPE = "ramp 1 to 3 °C/min over 5 min\ndwell 180 −0/+5 °C for 120 −0/+30 min\ncool at most 2 °C/min to 70 °C"


def chart(hold: float) -> str:
    top = 10 + (hold - 20) / 2
    rows = ["Time,TC1 (C),TC2 (C)"]
    for m in range(331):
        y = min(20 + max(m - 10, 0) * 2.0, hold, hold - (m - top - 130) * 1.5)
        rows.append(f"2026-03-30 {m // 60:02d}:{m % 60:02d},{y:.2f},{max(y - 0.0, 20):.2f}")
    return "\n".join(rows)


@pytest.mark.parametrize(("hold", "verdict"), [(179.99, "fails"), (180.0, "passes"), (185.0, "passes"), (185.01, "fails")])
def test_a_chart_against_a_recipe_as_typed(machine: Machine, hold: float, verdict: str) -> None:
    """A material characterization report for an out-of-autoclave prepreg, 2009: 180 −0/+5 °C, so 179.99 fails and 185.00 passes."""
    doc = body(machine.post("numbers/cure-chart/", {"chart": chart(hold), "recipe": RECIPE}))
    assert doc["figures"]["verdict"]["value"] == verdict
    (stages, *offences) = doc["tables"]
    assert [row[0] for row in stages["rows"]] == ["ramp", "dwell", "cool"]
    assert bool(offences) == (verdict == "fails")
    if verdict == "passes":
        assert doc["figures"]["heating began"]["value"] == "2026-03-30T00:11:00+00:00"


def test_a_slip_in_chart_or_recipe_is_told_at_its_field(machine: Machine) -> None:
    for figures, code, where in (
        ({"chart": "no chart", "recipe": RECIPE}, "tlog.no_time", "chart"),
        ({"chart": chart(182), "recipe": "dwell 180 °C for 2 h"}, "recipe.line", "recipe"),
        ({"chart": chart(182), "recipe": RECIPE, "columns": "TC9"}, "tlog.unknown_probe", "columns"),
        ({"chart": chart(182), "recipe": RECIPE, "zone": "Mars/Base"}, "zone.unknown", "zone"),
        ({"chart": chart(182).replace("(C)", ""), "recipe": RECIPE}, "tlog.no_unit", "unit"),
    ):
        answer = machine.post("numbers/cure-chart/", figures)
        found = body(answer)
        assert (answer.status_code, found["code"], found["where"]) == (400, code, where), figures.keys()
