"""Papers, release and return: what stands against letting a delivery go (R6, R44)."""

from __future__ import annotations

import pytest

from inventory.core.reasons import Refused
from inventory.models import Act, Block, CertValue, Disposition, Edge, Leg, Refusal
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.cutting import CutKit
from inventory.verbs.deciding import Dispose
from inventory.verbs.moving import Move
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.releasing import AcceptTransport, Release, ReturnToSupplier
from inventory.verbs.voiding import Void
from tests.ledger.bench import DAY, HOUR, MINUTE, Bench, clock, doc, item, prepreg, reading, state

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    """The yard after the storekeeper has received D-119 and entered its papers."""
    bench = Bench()
    lived = {"out_time": "6 h 00", "transport": "9 h 20", "warmest": "-3.1 °C"}
    pieces = [ReceivedPiece("50.00 m", mark, **lived) for mark in ("T-7", "T-8")]  # type: ignore[arg-type]
    bench.do("receive", prepreg(*pieces), at=clock("08:00"))
    values = (("T-7", "203", "42.3"), ("T-8", "205 g/m²", "45.1"))
    rows = [PaperValue(name, text, mark) for mark, mass, resin in values for name, text in (("areal mass", mass), ("Resin", resin))]
    bench.papers = bench.do("certify", Certify("T26-031", tuple(rows)), at=clock("08:10"))  # type: ignore[attr-defined]
    bench.now_us = clock("08:40")
    return bench


def accepted(bench: Bench) -> Bench:
    bench.do("accept_transport", AcceptTransport("logger file D-119", delivery="D-119"), "Odile")
    return bench


def test_values_outside_their_limits_are_stored_and_shown_not_refused(bench: Bench) -> None:
    lines = {(row["item"], row["name"]): row for row in bench.papers.data["lines"]}  # type: ignore[attr-defined]
    assert lines[("T-7", "resin")]["verdict"] == "inside"
    assert (lines[("T-8", "resin")]["verdict"], lines[("T-8", "resin")]["low"], lines[("T-8", "resin")]["high"]) == (
        "outside",
        "40.0",
        "44.0",
    )
    assert lines[("T-8", "areal mass")]["value"] == "205"
    assert CertValue.objects.count() == 4


def test_a_roll_whose_papers_are_right_is_still_not_released(bench: Bench) -> None:
    assert Block.objects.filter(item=item("T-7"), to_us=None, why="incoming").exists()


def test_the_storekeeper_has_no_release_and_her_wish_is_logged(bench: Bench) -> None:
    assert "role.not_allowed" in bench.refused("release", Release(("T-7",)), "Ines")
    assert Refusal.objects.get().verb == "release"


def test_release_is_refused_while_the_transport_is_not_settled(bench: Bench) -> None:
    reasons = bench.refused("release", Release(("T-7",)), "Odile")
    assert set(reasons) == {"transport.not_settled"}
    assert reasons["transport.not_settled"].numbers["us"] == 9 * HOUR + 20 * MINUTE


def test_after_the_transport_is_accepted_with_time_charged_a_roll_is_released_and_keeps_its_time(bench: Bench) -> None:
    accepted(bench).do("release", Release(("T-7",), reason="papers and journey in order"), "Odile")
    assert reading("T-7", "out", bench).used == 15 * HOUR + 20 * MINUTE
    block = Block.objects.get(item=item("T-7"))
    assert block.closed is not None
    assert (block.closed.person.name, block.closed.happened_us, block.closed.reason) == (
        "Odile",
        clock("08:40"),
        "papers and journey in order",
    )
    bench.do("move", Move("T-7", "CLEAN"), "Bram")
    assert "block.incoming" not in bench.refused("cut_kit", CutKit("T-7", "1 m"), "Bram"), "only the thaw is against it"


def test_a_value_outside_its_limits_blocks_release_with_value_and_limits(bench: Bench) -> None:
    reasons = accepted(bench).refused("release", Release(("T-8",)), "Odile")
    assert set(reasons) == {"certificate.outside"}
    assert {k: reasons["certificate.outside"].numbers[k] for k in ("name", "value", "low", "high")} == {
        "name": "resin",
        "value": "45.1",
        "low": "40.0",
        "high": "44.0",
    }


def test_a_whole_delivery_is_released_or_not_at_all(bench: Bench) -> None:
    assert "certificate.outside" in accepted(bench).refused("release", Release(delivery="D-119"), "Odile")
    assert Block.objects.filter(why="incoming", to_us=None).count() == 2
    bench.do("return_supplier", ReturnToSupplier("T-8", "resin 45.1"), "Odile")
    bench.do("release", Release(delivery="d-119"), "Odile")
    assert Block.objects.filter(why="incoming", to_us=None, item=item("T-7")).count() == 0


