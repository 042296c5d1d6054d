"""Demo shops, built once a module and taken away again by rolling back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

import pytest
from django.db import transaction

from inventory.recording.facts import forget_sources
from layups.demo import fixture, history
from layups.demo.anchor import Anchor
from layups.demo.master import Yard, build_master

MONDAY = Anchor(date(2026, 3, 30))
NOW = MONDAY.at(0, "07:30")


def _built(blocker: Any, fill: Callable[[Yard], object]) -> Iterator[Yard]:
    """One transaction, never committed, for all tests of a module; what a test records is rolled back by its own."""
    with blocker.unblock():
        forget_sources()
        whole = transaction.atomic()
        whole.__enter__()
        yard = build_master(NOW, tack_from_start=False)
        fill(yard)
    yield yard
    with blocker.unblock():
        transaction.set_rollback(True)
        whole.__exit__(None, None, None)
        forget_sources()


@pytest.fixture(scope="module")
def whole(django_db_setup: None, django_db_blocker: Any) -> Iterator[Yard]:
    """The yard with its whole history, at 07:30 on the Monday."""
    yield from _built(django_db_blocker, lambda yard: history.write(yard).script.run(NOW))


@pytest.fixture(scope="module")
def small(django_db_setup: None, django_db_blocker: Any) -> Iterator[Yard]:
    """The yard with the things that have a name, and nothing else."""
    yield from _built(django_db_blocker, lambda yard: fixture.build(yard, NOW))
