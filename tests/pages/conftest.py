"""The yard's Monday, made once and put in for each module of tests: every test starts from it and is rolled back to it."""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from typing import Any

import pytest

from tests import kept

from .browsing import Browser, Clock, frozen
from .morning import early, morning
from .store import Store


def _early() -> Store:
    store = morning()
    early(store)
    return store


@pytest.fixture(scope="module")
def _made(django_db_setup: None, django_db_blocker: Any) -> Iterator[Store]:
    """The yard at 07:30, inside a transaction that ends with the module."""
    with django_db_blocker.unblock(), kept.standing(_early) as store, django_db_blocker.block():
        yield store


@pytest.fixture
def yard(_made: Store, db: None) -> Store:
    """The yard at 07:30 on Monday."""
    own = copy(_made)
    own.lots = dict(_made.lots)
    return own


@pytest.fixture
def clock(yard: Store, monkeypatch: pytest.MonkeyPatch) -> Clock:
    """What the pages take for now: 07:40 until a test says otherwise."""
    return frozen(monkeypatch, yard, 0, "07:40")


@pytest.fixture
def ines(yard: Store, clock: Clock) -> Browser:
    """The storekeeper's browser."""
    return Browser(yard, "Ines")


@pytest.fixture
def bram(yard: Store, clock: Clock) -> Browser:
    """The builder's."""
    return Browser(yard, "Bram")


@pytest.fixture
def odile(yard: Store, clock: Clock) -> Browser:
    """Quality's."""
    return Browser(yard, "Odile")


@pytest.fixture
def vera(yard: Store, clock: Clock) -> Browser:
    """The auditor's: reads everything, changes nothing."""
    return Browser(yard, "Vera")
