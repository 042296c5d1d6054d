"""What is on order, what has come of it, what is late (R38); and quality's inbox, each thing once."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.core.reasons import Refused
from inventory.models import Delivery, Refusal
from inventory.reads import deliveries, quality
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.cutting import CutKit
from inventory.verbs.deciding import Dispose
from inventory.verbs.expecting import Expect
from inventory.verbs.extending import ExtendAsk
from inventory.verbs.holding import Hold, Unhold
from inventory.verbs.moving import Move
from inventory.verbs.receiving import OpenStock, Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.releasing import AcceptTransport, Release, ReturnToSupplier
from inventory.verbs.voiding import Void
from tests.ledger.bench import DAY, HOUR, Bench, clock, prepreg

pytestmark = pytest.mark.django_db
ZONE = "Europe/Copenhagen"


@pytest.fixture
def bench() -> Bench:
    return Bench()


def glass(number: str = "D-118", due: str = "2026-03-30", **more: Any) -> Expect:
    return Expect(number, "GB-600", "Aldervane Weavers", "300 m", 3, due, "412.00 EUR", "PO 2290", **more)


def seen(bench: Bench) -> dict[str, deliveries.Awaited]:
    return {row.number: row for row in deliveries.awaited(bench.yard.site.pk, bench.now_us, ZONE)}


def test_an_expected_delivery_shows_what_has_come_of_it(bench: Bench) -> None:
    bench.do("expect", glass())
    bench.roll("G7-1", to={"material": "", "supplier": ""})
    row = seen(bench)["D-118"]
    assert (row.pieces, row.expected_pieces, row.qty, row.expected_qty) == (1, 3, 100_000_000, 300_000_000)
    assert row.open and row.progress == "1 of 3 pieces" and (row.price, row.due_on) == ("412.00 EUR", date(2026, 3, 30))
    bench.roll("G7-2")
    wrong = bench.roll("G7-3")
    assert seen(bench)["D-118"].complete and deliveries.expected(bench.yard.site.pk, bench.now_us, ZONE) == []
    bench.do("void", Void(wrong.receipts[0].act, "was of D-117"), "Odile")
    assert seen(bench)["D-118"].open


def test_late_counts_from_the_day_after_it_was_due_in_the_yards_own_time(bench: Bench) -> None:
    bench.do("expect", glass("D-1", "2026-03-29"))
    bench.do("expect", glass("D-2", "2026-03-30"))
    bench.do("expect", glass("D-3", ""))
    assert [(row.number, row.late_days) for row in deliveries.late(bench.yard.site.pk, bench.now_us, ZONE)] == [("D-1", 1)]
    before_midnight = clock("23:59")
    assert [row.number for row in deliveries.late(bench.yard.site.pk, before_midnight, ZONE)] == ["D-1"]
    assert [(r.number, r.late_days) for r in deliveries.late(bench.yard.site.pk, before_midnight + HOUR, ZONE)] == [("D-1", 2), ("D-2", 1)]


def test_a_cancelled_delivery_is_no_longer_expected_and_what_comes_all_the_same_is_refused(bench: Bench) -> None:
    bench.do("expect", glass())
    for _ in range(2):
        bench.do("expect", Expect("D-118", cancel=True))
    assert deliveries.expected(bench.yard.site.pk, bench.now_us, ZONE) == []
    with pytest.raises(Refused) as refused:
        bench.roll("G7-1")
    assert [r.code for r in refused.value.reasons] == ["delivery.cancelled"]


def test_what_has_arrived_is_not_cancelled(bench: Bench) -> None:
    bench.do("expect", glass())
    bench.roll("G7-1")
    assert "delivery.arrived" in bench.refused("expect", Expect("D-118", cancel=True))
    assert bench.not_understood("expect", Expect("D-999", cancel=True)).reason.code == "delivery.unknown"


def test_expecting_the_same_twice_is_once_and_something_else_under_the_number_is_refused(bench: Bench) -> None:
    for _ in range(2):
        bench.do("expect", glass())
    assert "delivery.number_taken" in bench.refused("expect", glass(due="2026-04-01"))
    assert Delivery.objects.count() == 1 and Refusal.objects.count() == 1


def test_another_material_or_supplier_than_was_ordered_is_refused(bench: Bench) -> None:
    bench.do("expect", glass())
    wrong = Receive("D-118", (ReceivedLot("C1", (ReceivedPiece("50 m", "C-1"),)),), "Kestrow Prepreg", "CT-204")
    assert set(bench.refused("receive", wrong)) == {"delivery.other_material", "delivery.other_supplier"}


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"material": ""}, "material.needed"),
        ({"supplier": ""}, "supplier.needed"),
        ({"supplier": "Nobody"}, "supplier.unknown"),
        ({"delivery": ""}, "delivery.number_needed"),
        ({"pieces": 0}, "delivery.pieces"),
        ({"pieces": -3}, "delivery.pieces"),
        ({"quantity": "-3 m"}, "quantity.negative"),
        ({"quantity": "3 kg of it"}, "quantity.unknown_unit"),
        ({"due": "30.3.2026"}, "date.form"),
        ({"price": "a lot"}, "delivery.price"),
        ({"price": "-4 EUR"}, "price.negative"),
        ({"price": "1,234 EUR"}, "price.ambiguous"),
    ],
)
def test_an_order_that_cannot_be_is_asked_again(bench: Bench, change: dict[str, Any], code: str) -> None:
    from dataclasses import replace

    assert bench.not_understood("expect", replace(glass(), **change)).reason.code == code
    assert Delivery.objects.count() == 0


def test_only_storekeeper_and_owner_order(bench: Bench) -> None:
    for who in ("Bram", "Odile", "Vera"):
        assert "role.not_allowed" in bench.refused("expect", glass(), who)
    bench.do("expect", glass(), "Marek")


# --- quality's inbox --------------------------------------------------------------------------------------------------


def the_morning(bench: Bench) -> None:
    """D-119 with its journey, T-8 with its papers outside, an opened-stock roll of unknown history, and glass without papers."""
    lived: dict[str, Any] = {"out_time": "6 h 00", "transport": "9 h 20", "warmest": "-3.1 °C"}
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7", **lived), ReceivedPiece("50 m", "T-8", **lived)))
    values = [("T-7", "203", "42.3"), ("T-8", "205", "45.1")]
    rows = [PaperValue(n, text, mark) for mark, mass, resin in values for n, text in (("areal mass", mass), ("resin", resin))]
    bench.do("certify", Certify("T26-031", tuple(rows)))
    old = ReceivedLot("OLD-1", (ReceivedPiece("17.5 m", "PT-1"),), made="2025-11-03")
    bench.do("open_stock", OpenStock("PP-T", (old,), place="F1"))
    for n in range(1, 4):
        bench.roll(f"G7-{n}")


def test_everything_that_waits_stands_there_once_with_why(bench: Bench) -> None:
    the_morning(bench)
    waits = {w.name: set(w.codes) for w in quality.waiting(bench.yard.site.pk)}
    assert waits == {
        "T-7": {"transport.not_settled"},
        "T-8": {"transport.not_settled", "certificate.outside"},
        "PT-1": {"history.unknown", "certificate.missing"},
        "G7-1": {"certificate.missing"},
        "G7-2": {"certificate.missing"},
        "G7-3": {"certificate.missing"},
    }
    groups = [(g.delivery, g.codes, [p.name for p in g.pieces]) for g in quality.inbox(bench.yard.site.pk).waiting]
    assert ("D-118", ("certificate.missing",), ["G7-1", "G7-2", "G7-3"]) in groups and len(groups) == 4


def test_what_is_decided_leaves_the_inbox(bench: Bench) -> None:
    the_morning(bench)
    bench.do("accept_transport", AcceptTransport("logger file", delivery="D-119"), "Odile")
    bench.do("release", Release(("T-7",)), "Odile")
    bench.do("return_supplier", ReturnToSupplier("T-8", "resin"), "Odile")
    assert {w.name for w in quality.waiting(bench.yard.site.pk)} == {"PT-1", "G7-1", "G7-2", "G7-3"}


def test_holds_cases_and_wishes_for_a_second_person_stand_there_too(bench: Bench) -> None:
    the_morning(bench)
    bench.do("hold", Hold("G7", "wet", recall=True), "Odile")
    bench.do("unhold", Unhold("G7", "dried"), "Odile")
    film = ReceivedLot("FA-9", (ReceivedPiece("25 m", "FA-9-2"),), made="2025-11-30")
    bench.do("receive", Receive("D-90", (film,), "Kestrow Prepreg", "FA-B", "F2"))
    bench.do("extend_ask", ExtendAsk("FA-9", 3, "24.1 MPa"), "Odile")
    bench.do("receive", prepreg(ReceivedPiece("5 m", "T-9"), place="AC", lot="T27"), stance="observed", happened_us=bench.now_us - HOUR)
    box = quality.inbox(bench.yard.site.pk)
    assert [(h.name, h.why, h.by, h.second_person) for h in box.holds] == [("G7", "recall", "Odile", True)]
    assert [(a.kind, a.asked_by) for a in box.approvals] == [("unhold", "Odile"), ("extend_ask", "Odile")]
    assert "24.1" in box.approvals[1].text and box.approvals[1].name == "FA-9-2"
    assert (len(box.cases) == 1 and "AC" in box.cases[0].touched[0].text) or "takes only" in box.cases[0].touched[0].text


def test_a_case_names_everything_that_it_touches_once(bench: Bench) -> None:
    the_morning(bench)
    bench.do("accept_transport", AcceptTransport("logger", delivery="D-119"), "Odile")
    bench.do("release", Release(("T-7",)), "Odile")
    bench.do("move", Move("T-7", "CLEAN"), "Bram", at=bench.now_us + HOUR)
    for n in (1, 2):
        p = CutKit("T-7", "1 m", mark=f"K-{n}")
        bench.do("cut_kit", p, "Bram", at=bench.now_us + DAY, stance="observed", happened_us=bench.now_us + (1 + n) * HOUR)
    cases = quality.cases(bench.yard.site.pk)
    assert [(case.cause, [t.name for t in case.touched]) for case in cases] == [("T-7", ["K-1", "K-2"])]
    bench.do("dispose", Dispose("K-1", "accept", reason="bag looked at, dry"), "Odile", at=bench.now_us + DAY)
    assert [t.name for t in quality.cases(bench.yard.site.pk)[0].touched] == ["K-2"]


def test_the_inbox_and_the_deliveries_take_the_same_statements_for_three_rolls_and_for_thirty(bench: Bench) -> None:
    counts = []
    for upto in (3, 30):
        for n in range(len(quality.waiting(bench.yard.site.pk)), upto):
            bench.roll(f"R-{n}", delivery=f"D-{n}", lot=f"L{n}")
            bench.do("hold", Hold(f"R-{n}", "wet", second_person=True), "Odile")
            bench.do("unhold", Unhold(f"R-{n}", "dried"), "Odile")
        with CaptureQueriesContext(
            connection,
        ) as inbox:
            quality.inbox(bench.yard.site.pk)
        with CaptureQueriesContext(connection) as came:
            deliveries.awaited(bench.yard.site.pk, bench.now_us, ZONE)
        counts.append((len(inbox), len(came)))
    assert counts[0] == counts[1] and counts[0][1] == 2 and counts[0][0] <= 15, counts
