"""The yard's things with a name, made once for a module of tests through the demo's own fixture; and its whole history where a
test needs every hull. Each test starts from it and is rolled back to it.

Import `floor` (or `works`) and `clock` into a test module to use them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction

from inventory.recording.facts import forget_sources
from layups.demo import fixture, history
from layups.demo.anchor import HOUR_US
from layups.demo.master import Yard, build_master

from .browsing import Browser, Clock, Page, frozen
from .store import MONDAY, PASSWORD, Store

NOW = MONDAY + 7 * HOUR_US + HOUR_US // 2
__all__ = ["NOW", "PASSWORD", "Browser", "Clock", "Floor", "Page", "clock", "floor", "made_floor", "made_works", "signed", "works"]


class Floor(Store):
    """The yard as the demo's fixture left it at 07:30; the same short words as a `Store`."""

    def __init__(self, yard: Yard) -> None:
        self.yard = yard
        self.site, self.zone = yard.site, yard.site.zone
        self.lots = {}
        self._n = itertools.count(1)

    def label(self, mark: str) -> str:
        """Its code, as a scanner types it."""
        return self.code(mark)


def _made(blocker: Any, fill: Any) -> Iterator[Yard]:
    with blocker.unblock():
        forget_sources()
        whole = transaction.atomic()
        whole.__enter__()
        yard = build_master(NOW, PASSWORD, tack_from_start=False)
        fill(yard)
    yield yard
    with blocker.unblock():
        transaction.set_rollback(True)
        whole.__exit__(None, None, None)
        forget_sources()


@pytest.fixture(scope="module")
def made_floor(django_db_setup: None, django_db_blocker: Any) -> Iterator[Yard]:
    yield from _made(django_db_blocker, lambda yard: fixture.build(yard, NOW))


@pytest.fixture(scope="module")
def made_works(django_db_setup: None, django_db_blocker: Any) -> Iterator[Yard]:
    yield from _made(django_db_blocker, lambda yard: history.write(yard).script.run(NOW))


@pytest.fixture
def floor(made_floor: Yard, db: None) -> Floor:
    """The things with a name, at 07:30."""
    return Floor(made_floor)


@pytest.fixture
def works(made_works: Yard, db: None) -> Floor:
    """The yard with its year and a half of history, at 07:30."""
    return Floor(made_works)


@pytest.fixture
def clock(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Clock:
    """What the pages take for now: 07:40 until a test says otherwise."""
    name = "works" if "works" in request.fixturenames else "floor"
    return frozen(monkeypatch, request.getfixturevalue(name), 0, "07:40")


def signed(browser: Browser, path: str, data: dict[str, Any], password: str = PASSWORD) -> Page:
    """A decision, with the password."""
    return browser.post(path, {**data, "password": password})
