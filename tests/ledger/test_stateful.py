"""Random days on the real database, and what must hold after every step (Stock, Life, Gate, Lineage and Replay).

SELVEDGE_TEST_STATEFUL=100x25 makes a long run: so many days of so many steps. A failure prints its steps, and the line
that repeats it.
"""

from __future__ import annotations

import os
from collections import Counter

import pytest
from django.db import connection
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.ledger.machine import Days, Shop

pytestmark = pytest.mark.django_db

COMMON = {"move", "cut_kit", "count", "use", "mix", "lay", "hold", "void", "move, told late", "use, told late"}


def size() -> tuple[int, int]:
    days, _, steps = (os.environ.get("SELVEDGE_TEST_STATEFUL") or ("25x20" if connection.vendor == "sqlite" else "8x20")).partition("x")
    return int(days), int(steps)


def run(days: int, steps: int, phases: tuple[Phase, ...] = (Phase.generate,)) -> Counter[str]:
    """So many days; what was accepted, by verb."""
    Days.friday = Shop()
    Days.friday.begin_friday()
    how = settings(
        max_examples=days,
        stateful_step_count=steps,
        phases=phases,
        deadline=None,
        database=None,
        print_blob=True,
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(Days, settings=how)
    return Days.friday.accepted


def test_whatever_happens_in_the_yard_the_records_hold_together() -> None:
    days, steps = size()
    accepted = run(days, steps)
    missing = COMMON - accepted.keys()
    assert days * steps < 500 or not missing, f"the days were too quiet: no {missing} was accepted"
