"""Worksheets through REST."""

from __future__ import annotations

from typing import Any

import pytest

from tests.ledger.bench import Bench

from .client import Machine, body, token_for

pytestmark = pytest.mark.django_db
KAW: dict[str, Any] = {"layup": "[0/90/0]", "thickness": "5 mm", "e1": "181 GPa", "e2": 10.3, "g12": 7.17, "nu12": 0.28}


@pytest.fixture
def machine() -> Machine:
    return Machine(token_for(Bench(), "Bram", "read"))


def test_a_laminate_comes_with_its_numbers(machine: Machine) -> None:
    """Kaw's courseware: A11 1.870e9, A12 4.345e7, A22 1.013e9, A66 1.076e8 Pa·m."""
    answer = machine.post("numbers/laminate/", KAW)
    assert answer.status_code == 200
    doc = body(answer)
    assert doc["headline"] == "[0/90~]s: orthotropic in plane, symmetric, balanced."
    assert doc["figures"]["thickness"]["value"] == pytest.approx(15)
    entries = {row[0]: row[1] for row in doc["tables"][0]["rows"]}
    assert [entries[name] for name in ("A11", "A12", "A22", "A66")] == pytest.approx([1.870e9, 4.345e7, 1.013e9, 1.076e8], rel=5e-4)


def test_a_chart_says_what_is_out_and_a_basis_value_what_it_rests_on(machine: Machine) -> None:
    doc = body(machine.post("numbers/control-chart/", {"values": "10 11 9 10 12 8 11 9 10 10 30", "baseline": 10}))
    assert doc["headline"].startswith("Not in control. Value 11: beyond three sigmas")
    assert "provisional" in " ".join(doc["notes"]) and doc["figures"]["mean"]["value"] == 10
    doc = body(machine.post("numbers/basis-value/", {"values": "1 2 3 4 5 6 7 8 9 10", "kind": "b"}))
    assert doc["figures"]["k"]["value"] == pytest.approx(2.355, abs=2e-3) and "fewer than the 18" in " ".join(doc["notes"])
    for sheet, figures, code in (
        ("control-chart", {"values": "1 2 3", "baseline": "20"}, "chart.too_few"),
        ("control-chart", {"values": "1 2 x", "baseline": "20"}, "quantity.not_a_number"),
        ("control-chart", {"values": "1 2", "baseline": "many"}, "quantity.whole"),
        ("basis-value", {"values": "1 2", "kind": "B"}, "basis.too_few"),
        ("basis-value", {"values": "1 2 3 kg", "kind": "B"}, "quantity.not_a_number"),
        ("basis-value", {"values": "1 2 3kg", "kind": "B"}, "quantity.unit"),
    ):
        answer = machine.post(f"numbers/{sheet}/", figures)
        assert (answer.status_code, body(answer)["code"]) == (400, code)


def test_an_infusion_with_a_constant_viscosity_fills_by_darcys_law(machine: Machine) -> None:
    """t = φμL²/(2KΔP): 0.5, 0.1 Pa·s, 1 m, 1e-10 m², 1e5 Pa give 2 500 s (exact)."""
    panel = {"length": "1 m", "width": "0.5 m", "permeability": "1e-10 m²", "fibre_volume": "50 %", "pressure": "1000 mbar"}
    resin = {"viscosity": "0.1 Pa·s", "doubles": "1e9 min", "starts": "0 min", "stops": "100 min"}
    doc = body(machine.post("numbers/infusion/", panel | resin))
    ways = {row[0]: row[1] for row in doc["tables"][0]["rows"]}
    assert ways["runner along a short edge"] == pytest.approx(2500 / 60, abs=2e-3)
    assert ways["runner along a long edge"] == pytest.approx(2500 / 4 / 60, abs=2e-3)
    for change, code in (
        ({"permeability": "0"}, "infusion.not_above_zero"),
        ({"fibre_volume": "120 %"}, "infusion.porosity"),
        ({"stops": "0"}, "infusion.no_time"),
        ({"doubles": "0"}, "infusion.viscosity"),
        ({"pressure": "5000 bar"}, "infusion.pressure"),
    ):
        answer = machine.post("numbers/infusion/", panel | resin | change)
        assert (answer.status_code, body(answer)["code"]) == (400, code)
        assert body(answer)["where"] in (*panel, *resin)


