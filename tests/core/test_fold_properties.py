"""What must hold in every shop, whatever happens in it and in whatever order it is heard of.

Each `check_…` takes seeds of random shops (see `shops.py`) and raises AssertionError naming the seed and the acts of the
shop that broke it. `test_fold_planted.py` runs the same checks against planted bugs.
"""

from __future__ import annotations

import itertools
import json
import os
import random
from collections.abc import Iterable
from dataclasses import replace

import pytest

from inventory.core import fold as core
from inventory.core.exposure import Exposure
from tests.core.oracle import Lived, Oracle, oldest, outdoes
from tests.core.shops import BASE, LENGTH, PLACES, TICK, Act, Arrivals, Folded, Leg, Shop, at, fold_shop, live, random_shop

pytestmark = pytest.mark.core
SEED = int(os.environ.get("SELVEDGE_TEST_SEED", "20260330"))
"""Where the seeds of random shops start. A failure prints the shop's own seed: `random_shop(seed)` makes it again."""


def seeds(count: int, offset: int = 0) -> range:
    return range(SEED + offset, SEED + offset + count)


def told(seed: int, acts: Iterable[Act], *what: object) -> str:
    return f"random_shop({seed}): {what}\n{sorted(live(acts), key=lambda a: a.key)}"


def lived(totals: Iterable[Exposure]) -> set[Lived]:
    """The fold's exposures in the brute force's own form."""
    return {Lived(t.source, t.spent, t.cycles, t.heats, t.received_us, t.opened_us, t.dried_us, t.unknown) for t in totals}


def undried(pieces: Iterable[Lived]) -> set[Lived]:
    """Drying is the one thing that makes material fresher: leave it out where only ageing is meant."""
    return {replace(p, dried=None) for p in pieces}


# --- against the brute force ---------------------------------------------------------------------


def check_against_the_walk(shops: Iterable[int], cut_short: bool = False) -> None:
    for seed in shops:
        acts = random_shop(seed)
        until = random.Random(seed).randrange(20, LENGTH) if cut_short else LENGTH
        past = [a for a in live(acts) if a.key[0] <= at(until)]
        walked, folded = Oracle(past, until), fold_shop(past)
        for item, state in folded.states.items():
            if item >= 2_000:  # a lot is a node, not a thing: it only hands on
                _same(seed, past, item, state.at(at(until)), walked)


def _same(seed: int, acts: Shop, item: int, state: core.State, walked: Oracle) -> None:
    diary, got, want = walked.items[item], lived(state.totals()), walked.lived(item)
    assert oldest(got) == oldest(want), told(seed, acts, item, "lived", oldest(got) ^ oldest(want))
    assert got <= want, told(seed, acts, item, "invented", got - want)
    seen = (state.qty, state.low, state.adjusted, state.thaw_from, state.frozen, state.dry, state.cured, state.bagged, state.location)
    said = (
        diary.book[-1], diary.low, diary.adjusted, diary.thaw_from, diary.frozen, diary.dry, diary.cured_at, diary.bagged, diary.place,
    )  # fmt: skip
    assert seen == said, told(seed, acts, item, seen, said)
    assert state.overdrawn == (diary.book[-1] < 0)


def test_fifteen_hundred_random_shops_fold_as_a_walk_minute_by_minute_says() -> None:
    check_against_the_walk(seeds(1_500))


def test_a_shop_seen_in_the_middle_of_its_days_folds_as_the_walk_says() -> None:
    check_against_the_walk(seeds(200, 10_000), cut_short=True)


def test_the_random_shops_hold_what_they_must_to_mean_anything() -> None:
    """Commingled lots, kits of kits, cures void and whole, excursions, voids and many acts of one instant."""
    acts = [a for seed in seeds(300) for a in live(random_shop(seed))]
    kinds = [a.kind for a in acts]
    assert min(kinds.count(k) for k in ("cut", "mix", "pour", "lay", "expose", "cure_on", "cure_abort", "cure_off", "count", "move")) > 50
    folded = [state for seed in seeds(300) for state in fold_shop(random_shop(seed)).states.values()]
    assert sum(len(s.strands) > 1 for s in folded) > 100
    assert sum(s.cured is not None for s in folded) > 20
    assert any(s.overdrawn for s in folded)
    assert sum(t.cycles > 1 for s in folded for t in s.totals()) > 20


# --- order of arrival ----------------------------------------------------------------------------


def same_states(seed: int, acts: Shop, got: Folded, want: Folded, how: str) -> None:
    for item, state in want.states.items():
        assert got.states.get(item) == state, told(seed, acts, how, item, got.states.get(item), state)


