"""Temperature logs and long work through REST."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest

from inventory import jobs
from inventory.models import Job, TemperatureLog
from inventory.verbs.receiving import ReceivedPiece
from tests.ledger.bench import HOUR, Bench, clock, day, prepreg
from tests.ledger.loggers import calibrated, csv_of
from tests.ledger.test_logs import BEGIN, END, PROBE, product

from .client import Machine, body, problem, token_for

pytestmark = pytest.mark.django_db
SAID = {"probe": "P-F2", "measures": "product", "place": "F2", "name": "f2.csv"}


@pytest.fixture
def bench(set_clock: Callable[[int], None]) -> Bench:
    set_clock(clock("08:00"))
    bench = Bench()
    bench.do("receive", prepreg(ReceivedPiece("5 m", "T-1"), place="F2", delivery="D-T-1"), at=clock("08:00", day(2026, 3, 9)))
    return bench


@pytest.fixture
def ines(bench: Bench) -> Machine:
    return Machine(token_for(bench, "Ines"))


def hand_in(machine: Machine, key: str = "", **more: Any) -> Any:
    return machine.post("logs/", {"text": csv_of(BEGIN, END, product).decode(), **SAID, **more}, key or str(uuid.uuid4()))


def work(bench: Bench) -> None:
    jobs.run_due(lambda: bench.now_us)


def test_a_log_is_handed_in_its_job_looked_at_and_its_figures_read(bench: Bench, ines: Machine) -> None:
    key = str(uuid.uuid4())
    sent = [hand_in(ines, key) for _ in range(2)]
    assert [answer.status_code for answer in sent] == [200, 200]
    number = body(sent[0])["data"]["job"]
    assert body(sent[1])["data"] == {"job": number, "again": True, "probe": "P-F2"}
    problem(hand_in(ines, key, unit="°C"), 422, "key.reused")
    assert body(ines.get(f"jobs/{number}/"))["state"] == "waiting"
    work(bench)
    job = body(ines.get(f"jobs/{number}/"))
    assert (job["state"], job["error"], job["person"]) == ("done", None, "Ines")
    doc = body(ines.get(f"logs/{job['result']['log']}/"))
    assert (doc["place"], doc["probe"], doc["readings"], doc["most_mc"]) == ("F2", "P-F2", 337, -4_000)
    assert doc["not_evidence"] and doc["found"]["gap_count"] == 0
    line = next(row for row in doc["too_warm"] if row["line_mc"] == -12_000)
    assert (line["from_us"], line["to_us"], line["touches"], line["charge_by_this_line"]) == (*PROBE, 1, True)
    assert [row["id"] for row in body(ines.get("logs/?place=f2"))["results"]] == [doc["id"]]
    assert body(ines.get("logs/?place=F1"))["results"] == []


def test_a_stretch_is_charged_by_its_own_address(bench: Bench, ines: Machine) -> None:
    hand_in(ines)
    work(bench)
    calibrated(bench)
    odile, log = Machine(token_for(bench, "Odile")), TemperatureLog.objects.get().pk
    key = str(uuid.uuid4())
    first, again = (odile.do("charge_log", {"log": log, "at_us": PROBE[0] + HOUR}, key) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert body(first)["data"]["charged"] == {"T-1": PROBE[1] - PROBE[0]}
    problem(ines.do("charge_log", {"log": log, "at_us": PROBE[0] + HOUR}), 403, "role.not_allowed")
    assert body(odile.get(f"logs/{log}/"))["too_warm"][0]["record"] == body(first)["acts"][0]


def test_who_asked_cancels_and_strangers_find_nothing(bench: Bench, ines: Machine) -> None:
    number = body(hand_in(ines))["data"]["job"]
    bram = Machine(token_for(bench, "Bram"))
    problem(bram.get(f"jobs/{number}/"), 404, "code.unknown")
    problem(bram.post(f"jobs/{number}/cancel/", {}), 404, "code.unknown")
    problem(Machine(token_for(bench, "Vera")).post(f"jobs/{number}/cancel/", {}), 409, "job.not_yours")
    problem(Machine(token_for(bench, "Ines", "read", "reader")).post(f"jobs/{number}/cancel/", {}), 403, "scope.missing")
    assert body(ines.post(f"jobs/{number}/cancel/", {}))["state"] == "cancelled"
    work(bench)
    assert body(ines.post(f"jobs/{number}/cancel/", {}))["state"] == "cancelled" and not TemperatureLog.objects.exists()
    assert len(body(ines.get("jobs/"))["results"]) == 1 and body(bram.get("jobs/"))["results"] == []


def test_what_cannot_be_taken_in_is_told(bench: Bench, ines: Machine) -> None:
    for change, code in (
        ({"probe": ""}, "probe.needed"),
        ({"place": ""}, "log.of_what"),
        ({"place": "F99"}, "place.unknown"),
        ({"text": "x" * 5_000_001}, "body.invalid"),
        ({"text": "<html><body>no</body></html>"}, "attachment.type"),
        ({"name": "log.exe"}, "attachment.mismatch"),
        ({"colour": "red"}, "body.invalid"),
        ({"zone": "Nowhere"}, "zone.unknown"),
    ):
        problem(hand_in(ines, **change), 400, code)  # type: ignore[arg-type]
    raw = json.dumps({"text": "x" * 11_000_000, **SAID})
    problem(ines.post("logs/", raw), 400, "body.too_large")
    problem(ines.post("verbs/move/", json.dumps({"item": "x" * 3_000_000})), 400, "body.too_large")
    problem(Machine(token_for(bench, "Vera")).post("logs/", {"text": "a", **SAID}), 403, "role.not_allowed")
    assert not Job.objects.exists()
    for path in ("logs/0/", "logs/x/", "logs/99999999999999999999/", "jobs/-1/"):
        problem(ines.get(path), 404, "code.unknown")