def test_a_lot_by_its_number_is_released_with_all_that_waits(bench: Bench) -> None:
    accepted(bench).do("certify", Certify("T26-031", (PaperValue("resin", "43.9", "T-8"),)), "Odile")
    told = bench.do("release", Release(("T26-031",)), "Odile")
    assert told.data["items"] == ["T-7", "T-8"]


def test_missing_values_block_release_and_the_newer_of_two_values_counts(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-9"), delivery="D-140"))
    reasons = bench.refused("release", Release(("T-9",)), "Odile")
    assert set(reasons) == {"certificate.missing"}, "values of the lot's other rolls do not stand for this one"
    bench.do("certify", Certify("T-9", (PaperValue("areal mass", "204", "T-9"), PaperValue("resin", "44.1", "T-9"))))
    assert "certificate.outside" in bench.refused("release", Release(("T-9",)), "Odile")
    bench.do("certify", Certify("T-9", (PaperValue("resin", "44.0", "T-9"),)))
    bench.do("release", Release(("T-9",)), "Odile")


def test_a_voided_certificate_says_nothing(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-9"), delivery="D-140"))
    right = bench.do("certify", Certify("T-9", (PaperValue("areal mass", "204", "T-9"), PaperValue("resin", "42", "T-9"))))
    bench.do("void", Void(right.receipts[0].act, "papers of another roll"), "Odile")
    assert "certificate.missing" in bench.refused("release", Release(("T-9",)), "Odile")


def test_return_to_supplier_works_while_blocked_and_the_lot_balances(bench: Bench) -> None:
    accepted(bench).do("release", Release(("T-7",)), "Odile")
    told = bench.do("return_supplier", ReturnToSupplier("T-8", "resin 45.1 of 44.0", reference="RMA 17"), "Odile")
    assert told.data["returned"] == 50_000_000
    assert (state("T-8").qty, state("T-8").gone) == (0, "returned")
    received = sum(e.qty for e in Edge.objects.filter(kind="receive", src=item("T-7").lot))
    returned = -sum(leg.delta for leg in Leg.objects.filter(act__kind="return"))
    assert (received, state("T-7").qty + state("T-8").qty, returned) == (100_000_000, 50_000_000, 50_000_000)
    assert "stock.gone" in bench.refused("move", Move("T-8", "CLEAN"))


def test_a_return_sent_twice_counts_once_and_a_second_return_finds_nothing(bench: Bench) -> None:
    bench.do("return_supplier", ReturnToSupplier("T-8", "resin"), key="back")
    assert bench.do("return_supplier", ReturnToSupplier("T-8", "resin"), key="back").replay
    assert bench.not_understood("return_supplier", ReturnToSupplier("T-8", "resin")).reason.code == "stock.empty"
    assert Act.objects.filter(kind="return").count() == 1


def test_use_as_is_without_a_reference_is_refused_and_with_one_it_lets_just_this_value_pass(bench: Bench) -> None:
    reasons = accepted(bench).refused("dispose", Dispose("T-8", "use_as_is"), "Odile")
    assert set(reasons) == {"dispose.reference_needed"}
    assert "dispose.use_as_is_needed" in bench.refused("dispose", Dispose("T-8", "accept"), "Odile")
    bench.do("dispose", Dispose("T-8", "use_as_is", reference="Ferrel 2026-17", reason="thicker adhesive line agreed"), "Odile")
    bench.do("certify", Certify("T-8", (PaperValue("resin", "45.6", "T-8"),)))
    assert "certificate.outside" in bench.refused("release", Release(("T-8",)), "Odile"), "another value than was decided on"
    bench.do("dispose", Dispose("T-8", "use_as_is", reference="Ferrel 2026-18"), "Odile")
    bench.do("release", Release(("T-8",)), "Odile")


def test_a_missing_value_may_be_accepted_but_not_if_that_decision_was_voided(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-9"), delivery="D-140"))
    decision = bench.do("dispose", Dispose("T-9", "accept", reason="own test 42.1 %, report 9"), "Odile")
    bench.do("void", Void(decision.receipts[0].act, "report was of T-7"), "Odile")
    assert "certificate.missing" in bench.refused("release", Release(("T-9",)), "Odile")
    bench.do("dispose", Dispose("T-9", "accept", reason="own test 42.1 %, report 10"), "Odile")
    bench.do("release", Release(("T-9",)), "Odile")


def test_a_material_that_needs_a_certificate_is_not_released_without_one(bench: Bench) -> None:
    material = bench.yard.material["PIG-W"]
    material.needs_certificate = True
    material.save()
    can = Receive("D-141", (ReceivedLot("PG1", (ReceivedPiece("1 kg", "PG-1"),), made="2026-03-01"),), "Orrisby Resin Works", "PIG-W", "RS")
    bench.do("receive", can)
    assert set(bench.refused("release", Release(("PG-1",)), "Odile")) == {"certificate.none"}
    bench.do("certify", Certify("PG1", (PaperValue("colour", "RAL 9010"),)))
    bench.do("release", Release(("PG-1",)), "Odile")


def test_what_needs_nothing_is_released_with_one_decision(bench: Bench) -> None:
    bench.do("receive", Receive("D-142", (ReceivedLot("M1", (ReceivedPiece("2 pc", "M-1"),)),), "Hask Consumables", "MESH", "RACK"))
    bench.do("release", Release(("M-1",)), "Odile", key="once")
    assert bench.do("release", Release(("M-1",)), "Odile", key="once").replay
    assert set(bench.refused("release", Release(("M-1",)), "Odile")) == {"release.not_waiting"}


def test_voiding_a_release_makes_the_roll_wait_again(bench: Bench) -> None:
    released = accepted(bench).do("release", Release(("T-7",)), "Odile")
    bench.do("void", Void(released.receipts[0].act, "looked at the wrong roll"), "Odile")
    assert Block.objects.filter(item=item("T-7"), to_us=None, why="incoming").count() == 1
    bench.do("release", Release(("T-7",)), "Odile")


def test_a_decision_is_never_reported_late(bench: Bench) -> None:
    wrong = bench.not_understood("release", Release(("T-7",)), "Odile", stance="observed", happened_us=bench.now_us - DAY)
    assert wrong.reason.code == "verb.not_observable"


def test_a_transport_is_settled_once_and_only_where_it_waits(bench: Bench) -> None:
    accepted(bench)
    assert Disposition.objects.filter(meaning="accept_transport").count() == 2
    assert bench.not_understood("accept_transport", AcceptTransport("x", delivery="D-119"), "Odile").reason.code == "transport.nothing"
    assert "transport.settled" in bench.refused("accept_transport", AcceptTransport("x", items=("T-7",)), "Odile")
    assert bench.not_understood("accept_transport", AcceptTransport(" ", items=("T-7",)), "Odile").reason.code == "evidence.missing"


def test_the_decision_on_a_transport_repeats_as_one(bench: Bench) -> None:
    p = AcceptTransport("logger", delivery="D-119")
    bench.do("accept_transport", p, "Odile", key="journey")
    assert bench.do("accept_transport", p, "Odile", key="journey").replay
    assert Disposition.objects.count() == 2


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ((), "certificate.nothing"),
        ((PaperValue("resin", "42", "T-7"), PaperValue("RESIN", "43", "T-7")), "certificate.name_twice"),
        ((PaperValue("", "42"),), "certificate.name"),
        ((PaperValue("resin", ""),), "certificate.value"),
        ((PaperValue("resin", "4x2"),), "certificate.unit"),
        ((PaperValue("resin", "about 42"),), "certificate.not_a_number"),
        ((PaperValue("areal mass", "1,234"),), "certificate.ambiguous"),
        ((PaperValue("areal mass", "5.9 oz/yd²"),), "certificate.unit"),
        ((PaperValue("resin", "42", "T-99"),), "code.unknown"),
    ],
)
def test_papers_that_cannot_be_read_are_asked_again_and_nothing_is_kept(bench: Bench, values: tuple[PaperValue, ...], code: str) -> None:
    before = CertValue.objects.count()
    assert bench.not_understood("certify", Certify("T26-031", values)).reason.code == code
    assert CertValue.objects.count() == before


def test_papers_of_a_roll_go_with_its_own_lot(bench: Bench) -> None:
    bench.roll("G7-1")
    assert bench.not_understood("certify", Certify("T26-031", (PaperValue("resin", "42", "G7-1"),))).reason.code == "certificate.other_lot"


def test_two_people_who_release_the_same_roll_do_it_once(bench: Bench) -> None:
    accepted(bench).do("release", Release(("T-7",)), "Odile")
    with pytest.raises(Refused):
        bench.do("release", Release(("T-7",)), "Odile")
    assert Act.objects.filter(kind="release").count() == 1
    assert doc("T-7")["frozen"] is True
