"""Designs through REST."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.ledger.bench import Bench, clock

from .client import Machine, body, token_for

pytestmark = pytest.mark.django_db


def test_machines_read_the_same() -> None:
    machine = Machine(token_for(Bench(), "Bram", "read"))
    rows = {row["code"]: row for row in body(machine.get("designs/"))["results"]}
    assert rows["DIN"]["layup"] == "[mat_2:CSM-300]" and rows["DIN"]["in_plane"] == "isotropic"
    one = body(machine.get("designs/CAN/"))
    assert one["laminate"]["symmetric"] is False and one["laminate"]["balanced"] is True
    assert [ply["form"] for ply in one["laminate"]["plies"]] == ["fabric", "fabric", "core", "fabric"]
    assert one["schedule"][1]["angle"] == 45 and one["schedule"][1]["amount"] == "5.10 m"
    figures = one["numbers"]["figures"]
    assert one["numbers"]["missing"] == [] and figures["weight, core"]["value"] == pytest.approx(800)
    assert figures["thickness"]["value"] == pytest.approx(10 + 3 * 602 / (2_600 * 0.48), rel=1e-6)
    ways = one["infusion"]["ways"]
    assert ways[0]["fills"] and ways[0]["needs_us"] < ways[0]["have_us"] and ways[-1]["needs_us"] is None
    assert body(machine.get("designs/HAP/"))["numbers"] is None, "a core alone is no laminate"
    missing = machine.get("designs/NOPE/")
    assert missing.status_code == 404 and body(missing)["code"] == "code.unknown"


def test_a_demand_comes_with_what_to_fetch_to_miss_and_to_buy(set_clock: Callable[[int], None]) -> None:
    set_clock(clock("08:00"))
    bench = Bench()
    bench.roll("G7-1", at=clock("06:00"))
    machine = Machine(token_for(bench, "Bram", "read"))
    doc = body(machine.get("designs/CAN/demand/?parts=2&cure=2026-04-01T17:00:00%2B02:00"))
    glass = next(row for row in doc["materials"] if row["material"] == "GB-600")
    assert glass["needed"] == {"value": 30_600_000, "unit": "um", "text": "30.60 m"}
    assert glass["pieces"] == [{"length": {"value": 5_100_000, "unit": "um", "text": "5.10 m"}, "count": 6}]
    assert glass["lines"][0]["yield_ppm"] == round(5.70 / (5.10 * 1.25) * 1_000_000)
    assert not glass["fetch"] and glass["passed_over"][0]["reasons"], "it waits for release"
    assert doc["mixes_of_one_part"][1]["computed"]["value"] < doc["mixes_of_one_part"][1]["mixed"]["value"] == 14_413_000_000
    assert doc["weight_of_one_part"]["fibre"]["value"] == 3 * 570 * 602_000 * 10
    sheet = machine.get("designs/CAN/demand/?format=csv").content.decode().splitlines()
    assert sheet[0] == "material,unit,needed,from_stock,fetch,missing,on_order_in_time,buy"
    assert "GB-600,um,15300000,0,,15300000,0,15300000" in sheet


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("parts=0", "demand.parts"),
        ("parts=1001", "demand.parts"),
        ("parts=-1", "demand.parts"),
        ("parts=%D9%A3", "demand.parts"),
        ("cure=2026-04-01T17:00", "time.no_offset"),
        ("cure=soon", "time.form"),
        ("cure=2020-01-01T00:00:00Z", "demand.cure_over"),
        ("format=xml", "format.unknown"),
    ],
)
def test_what_cannot_be_asked_of_a_demand_is_told(query: str, code: str, set_clock: Callable[[int], None]) -> None:
    set_clock(clock("08:00"))
    answer = Machine(token_for(Bench(), "Bram", "read")).get(f"designs/CAN/demand/?{query}")
    assert (answer.status_code, body(answer)["code"]) == (400, code)


def test_no_demand_of_a_design_that_is_not_there() -> None:
    machine = Machine(token_for(Bench(), "Bram", "read"))
    for path in (f"designs/{design}/{more}" for design in ("NOPE", "%00", "x" * 3000) for more in ("", "demand/")):
        answer = machine.get(path)
        assert (answer.status_code, body(answer)["code"]) == (404, "code.unknown")


def test_a_layup_is_tried_by_a_machine() -> None:
    machine = Machine(token_for(Bench(), "Vera", "read"))
    asked = {"layup": "[0:PP-U/90:PP-U]s", "area": "0.5 m²", "loss": 10, "parts": 2}
    doc = body(machine.post("numbers/layup/", asked))
    assert (doc["in_plane"], doc["symmetric"], doc["balanced"], doc["missing"]) == ("orthotropic", True, True, [])
    assert doc["figures"]["thickness"]["value"] == pytest.approx(4 * 0.153)
    (row,) = doc["demand"]["materials"]
    assert row["pieces"][0]["count"] == 8 and row["buy"] == row["needed"]
    assert body(machine.post("numbers/layup/", {"layup": "[0]", "material": "PP-U"}))["demand"] is None
    for change, code, where in (
        ({"layup": "[0"}, "layup.unreadable", "layup"),
        ({"layup": "[0:X]"}, "try.unknown", "layup"),
        ({"layup": "[0]", "material": "A\x00"}, None, None),
        ({"recipe": "A\x00", "waste": 1}, None, None),
        ({"parts": 1.5}, "demand.parts", "parts"),
        ({"loss": ""}, "try.needed", "loss"),
        ({"cure": "2026-04-01"}, "time.no_offset", "cure"),
    ):
        answer = machine.post("numbers/layup/", asked | change)
        assert answer.status_code == 400
        if code is not None:
            assert (body(answer)["code"], body(answer)["where"]) == (code, where)
