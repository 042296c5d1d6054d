"""The yard's things with a name, made once through the demo's own fixture, put in for each module of tests. Each test starts from it and is
rolled back to it. Import `floor` and `clock` into a test module to use them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import pytest

from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from layups.demo import fixture
from layups.demo.anchor import HOUR_US
from layups.demo.master import Yard, build_master
from tests import kept

from .browsing import Browser, Clock, Page, frozen
from .store import MONDAY, PASSWORD, Store

NOW = MONDAY + 7 * HOUR_US + HOUR_US // 2
__all__ = ["NOW", "PASSWORD", "Browser", "Clock", "Floor", "Page", "arrive", "clock", "floor", "made_floor", "monday", "signed"]


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


def monday() -> Yard:
    """The yard with its named things, on Monday at 07:30."""
    yard = build_master(NOW, PASSWORD, tack_from_start=False)
    fixture.build(yard, NOW)
    return yard


@pytest.fixture(scope="module")
def made_floor(django_db_setup: None, django_db_blocker: Any) -> Iterator[Yard]:
    with django_db_blocker.unblock(), kept.standing(monday) as yard, django_db_blocker.block():
        yield yard


@pytest.fixture
def floor(made_floor: Yard, db: None) -> Floor:
    """The things with a name, at 07:30."""
    return Floor(made_floor)


@pytest.fixture
def clock(floor: Floor, monkeypatch: pytest.MonkeyPatch) -> Clock:
    """What the pages take for now: 07:40 until a test says otherwise."""
    return frozen(monkeypatch, floor, 0, "07:40")


def signed(browser: Browser, path: str, data: dict[str, Any], password: str = PASSWORD) -> Page:
    """A decision, with the password."""
    return browser.post(path, {**data, "password": password})


def arrive(floor: Floor) -> None:
    """S7 and S8."""
    pieces = tuple(ReceivedPiece("50.00 m", mark, transport="9 h 20", warmest="-3.1 °C", out_time="6 h 00") for mark in ("T-7", "T-8"))
    lot = ReceivedLot("T26-031", pieces, made="2026-03-02")
    floor.do(floor.at(0, "08:40"), "Ines", "receive", Receive("D-119", (lot,), place="QUARF"))
    values = (
        PaperValue("areal mass", "203", "T-7"),
        PaperValue("resin", "42.3", "T-7"),
        PaperValue("areal mass", "205", "T-8"),
        PaperValue("resin", "45.1", "T-8"),
    )
    floor.do(floor.at(0, "09:00"), "Ines", "certify", Certify("T26-031", values))
