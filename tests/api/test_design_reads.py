"""Designs through REST."""

from __future__ import annotations

import pytest

from tests.ledger.bench import Bench

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
    assert body(machine.get("designs/HAP/"))["numbers"] is None, "a core alone is no laminate"
    missing = machine.get("designs/NOPE/")
    assert missing.status_code == 404 and body(missing)["code"] == "code.unknown"
