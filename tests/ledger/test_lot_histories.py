"""What the papers of a material's lots stated, in the order in which the lots came; and what is asked when papers are entered."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Act, CertValue, Lot
from inventory.reads.histories import History, cautions, histories
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.voiding import Void
from tests.ledger.bench import DAY, Bench

pytestmark = pytest.mark.django_db
VALUES = ("602", "598", "605", "596", "601", "599", "603", "600", "597", "604")


def lot(bench: Bench, number: str, value: str, day: int, material: str = "GB-600", name: str = "areal mass") -> None:
    """A lot of one roll that comes on a day, and its papers."""
    piece = ReceivedPiece("100.00 m", f"R-{number}")
    at = bench.now_us - (200 - day) * DAY
    more = {"material": material, "supplier": "Aldervane Weavers", "place": "RACK"}
    bench.do("receive", Receive(f"D-{number}", (ReceivedLot(number, (piece,)),), **more), at=at)
    if value:
        bench.do("certify", Certify(number, (PaperValue(name, value),)), at=at + 1)


def history(bench: Bench, name: str = "areal mass", material: str = "GB-600") -> History:
    return next(h for h in histories(bench.yard.site.pk, bench.yard.material[material].pk) if h.name == name)


def test_lots_stand_in_the_order_in_which_they_came_not_in_that_of_their_papers() -> None:
    bench = Bench()
    for n in (3, 1, 2):
        lot(bench, f"L{n}", f"60{n}", day=n)
    found = history(bench)
    assert [row.lot.number for row in found.rows] == ["L1", "L2", "L3"] and [row.value for row in found.rows] == [601, 602, 603]
    assert found.judged.no_chart == "Too little data: 3 of 8 lots."


def test_a_correction_counts_and_a_voided_paper_does_not() -> None:
    bench = Bench()
    lot(bench, "L1", "660", day=1)
    bench.do("certify", Certify("L1", (PaperValue("areal mass", "606"),)))
    assert [row.value for row in history(bench).rows] == [606]
    act = Act.objects.filter(kind="certify").order_by("-pk").first()
    assert act is not None
    bench.do("void", Void(act.pk, "typed for another lot"), "Odile")
    assert [row.value for row in history(bench).rows] == [660]


def test_what_is_no_number_is_shown_and_not_charted() -> None:
    bench = Bench()
    lot(bench, "L1", "clear", day=1, name="colour")
    lot(bench, "L2", "2 %", day=2, name="binder")
    lot(bench, "L3", "0.02", day=3, name="binder")
    (colour,) = history(bench, "colour").rows
    assert colour.texts == ("clear",) and colour.value is None and "not a number" in colour.why
    two = history(bench, "binder").rows
    assert two[0].value == 2 and two[1].value == 0.02, "a bare number is taken to be in the same unit"
    lot(bench, "L4", "2 ppm", day=4, name="binder")
    assert history(bench, "binder").rows[-1].value is None


def test_values_of_pieces_make_the_lots_mean() -> None:
    bench = Bench()
    pieces = tuple(ReceivedPiece("50.00 m", mark) for mark in ("T-1", "T-2"))
    bench.do("receive", Receive("D-9", (ReceivedLot("T9", pieces),), material="GB-600", supplier="Aldervane Weavers", place="RACK"))
    values = (PaperValue("areal mass", "600", "T-1"), PaperValue("areal mass", "604", "T-2"), PaperValue("areal mass", "590"))
    bench.do("certify", Certify("T9", values))
    (row,) = history(bench).rows
    assert row.value == 602 and row.texts == ("600", "604")


def test_a_lot_outside_the_limits_is_asked_about_when_its_papers_are_entered_and_is_recorded() -> None:
    bench = Bench()
    for n, value in enumerate(VALUES):
        lot(bench, f"L{n}", value, day=n)
    lot(bench, "NEW", "", day=50)
    answer = bench.do("certify", Certify("NEW", (PaperValue("areal mass", "640"),)))
    assert [told["code"] for told in answer.data["cautions"]] == ["values.rule_1"] and "To be asked: areal mass 640" in answer.text
    assert CertValue.objects.filter(lot__batch__number="NEW", value="640").exists(), "a caution is no refusal"
    lot(bench, "OK", "", day=51)
    assert bench.do("certify", Certify("OK", (PaperValue("areal mass", "601"),))).data["cautions"] == []
    late = Lot.objects.select_related("item", "material").get(number="L0")
    assert cautions(late, [("areal mass", "602")]) == [], "a lot is judged by those before it"


def test_a_figure_that_the_threads_cannot_give_is_asked_about() -> None:
    bench = Bench()
    lot(bench, "C1", "", day=1, material="CT-204")
    answer = bench.do("certify", Certify("C1", (PaperValue("areal mass", "212"), PaperValue("tex", "400 tex"))))
    assert [told["code"] for told in answer.data["cautions"]] == ["geometry.tex"], "212 g/m² lie within 5 % of 204"
    answer = bench.do("certify", Certify("C1", (PaperValue("areal mass", "404"),)))
    assert [told["code"] for told in answer.data["cautions"]] == ["geometry.areal"]
    assert CertValue.objects.filter(value="404").exists()


def test_any_number_of_lots_asks_as_many_queries() -> None:
    bench = Bench()
    lot(bench, "L0", "600", day=0)

    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            history(bench)
        return len(seen)

    few = asked()
    for n in range(1, 8):
        lot(bench, f"L{n}", VALUES[n], day=n)
    assert asked() == few == 4
