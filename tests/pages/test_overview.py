"""The shop at a glance: the figures follow from what was recorded, and a record that is voided takes its figure back."""

from __future__ import annotations

import pytest

from inventory.reads import outlook
from inventory.verbs import counting, cutting, moving, voiding
from layups.demo.anchor import DAY_US

from .browsing import Browser, Clock
from .store import Store

M = 10**6


def by_code(yard: Store, now: int) -> dict[str, outlook.Outlook]:
    return {o.material.code: o for o in outlook.outlooks(yard.site.pk, yard.zone, now, 56)}


def test_what_ends_within_two_weeks_is_usable_now_and_not_then(yard: Store, clock: Clock) -> None:
    """The film adhesive's last day is today; the twill has years."""
    found = by_code(yard, clock.now)
    assert found["FA-B"].usable > 0 and found["FA-B"].living == 0
    assert found["CT-204"].living == found["CT-204"].usable > 0


def test_what_is_planned_back_goes_back_and_what_is_not_ages_where_it_lies(yard: Store, clock: Clock) -> None:
    """T-2, T-4 and T-6 lie in the clean room until five: in the cold they live on. Without a plan, 14 days out are more than their
    tack life of ten."""
    assert by_code(yard, clock.now)["PP-T"].living == 124_600_000 == by_code(yard, clock.now)["PP-T"].usable
    for mark in ("T-4", "T-6"):
        yard.do(clock.now, "Ines", "move", moving.Move(mark, "F1"))
        yard.do(clock.now + 1, "Ines", "move", moving.Move(mark, "CLEAN"))
    assert by_code(yard, clock.now + 2)["PP-T"].living == 24_600_000, "T-2 alone is planned back"


def test_arrivals_count_until_the_day_and_use_goes_at_the_rate_of_the_past(yard: Store, clock: Clock) -> None:
    before = by_code(yard, clock.now)
    assert before["PEEL-85"].arriving == 100 * M, "due on 1 April"
    used = before["CT-204"].used
    yard.do(clock.now, "Ines", "cut_kit", cutting.CutKit("C-13", "8.00 m", "8.00 m²", "K-90"))
    after = by_code(yard, clock.now + 1)["CT-204"]
    assert after.used == used + 8 * M
    assert after.expected == after.living - round(after.used / 4), "two weeks of eight are a quarter"


def test_what_is_used_faster_than_it_comes_runs_out(yard: Store, clock: Clock) -> None:
    yard.do(clock.now, "Ines", "cut_kit", cutting.CutKit("C-13", "45.00 m", "45.00 m²", "K-90"))
    yard.do(clock.now + 1, "Ines", "cut_kit", cutting.CutKit("C-12", "15.00 m", "15.00 m²", "K-92"))
    found = by_code(yard, clock.now + 2)["CT-204"]
    assert 0 < found.usable < found.used / 4 and found.expected == 0
    assert "runs out" in Browser(yard, "Marek").get("/overview/?weeks=4").text


def test_losses_stand_by_cause_with_their_mass_and_a_void_takes_one_back(yard: Store, clock: Clock) -> None:
    done = yard.do(clock.now, "Ines", "scrap", counting.Scrap("C-13", "Damaged in store", "2.00 m"))
    found = {(x.cause, x.what): x for x in outlook.losses(yard.site.pk, clock.now - DAY_US, clock.now)}
    loss = found["damaged in store", "CT-204"]
    assert (loss.qty, loss.unit, loss.times) == (2 * M, "um", 1)
    assert loss.ug == 2 * 1_270 * 204 * 10**3, "2.00 m × 1.270 m × 204 g/m², by hand: 518.16 g"
    yard.do(clock.now + 1, "Odile", "void", voiding.Void(record=done.receipts[0].act, reason="wrong roll"))
    assert ("damaged in store", "CT-204") not in {
        (x.cause, x.what) for x in outlook.losses(yard.site.pk, clock.now - DAY_US, clock.now + 2)
    }


def test_what_cutting_left_over_counts_as_lost(yard: Store, clock: Clock) -> None:
    yard.do(clock.now, "Ines", "cut_kit", cutting.CutKit("C-13", "6.20 m", "5.94 m²", "K-91"))
    found = [x for x in outlook.losses(yard.site.pk, clock.now - 1, clock.now) if x.cause == outlook.OFFCUT]
    assert [x.what for x in found] == ["CT-204"]
    assert found[0].qty == pytest.approx((6.20 - 5.94 / 1.25) * M, rel=0.02), "by the usable width of the roll, 1.25 m within rounding"


def test_the_freezers_hold_what_the_records_say(yard: Store, clock: Clock) -> None:
    cold = outlook.freezers(yard.site.pk, clock.now, 7)
    now = {code: counts[-1] for code, counts in cold.counts.items()}
    assert now == {"F1": 1, "F2": 2}, "U-4; FA-9-1 and FA-9-2"
    yard.do(clock.now + 1, "Ines", "move", moving.Move("T-4", "F1"))
    assert outlook.freezers(yard.site.pk, clock.now + 2, 7).counts["F1"][-1] == 2


@pytest.mark.parametrize("who", ["Marek", "Odile", "Vera"])
def test_the_page_shows_it_to_those_who_answer_for_the_shop(yard: Store, clock: Clock, who: str) -> None:
    page = Browser(yard, who).get("/overview/?weeks=4")
    assert page.status == 200 and page.headings == 1
    assert "Things in each freezer" in page.text and "FA-B" in page.text
    assert "all of it ends by then" in page.text


@pytest.mark.parametrize("weeks", ["", "0", "-4", "9999999999", "x", "12;", "١٢"])
def test_a_period_that_is_not_offered_is_the_usual_one(yard: Store, clock: Clock, weeks: str) -> None:
    page = Browser(yard, "Marek").get(f"/overview/?weeks={weeks}")
    assert page.status == 200 and '<option value="12" selected>' in page.source


def test_the_number_of_queries_does_not_grow(yard: Store, clock: Clock) -> None:
    marek = Browser(yard, "Marek")
    marek.get("/overview/")
    before = marek.queries("/overview/")
    for n in range(6):
        yard.stock(f"N-{n}", "CT-204", 10 * M, "RACK", clock.now, lot=f"new {n}")
        yard.do(clock.now, "Ines", "scrap", counting.Scrap(f"N-{n}", f"cause {n}", "1.00 m"))
    assert marek.queries("/overview/") == before
