"""Exposures: offsets, who outdoes whom, and that what pruning drops could never have decided anything."""

from __future__ import annotations

import itertools
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.exposure import Exposure, add_spent, prune
from inventory.core.limits import Limit, Moment, Reading, Source, governing, read
from inventory.core.spans import HOUR_US
from tests.core.oracle import outdoes
from tests.core.test_fold_properties import lived

pytestmark = pytest.mark.core

T0 = 1_774_742_400_000_000
CEILINGS = (-18_000, -10_000, 8_000, 25_000)
# few distinct values, so that ties and dominance happen often
amounts = st.sampled_from((0, 1, HOUR_US - 1, HOUR_US, 2 * HOUR_US, 30 * HOUR_US))
instants = st.none() | st.sampled_from((T0 - 40 * 24 * HOUR_US, T0 - HOUR_US, T0 - 1, T0))
spents = st.dictionaries(st.sampled_from(CEILINGS), amounts, max_size=4).map(lambda d: tuple(sorted((c, u) for c, u in d.items() if u)))


@st.composite
def exposures(draw: st.DrawFn, source: int | None = None) -> Exposure:
    return Exposure(
        draw(st.sampled_from((1, 2))) if source is None else source,
        draw(spents),
        draw(st.integers(0, 3)),
        draw(st.integers(0, 3)),
        draw(instants),
        draw(instants),
        draw(instants),
        draw(st.booleans()),
    )


ages = st.builds(lambda e: Exposure(0, e.spent, e.cycles, e.heats), exposures(0))
"""An item's own exposure with the parts that only add up."""

limits = st.sampled_from(
    [
        *(Limit("out", "above", "cure", limit_us=n * HOUR_US, threshold_mc=t) for n in (1, 2, 31) for t in (-18_000, 0, 20_000)),
        *(Limit("cycles", "cycles", "laid", limit_n=n) for n in (1, 2)),
        *(Limit("heats", "heats", "laid", limit_n=n) for n in (1, 2)),
        Limit("opened", "opened", "used", limit_us=HOUR_US),
        Limit("opened", "opened", "used", months=1),
        Limit("received", "received", "used", months=1),
        Limit("moisture", "moisture", "laid", limit_us=HOUR_US),
        Limit("storage", "fraction", "mixed", fractions=((-10_000, 40 * HOUR_US), (8_000, 3 * HOUR_US))),
        Limit("printed", "printed", "mixed"),
    ]
)


def verdict(strands: list[Exposure], limit: Limit, ceiling: int | None) -> tuple[bool, int | None]:
    """Is anything over, and when does the first of them end?"""
    source = Source(1, "lot", 1, (limit,), printed_us=T0 + HOUR_US)
    when = Moment(T0, ceiling, "Europe/Copenhagen")
    readings: list[Reading] = [read(limit, s, source, when) for s in strands]
    first = governing(readings)
    return any(r.over for r in readings), None if first is None else first.ends_us if first.ends_us is not None else -1


def check_pruning_is_safe(strands: list[Exposure], limit: Limit, ceiling: int | None, own: Exposure) -> None:
    kept = [s.plus(own) for s in prune(strands)]
    everything = [s.plus(own) for s in strands]
    assert verdict(kept, limit, ceiling)[0] == verdict(everything, limit, ceiling)[0], (strands, limit)
    if not any(s.unknown for s in everything):  # an unknown one is over without a date: it governs alone
        assert verdict(kept, limit, ceiling) == verdict(everything, limit, ceiling), (strands, limit)


@settings(max_examples=600, deadline=None)
@given(st.lists(exposures(1), min_size=1, max_size=5), limits, st.none() | st.sampled_from(CEILINGS), ages)
def test_pruning_never_changes_a_verdict(strands: list[Exposure], limit: Limit, ceiling: int | None, own: Exposure) -> None:
    check_pruning_is_safe(strands, limit, ceiling, own)


