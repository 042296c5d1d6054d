"""What random days found once, each as a day of its own."""

from __future__ import annotations

import pytest

from inventory.models import Finding
from inventory.recording.rebuild import rebuild
from inventory.verbs.moving import Move, Open
from inventory.verbs.receiving import ReceivedPiece
from tests.ledger.bench import DAY, HOUR, Bench, clock, prepreg

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    made = Bench()
    made.do("receive", prepreg(ReceivedPiece("50 m", "T-7")), at=clock("05:00") - 3 * DAY)
    made.do("move", Move("T-7", "CLEAN"), at=clock("06:00"))
    return made


def open_findings() -> set[str]:
    return {code.split("/")[0] for code in Finding.objects.filter(closed_us__isnull=True).values_list("code", flat=True)}


def told(bench: Bench, verb: str, params: object, happened: str, at: str) -> None:
    bench.do(verb, params, at=clock(at), stance="observed", happened_us=clock(happened))


def test_a_wet_bag_that_was_opened_stays_a_finding_when_the_record_is_folded_again(bench: Bench) -> None:
    told(bench, "open", Open("T-7", False), "19:00", "19:05")
    assert open_findings() == {"thaw.bag_wet"}
    assert not rebuild(bench.yard.site, clock("20:00")).differences
    told(bench, "move", Move("T-7", "BAY1"), "18:00", "20:00")
    assert open_findings() == {"thaw.bag_wet"}, "somebody saw it: no later record takes that away"


def test_an_opening_too_early_is_judged_again_when_the_take_out_turns_out_earlier(bench: Bench) -> None:
    """12 h of thaw from 06:00; opened 08:00; and then: it had been out since Sunday evening."""
    told(bench, "open", Open("T-7", True), "08:00", "08:05")
    assert open_findings() == {"thaw.short"}
    assert not rebuild(bench.yard.site, clock("20:00")).differences
    bench.do("move", Move("T-7", "CLEAN"), at=clock("20:00"), stance="observed", happened_us=clock("00:00") - 6 * HOUR)
    assert not open_findings()
    assert not rebuild(bench.yard.site, clock("20:00")).differences
