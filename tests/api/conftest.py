"""The clock of the edges, held still for the interface's tests."""

from __future__ import annotations

from collections.abc import Callable

import pytest

EDGES = ("inventory.clock", "api.verbs", "api.reads", "api.replay", "api.auth", "api.files", "api.labels", "inventory.pages.door")


@pytest.fixture
def set_clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Stand the clock at an instant: each edge reads it through one function."""

    def at(us: int) -> None:
        for module in EDGES:
            monkeypatch.setattr(f"{module}.now_us", lambda: us)

    return at
