"""A material's certificate values lot by lot, for machines."""

from __future__ import annotations

import pytest

from tests.ledger.bench import Bench
from tests.ledger.test_lot_histories import VALUES, lot

from .client import Machine, body, token_for

pytestmark = pytest.mark.django_db


def test_values_come_lot_by_lot_with_their_rules() -> None:
    bench = Bench()
    machine = Machine(token_for(bench, "Odile", "read"))
    for n, value in enumerate((*VALUES, "640")):
        lot(bench, f"L{n}", value, day=n)
    doc = body(machine.get("materials/gb-600/values/"))
    assert doc["material"] == "GB-600"
    values = next(v for v in doc["values"] if v["name"] == "areal mass")
    assert [row["value"] for row in values["lots"]] == [*(float(v) for v in VALUES), 640.0]
    assert values["lots"][-1]["rules"][0] == {"rule": 1, "text": "beyond three sigmas"} and values["lots"][-1]["sigmas"] > 3
    assert values["chart"]["mean"] == pytest.approx(600.5) and values["chart"]["baseline_lots"] == 10 and values["chart"]["provisional"]
    assert values["newest"]["differs"] is True and values["basis"] is None and values["no_basis"] == "Too little data: 11 of 18 lots."
    other = next(v for v in doc["values"] if v["name"] != "areal mass")
    assert other["lots"] == [] and other["no_chart"] == "Too little data: 0 of 8 lots."


def test_an_unknown_material_is_told() -> None:
    machine = Machine(token_for(Bench(), "Odile", "read"))
    answer = machine.get("materials/nothing/values/")
    assert answer.status_code == 404 and body(answer)["code"] == "code.unknown"
