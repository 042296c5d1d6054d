"""The things with a name, without a history: what tests of a day start from."""

from __future__ import annotations

import pytest

from inventory.core.reasons import Refused
from inventory.verbs import moving
from inventory.verbs.registry import Call, perform
from layups.demo import fixture
from layups.demo.anchor import Anchor
from layups.demo.master import Yard
from layups.demo.script import code_of, key_of

from . import named
from .conftest import MONDAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("small")]


def test_lengths_masses_and_places_are_those_of_the_monday() -> None:
    named.check_quantities_and_places()


def test_out_times_are_exact_to_the_minute_over_the_clock_change() -> None:
    named.check_out_times(MONDAY)


def test_limits_end_when_the_labels_say() -> None:
    named.check_limits(MONDAY)


def test_the_roll_has_its_map_and_deliveries_are_due() -> None:
    named.check_map_owner_and_orders(MONDAY)


def test_open_jobs_wait_for_material() -> None:
    named.check_open_work(MONDAY)


def test_a_roll_out_of_the_cold_may_be_opened_after_its_thaw_and_not_before(small: Yard) -> None:
    at = MONDAY.at(0, "08:20")
    perform("open", Call(small.who("Ines"), at, key_of("test open T-2")), moving.Open(code_of("T-2"), True))
    with pytest.raises(Refused) as refused:
        perform("open", Call(small.who("Ines"), at, key_of("test open T-4")), moving.Open(code_of("T-4"), True))
    (reason,) = refused.value.reasons
    assert reason.code == "thaw.short" and reason.numbers["ready_at_us"] == MONDAY.at(0, "18:30")


@pytest.mark.parametrize("monday", ["2026-03-30", "2026-08-31", "2027-11-01", "2028-02-28"])
def test_film_made_half_a_year_ago_ends_on_the_monday_or_the_day_after(small: Yard, monday: str) -> None:
    from datetime import date

    from inventory.core.spans import add_months
    from layups.demo.hands import Hands

    hands = Hands(small)
    hands.anchor = Anchor(date.fromisoformat(monday))
    made = hands.anchor.day(fixture.half_year_before(hands))
    assert 0 <= (add_months(made, 6) - hands.anchor.monday).days <= 1
