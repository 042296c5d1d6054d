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
