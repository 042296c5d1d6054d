"""Single rules of the fold, each with the smallest history that shows it."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.core.exposure import UNKNOWN_MC, Exposure
from inventory.core.fold import State, Step, apply, fold
from inventory.core.kinds import DECISIONS, RANK, USES
from inventory.core.limits import Limit, Source
from tests.core.shops import TICK, at

pytestmark = pytest.mark.core
ROOM, COLD = 25_000, -18_000


def step(tick: int, kind: str, body: dict[str, Any] | None = None, **rest: Any) -> Step:
    return Step((at(tick), RANK[kind], 1, tick, kind), kind, body=body or {}, **rest)


def after(*steps: Step) -> State:
    return fold(steps)[0]


def spent(state: State, tick: int) -> list[dict[int, int]]:
    """Ticks by ceiling of each strand."""
    return [{c: us // TICK for c, us in t.spent} for t in state.at(at(tick)).totals()]


HANDED = (Exposure(7, ((COLD, 100 * TICK),), received_us=at(0)),)


def test_a_thing_whose_place_nobody_knows_ages_as_at_the_hottest() -> None:
    assert spent(after(step(1, "cut", delta=5, handed=HANDED)), 11) == [{COLD: 100, UNKNOWN_MC: 10}]


def test_a_place_without_a_known_temperature_counts_as_the_hottest() -> None:
    roll = [step(1, "cut", delta=5, handed=HANDED, location=1, ceiling=COLD), step(3, "move", location=9)]
    assert after(*roll).location == 9
    assert spent(after(*roll), 8) == [{COLD: 102, UNKNOWN_MC: 5}]


def test_out_time_declared_at_receipt_comes_on_top_of_what_the_lot_had() -> None:
    state = after(step(1, "receive", {"extra": [[ROOM, 30 * TICK]]}, delta=5, handed=HANDED, location=1, ceiling=COLD))
    assert spent(state, 1) == [{COLD: 100, ROOM: 30}]


def test_a_roll_that_came_frozen_and_stands_on_the_dock_thaws_from_then() -> None:
    state = after(step(1, "receive", {"declared_mc": COLD}, delta=5, location=1, ceiling=ROOM))
    assert (state.thaw_from, state.cycles, state.frozen) == (at(1), 1, False)
    state = after(step(1, "receive", {"declared_mc": COLD}, delta=5, location=1, ceiling=COLD))
    assert (state.thaw_from, state.cycles, state.frozen) == (None, 0, True)


def test_a_receipt_recorded_late_does_not_close_what_was_opened() -> None:
    state = after(step(1, "open"), step(2, "receive", delta=5))
    assert (state.opened, state.received) == (at(1), at(2))


def test_the_first_cut_opens_a_roll_and_later_ones_do_not_open_it_again() -> None:
    state = after(step(1, "receive", delta=9), step(2, "cut", delta=-1), step(3, "open"), step(4, "cut", delta=-1))
    assert (state.opened, state.qty) == (at(2), 7)


def test_a_bag_found_dry_in_the_freezer_must_be_asked_again_after_the_thaw() -> None:
    frozen = [step(1, "move", location=1, ceiling=COLD), step(2, "open", {"dry": True}), step(3, "move", location=2, ceiling=ROOM)]
    assert after(*frozen).dry is None
    assert after(*frozen, step(9, "open", {"dry": True})).dry == at(9)
    assert after(*frozen, step(9, "open", {"dry": True}), step(10, "move", location=1, ceiling=COLD)).dry is None


def test_a_drying_is_not_credited_to_what_is_poured_in_later() -> None:
    wet, dried = Exposure(7), Exposure(8, dried_us=at(0))
    hopper = [step(1, "pour", delta=5, handed=(wet,)), step(2, "dry"), step(3, "pour", delta=5, handed=(wet, dried))]
    assert {(t.source, t.dried_us) for t in after(*hopper).totals()} == {(7, at(2)), (7, None), (8, at(0))}
    again = after(*hopper, step(4, "dry"))
    assert {(t.source, t.dried_us) for t in again.totals()} == {(7, at(4)), (8, at(4))}


def test_what_is_laid_on_a_cured_part_ages_and_what_was_cured_does_not() -> None:
    part = [
        step(0, "start", location=1, ceiling=ROOM),
        step(1, "lay", handed=(Exposure(7),)),
        step(5, "cure_on"),
        step(8, "cure_off"),
    ]
    assert spent(after(*part), 50) == [{ROOM: 4}]
    again = [*part, step(20, "lay", handed=(Exposure(8),))]
    assert [t.source for t in after(*again).totals()] == [8]
    assert spent(after(*again), 26) == [{ROOM: 6}]
    cured = after(*again, step(26, "cure_on"), step(30, "cure_off"))
    assert spent(cured, 99) == [{ROOM: 6}] and cured.cured == at(30)


def test_a_cured_part_has_no_end_until_something_is_laid_on_it_again() -> None:
    from inventory.recording.use import Facts, Judging, ends_of

    out = Limit("out life", "above", "cure", limit_us=20 * TICK, threshold_mc=COLD)
    judging = Judging("Europe/Copenhagen", {n: Source(n, "lot", 1, (out,)) for n in (7, 8)})
    part = [step(0, "start", location=1, ceiling=ROOM), step(1, "lay", handed=(Exposure(7),)), step(5, "cure_on"), step(8, "cure_off")]
    assert ends_of(Facts(1, "part", "RUD"), after(*part), judging) == (None, "")
    again = after(*part, step(40, "lay", handed=(Exposure(8),)))
    assert ends_of(Facts(1, "part", "RUD"), again, judging) == (at(60), "out life")


def test_material_poured_into_a_tank_brings_its_own_age_and_not_the_tanks() -> None:
    tank = [
        step(0, "pour", delta=5, location=1, ceiling=ROOM, handed=(Exposure(7, ((ROOM, 50 * TICK),)),)),
        step(40, "pour", delta=5, handed=(Exposure(8),)),
    ]
    assert {t.source: dict(t.spent)[ROOM] // TICK for t in after(*tank).at(at(45)).totals()} == {7: 95, 8: 5}


def filled_again(*between: Step) -> State:
    old, new = Exposure(7, ((ROOM, 50 * TICK),), unknown=True, opened_us=at(0)), Exposure(8)
    return after(step(0, "pour", delta=5, location=1, ceiling=ROOM, handed=(old,)), *between, step(40, "pour", delta=5, handed=(new,)))


def test_what_is_poured_into_a_tank_of_which_nothing_is_left_starts_anew() -> None:
    drawn = filled_again(step(10, "mix", delta=-5))
    assert drawn.totals() == (Exposure(8),)  # nor has the tank's first opening anything to do with what is in it now
    assert after(step(0, "pour", delta=5, handed=(Exposure(7),)), step(1, "mix", delta=-5)).totals()[0].source == 7
    assert filled_again(step(10, "count", counted=0)).totals() == (Exposure(8),)


def test_a_tank_that_was_not_empty_or_whose_book_was_wrong_keeps_what_it_held() -> None:
    assert {t.source for t in filled_again(step(10, "mix", delta=-4)).totals()} == {7, 8}
    wrong = [step(10, "mix", delta=-6), step(11, "adjust", delta=1)]
    assert {t.source for t in filled_again(*wrong).totals()} == {7, 8}
    assert {t.source for t in filled_again(*wrong, step(12, "count", counted=0)).totals()} == {8}


def test_a_component_that_was_built_in_and_is_laid_on_keeps_what_is_in_it() -> None:
    part = [
        step(0, "start", delta=1),
        step(1, "lay", handed=(Exposure(7),)),
        step(2, "join", delta=-1),
        step(3, "lay", handed=(Exposure(8),)),
    ]
    assert {t.source for t in after(*part).totals()} == {7, 8}


def test_thirty_plies_of_one_kit_are_one_strand() -> None:
    plies = [step(n, "lay", handed=(Exposure(7, ((ROOM, n * TICK),)),)) for n in range(1, 31)]
    assert len(after(step(0, "start", location=1, ceiling=ROOM), *plies).strands) == 1


def test_quality_sets_a_starting_value_for_unknown_history() -> None:
    roll = [step(1, "receive", {"unknown": True}, delta=5, location=1, ceiling=COLD, handed=HANDED)]
    assert [t.unknown for t in after(*roll).totals()] == [True]
    known = after(*roll, step(4, "baseline", {"extra": [[ROOM, 60 * TICK]]}))
    assert [t.unknown for t in known.totals()] == [False]
    assert spent(known, 4) == [{COLD: 103, ROOM: 60}]


def test_the_book_may_go_below_nothing_only_to_be_seen_and_a_count_clears_it() -> None:
    dipped = [step(1, "receive", delta=5), step(2, "use", delta=-8)]
    state = after(*dipped)
    assert (state.qty, state.low, state.overdrawn) == (-3, -3, True)
    state = after(*dipped, step(3, "count", counted=0))
    assert (state.qty, state.low, state.adjusted, state.overdrawn) == (0, 0, 3, False)


def test_a_dip_at_an_earlier_instant_shows_although_the_book_is_good_again() -> None:
    state = after(step(1, "receive", delta=5), step(2, "use", delta=-8), step(3, "adjust", delta=10))
    assert (state.qty, state.low) == (7, -3)


def test_scrapping_a_part_of_it_leaves_it_there() -> None:
    roll = [step(1, "receive", delta=5), step(2, "scrap", delta=-2)]
    assert after(*roll).gone == ""
    assert after(*roll, step(3, "scrap", delta=-3)).gone == "scrapped"


def test_of_one_instant_the_move_comes_before_the_cut_whoever_sent_it() -> None:
    birth = step(1, "receive", delta=9, location=1, ceiling=COLD)
    cut = Step((at(5), RANK["cut"], 1, 1, "a"), "cut", -1)
    move = Step((at(5), RANK["move"], 2, 9, "b"), "move", location=2, ceiling=ROOM)
    assert after(cut, move, birth) == after(birth, move, cut)
    assert fold([birth, cut, move])[1][cut.key].location == 2


def test_a_step_that_is_not_newer_must_be_refolded() -> None:
    first, second = step(1, "receive", delta=5), step(2, "use", delta=-1)
    with pytest.raises(ValueError, match="refold"):
        apply(after(first, second), second)
    with pytest.raises(ValueError, match="refold"):
        apply(after(second), first)


def test_running_a_state_on_leaves_the_stored_one_as_it_was() -> None:
    state = after(step(1, "receive", delta=5, location=1, ceiling=ROOM, handed=HANDED))
    assert state.at(at(9)) != state and state.since == at(1)
    assert state.at(at(0)) == state, "not before its newest record"


def test_every_kind_has_a_rank_in_the_order_in_which_things_can_happen() -> None:
    order = (
        "made",
        "receive",
        "move",
        "open",
        "cut",
        "mix",
        "lay",
        "bag",
        "cure_on",
        "cure_abort",
        "cure_off",
        "count",
        "scrap",
        "expose",
        "void",
    )
    assert [RANK[k] for k in order] == sorted(RANK[k] for k in order)
    assert RANK.keys() >= DECISIONS | USES


def test_a_part_taken_out_of_its_assembly_is_there_again() -> None:
    built_in = [step(1, "start", delta=1), step(2, "scrap", delta=-1)]
    assert after(*built_in).gone == "scrapped"
    assert after(*built_in, step(3, "unjoin", delta=1)).gone == ""


def test_a_changed_state_is_another_one_and_a_field_that_is_not_there_is_refused() -> None:
    state = State(qty=5)
    assert (state.but(qty=7).qty, state.qty) == (7, 5)
    assert state.but(qty=7) == State(qty=7) and hash(state.but(qty=7)) == hash(State(qty=7))
    with pytest.raises(TypeError, match="quantity"):
        state.but(quantity=7)
