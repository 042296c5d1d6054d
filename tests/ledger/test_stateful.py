"""Random days on the real database, and what must hold after every step (Stock, Life, Gate, Lineage and Replay).

SELVEDGE_TEST_STATEFUL=100x25 makes a long run: so many days of so many steps. A failure prints its steps, and the line that
repeats it; it is not made shorter, since each try is a whole day. The planted faults show that the days are not too quiet.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from inventory.core import fold
from inventory.core.reasons import Refused
from inventory.lineage import open_blocks
from inventory.recording import rules, steps
from inventory.recording.propagate import Refolded
from tests.ledger.machine import Days, Shop

pytestmark = pytest.mark.django_db

COMMON = {"move", "cut_kit", "count", "use", "mix", "lay", "hold", "void"}


def size() -> tuple[int, int]:
    usual = "30x20" if connection.vendor == "sqlite" else "8x20"
    days, _, long = (os.environ.get("SELVEDGE_TEST_STATEFUL") or usual).partition("x")
    return int(days), int(long)


def run(days: int, long: int, same: bool = False) -> Counter[str]:
    """So many days; what was accepted, by verb. `same`: the same days each time."""
    Days.friday = Shop()
    Days.friday.begin_friday()
    how = settings(
        max_examples=days,
        stateful_step_count=long,
        phases=(Phase.generate,),
        derandomize=same,
        deadline=None,
        database=None,
        print_blob=True,
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(Days, settings=how)
    return Days.friday.accepted


def test_whatever_happens_in_the_yard_the_records_hold_together() -> None:
    days, long = size()
    accepted = run(days, long)
    missing = COMMON - {name.partition(",")[0] for name in accepted}
    assert days * long < 2000 or not missing, f"the days were too quiet: no {missing} was accepted, now or told late"


def _nothing(*_: Any, **__: Any) -> tuple[()]:
    return ()


def _half(state: Any, us: int, real: Callable[..., Any] = fold._gained) -> Any:
    return tuple((ceiling, spent // 2) for ceiling, spent in real(state, us))


def _own_alone(ids: Any, at_us: int | None = None) -> Any:
    return {item: hits for item, hits in open_blocks(ids, at_us).items() if any(hit.item == item for hit in hits)}


PLANTED: dict[str, tuple[Any, str, Any]] = {
    "holds do not stop a use": (rules, "_not_held", _nothing),
    "a hold above does not stop a use": (rules, "open_blocks", _own_alone),
    "more may be taken than there is": (rules, "_enough", _nothing),
    "a life that is over does not stop a use": (rules, "_fit", _nothing),
    "late truth stays where it is": (steps, "propagate", lambda *_: Refolded()),
    "repeats count again": (steps, "_repeats", lambda *_: {}),
    "clocks run at half their pace": (fold, "_gained", _half),
    "what breaks a rule is not found": (steps, "_derived", _nothing),
}


@pytest.mark.slow
@pytest.mark.once
@pytest.mark.parametrize("fault", PLANTED)
def test_random_days_find_a_planted_fault(fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    where, name, wrong = PLANTED[fault]
    monkeypatch.setattr(where, name, wrong)
    with pytest.raises((AssertionError, Refused)):
        run(150, 30, same=True)
