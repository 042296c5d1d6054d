"""Labels for machines: what stands on them, a picture, and a print that counts once for each key."""

from __future__ import annotations

import uuid
from collections.abc import Callable

import pytest

from inventory.models import LabelPrint
from tests.api.client import Machine, body, problem, token_for
from tests.ledger.bench import Bench, clock

pytestmark = pytest.mark.django_db


@pytest.fixture
def machine(set_clock: Callable[[int], None]) -> Machine:
    set_clock(clock("08:00"))
    bench = Bench()
    bench.roll("G7-1")
    return Machine(token_for(bench, "Ines"))


def test_what_stands_on_a_label_is_told_with_its_symbol(machine: Machine) -> None:
    found = body(machine.get("labels/?things=G7-1,F1"))["results"]
    assert [(r["kind"], r["symbol"], r["printed"]) for r in found] == [("roll", "qr", 0), ("place", "datamatrix", 0)]
    assert found[0]["holds"] == f"http://testserver/i/{found[0]['code']}"
    assert {"role": "name", "text": "G7-1"} in found[0]["fields"] and found[1]["holds"] == "F1"
    assert body(machine.get("labels/"))["results"] == []


def test_a_picture_comes_at_the_dots_of_a_printer(machine: Machine) -> None:
    for accept in ("image/png", "*/*", "application/json"):
        answer = machine.get("labels/G7-1/?size=roll-50x25&dpi=203", accept=accept)
        assert answer.status_code == 200 and answer["Content-Type"] == "image/png" and answer.content[:4] == b"\x89PNG"
    problem(machine.get("labels/NOPE/"), 404, "code.unknown")
    problem(machine.get("labels/NOPE/", accept="image/png"), 404, "code.unknown")
    problem(machine.get("labels/G7-1/?dpi=72"), 400, "label.dpi")
    problem(machine.get("labels/G7-1/?size=a9"), 400, "label.format")


def test_a_print_is_a_file_and_one_row_for_each_key(machine: Machine) -> None:
    key = str(uuid.uuid4())
    said = {"things": ["G7-1"], "size": "sheet-8", "start": 3, "copies": 2}
    for _ in range(2):
        answer = machine.post("labels/", said, key)
        assert answer.status_code == 200 and answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    assert LabelPrint.objects.count() == 1
    problem(machine.post("labels/", said | {"copies": 1}, key), 422, "key.reused")
    assert machine.post("labels/", said).status_code == 200
    assert [r.copies for r in LabelPrint.objects.all()] == [2, 2]
    assert body(machine.get("labels/?things=G7-1"))["results"][0]["printed"] == 2


def test_what_is_wrong_is_named_and_prints_nothing(machine: Machine) -> None:
    assert "“NOPE”" in problem(machine.post("labels/", {"things": ["G7-1", "NOPE"]}), 400, "label.unknown")["title"]
    problem(machine.post("labels/", {}), 400, "label.none")
    problem(machine.post("labels/", {"things": ["G7-1"], "copies": 21}), 400, "label.copies")
    problem(machine.post("labels/", {"things": ["G7-1"], "size": "sheet-8", "start": 9}), 400, "label.start")
    problem(machine.post("labels/", {"things": ["G7-1"], "form": "zpl"}), 400, "label.no_printer")
    problem(machine.post("labels/", {"thing": ["G7-1"]}), 400, "body.invalid")
    problem(machine.post("labels/", {"things": ["G7-1"]}, key=None), 400, "key.missing")
    assert not LabelPrint.objects.exists()


def test_who_only_reads_does_not_print(set_clock: Callable[[int], None]) -> None:
    set_clock(clock("08:00"))
    bench = Bench()
    bench.roll("G7-1")
    problem(Machine(token_for(bench, "Vera")).post("labels/", {"things": ["G7-1"]}), 403, "role.not_allowed")
    problem(Machine(token_for(bench, "Ines", "read")).post("labels/", {"things": ["G7-1"]}), 403, "scope.missing")
    assert Machine(token_for(bench, "Vera")).get("labels/?things=G7-1").status_code == 200
    assert not LabelPrint.objects.exists()
