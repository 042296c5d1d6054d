"""What follows for a part, and until when it must be in the heat: the arithmetic alone."""

from __future__ import annotations

import pytest

from layups.core.following import Stand, following
from layups.reads.deadlines import deadline
from layups.reads.lives import Life

pytestmark = pytest.mark.core
HOUR = 3_600_000_000


@pytest.mark.parametrize(
    ("stand", "deeds"),
    [
        (Stand("building"), ("bag",)),
        (Stand("bagged"), ("load",)),
        (Stand("bagged", to_drop=True), ("drop", "load")),
        (Stand("bagged", loaded=True, to_drop=True), ("on",)),
        (Stand("building", loaded=True), ("on",)),
        (Stand("curing", loaded=True), ("off", "abort")),
        (Stand("cured", to_test=True, run=True), ("test", "step", "cut", "join", "ship")),
        (Stand("cured"), ("step", "join", "ship")),
        (Stand("assembled", assembly=True), ("ship",)),
        (Stand("shipped", assembly=True), ()),
        (Stand("scrapped"), ()),
    ],
)
def test_what_comes_next_follows_from_where_it_stands(stand: Stand, deeds: tuple[str, ...]) -> None:
    assert following(stand) == deeds


def life(ends: int | None, over: bool = False, missing: str = "") -> Life:
    return Life(1, "PP-U lot 1", "tack", "above", "cure", over, None, None, None, ends, missing)


@pytest.mark.parametrize(
    ("lives", "planned", "word", "by"),
    [
        ([life(9 * HOUR), life(12 * HOUR)], None, "holds", 9 * HOUR),
        ([life(9 * HOUR)], 8 * HOUR, "holds", 8 * HOUR),
        ([life(9 * HOUR)], 9 * HOUR, "early", 9 * HOUR),
        ([life(9 * HOUR)], 5 * HOUR, "late", 5 * HOUR),
        ([life(5 * HOUR)], 8 * HOUR, "over", 5 * HOUR),
        ([life(None, over=True), life(9 * HOUR)], 8 * HOUR, "over", 8 * HOUR),
        ([life(9 * HOUR), life(None, missing="made when?")], 8 * HOUR, "unknown", 8 * HOUR),
        ([life(None)], 8 * HOUR, "free", 8 * HOUR),
        ([], None, "free", None),
        ([], 5 * HOUR, "late", 5 * HOUR),
    ],
)
def test_a_deadline_is_judged_at_an_instant_and_is_over_at_exactly_its_end(
    lives: list[Life], planned: int | None, word: str, by: int | None
) -> None:
    found = deadline(lives, planned)
    assert (found.word(5 * HOUR), found.by_us) == (word, by)
