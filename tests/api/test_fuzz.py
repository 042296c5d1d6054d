"""Every operation of the description with made-up calls: never a 500, always what the description says.

The calls are made by schemathesis from the OpenAPI document itself, a third of them against it; where a field names a thing
of the shop, one that is there is often put in, so that the rules behind the door are reached too. Hostile input by hand is
in `test_hostile`: each finds what the other does not. SELVEDGE_TEST_CALLS makes a long run.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections, connection, transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import content_type_conformance, response_schema_conformance, status_code_conformance

from inventory.models import Role
from inventory.recording.facts import forget_sources
from inventory.verbs.moving import Move
from layups.verbs.starting import StartPart
from tests.api.client import token_for
from tests.ledger.bench import Bench, clock

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

CALLS = int(os.environ.get("SELVEDGE_TEST_CALLS") or ("8" if connection.vendor == "sqlite" else "3"))
CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
NAMES: dict[str, tuple[Any, ...]] = {
    "item": ("G7-1", "G7", "RUD-1", "REP-1", "g7-1 "),
    "items": ("G7-1", "G7"),
    "part": ("RUD-1", "REP-1"),
    "into": ("G7-1",),
    "place": ("F1", "BAY1", "PX", "OV1", "RACK"),
    "material": ("GB-600", "PP-U", "LAM-A", "BAG"),
    "supplier": ("Aldervane Weavers", "Kestrow Prepreg"),
    "lot": ("G7",),
    "delivery": ("D-118", "D-900"),
    "design": ("RUD", "REP", "BOAT"),
    "quantity": ("1 m", "0", "-1 m", "1e30 m", "101 m", "2 kg", "½ m"),
    "qty": ("1 m", "", "100 %", "-0.0 m"),
    "taken": ("2.00 m", "0.001 µm"),
    "mass": ("100 g", "1 t"),
    "record": (1, 2, 3, 2**53),
    "out_time": ("12 h", "1e9 h"),
    "made": ("2026-03-02", "unknown", "2026-02-30", "9999-12"),
    "printed": ("2026-12", "0001-01-01"),
    "temperature": ("21.0", "-300", "70 F"),
    "reached": ("34", "120"),
    "months": (1, 3, -1, 2**53),
    "happened_at": ("2026-03-30T07:15:00+02:00", "2026-03-30T07:15:00", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"),
    "already_happened": (True,),
    "reason": ("made up",),
    "cause": ("expired",),
    "run": ("CR-1",),
    "meaning": ("use_as_is", "scrap"),
    "purpose": ("panel",),
    "values": ([{"name": "areal mass", "value": "602"}],),
    "lots": ([{"number": "G8", "pieces": [{"quantity": "50 m", "mark": "G8-1"}]}],),
}


@pytest.fixture
def bench(set_clock: Any) -> Bench:
    """A roll, parts and a pot's worth of nothing; Marek may do everything."""
    set_clock(clock("08:00"))
    made = Bench()
    made.roll("G7-1", at=clock("06:00"))
    made.do("move", Move("G7-1", "BAY1"), at=clock("07:00"))
    for design, number in (("RUD", "RUD-1"), ("REP", "REP-1")):
        made.do("start_part", StartPart(design, number, "BAY1"), "Bram", at=clock("07:00"))
    marek = made.yard.person["Marek"]
    Role.objects.bulk_create(Role(person=marek, role=role) for role in ("storekeeper", "builder", "quality", "auditor"))
    return made


@pytest.fixture(autouse=True)
def kept_open() -> Iterator[None]:
    """The end of a request closes old connections; the test's own stays open, as under django's test client."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


def with_names(value: Any, draw: Any) -> Any:
    """The value with names of the shop put in where the fields are called so, about every other time."""
    if isinstance(value, dict):
        return {
            k: draw(st.sampled_from(NAMES[k])) if k in NAMES and draw(st.booleans()) and not isinstance(v, list) else with_names(v, draw)
            for k, v in value.items()
        }
    if isinstance(value, list):
        return [with_names(v, draw) for v in value]
    return value


def operations(secret: str) -> Iterator[schemathesis.APIOperation]:
    signed = {"Authorization": f"Bearer {secret}"}
    schema = schemathesis.openapi.from_wsgi("/api/openapi.json", get_wsgi_application(), headers=signed)
    yield from (result.ok() for result in schema.get_all_operations())


@st.composite
def cases(draw: Any, operation: schemathesis.APIOperation) -> schemathesis.Case:
    against = draw(st.integers(0, 2)) == 0
    case = draw(operation.as_strategy(GenerationMode.NEGATIVE if against else GenerationMode.POSITIVE))
    case.body = with_names(case.body, draw)
    if "code" in (case.path_parameters or {}) and draw(st.booleans()):
        case.path_parameters["code"] = draw(st.sampled_from(NAMES["item"]))
    return case


def fuzz(operation: schemathesis.APIOperation, secret: str, strategy: Any) -> None:
    """Some calls of one operation; raises what the checks raise. Each call is taken back."""

    @settings(
        max_examples=CALLS, deadline=None, database=None, print_blob=True, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
    )
    @given(case=strategy, key=st.uuids())
    def calls(case: schemathesis.Case, key: uuid.UUID) -> None:
        headers = {"Authorization": f"Bearer {secret}"} | ({"Idempotency-Key": str(key)} if operation.method == "post" else {})
        with transaction.atomic():
            response = case.call(headers=headers)
            transaction.set_rollback(True)
        forget_sources()
        case.validate_response(response, checks=CHECKS, headers=headers)

    calls()


def test_every_operation_answers_made_up_calls_as_the_description_says(bench: Bench) -> None:
    secret = token_for(bench, "Marek")
    wrong, called = [], 0
    for operation in operations(secret):
        called += 1
        try:
            fuzz(operation, secret, cases(operation))
        except Unsatisfiable:  # nothing can be said against what takes nothing
            fuzz(operation, secret, operation.as_strategy())
        except (Exception, FailureGroup) as error:
            wrong.append(f"{operation.label}: {error}")
    assert called > 50
    assert not wrong, "\n\n".join(wrong)