POT: dict[str, Any] = {"system": "room", "mass": "500 g", "resin": 25, "room": 25, "diameter": "90 mm", "gel": "57.7 %"}


def test_a_pot_anchored_to_its_data_sheet_gels_when_the_sheet_says(machine: Machine) -> None:
    """And splitting it or pouring it out flat never makes it hotter (the same resin, more surface for its mass)."""
    sheet = {"sheet_life": "25 min", "sheet_mass": "500 g", "sheet_temperature": "25 °C"}
    doc = body(machine.post("numbers/pot/", POT | sheet))
    assert doc["figures"]["gels, likely"]["value"] == pytest.approx(25, rel=1e-3)
    assert doc["figures"]["use until"]["value"] < 25
    peaks = [row[2] for row in doc["tables"][0]["rows"]]
    assert peaks[0] >= peaks[1] >= peaks[2] and peaks[0] >= peaks[3]
    assert any("smoke" in text for text in doc["cautions"])


def test_without_a_heat_of_reaction_no_temperature_is_told(machine: Machine) -> None:
    """The infusion epoxy's time to a conversion of 0.577 at 25 °C is 13.50 h (computed from its published constants)."""
    doc = body(machine.post("numbers/pot/", POT | {"system": "infusion"}))
    assert "peak" not in doc["figures"] and doc["charts"] == []
    assert doc["figures"]["gels, likely"]["value"] / 60 == pytest.approx(13.50, abs=0.01)


@pytest.mark.parametrize(
    ("change", "code", "where"),
    [
        ({"system": "glue"}, "worksheet.choice", "system"),
        ({"mass": "0 g"}, "pot.vessel", None),
        ({"resin": "21 K"}, "temperature.unknown_unit", "resin"),
        ({"gel": "0 %"}, "kinetics.conversion", "gel"),
        ({"gel": "100 %"}, "kinetics.conversion", "gel"),
        ({"diameter": "0"}, None, None),
        ({"sheet_life": "25 min"}, "worksheet.needed", "sheet_mass"),
        ({"resin": "-300"}, "temperature.out_of_range", "resin"),
    ],
)
def test_what_is_no_pot_is_refused(machine: Machine, change: dict[str, Any], code: str | None, where: str | None) -> None:
    answer = machine.post("numbers/pot/", POT | change)
    assert answer.status_code == 400
    assert (code is None or body(answer)["code"] == code) and (where is None or body(answer)["where"] == where)


@pytest.mark.parametrize(
    ("change", "code", "where"),
    [
        ({"layup": "[0//90]"}, "layup.unreadable", "layup"),
        ({"layup": ""}, "layup.empty", "layup"),
        ({"e1": ""}, "quantity.empty", "e1"),
        ({"e1": "181 kg"}, "quantity.unit", "e1"),
        ({"nu12": 5}, "stiffness.poisson", "nu12"),
        ({"thickness": -1}, "stiffness.thickness", "thickness"),
        ({"layup": "[mat]"}, "worksheet.needed", "mat_e"),
        ({"e1": True}, "request.invalid", None),
        ({"unknown": "1"}, "request.invalid", None),
    ],
)
def test_what_cannot_be_computed_is_named(machine: Machine, change: dict[str, Any], code: str, where: str | None) -> None:
    answer = machine.post("numbers/laminate/", KAW | change)
    assert answer.status_code == 400
    doc = body(answer)
    assert (doc["code"] == code and doc.get("where") == where) or where is None