def check_any_order_of_arrival(shops: Iterable[int], orders: int = 3) -> None:
    for seed in shops:
        acts, rng = random_shop(seed), random.Random(seed)
        want = fold_shop(acts)
        for _ in range(orders):
            rng.shuffle(acts)
            same_states(seed, acts, fold_shop(acts), want, "shuffled")
            heard = Arrivals()
            for act in acts:
                heard.hear(act)
            same_states(seed, acts, heard.done, want, "one by one")


def test_a_shop_heard_of_in_any_order_comes_to_the_same_state() -> None:
    check_any_order_of_arrival(seeds(120))


def test_all_orders_of_up_to_six_acts_come_to_the_same_state() -> None:
    tried = 0
    for seed in seeds(7):
        acts = random_shop(seed, 2)[:6]
        want = fold_shop(acts)
        for order in itertools.permutations(acts):
            heard = Arrivals()
            for act in order:
                heard.hear(act)
            same_states(seed, acts, heard.done, want, "order")
            tried += 1
    assert tried > 3_000


def check_apply_equals_refold(shops: Iterable[int]) -> None:
    """In order of happening every act takes the fast path, and it comes to what a fold from nothing does."""
    for seed in shops:
        acts = sorted(live(random_shop(seed)), key=lambda a: a.key)
        heard = Arrivals()
        for act in acts:
            heard.hear(act)
        assert (heard.applied, heard.refolded) == (len(acts), 0)
        same_states(seed, acts, heard.done, fold_shop(acts), "applied")


def test_applying_the_newest_step_equals_folding_all_of_them() -> None:
    check_apply_equals_refold(seeds(200))


def check_repeats_are_refused(shops: Iterable[int]) -> None:
    for seed in shops:
        for item, after in fold_shop(random_shop(seed)).after.items():
            state = after[max(after)]
            for key in after:
                try:
                    core.apply(state, core.Step(key, "move", location=1, ceiling=PLACES[1]))
                except ValueError:
                    continue
                raise AssertionError(told(seed, random_shop(seed), item, "took a step twice", key))


def test_a_step_that_is_not_newer_is_refused_by_apply() -> None:
    check_repeats_are_refused(seeds(40))


# --- time ----------------------------------------------------------------------------------------


def check_splitting_changes_no_clock(shops: Iterable[int]) -> None:
    """A scan into the place where the thing already is (R12)."""
    for seed in shops:
        acts, rng = random_shop(seed), random.Random(seed)
        folded = fold_shop(acts)
        split = list(acts)
        for item, after in folded.after.items():
            tick = rng.randrange(20, LENGTH)
            known = [s for k, s in after.items() if k[0] < at(tick)]
            state = max(known, key=lambda s: s.last or (), default=core.State())
            if item >= 2_000 and state.ceiling is not None:
                key = (at(tick), 0, 0, item, "split")
                split.append(Act(key, "move", {item: Leg(location=state.location, ceiling=state.ceiling)}))
        for item, state in fold_shop(split).states.items():
            one, two = folded.states[item].at(at(LENGTH)), state.at(at(LENGTH))
            assert lived(one.totals()) == lived(two.totals()), told(seed, split, item, "clocks")
            assert (one.thaw_from, one.dry, one.frozen, one.spent) == (two.thaw_from, two.dry, two.frozen, two.spent), told(
                seed, split, item
            )


def test_splitting_an_interval_changes_no_clock() -> None:
    check_splitting_changes_no_clock(seeds(250))


def check_out_time_only_grows_and_no_faster_than_the_clock(shops: Iterable[int]) -> None:
    for seed in shops:
        acts = live(random_shop(seed))
        folded = fold_shop(acts)
        extra = sum(us for a in acts for leg in a.legs.values() for _, us in leg.body.get("extra", ()))
        made = {leg.body["source"]: a.key[0] for a in acts if a.kind == "made" for leg in a.legs.values()}
        laid = {dst: max(a.key for a in acts if (s, dst) in a.edges) for a in acts for s, dst in a.edges}
        for item, after in folded.after.items():
            before: set[Lived] = set()
            for key in sorted(after):
                now = undried(lived(after[key].totals()))
                for piece in now:
                    total = sum(us for _, us in piece.spent)
                    assert total <= key[0] - made[piece.source] + extra, told(seed, acts, item, "faster than the clock")
                    assert all(us > 0 for _, us in piece.spent), told(seed, acts, item, "negative", piece)
                lost = [p for p in before if not any(outdoes(n, p) for n in now)]
                assert not [p for p in lost if not p.unknown and key > laid.get(item, key)], told(seed, acts, item, "fresher", lost)
                before = now


