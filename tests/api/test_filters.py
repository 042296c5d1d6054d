"""Filters that are yes or left out: each shows what it says, and leaves out the rest."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from inventory.verbs.count_ends import CountDrop
from inventory.verbs.count_sheets import CountBegin
from inventory.verbs.counting import Scrap
from inventory.verbs.holding import Hold
from layups.verbs.starting import StartPart
from tests.api.client import Machine, body, token_for
from tests.ledger.bench import MINUTE, Bench, clock
from tests.ledger.test_races import released

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(set_clock: Callable[[int], None]) -> Bench:
    set_clock(clock("08:00"))
    return Bench()


def shown(bench: Bench, path: str, name: str) -> list[str]:
    return sorted(row[name] for row in body(Machine(token_for(bench, "Vera", name=path)).get(path))["results"])


def test_usable_is_what_may_be_used_now(bench: Bench) -> None:
    """Neither what is held, nor what is used up, nor what waits for its release."""
    for mark in ("G7-1", "G7-2", "G7-3"):
        released(bench, mark, "10.00 m")
    bench.roll("G7-4")
    bench.do("hold", Hold("G7-2", "wet"), "Odile")
    bench.do("scrap", Scrap("G7-3", "wet"))
    assert shown(bench, "items/?kind=roll", "mark") == ["G7-1", "G7-2", "G7-3", "G7-4"]
    assert shown(bench, "items/?kind=roll&usable=yes", "mark") == ["G7-1"]
    lines = Machine(token_for(bench, "Vera", name="sheet")).get("items/?kind=roll&usable=yes&format=csv").content.decode()
    assert "G7-1" in lines and "G7-2" not in lines


def test_in_shop_is_what_was_neither_shipped_nor_scrapped(bench: Bench) -> None:
    for n in (1, 2):
        bench.do("start_part", StartPart("DAG", f"DAG-90{n}", place="BAY1"), "Bram")
    bench.do("scrap", Scrap("DAG-901", "cracked"), "Odile", at=bench.now_us + MINUTE)
    assert shown(bench, "parts/?design=DAG", "number") == ["DAG-901", "DAG-902"]
    assert shown(bench, "parts/?design=DAG&in_shop=yes", "number") == ["DAG-902"]


def test_under_way_is_what_has_not_ended(bench: Bench) -> None:
    over, going = (bench.do("count_begin", CountBegin(place)).data["sheet"] for place in ("RACK", "BAY1"))
    bench.do("count_drop", CountDrop(over))
    assert shown(bench, "counts/", "id") == sorted([over, going])
    assert shown(bench, "counts/?under_way=yes", "id") == [going]
