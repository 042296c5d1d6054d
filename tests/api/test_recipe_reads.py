"""Resin systems and a look before mixing, through REST."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import pytest

from inventory.models import Act
from tests.ledger.bench import Bench
from tests.ledger.pots import Pots

from .client import Machine, body, problem, token_for

pytestmark = pytest.mark.django_db
MIN = 60_000_000


@pytest.fixture
def machine() -> Machine:
    return Machine(token_for(Bench(), "Bram", "read"))


def forecast(machine: Machine, recipe: str, **asked: str) -> Any:
    return machine.get(f"recipes/{recipe}/forecast/?{urlencode(asked)}")


def test_every_system_is_listed_and_one_is_told_whole(machine: Machine) -> None:
    rows = {row["code"]: row for row in body(machine.get("recipes/"))["results"]}
    assert rows["LAM"]["target_ppm"] == 250_000 and rows["INF"]["kinetics_version"] == 1 and rows["PE"]["kinetics_version"] is None
    one = body(machine.get("recipes/lam/"))
    assert one["order"] == ["LAM-A", "SIL", "MB", "LAM-B"]
    assert one["groups"]["computed_ppm"] == 250_000 and one["groups"]["doubts"] == []
    assert one["volume_ppm"][1] == round(250_000 * 1150 / 950)
    assert one["sheet"] == {"pot_us": 25 * MIN, "mass_ug": 500 * 10**6, "temp_mc": 25_000, "method": "data sheet, 25 °C"}
    assert one["kinetics"] == [] and one["gels"] == {"now": None, "lessons": []}
    (version,) = body(machine.get("recipes/INF/"))["kinetics"]
    assert version["heat_j_kg"] == 450_000 and version["fitted_mc"] is None and "published shape" in version["name"]
    assert len(body(machine.get("recipes/PE/"))["gel_points"]) == 12


def test_a_look_tells_window_curve_caution_and_ways_and_records_nothing(machine: Machine) -> None:
    before = Act.objects.count()
    told = body(forecast(machine, "INF", resin="1000 g", temperature="21", vessel="cup", size="12 cm"))
    assert Act.objects.count() == before
    assert told["mass_ug"] == 1_300 * 10**6 and told["ratio_ppm"] == 300_000 and told["vessel"] == {"kind": "cup", "um": 120_000}
    assert [clock["name"] for clock in told["clocks"]] == ["Pot life", "Gel", "Open time on the laminate"]
    ways = {way["name"]: way for way in told["ways"]}
    cup, four, tray = ways["one cup"], ways["4 cups"], ways["tray, 20 × 30 cm"]
    assert told["window"]["low_us"] == cup["low_us"] < four["low_us"]
    assert cup["peak_mc"]["low"] <= cup["peak_mc"]["likely"] <= cup["peak_mc"]["high"]
    assert tray["peak_mc"]["likely"] < cup["peak_mc"]["likely"]
    assert cup["curve"] == sorted(cup["curve"]) and max(mc for _, mc, _ in cup["curve"]) == pytest.approx(
        cup["peak_mc"]["likely"], abs=2000
    )
    assert "pot.will_smoke" in [caution["code"] for caution in told["cautions"]] and told["no_peak"] is None
    pot, gel, laid = told["clocks"]
    assert laid["low_us"] > gel["low_us"] >= pot["low_us"], "thin on the laminate it stays cool, and open longer"


def test_without_kinetics_no_peak_and_no_curve(machine: Machine) -> None:
    told = body(forecast(machine, "LAM", resin="400", hardener="100 g", temperature="21 °C"))
    assert told["window"]["low_us"] / MIN == pytest.approx(33.8, abs=0.05) and "nobody has entered kinetics" in told["no_peak"]
    assert all(way["peak_mc"] is None and way["curve"] == [] for way in told["ways"])
    told = body(forecast(machine, "PE", resin="2000 g", hardener="20 g", temperature="15"))
    assert told["window"] is None and "no point as cold" in told["missing"]


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({}, "resin"),
        ({"resin": "0"}, "resin"),
        ({"resin": "2e12"}, "resin"),
        ({"resin": "9" * 70}, "resin"),
        ({"resin": "400"}, "temperature"),
        ({"resin": "400", "temperature": "900"}, "temperature"),
        ({"resin": "400", "temperature": "21", "hardener": "-5"}, "hardener"),
        ({"resin": "400", "temperature": "21", "others": "x"}, "others"),
        ({"resin": "400", "temperature": "21", "vessel": "bucket"}, "vessel"),
        ({"resin": "400", "temperature": "21", "vessel": "cup", "size": "0"}, "size"),
        ({"resin": "400", "temperature": "21", "vessel": "cup", "size": "\x00"}, "size"),
        ({"resin": "x" * 200}, "resin"),
    ],
)
def test_what_cannot_be_read_is_told_at_its_parameter(machine: Machine, asked: dict[str, str], field: str) -> None:
    found = forecast(machine, "INF", **asked)
    assert found.status_code == 400, found.content
    assert field in str(body(found).get("errors") or body(found))


@pytest.mark.parametrize("resin", ["1 g", "0.01 g", "20 kg", "900 kg"])
@pytest.mark.parametrize("temperature", ["-30", "0", "21", "60", "120"])
def test_no_pot_is_a_fault_or_not_a_number(machine: Machine, resin: str, temperature: str) -> None:
    for vessel, size in (("", ""), ("cup", "9 cm"), ("film", "0.1 mm"), ("own", "0"), ("tray", "2 m²")):
        found = forecast(machine, "INF", resin=resin, temperature=temperature, vessel=vessel, size=size)
        assert found.status_code in (200, 400), found.content
        assert b"NaN" not in found.content and b"Infinity" not in found.content


def test_no_such_recipe_is_404(machine: Machine) -> None:
    for path in ("recipes/NOPE/", "recipes/NOPE/forecast/?resin=1", f"recipes/{'x' * 99}/", "recipes/a%00b/"):
        problem(machine.get(path), 404, "code.unknown")


def test_gels_and_what_they_taught_are_told() -> None:
    pots = Pots()
    record = pots.seen(200, -3)
    bench = Bench.__new__(Bench)
    bench.yard = pots.store.yard
    gels = body(Machine(token_for(bench, "Bram", "read")).get("recipes/INF/"))["gels"]
    (lesson,) = gels["lessons"]
    assert lesson["act"] == record and lesson["observed_us"] == 200 * MIN and lesson["apart"] is None
    assert gels["now"] == lesson["after"] and gels["now"]["gels"] == 1
    low, high = gels["now"]["between_ppm"]
    assert low < gels["now"]["factor_ppm"] < high