def test_out_time_only_grows_and_no_faster_than_the_clock() -> None:
    check_out_time_only_grows_and_no_faster_than_the_clock(seeds(250))


def check_the_clock_between_records(shops: Iterable[int]) -> None:
    """Running a state on in two steps, or in one, is the same; and a thing in its place ages by exactly the time that passes."""
    for seed in shops:
        rng = random.Random(seed)
        for item, state in fold_shop(random_shop(seed)).states.items():
            assert state.since is not None
            one, two = sorted(state.since + rng.randrange(0, 200 * TICK) for _ in range(2))
            assert state.at(one).at(two) == state.at(two), told(seed, [], item)
            if state.curing is None and not state.stopped:
                gained = sum(us for _, us in state.at(two).spent) - sum(us for _, us in state.spent)
                assert gained == two - state.since, told(seed, [], item, gained)


def test_an_open_interval_counts_to_now_and_exactly() -> None:
    check_the_clock_between_records(seeds(200))


def check_no_child_is_fresher_than_its_parent_was(shops: Iterable[int]) -> None:
    """R10: at the cut and at every later record, until it is cured (or a tank was empty and filled again), something in the
    child is at least as old as each thing that went into it was then."""
    for seed in shops:
        acts = live(random_shop(seed))
        folded = fold_shop(acts)
        for act in acts:
            for src, dst in act.edges:
                gave = undried(lived(folded.after[src][act.key].totals()))
                filled = [a.key for a in acts if a.kind == "pour" and any(into == dst for _, into in a.edges) and a.key > act.key]
                before = None
                for key, state in sorted(folded.after[dst].items()):
                    if key in filled and before is not None and (before.qty, before.low) == (0, 0):
                        break
                    before = state
                    if key < act.key or state.cured is not None:
                        continue
                    has = undried(lived(state.totals()))
                    missing = [p for p in gave if not any(outdoes(h, p) for h in has)]
                    assert not missing, told(seed, acts, src, dst, missing)


def test_no_child_is_fresher_than_its_parent_was() -> None:
    check_no_child_is_fresher_than_its_parent_was(seeds(250))


def check_leaving_out_a_return_makes_nothing_fresher(shops: Iterable[int]) -> None:
    for seed in shops:
        acts = [a for a in live(random_shop(seed)) if a.kind != "expose"]
        ins = [a for a in acts if a.kind == "move" and all(leg.ceiling == min(PLACES.values()) for leg in a.legs.values())]
        for gone in ins[:2]:
            full, less = fold_shop(acts), fold_shop([a for a in acts if a is not gone])
            for item in full.states:
                for threshold in (-18_000, -12_000, 0, 20_000):
                    one, two = (_oldest_above(f.states[item].at(at(LENGTH)), threshold) for f in (full, less))
                    assert all(two.get(s, 0) >= us for s, us in one.items()), told(seed, acts, item, gone)


def _oldest_above(state: core.State, threshold: int) -> dict[int, int]:
    """Out time of each lot's oldest strand."""
    out: dict[int, int] = {}
    for t in state.totals():
        out[t.source] = max(out.get(t.source, 0), sum(us for c, us in t.spent if c > threshold))
    return out


def test_leaving_out_a_return_makes_nothing_fresher() -> None:
    check_leaving_out_a_return_makes_nothing_fresher(seeds(300))


# --- documents -----------------------------------------------------------------------------------


def check_documents(shops: Iterable[int]) -> None:
    for seed in shops:
        for item, after in fold_shop(random_shop(seed)).after.items():
            for state in after.values():
                doc = core.to_doc(state)
                assert core.from_doc(json.loads(json.dumps(doc))) == state, told(seed, [], item, doc)
                _plain(doc)


def _plain(value: object) -> None:
    """Whole numbers, text, and lists and objects of them: one canonical form in every database."""
    if isinstance(value, dict):
        assert all(type(k) is str for k in value)
        for v in value.values():
            _plain(v)
    elif isinstance(value, list):
        for v in value:
            _plain(v)
    else:
        assert value is None or type(value) in (int, str, bool), value


def test_a_state_survives_its_document_and_the_document_is_plain() -> None:
    check_documents(seeds(120))


def test_the_shops_lie_over_the_change_of_the_clocks() -> None:
    change = 1_774_746_000_000_000  # 2026-03-29 01:00 UTC: 02:00 becomes 03:00 in Copenhagen
    assert BASE < change < at(LENGTH)
