"""One table of steps, driven through every door, leaves the same shop (issue: one scenario, every door, one state)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.db import transaction

from inventory.models import Refusal
from inventory.recording.facts import forget_sources
from tests.api.conftest import set_clock

from .doors import Domain, Door, Machines, Pages, Tablets, bench, shop
from .scenario import MONDAY

__all__ = ["set_clock"]
pytestmark = pytest.mark.django_db

Clock = Callable[[int], None]
ACCEPTED = [step for step in MONDAY if not step.against]


def table(answers: list[frozenset[str]]) -> dict[str, list[str]]:
    """The codes by step, to be read."""
    return {f"{step.at} {step.who} {step.verb}": sorted(codes) for step, codes in zip(MONDAY, answers, strict=True)}


EXPECTED = table([step.against for step in MONDAY])


class Undone(Exception):
    """Ends a walk whose records are not to stay."""


def by_the_domain(set_clock: Clock) -> tuple[list[frozenset[str]], dict[str, Any]]:
    """What the domain call itself answers and leaves; the database is as before."""
    try:
        with transaction.atomic():
            answers = Domain(bench(), set_clock).walk(MONDAY)
            left = shop()
            raise Undone
    except Undone:
        forget_sources()
    return answers, left


@pytest.mark.parametrize("door", [Domain, Machines, Pages])
def test_a_door_answers_as_the_table_says_and_leaves_the_shop_of_the_domain_call(door: type[Door], set_clock: Clock) -> None:
    answers, left = by_the_domain(set_clock)
    assert table(answers) == EXPECTED
    assert table(door(bench(), set_clock).walk(MONDAY)) == EXPECTED
    assert shop() == left
    assert Refusal.objects.count() == len(MONDAY) - len(ACCEPTED), "a refusal left no trace"


def test_what_a_tablet_tells_afterwards_leaves_the_same_shop_and_breaks_no_rule(set_clock: Clock) -> None:
    _, left = by_the_domain(set_clock)
    assert Tablets(bench(), set_clock).walk(MONDAY) == [frozenset()] * len(ACCEPTED)
    assert shop() == left
