"""Several people receive and decide at the same instant: one lot, one delivery, one decision."""

from __future__ import annotations

import os
import uuid
from typing import Any

import pytest

from inventory.core.reasons import Refused
from inventory.models import Act, Block, Delivery, Extension, Item, Lot
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.extending import Extend, ExtendAsk
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.registry import Call, perform
from inventory.verbs.releasing import Release
from inventory.verbs.voiding import Void
from tests.ledger.bench import MINUTE, Bench, last
from tests.ledger.test_races import together

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = int(os.environ.get("SELVEDGE_TEST_ROUNDS", "5"))
PEOPLE = 6


def at_once(bench: Bench, who: str, verb: str, params: list[Any], same_key: bool = False) -> list[Any]:
    """One verb by several people at the same instant; what each was told, or what was raised."""
    key = uuid.uuid4()
    calls = [Call(bench.yard.who(who), bench.now_us + MINUTE + n, key if same_key else uuid.uuid4()) for n in range(len(params))]
    return together([lambda c=call, p=p: perform(verb, c, p) for call, p in zip(calls, params, strict=True)])  # type: ignore[misc]


def glass(mark: str, n: int) -> Receive:
    lots = (ReceivedLot(f"G{n}", (ReceivedPiece("100 m", mark),)),)
    return Receive(f"D-{n}", lots, "Aldervane Weavers", "GB-600", "RACK")


def test_six_rolls_of_a_new_lot_scanned_at_once_are_one_lot_and_one_delivery() -> None:
    bench = Bench()
    for n in range(ROUNDS):
        told = at_once(bench, "Ines", "receive", [glass(f"G{n}-{i}", n) for i in range(PEOPLE)])
        assert all(hasattr(t, "receipts") for t in told), told
        assert (Lot.objects.filter(number=f"G{n}").count(), Delivery.objects.filter(number=f"D-{n}").count()) == (1, 1)
        assert Item.objects.filter(kind="roll", lot__batch__number=f"G{n}").count() == PEOPLE
    assert Block.objects.filter(to_us=None, why="incoming").count() == ROUNDS * PEOPLE


def test_one_mark_scanned_by_six_people_at_once_is_one_roll() -> None:
    bench = Bench()
    for n in range(ROUNDS):
        told = at_once(bench, "Ines", "receive", [glass(f"G{n}-1", n)] * PEOPLE)
        refused = [t for t in told if isinstance(t, Refused)]
        assert len(refused) == PEOPLE - 1, told
        assert {t.reasons[0].code for t in refused} == {"receive.already_here"}


def test_one_call_sent_six_times_at_once_is_one_receipt() -> None:
    bench = Bench()
    for n in range(ROUNDS):
        told = at_once(bench, "Ines", "receive", [glass(f"G{n}-1", n)] * PEOPLE, same_key=True)
        assert sum(not t.replay for t in told) == 1, told
        assert len({t.receipts[-1].act for t in told}) == 1


def test_a_decision_taken_by_several_at_once_is_taken_once() -> None:
    bench = Bench()
    values = (PaperValue("areal mass", "600"), PaperValue("moisture", "0.1"), PaperValue("size", "0.6"))
    for n in range(ROUNDS):
        bench.do("receive", glass(f"G{n}-1", n))
        bench.do("certify", Certify(f"G{n}", values))
        told = at_once(bench, "Odile", "release", [Release((f"G{n}-1",))] * PEOPLE)
        assert [type(t) for t in told].count(Refused) == PEOPLE - 1, told
        bench.now_us += 2 * MINUTE
        record = last("release").pk
        told = at_once(bench, "Odile", "void", [Void(record, "wrong roll")] * PEOPLE)
        assert [type(t) for t in told].count(Refused) == PEOPLE - 1, told
        bench.now_us += 2 * MINUTE
    assert Act.objects.filter(kind="void").count() == ROUNDS


def test_an_extension_approved_by_several_at_once_is_given_once() -> None:
    bench = Bench()
    for n in range(ROUNDS):
        lots = (ReceivedLot(f"FA{n}", (ReceivedPiece("25 m", f"FA{n}-1"),), made="2025-11-30"),)
        bench.do("receive", Receive(f"D-F{n}", lots, "Kestrow Prepreg", "FA-B", "F2"))
        bench.do("extend_ask", ExtendAsk(f"FA{n}", 3, "24.1 MPa"), "Odile")
        told = at_once(bench, "Marek", "extend", [Extend(f"FA{n}")] * PEOPLE)
        given = [t for t in told if not isinstance(t, Exception)]
        assert len(given) == 1, told
        assert Extension.objects.filter(item__mark=f"FA{n}-1").count() == 1
        bench.now_us += 2 * MINUTE


def test_one_serial_number_scanned_by_six_people_at_once_is_one_piece() -> None:
    """Two scanners at one pallet read the same label; the lot is new at first, and known from the second round on."""
    bench = Bench()
    for n in range(ROUNDS):
        lots = (ReceivedLot("G7", (ReceivedPiece("100 m", serial=f"r{n}É"),)),)
        said = Receive("D-118", lots, "Aldervane Weavers", "GB-600", "RACK")
        told = at_once(bench, "Ines", "receive", [said] * PEOPLE)
        refused = [t for t in told if isinstance(t, Refused)]
        assert len(refused) == PEOPLE - 1, told
        assert {t.reasons[0].code for t in refused} == {"receive.serial_here"}
        assert Item.objects.filter(supplier_serial=f"r{n}É").count() == 1
