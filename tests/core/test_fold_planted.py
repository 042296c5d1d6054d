"""The net itself is tested: every planted bug is caught by a small part of the checks, and without one they all pass."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import pytest

from tests.core import test_exposure as exposures
from tests.core import test_fold as rules
from tests.core import test_fold_days as days
from tests.core import test_fold_properties as properties
from tests.core import test_limits as life
from tests.core.planted import Planted
from tests.core.planted_limits import BUGS

pytestmark = pytest.mark.core
SECONDS = 3.0


def net() -> Iterator[tuple[str, Callable[[], object]]]:
    """A fast subset, cheapest first: single days and edges, then random shops."""
    some = properties.seeds
    yield "the forgotten roll", lambda: days.test_a_roll_forgotten_over_the_clock_change_counts_elapsed_hours(days.monday())
    yield (
        "the tripped oven",
        lambda: days.test_a_start_that_tripped_below_forty_degrees_is_void_and_the_gap_counts(days.laid_up(days.monday())),
    )
    yield "the loaded oven", lambda: days.test_loading_stops_no_clock_and_the_start_of_heating_does(days.laid_up(days.monday()))
    yield (
        "the unnoticed trip",
        lambda: days.test_a_trip_that_nobody_records_until_the_run_is_over_comes_to_the_same(days.laid_up(days.monday())),
    )
    yield "the power cut", lambda: days.test_an_excursion_charges_what_was_inside_for_as_long_as_it_was_inside(days.in_the_freezers())
    yield "edges of limits", edges
    yield "the walk", lambda: properties.check_against_the_walk(some(150))
    yield "orders of arrival", lambda: properties.check_any_order_of_arrival(some(20), 2)
    yield "repeats", lambda: properties.check_repeats_are_refused(some(5))
    yield "splitting", lambda: properties.check_splitting_changes_no_clock(some(40))
    yield "children", lambda: properties.check_no_child_is_fresher_than_its_parent_was(some(40))
    yield "growing", lambda: properties.check_out_time_only_grows_and_no_faster_than_the_clock(some(40))
    yield "documents", lambda: properties.check_documents(some(40))
    yield "pruning", exposures.test_pruning_never_changes_a_verdict_for_any_pair_in_a_small_world


def edges() -> None:
    life.test_an_hours_limit_is_over_at_exactly_the_limit()
    life.test_time_counts_as_out_only_above_the_threshold()
    life.test_months_are_calendar_months_and_the_last_day_counts("2025-08-31", 6, "2026-02-28")
    life.test_days_from_opening_are_days_of_the_calendar_over_both_changes_of_the_clocks()
    life.test_a_count_may_reach_its_limit_and_not_pass_it()
    life.test_the_same_instant_ends_a_date_in_one_zone_and_not_in_another()
    life.test_fractions_do_not_drift_as_decimals_would()
    life.test_every_failure_is_told_and_not_only_the_first()
    life.test_a_limit_that_ends_at_the_very_start_of_cure_is_too_short()
    life.test_an_extension_moves_the_named_limit_of_that_lot_and_nothing_else()
    life.test_an_extension_to_an_earlier_day_shortens_nothing()
    life.test_what_is_over_governs_before_what_still_runs_and_unknown_before_all()
    for limit in (life.OUT, life.STORAGE):
        life.test_what_is_not_known_reads_as_over_and_says_what_is_missing(limit, life.replace(life.NEW, unknown=limit is life.OUT))


def caught_by() -> list[str]:
    """The names of the checks that fail, up to the first; a check that breaks down counts as one that fails."""
    for name, check in net():
        try:
            check()
        except Exception:  # whatever a bug makes of it
            return [name]
    return []


def test_without_a_planted_bug_nothing_is_caught() -> None:
    assert caught_by() == []
    rules.test_out_time_declared_at_receipt_comes_on_top_of_what_the_lot_had()


@pytest.mark.parametrize("planted", BUGS, ids=lambda b: b.name.replace(" ", "-"))
def test_a_planted_bug_is_caught(planted: Planted, monkeypatch: pytest.MonkeyPatch) -> None:
    began = time.process_time()
    with monkeypatch.context() as patch:
        planted.plant(patch)
        caught = caught_by()
    assert caught, f"nothing noticed: {planted.name}"
    assert time.process_time() - began < SECONDS * 3, "the fast subset has become slow"


def test_there_are_enough_planted_bugs_and_no_two_of_one_name() -> None:
    assert len({b.name for b in BUGS}) == len(BUGS) >= 40
