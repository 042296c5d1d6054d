"""Verbs over HTTP: what is recorded, repeated, refused and not understood."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

import pytest

from inventory import clock
from inventory.models import Act, ItemState, Refusal, Token
from tests.api.client import Machine, body, problem, token_for
from tests.ledger.bench import HOUR, Bench
from tests.ledger.bench import clock as local

pytestmark = pytest.mark.django_db

ROLL = {
    "delivery": "D-118",
    "supplier": "Aldervane Weavers",
    "material": "GB-600",
    "place": "RACK",
    "lots": [{"number": "G7", "pieces": [{"quantity": "100.00 m", "mark": "G7-1"}]}],
}


@pytest.fixture
def bench(set_clock: Callable[[int], None]) -> Bench:
    set_clock(local("08:00"))
    return Bench()


def machine(bench: Bench, who: str = "Ines", **more: Any) -> Machine:
    return Machine(token_for(bench, who, **more))


def test_the_main_job_goes_through_http(bench: Bench, set_clock: Callable[[int], None]) -> None:
    ines, odile, bram = (machine(bench, n) for n in ("Ines", "Odile", "Bram"))
    received = ines.do("receive", ROLL)
    assert received.status_code == 201, received.content
    assert body(ines.get("items/G7-1/"))["against"][0]["code"] == "block.incoming"
    values = [{"name": n, "value": v} for n, v in (("areal mass", "602"), ("moisture", "0.10"), ("size", "0.7"))]
    stated = odile.do("certify", {"lot": "G7", "values": values})
    assert stated.status_code == 201, stated.content
    freed = odile.do("release", {"items": ["G7-1"], "reason": "papers in order"})
    assert freed.status_code == 201, freed.content
    set_clock(local("08:10"))
    assert ines.do("move", {"item": "G7-1", "place": "BAY1"}).status_code == 201
    cut = ines.do("cut_kit", {"item": "G7-1", "taken": "6.00 m", "mark": "K-1", "net": "7.00 m²"})
    assert cut.status_code == 201 and body(cut)["data"]["waste_permille"] == 67
    assert ItemState.objects.get(item__mark="G7-1").qty == 94_000_000
    begun = bram.do("start_part", {"design": "REP", "number": "REP-900", "place": "BAY1"})
    assert begun.status_code == 201, begun.content
    laid = bram.do("lay", {"item": "K-1", "part": "REP-900"})
    assert laid.status_code == 201, laid.content
    doc = body(ines.get("items/K-1/"))
    assert doc["quantity"]["value"] == 0 and [h["kind"] for h in doc["history"]] == ["lay", "cut"]


def test_a_repeat_gives_the_same_receipt_and_another_body_is_422(bench: Bench) -> None:
    ines, key = machine(bench), str(uuid.uuid4())
    first = ines.do("receive", ROLL, key)
    again = ines.do("receive", ROLL, key)
    assert (first.status_code, again.status_code) == (201, 200)
    assert body(again)["replay"] and set(body(again)["acts"]) <= set(body(first)["acts"])
    count = Act.objects.count()
    other = ROLL | {"place": "DRY"}
    problem(ines.do("receive", other, key), 422, "key.reused")
    assert Act.objects.count() == count


def test_a_call_without_a_key_or_with_an_odd_one_is_told_what_to_send(bench: Bench) -> None:
    ines = machine(bench)
    assert problem(ines.do("receive", ROLL, None), 400, "key.missing")["where"] == "Idempotency-Key"
    problem(ines.do("receive", ROLL, "not-a-key"), 400, "key.form")
    assert not Act.objects.exists()


def test_a_refusal_names_every_reason_with_its_numbers(bench: Bench) -> None:
    ines = machine(bench)
    ines.do("receive", ROLL)
    found = problem(ines.do("cut_kit", {"item": "G7-1", "taken": "101 m"}), 409, "stock.not_enough")
    assert {r["code"] for r in found["reasons"]} == {"stock.not_enough", "block.incoming"}
    assert next(r for r in found["reasons"] if r["code"] == "stock.not_enough")["numbers"]["left"] == 100_000_000
    assert Refusal.objects.count() == 1


def test_what_is_not_understood_says_where(bench: Bench) -> None:
    ines = machine(bench)
    ines.do("receive", ROLL)
    assert problem(ines.do("move", {"item": "G7-1", "place": "NOWHERE"}), 400, "place.unknown")["where"] == "place"
    problem(ines.do("cut_kit", {"item": "G7-1", "taken": "6 kg of it"}), 400, "quantity.unknown_unit")
    found = problem(ines.do("move", {"item": "G7-1", "place": "DRY", "plaice": "x"}), 400, "body.invalid")
    assert found["fields"] == {"plaice": ["There is no such field."]}


def test_roles_and_scopes_are_asked_at_every_call(bench: Bench) -> None:
    machine(bench).do("receive", ROLL)
    problem(machine(bench).do("release", {"items": ["G7-1"], "reason": "x"}), 403, "role.not_allowed")
    problem(machine(bench, "Vera").do("move", {"item": "G7-1", "place": "DRY"}), 403, "role.not_allowed")
    problem(machine(bench, scopes="read").do("move", {"item": "G7-1", "place": "DRY"}), 403, "scope.missing")
    problem(machine(bench, scopes="write").get("items/"), 403, "scope.missing")
    assert Refusal.objects.filter(verb="release").count() == 1


def test_a_revoked_or_ended_token_stops_at_the_next_request(bench: Bench) -> None:
    ines = machine(bench, name="tablet")
    assert ines.get("materials/").status_code == 200
    Token.objects.filter(name="tablet").update(revoked_us=1)
    problem(ines.get("materials/"), 401, "sign_in.needed")
    ended = machine(bench, name="old", until_us=local("07:59"))
    problem(ended.get("materials/"), 401, "sign_in.needed")
    problem(Machine().get("materials/"), 401, "sign_in.needed")
    problem(Machine("sv_nobody").do("move", {"item": "x", "place": "y"}), 401, "sign_in.needed")


def test_what_already_happened_is_stored_with_both_times(bench: Bench) -> None:
    ines = machine(bench)
    ines.do("receive", ROLL)
    happened = "2026-03-30T07:15:00+02:00"
    late = {"item": "G7-1", "quantity": "1 m", "purpose": "panel", "already_happened": True, "happened_at": happened, "why_late": "slip"}
    done = ines.do("use", late)
    assert done.status_code == 201 and body(done)["reasons"][0]["code"] == "stock.not_enough", "it had not come yet"
    act = Act.objects.get(kind="use")
    assert (act.stance, act.happened_us, act.recorded_us) == ("observed", local("07:15"), local("08:00"))
    future = late | {"happened_at": "2026-03-30T08:01:00+02:00"}
    problem(ines.do("use", future), 400, "time.future")
    problem(ines.do("use", late | {"happened_at": "2026-03-30T07:15:00"}), 400, "time.no_offset")
    problem(ines.do("use", late | {"already_happened": False}), 400, "time.intent")
    problem(ines.do("use", late | {"happened_at": "9999-12-31T23:59:59-14:00"}), 400, "time.future")
    problem(ines.do("use", late | {"happened_at": "0001-01-01T00:00:00+14:00"}), 400, "time.too_old")


def test_the_clock_is_the_one_that_the_edges_read(bench: Bench) -> None:
    assert clock.now_us() == local("08:00") and HOUR == 3_600_000_000