def test_pruning_never_changes_a_verdict_for_any_pair_in_a_small_world() -> None:
    """All pairs of exposures with few values in each component, against a limit on each clock."""
    world = [
        Exposure(1, spent, cycles, 0, received, opened, dried, unknown)
        for spent in ((), ((25_000, HOUR_US),))
        for cycles in (0, 2)
        for received in (None, T0 - 40 * 24 * HOUR_US)
        for opened in (None, T0 - 2 * HOUR_US)
        for dried in (None, T0 - 2 * HOUR_US, T0)
        for unknown in (False, True)
    ]
    judged = [
        Limit("out", "above", "cure", limit_us=HOUR_US, threshold_mc=0),
        Limit("cycles", "cycles", "laid", limit_n=1),
        Limit("opened", "opened", "used", limit_us=HOUR_US),
        Limit("received", "received", "used", months=1),
        Limit("moisture", "moisture", "laid", limit_us=HOUR_US),
    ]
    for pair in itertools.combinations(world, 2):
        if len(prune(pair)) < 2:
            for limit in judged:
                check_pruning_is_safe(list(pair), limit, 25_000, Exposure(0))


@settings(max_examples=300, deadline=None)
@given(st.lists(exposures(), max_size=6), st.randoms(use_true_random=False))
def test_pruned_strands_are_the_oldest_ones_in_one_canonical_order(strands: list[Exposure], rng: object) -> None:
    kept = prune(strands)
    shuffled = list(strands)
    rng.shuffle(shuffled)  # type: ignore[attr-defined]
    assert prune(shuffled) == kept == prune(kept) == prune([*kept, *strands])
    assert set(kept) <= set(strands)
    for strand in strands:
        assert any(outdoes(k, s) for k in lived(kept) for s in lived([strand])), "dropped with nothing older kept"
    assert not any(a != b and outdoes(a, b) for a in lived(kept) for b in lived(kept)), "kept what another outdoes"


@settings(max_examples=300, deadline=None)
@given(exposures(), exposures(), ages)
def test_dominance_is_what_it_says_and_survives_ageing_together(a: Exposure, b: Exposure, own: Exposure) -> None:
    [x], [y] = lived([a]), lived([b])
    assert a.dominates(b) == outdoes(x, y)
    assert a.dominates(a)
    if a.dominates(b):
        assert a.plus(own).dominates(b.plus(own))


@settings(max_examples=300, deadline=None)
@given(exposures(), exposures(), exposures())
def test_dominance_is_transitive(a: Exposure, b: Exposure, c: Exposure) -> None:
    assert not (a.dominates(b) and b.dominates(c)) or a.dominates(c)


@settings(max_examples=300, deadline=None)
@given(exposures(), ages, ages)
def test_an_offset_gives_the_total_back_and_then_ages_with_the_item(total: Exposure, own: Exposure, more: Exposure) -> None:
    offset = total.offset_from(own)
    assert offset.plus(own) == total
    later = Exposure(0, add_spent(own.spent, more.spent), own.cycles + more.cycles, own.heats + more.heats)
    aged = offset.plus(later)
    assert aged.spent == add_spent(total.spent, more.spent)
    assert (aged.cycles, aged.heats) == (total.cycles + more.cycles, total.heats + more.heats)


@settings(max_examples=200, deadline=None)
@given(exposures())
def test_an_exposure_survives_its_document(exposure: Exposure) -> None:
    assert Exposure.from_doc(json.loads(json.dumps(exposure.to_doc()))) == exposure


@settings(max_examples=200, deadline=None)
@given(spents, spents, spents)
def test_adding_spent_time_is_plain_addition_by_ceiling(a: tuple, b: tuple, c: tuple) -> None:
    assert add_spent(a, b) == add_spent(b, a)
    assert add_spent(add_spent(a, b), c) == add_spent(a, add_spent(b, c))
    assert add_spent(add_spent(a, b), b, -1) == a
    assert sum(u for _, u in add_spent(a, b)) == sum(u for _, u in (*a, *b))
    assert all(u for _, u in add_spent(a, b, -1)), "no zeros are kept"


def test_a_strand_of_another_lot_is_never_dropped() -> None:
    old, fresh = Exposure(1, ((25_000, HOUR_US),), unknown=True), Exposure(2)
    assert len(prune([old, fresh])) == 2


def test_an_unknown_history_outdoes_a_known_one_only_if_it_is_also_as_old() -> None:
    unknown, older = Exposure(1, unknown=True), Exposure(1, ((25_000, 1),))
    assert len(prune([unknown, older])) == 2
    assert prune([Exposure(1, ((25_000, 1),), unknown=True), older]) == (Exposure(1, ((25_000, 1),), unknown=True),)
