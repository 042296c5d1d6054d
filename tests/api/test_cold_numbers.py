"""Worksheets of prepreg life: a logger's file, a roll that warms, the dew point; through REST and as pages."""

from __future__ import annotations

import json
import math
from typing import Any

import psychrolib
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from scipy.special import j0, j1

from inventory.core.tlog import MOST_TEXT
from tests.ledger.bench import Bench

from .client import Machine, body, problem, token_for

pytestmark = pytest.mark.django_db
LOG = "Time;T °C\n2026-03-30 00:00;5\n2026-03-30 06:00;5\n2026-03-30 07:00;25\n2026-03-30 12:00;25\n2026-03-31 00:00;5"
ROLL: dict[str, Any] = {
    "outer": "200 mm", "core": "76 mm", "width": "300 mm", "start": -18, "air": 22, "humidity": "45 %", "taken_out": "06:30", "wanted": 15,
    "conductivity": "0.7", "density": 1500, "capacity": 1000, "film": 7,
}  # fmt: skip


@pytest.fixture
def machine() -> Machine:
    return Machine(token_for(Bench(), "Bram", "read"))


def figures(machine: Machine, sheet: str, said: dict[str, Any]) -> dict[str, Any]:
    answer = machine.post(f"numbers/{sheet}/", said)
    assert answer.status_code == 200, answer.content
    return {name: f["value"] for name, f in body(answer)["figures"].items()}


def test_a_log_has_its_mean_kinetic_temperature_by_the_rule_that_is_said(machine: Machine) -> None:
    """19.394165 °C by the trapezoid, 22.281882 by left rectangles (numpy, the pharmacopoeia's formula, ΔH/R 10 000 K)."""
    said = {"log": LOG, "energy": "83.144 kJ/mol", "between": "straight"}
    straight = figures(machine, "temperature-log", said)
    assert straight["mean kinetic temperature"] == pytest.approx(19.394165, abs=2e-4)
    assert figures(machine, "temperature-log", said | {"between": "held"})["mean kinetic temperature"] == pytest.approx(22.281882, abs=2e-4)
    assert straight["mean"] == pytest.approx((6 * 5 + 1 * 15 + 5 * 25 + 12 * 15) / 24)
    more = figures(machine, "temperature-log", said | {"line": "15 °C", "window": "5 h"})
    assert more["time above the line"] == pytest.approx(0.5 + 5 + 6)
    assert more["worst window"] == pytest.approx(25.0, abs=1e-6)


def test_twenty_and_thirty_degrees_for_as_long_are_26_26(machine: Machine) -> None:
    """USP general chapter on mean kinetic temperature, ΔH 83.144 kJ/mol: 26.25989 °C for 20 and 30 °C, each as long."""
    log = "Time;T °C\n2026-03-30 00:00;20\n2026-03-30 06:00;30\n2026-03-30 12:00;30"
    found = figures(machine, "temperature-log", {"log": log, "energy": 83.144, "between": "held"})
    assert found["mean kinetic temperature"] == pytest.approx(26.25989, abs=2e-4)


def test_a_log_that_cannot_be_weighted_is_told_at_its_field(machine: Machine) -> None:
    for change, code, where in (
        ({"log": ""}, "tlog.empty", "log"),
        ({"log": "no\nlog"}, "tlog.no_time", "log"),
        ({"energy": "83.144 J/mol"}, "warmth.energy", "energy"),
        ({"between": "curved"}, "warmth.rule", "between"),
        ({"window": "0 h"}, "window.length", "window"),
        ({"window": "400 h"}, "window.none", "window"),
        ({"line": "warm"}, "temperature.not_a_number", "line"),
        ({"zone": "Nowhere"}, "zone.unknown", "zone"),
        ({"log": "x" * (MOST_TEXT + 1)}, "body.invalid", None),
    ):
        found = problem(
            machine.post("numbers/temperature-log/", {"log": LOG, "energy": "83.144", "between": "straight"} | change), 400, code
        )
        assert where is None or found["where"] == where, found
    problem(machine.post("numbers/temperature-log/", json.dumps({"log": "x" * 13_000_000})), 400, "body.too_large")


