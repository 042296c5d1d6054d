"""The description of the interface is complete and valid OpenAPI 3.1."""

from __future__ import annotations

import json
import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client

from tests.api.client import Machine, token_for
from tests.api.test_hostile import addresses
from tests.ledger.bench import Bench


@pytest.fixture(scope="module")
def schema() -> dict[str, object]:
    out = StringIO()
    call_command("spectacular", "--format", "openapi-json", "--validate", "--fail-on-warn", stdout=out)
    found: dict[str, object] = json.loads(out.getvalue())
    return found


def test_every_address_stands_in_the_description(schema: dict[str, object]) -> None:
    named = {
        "code": "G7-1",
        "number": "RUD-1",
        "design": "RUD",
        "recipe": "LAM",
        "job": "1",
        "log": "1",
        "count": "1",
        "material": "GB-600",
    }
    described = {re.sub(r"\{(\w+)\}", lambda m: named[m[1]], path) for path in schema["paths"]}  # type: ignore[attr-defined]
    missing = {f"/api/{p}" for p in addresses() if p != "openapi.json"} - described
    assert not missing


def test_it_is_openapi_3_1_with_a_problem_for_every_refusal(schema: dict[str, object]) -> None:
    assert str(schema["openapi"]).startswith("3.1")
    for path, methods in schema["paths"].items():  # type: ignore[attr-defined]
        for method, operation in methods.items():
            assert {"400", "401", "403"} <= set(operation["responses"]), (path, method)


@pytest.mark.django_db
def test_it_is_served() -> None:
    response = Machine(token_for(Bench(), "Vera")).get("openapi.json")
    assert response.status_code == 200
    assert json.loads(response.content)["openapi"], "JSON, as the address says"
    assert Client().get("/api/openapi.json").status_code == 401
