"""What a scan is, asked by a machine: an answer for every text, nothing recorded."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from inventory.models import Act, Block, Delivery, Device, SupplierLabel
from inventory.pages.scananswers import INTENTS
from inventory.verbs.holding import Hold
from inventory.verbs.label_kinds import KnowLabel
from inventory.verbs.moving import Move
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from layups.verbs.starting import StartPart
from tests.api.client import Machine, body, problem, token_for
from tests.core.hostile import labels
from tests.core.labels import GS, GTIN
from tests.ledger.bench import Bench, clock

pytestmark = pytest.mark.django_db
ROLL = f"]d201{GTIN}1126030210G7{GS}21R0007{GS}3112010000"
NEW = ROLL.replace("10G7", "10G9")


@pytest.fixture
def bench(set_clock: Callable[[int], None]) -> Bench:
    set_clock(clock("08:00"))
    made = Bench()
    made.roll("G7-1")
    Block.objects.update(to_us=clock("07:59"), closed=Act.objects.order_by("pk").last())  # released
    return made


@pytest.fixture
def machine(bench: Bench) -> Machine:
    return Machine(token_for(bench, "Vera"))


def test_each_kind_of_thing_is_told_with_its_address(machine: Machine) -> None:
    for raw, what, url in (("G7-1", "thing", "/i/"), ("rack", "place", "/places/RACK/"), ("D-118", "delivery", "/receive/delivery/")):
        got = body(machine.post("scan/", {"raw": raw}))
        assert (got["what"], got["tone"]) == (what, "yes") and got["url"].startswith(url), raw
    got = body(machine.post("scan/", {"raw": "\x1dzz"}))
    assert (got["what"], got["tone"], got["read"], got["url"], got["format"]) == ("unknown", "no", "␝zz", None, "plain")


def test_the_answer_knows_what_the_page_is_for(bench: Bench, machine: Machine) -> None:
    """(what is scanned, what the page is for) → (tone, what comes next)."""
    bench.do("start_part", StartPart("DAG", "DAG-900", place="BAY1"), "Bram")
    asked = {
        ("G7-1", "open"): ("yes", "open"), ("G7-1", "take-out"): ("yes", "open"), ("G7-1", "part"): ("yes", "submit"),
        ("G7-1", "mix"): ("yes", "submit"), ("G7-1", "count"): ("yes", "submit"), ("RACK", "open"): ("yes", "open"),
        ("RACK", "take-out"): ("yes", "submit"), ("RACK", "part"): ("yes", "submit"), ("RACK", "mix"): ("no", "stay"),
        ("RACK", "count"): ("yes", "submit"), ("D-118", "open"): ("yes", "open"), ("D-118", "part"): ("no", "stay"),
        ("DAG-900", "part"): ("yes", "submit"), ("G7", "open"): ("yes", "submit"), ("G7", "part"): ("yes", "submit"),
        ("zzz", "open"): ("no", "stay"), ("zzz", "take-out"): ("no", "stay"), ("zzz", "part"): ("no", "stay"),
        ("zzz", "mix"): ("no", "stay"), ("zzz", "count"): ("no", "stay"), ("", "open"): ("no", "stay"),
        ("x" * 5_000, "part"): ("no", "stay"), ("18.06 m", "count"): ("yes", "submit"), ("D-118", "count"): ("no", "stay"),
        ("where is G7-1?", "open"): ("yes", "submit"),
        (NEW, "open"): ("ask", "submit"), (NEW, "part"): ("no", "stay"), (NEW, "receive"): ("ask", "submit"),
        (ROLL, "open"): ("yes", "open"), (ROLL, "part"): ("yes", "submit"),
        (f"]d2{GTIN}99", "open"): ("no", "stay"),
    }  # fmt: skip
    got = {(raw, intent): body(machine.post("scan/", {"raw": raw, "intent": intent})) for raw, intent in asked}
    assert {key: (answer["tone"], answer["next"]) for key, answer in got.items()} == asked
    assert all(answer["word"] and answer["text"].endswith((".", "?")) for answer in got.values())


def test_what_may_not_be_used_is_told_at_once_with_every_reason_unless_it_already_happened(bench: Bench, machine: Machine) -> None:
    bench.do("hold", Hold("G7-1", "delaminates"), "Odile")
    for intent, onward in (("open", "open"), ("part", "submit"), ("mix", "submit")):
        got = body(machine.post("scan/", {"raw": "G7-1", "intent": intent}))
        assert (got["tone"], got["word"], got["next"]) == ("no", "No", onward) and "block.quality" in [r["code"] for r in got["told"]], (
            intent
        )
    assert body(machine.post("scan/", {"raw": "G7-1", "intent": "count"}))["tone"] == "yes", "what is held is counted all the same"
    assert body(machine.post("scan/", {"raw": "G7-1", "intent": "part", "late": True}))["tone"] == "yes"


def test_a_browser_asks_by_its_sign_in_with_the_token_of_its_page_and_makes_no_device(bench: Bench) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(bench.yard.user["ines"])
    devices = Device.objects.count()
    said = {"data": {"raw": "G7-1"}, "content_type": "application/json"}
    assert browser.post("/api/scan/", **said).status_code == 403
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', browser.get("/").content.decode())
    assert token is not None
    got = browser.post("/api/scan/", **said, headers={"X-CSRFToken": token[1]})
    assert got.status_code == 200 and body(got)["what"] == "thing" and Device.objects.count() == devices


def test_an_answer_asks_no_more_for_more_things(bench: Bench, django_assert_max_num_queries: Any) -> None:
    machine = Machine(token_for(bench, "Vera"))
    machine.post("scan/", {"raw": "G7-1", "intent": "part"})
    for raw, most in (("G7-1", 16), ("RACK", 8), ("zzz", 16)):
        with django_assert_max_num_queries(most):
            machine.post("scan/", {"raw": raw, "intent": "part"})


def test_receiving_is_told_which_fields_a_label_fills(bench: Bench, machine: Machine) -> None:
    raw = ROLL.replace("10G7", "10G8")
    said = {"raw": raw, "intent": "receive", "delivery": "d-118"}
    got = body(machine.post("scan/", said))
    assert (got["what"], got["tone"], got["format"]) == ("unmapped", "ask", "gs1")
    assert got["values"] == {"lot": "G8", "serial": "R0007", "made": "2026-03-02", "quantity": "100 m"}
    assert {"id": "10", "name": "lot", "value": "G8"} in got["marks"]
    assert body(machine.post("scan/", {"raw": raw}))["values"] == {}, "only receiving fills a form"
    bench.do("know_label", KnowLabel("Aldervane Weavers", "CT-204", ROLL))
    got = body(machine.post("scan/", said))
    assert (got["what"], got["material"], got["values"]) == ("label", "CT-204", {}), "the delivery is of another material"


def test_a_verb_takes_the_suppliers_label_of_a_piece_and_refuses_that_of_a_lot(bench: Bench) -> None:
    lot = ReceivedLot("G7", (ReceivedPiece("100 m", "G7-2", serial="R0007"),))
    bench.do("receive", Receive("D-118", (lot,), "Aldervane Weavers", "GB-600", "RACK"))
    bench.do("move", Move(ROLL, "BAY1"))
    assert bench.not_understood("move", Move(f"]d201{GTIN}10G7", "RACK")).reason.code == "code.label_of_lot"
    assert bench.not_understood("move", Move(ROLL.replace("R0007", "R0009"), "RACK")).reason.code in ("code.unknown", "code.label_of_lot")


def test_who_asks_has_to_sign_in_and_say_a_scan(bench: Bench, machine: Machine) -> None:
    problem(Machine().post("scan/", {"raw": "x"}), 401, "sign_in.needed")
    problem(machine.post("scan/", {}), 400, "body.invalid")
    problem(machine.post("scan/", {"raw": "x", "intent": "eat"}), 400, "body.invalid")
    problem(Machine(token_for(bench, "Ines", scopes="write", name="w")).post("scan/", {"raw": "x"}), 403, "scope.missing")


def test_three_hundred_hostile_labels_are_each_answered_and_nothing_is_stored(machine: Machine) -> None:
    before = (Act.objects.count(), Delivery.objects.count(), SupplierLabel.objects.count())
    for n, raw in enumerate(labels(300, seed=55)):
        answer = machine.post("scan/", {"raw": raw, "intent": INTENTS[n % len(INTENTS)], "delivery": raw[:40], "late": n % 4 == 0})
        assert answer.status_code in (200, 400), raw
        if answer.status_code == 200:
            assert body(answer)["read"].isprintable()
        else:
            assert "\x00" in raw or any(0xD800 <= ord(ch) < 0xE000 for ch in raw) or len(raw) > 20_000, raw
    assert (Act.objects.count(), Delivery.objects.count(), SupplierLabel.objects.count()) == before
