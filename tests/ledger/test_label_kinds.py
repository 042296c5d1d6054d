"""Suppliers' labels: told once, remembered, ended and never deleted; what a scan is; a serial number that comes twice."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Item, Leg, SupplierLabel
from inventory.verbs.label_kinds import ForgetLabel, KnowLabel
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.scans import Scanned, scanned
from tests.core.labels import GS, GTIN
from tests.ledger.bench import Bench

pytestmark = pytest.mark.django_db
LABEL = f"]d201{GTIN}10G7{GS}21R0007"
WHO: dict[str, Any] = {"supplier": "Aldervane Weavers", "material": "GB-600"}


@pytest.fixture
def bench() -> Bench:
    return Bench()


def asked(bench: Bench, raw: str, bare: bool = False) -> Scanned:
    return scanned(bench.yard.site.pk, bench.yard.site.zone, bench.now_us, raw, bare)


def roll(serial: str, lot: str = "G7", delivery: str = "D-118", **more: Any) -> Receive:
    return Receive(delivery, (ReceivedLot(lot, (ReceivedPiece("100 m", serial=serial, **more),)),), **WHO)


# --- told once ------------------------------------------------------------------------------------------


def test_a_label_that_was_told_once_is_known_from_then_on_and_forgotten_by_ending_it(bench: Bench) -> None:
    assert asked(bench, LABEL).what == "unmapped"
    told = bench.do("know_label", KnowLabel(raw=LABEL, **WHO))
    assert told.data["known_by"] == "gtin" and told.data["value"] == GTIN
    found = asked(bench, LABEL)
    assert found.what == "label" and found.kinds[0].material.code == "GB-600"
    assert bench.do("know_label", KnowLabel(raw=LABEL, **WHO)).data["label"] == told.data["label"], "telling it twice is once"
    bench.do("forget_label", ForgetLabel(told.data["label"]))
    bench.do("forget_label", ForgetLabel(told.data["label"]))
    assert asked(bench, LABEL).what == "unmapped"
    row = SupplierLabel.objects.get()
    assert row.ended_us == bench.now_us and row.ended_by == bench.yard.person["Ines"] and row.told_by == row.ended_by
    bench.do("know_label", KnowLabel(raw=LABEL, **WHO))
    assert SupplierLabel.objects.count() == 2 and asked(bench, LABEL).what == "label"


def test_one_number_is_not_two_materials_of_one_supplier(bench: Bench) -> None:
    bench.do("know_label", KnowLabel(raw=LABEL, **WHO))
    reasons = bench.refused("know_label", KnowLabel("Aldervane Weavers", "CT-204", LABEL))
    assert reasons["label.known"].numbers["material"] == "GB-600" and SupplierLabel.objects.count() == 1


def test_a_pattern_has_to_fit_what_was_scanned_and_then_reads_it(bench: Bench) -> None:
    raw = "GF27-031/R7*270302"
    wrong = bench.not_understood("know_label", KnowLabel(raw=raw, known_by="pattern", value="GF{lot}#{serial}", **WHO))
    assert (wrong.reason.code, wrong.where) == ("pattern.no_match", "value")
    bench.do("know_label", KnowLabel(raw=raw, known_by="pattern", value="GF{lot}/{serial}*{expires:YYMMDD}", **WHO))
    found = asked(bench, raw)
    assert (found.what, found.facts.lot, found.facts.serial, str(found.facts.expires)) == ("label", "27-031", "R7", "2027-03-02")


def test_a_suppliers_own_meaning_of_an_identifier_stands_in_place_of_the_standards(bench: Bench) -> None:
    raw = "[)>\x1e06\x1d1PPW-200\x1dTR0007\x1d9D020326\x1d1TG7\x1e\x04"
    assert asked(bench, raw).facts.lot == "", "T and 1T both say a lot, and differ"
    bench.do("know_label", KnowLabel(raw=raw, means="T=serial; 9D=made DDMMYY; 1T=lot", **WHO))
    facts = asked(bench, raw).facts
    assert (facts.lot, facts.serial, str(facts.made)) == ("G7", "R0007", "2026-03-02")


@pytest.mark.parametrize(
    ("change", "code", "where"),
    [
        ({"supplier": ""}, "supplier.needed", "supplier"),
        ({"material": "NONE"}, "material.unknown", "material"),
        ({"raw": "T-2"}, "label.no_number", "known_by"),
        ({"known_by": "colour"}, "label.known_by", "known_by"),
        ({"known_by": "gtin", "value": "123"}, "label.gtin", "value"),
        ({"known_by": "part", "value": "A\x1dB"}, "label.part", "value"),
        ({"known_by": "pattern", "value": "{lot}"}, "pattern.too_open", "value"),
        ({"means": "T=colour"}, "meaning.form", "means"),
        ({"means": "9D=made"}, "meaning.date", "means"),
    ],
)
def test_what_cannot_be_remembered_is_asked_again_at_its_field(bench: Bench, change: dict[str, str], code: str, where: str) -> None:
    bad = bench.not_understood("know_label", KnowLabel(**({"raw": LABEL} | WHO | change)))
    assert (bad.reason.code, bad.where) == (code, where) and not SupplierLabel.objects.exists()


def test_a_builder_may_not_tell_and_nobody_forgets_what_is_not_there(bench: Bench) -> None:
    assert "role.not_allowed" in bench.refused("know_label", KnowLabel(raw=LABEL, **WHO), "Bram")
    for label in (0, -1, 7, 2**70):
        assert bench.not_understood("forget_label", ForgetLabel(label)).reason.code == "label.unknown"


# --- what a scan is ----------------------------------------------------------------------------------------


def test_what_is_here_by_name_comes_before_what_a_label_could_mean(bench: Bench) -> None:
    bench.roll("T12345")
    assert asked(bench, "T12345", bare=True).what == "thing"
    assert asked(bench, "RACK", bare=True).what == "place" and asked(bench, "D-118").what == "delivery"
    assert asked(bench, "T99999", bare=True).what == "unmapped" and asked(bench, "nobody").what == "unknown"


def test_a_suppliers_label_leads_to_the_piece_that_came_with_it_or_to_its_lot(bench: Bench) -> None:
    bench.do("receive", roll("R0007"))
    bench.do("receive", roll("R0008"))
    found = asked(bench, LABEL)
    assert found.what == "thing" and found.item == Item.objects.get(supplier_serial="R0007")
    lot = asked(bench, f"]d201{GTIN}10G7")
    assert lot.what == "lot" and lot.lot is not None and lot.lot.number == "G7"


def test_a_scan_asks_a_constant_number_of_questions(bench: Bench) -> None:
    def asking(raw: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            asked(bench, raw, bare=True)
        return len(queries)

    bench.do("receive", roll("R0007"))
    few = {raw: asking(raw) for raw in (LABEL, "RACK", "nobody", GTIN, "T12345")}
    for n in range(20):
        bench.do("receive", roll(f"R1{n}"))
        bench.do("know_label", KnowLabel(known_by="pattern", value=f"XY{n}/{{lot}}", **WHO))
    assert {raw: asking(raw) for raw in few} == few and max(few.values()) <= 8


# --- serial numbers, labels and packages of a receipt ----------------------------------------------------------


def test_the_same_serial_number_of_a_lot_is_refused_the_second_time(bench: Bench) -> None:
    bench.do("receive", roll("R0007"))
    reasons = bench.refused("receive", roll("r0007"))
    assert "already in this delivery" in reasons["receive.serial_here"].text
    assert "received with D-118" in bench.refused("receive", roll("R0007", delivery="D-119"))["receive.serial_here"].text
    assert Item.objects.filter(kind="roll").count() == 1
    bench.do("receive", roll("R0007", lot="G8"))
    bench.do("receive", roll("R0008"))


def test_one_list_with_a_serial_number_twice_is_asked_again(bench: Bench) -> None:
    pieces = (ReceivedPiece("100 m", serial="R7"), ReceivedPiece("100 m", serial="r7"))
    bad = bench.not_understood("receive", Receive("D-118", (ReceivedLot("G7", pieces),), **WHO))
    assert (bad.reason.code, bad.where) == ("receive.serial_twice", "serial")


def test_the_labels_are_kept_as_they_were_scanned_with_the_package(bench: Bench) -> None:
    bench.do("receive", roll("R0007", package="2 of 5", labels=(LABEL,)))
    leg = Leg.objects.get(item__supplier_serial="R0007", act__kind="receive")
    body = json.loads(leg.body)
    assert body["labels"] == [LABEL] and body["package"] == [2, 5]
    assert bench.not_understood("receive", roll("R8", package="6 of 5")).reason.code == "piece.package"
    assert bench.not_understood("receive", roll("R8", labels=("x",) * 9)).reason.code == "piece.labels"
