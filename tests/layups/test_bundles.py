"""Which things share a box in a large picture, how boxes open, and how a picture is cut into sheets."""

from __future__ import annotations

import itertools
import random
from collections.abc import Hashable

import pytest

from layups.core.bundles import LEAST, MOST, PIECES, alike, fold, parts, without
from layups.core.sheets import Paper, Spot, best, cut

pytestmark = pytest.mark.core


def shop(parts_: int, kits: int = 4) -> dict[Hashable, tuple[Hashable, ...]]:
    """A lot, some kits of it, many parts of two designs."""
    sorts: dict[Hashable, tuple[Hashable, ...]] = {"lot": (0, "lot", "PP-U")}
    sorts |= {f"K-{n}": (1, "kit", "PP-U") for n in range(kits)}
    sorts |= {f"P-{n:04}": (2, "part", "HULL" if n % 3 else "DECK") for n in range(parts_)}
    return sorts


def test_a_picture_that_can_be_read_is_left_alone() -> None:
    sorts = shop(MOST - 5)
    found = fold(sorts, "lot")
    assert found.folded == 0 and [b[0] for b in found.bundles] == list(sorts)


def test_a_step_to_a_thing_that_stands_alone_opens_nothing() -> None:
    found = fold(shop(90), "lot", steps=["K-1", "lot"])
    assert found.opened == () and found.bundles == fold(shop(90), "lot").bundles


def test_the_largest_groups_are_folded_first_and_small_ones_stay() -> None:
    found = fold(shop(90), "lot")
    sizes = sorted(len(b) for b in found.bundles)
    assert sizes == [*[1] * 35, 60], "one group is enough: lot, kits and the thirty decks stay"
    assert len(found.bundles) <= MOST


@pytest.mark.parametrize("seed", range(10))
def test_every_thing_stands_in_exactly_one_box_whatever_is_opened(seed: int) -> None:
    r = random.Random(seed)
    sorts = {n: (r.randrange(4), r.choice("ab"), r.choice("xyz"), r.randrange(30)) for n in range(r.randrange(1, 1500))}
    steps = [r.randrange(-3, 1500) for _ in range(12)]
    found = fold(sorts, 0, steps=steps)
    assert sorted(itertools.chain.from_iterable(found.bundles)) == list(sorts)
    assert (0,) in found.bundles, "what was asked about stands alone"
    assert all(alike(b, sorts, 1) for b in found.bundles), "only things of one layer share a box"


@pytest.mark.parametrize("count", [LEAST, PIECES, PIECES + 1, 480, 1_000, 20_000])
def test_opening_comes_to_single_things_in_few_steps_and_never_to_too_many(count: int) -> None:
    sorts = dict.fromkeys(range(count), ("part", "HULL"))
    bundle, steps = tuple(sorts), 0
    while len(bundle) > 1:
        pieces = parts(bundle, sorts)
        assert 1 < len(pieces) <= PIECES and list(itertools.chain.from_iterable(pieces)) == list(bundle)
        bundle, steps = pieces[-1], steps + 1
    assert steps <= 4


def test_opening_goes_by_what_tells_things_apart_before_it_cuts_runs() -> None:
    sorts = shop(300)
    decks, hulls = parts(tuple(n for n in sorts if str(n).startswith("P")), sorts)
    assert alike(decks, sorts, 3) and alike(hulls, sorts, 3) and (len(decks), len(hulls)) == (100, 200)


def test_taking_a_step_back_takes_back_what_went_further_inside_it() -> None:
    sorts = shop(300)
    steps = ["P-0001", "P-0001", "P-0000", "nobody"]
    found = fold(sorts, "lot", steps=steps)
    assert len(found.opened) == 3
    assert without(steps, found.opened, found.opened[0]) == ["P-0000"]
    assert without(steps, found.opened, found.opened[1]) == ["P-0001", "P-0000"]
    assert without(steps, found.opened, found.opened[2]) == ["P-0001", "P-0001"]


STEP, BOX, LEAD, OVERLAP = 230, 40, 24, 52
UPRIGHT, ACROSS = Paper("upright", 4, 1092), Paper("across", 6, 832)


@pytest.mark.parametrize("seed", range(10))
def test_every_box_is_whole_on_one_sheet_at_least(seed: int) -> None:
    r = random.Random(seed)
    spots = [Spot(r.randrange(9), r.randrange(9_000)) for _ in range(300)]
    for paper in (UPRIGHT, ACROSS):
        sheets = cut(paper, spots, STEP, BOX, LEAD, OVERLAP)
        assert len({s.name for s in sheets}) == len(sheets)
        for spot in spots:
            left = spot.layer * STEP + 16
            assert any(s.x <= left and left + 150 <= s.x + s.width and s.y <= spot.y and spot.y + BOX <= s.y + s.height for s in sheets), (
                spot
            )


def test_the_paper_is_turned_where_that_saves_sheets() -> None:
    wide = [Spot(layer, 0) for layer in range(6)]
    tall = [Spot(0, 52 * n) for n in range(40)]
    assert best((UPRIGHT, ACROSS), wide, STEP, BOX, LEAD, OVERLAP)[0] is ACROSS
    assert best((UPRIGHT, ACROSS), tall, STEP, BOX, LEAD, OVERLAP)[0] is UPRIGHT


def test_a_gap_without_boxes_needs_no_paper() -> None:
    far = [Spot(0, 0), Spot(0, 20_000)]
    assert [s.name for s in cut(UPRIGHT, far, STEP, BOX, LEAD, OVERLAP)] == ["A1", "A2"]