def test_a_roll_of_bi_1_warms_by_the_first_term_of_the_series(machine: Machine) -> None:
    """Bi = hR/k = 7·0.1/0.7 = 1: ζ 1.25578, C1 1.20709 (tables of heat transfer); the Bessel functions are scipy's."""
    found = figures(machine, "warm-up", ROLL)
    zeta = 1.25578
    assert found["Biot number"] == pytest.approx(1)
    assert zeta * j1(zeta) / j0(zeta) == pytest.approx(1, abs=1e-4)
    fourier = math.log(1.20709 / ((22 - 15) / (22 + 18))) / zeta**2
    assert found["Fourier number"] == pytest.approx(fourier, rel=1e-4)
    hours = fourier * 0.1**2 / (0.7 / 1500 / 1000) / 3600
    assert found["warm through after"] == pytest.approx(hours, rel=1e-4)
    minutes = 6 * 60 + 30 + math.ceil(hours * 60)
    assert found["may be opened at"] == f"at {minutes // 60:02d}:{minutes % 60:02d}"
    assert found["mass of the roll"] == pytest.approx(1500 * math.pi / 4 * (0.2**2 - 0.076**2) * 0.3)


def test_the_lumped_form_is_taken_only_where_the_roll_is_thin_enough(machine: Machine) -> None:
    problem(machine.post("numbers/warm-up/", ROLL | {"method": "lumped"}), 400, "warmup.not_lumped")
    thin = ROLL | {"outer": "18 mm", "core": "5 mm", "method": "lumped"}  # Bi 0.09
    tau = 1500 * 1000 * 0.018 / 4 / 7  # ρ·cp·V/(h·A) of a long cylinder
    assert figures(machine, "warm-up", thin)["warm through after"] == pytest.approx(tau * math.log(40 / 7) / 3600, rel=1e-6)


def test_what_is_no_roll_is_told_at_its_field(machine: Machine) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    for change, code, where in (
        ({"core": "250 mm"}, "warmup.core", "core"),
        ({"outer": "0"}, "warmup.not_above_zero", "outer"),
        ({"film": "0"}, "warmup.not_above_zero", "film"),
        ({"capacity": "-1"}, "warmup.not_above_zero", "capacity"),
        ({"wanted": 23}, "warmup.order", "wanted"),
        ({"taken_out": "25:00"}, "warmup.clock", "taken_out"),
        ({"humidity": "0"}, "dew.humidity", "humidity"),
        ({"air": "90"}, "dew.temperature", "air"),
        ({"method": "guess"}, "warmup.method", "method"),
    ):
        found = problem(machine.post("numbers/warm-up/", ROLL | change), 400, code)
        assert found["where"] == where, found
    assert figures(machine, "warm-up", ROLL | {"wanted": ""})["warm enough at"] == pytest.approx(
        psychrolib.GetTDewPointFromRelHum(22, 0.45) + 3, abs=0.06
    )


def test_a_dew_point_agrees_with_the_psychrometrics_library(machine: Machine) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    for air, humidity in ((20, 50), (21, 45), (5, 90), (30, 20), (35, 80)):
        found = figures(machine, "dew-point", {"air": air, "humidity": f"{humidity} %"})["dew point"]
        assert found == pytest.approx(psychrolib.GetTDewPointFromRelHum(air, humidity / 100), abs=0.06)
    assert figures(machine, "dew-point", {"air": 20, "humidity": "50 %"})["dew point"] == pytest.approx(9.255, abs=0.03)  # WMO-No. 8, 4.B
    wet = body(machine.post("numbers/dew-point/", {"air": 20, "humidity": "50 %", "surface": 5}))
    assert wet["headline"].startswith("Water settles on this bag")


def test_a_file_is_chosen_on_the_page_in_the_place_of_the_text() -> None:
    bench, client = Bench(), Client()
    client.force_login(bench.yard.user["bram"])
    said = {"energy": "83.144", "between": "straight", "zone": "UTC", "log": ""}

    def sent(data: bytes) -> Any:
        return client.post("/numbers/temperature-log/", said | {"log_file": SimpleUploadedFile("a.csv", data)})

    page = sent(LOG.encode("utf-16"))
    assert page.status_code == 200 and "19.394 °C" in page.content.decode()
    big = sent(b"x" * (MOST_TEXT + 1))
    assert big.status_code == 422 and "the most that is read here" in big.content.decode()
    assert sent(b"\xff\xfe\x00\x00").status_code == 422
    assert client.post("/numbers/temperature-log/", said).status_code == 422, "neither"
    assert client.post("/numbers/temperature-log/", said | {"log": LOG}).status_code == 200
