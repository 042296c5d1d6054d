"""Who may do what: one published table. A verb without a row fails the build."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from inventory.verbs.registry import VERBS
from tests.api.client import Machine, body, problem, token_for
from tests.api.test_hostile import addresses
from tests.ledger.bench import Bench, clock


def table() -> dict[str, set[str]]:
    return {line.split(":")[0]: set(line.split(":")[1].split()) for line in ROWS.strip().splitlines()}


ROWS = """
accept_transport: quality
adjust: owner quality storekeeper
bag: builder owner quality
baseline: quality
book_box: builder owner quality storekeeper
calibrate: owner quality
certify: owner quality storekeeper
charge_log: quality
count: builder owner quality storekeeper
count_begin: builder owner quality storekeeper
count_drop: builder owner quality storekeeper
count_finish: builder owner quality storekeeper
count_see: builder owner quality storekeeper
count_settle: owner quality storekeeper
count_strike: builder owner quality storekeeper
countersign: owner quality
cure_abort: builder owner quality
cure_chart: builder owner quality
cure_load: builder owner quality
cure_off: builder owner quality
cure_on: builder owner quality
cut_kit: builder owner quality storekeeper
cut_off: builder owner quality storekeeper
cut_parts: builder owner quality
defect: builder owner quality
dispose: quality
dry: builder quality storekeeper
expect: owner storekeeper
expose: quality
extend: owner quality
extend_ask: quality
forget_label: owner quality storekeeper
gel: builder quality storekeeper
heat: builder quality
hold: quality
inspect: builder owner quality
join: builder owner quality
know_label: owner quality storekeeper
lay: builder owner quality
measure: builder quality storekeeper
mix: builder quality storekeeper
move: builder owner quality storekeeper
new_tank: owner storekeeper
open: builder quality storekeeper
open_stock: owner quality storekeeper
plan_cure: builder owner quality
pour: builder storekeeper
receive: owner quality storekeeper
receive_many: owner quality storekeeper
relabel: builder owner quality storekeeper
release: quality
reserve: owner quality storekeeper
return_supplier: owner quality storekeeper
scrap: builder owner quality storekeeper
ship: owner quality storekeeper
start_part: builder owner quality
step: builder owner quality
undo: builder owner quality storekeeper
take_log: builder owner quality storekeeper
unhold: quality
unjoin: builder owner quality
use: builder owner quality storekeeper
void: quality
window: builder quality
withdraw_log: quality
"""


def test_the_table_of_verbs_and_roles_is_the_published_one() -> None:
    assert {name: set(verb.roles) for name, verb in VERBS.items()} == table()


@pytest.mark.django_db
def test_the_auditor_reads_everything_and_does_nothing(set_clock: Callable[[int], None]) -> None:
    set_clock(clock("08:00"))
    bench = Bench()
    bench.roll("G7-1")
    vera = Machine(token_for(bench, "Vera"))
    for path in addresses():
        if path.startswith("verbs/"):
            response = vera.post(path, {})
            assert response.status_code in (400, 403), path
        elif path.startswith("numbers/"):
            assert vera.post(path, {}).status_code == 400, "she may compute; nothing was given"
        elif path == "scan/":
            assert vera.post(path, {"raw": "G7-1"}).status_code == 200, "she may ask what a scan is"
        elif path == "scan/picture/":
            assert vera.post(path, {}).status_code == 400, "she may ask what a picture shows; none was given"
        elif path == "recipes/LAM/forecast/":
            assert vera.get(f"{path}?resin=400&temperature=21").status_code == 200
        elif path not in ("replay/", "openapi.json") and "RUD-1" not in path and "/1/" not in path:
            assert vera.get(path).status_code == 200, path
    problem(vera.do("move", {"item": "G7-1", "place": "DRY"}), 403, "role.not_allowed")


@pytest.mark.django_db
def test_nobody_reads_without_signing_in() -> None:
    client = Client()
    for path in addresses():
        response = (
            client.post(f"/api/{path}") if path.startswith(("verbs/", "numbers/", "replay/", "scan/")) else client.get(f"/api/{path}")
        )
        assert response.status_code == 401, path
        assert body(response)["code"] == "sign_in.needed"
