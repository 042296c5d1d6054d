"""A composed query gives what the query itself gives, related rows and all, and asks for it in one statement."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.db.models import Model
from pytest_django import DjangoAssertNumQueries

from inventory.composed import Composed
from inventory.models import Act, Item, Location, Material
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from tests.ledger.bench import HOUR, MONDAY, Bench

pytestmark = pytest.mark.django_db
ITEMS = Item.objects.select_related("material__supplier", "owner", "lot__material").order_by("pk")
BY_KIND = Composed(lambda site, kind: ITEMS.filter(site=site, kind=kind), int, str)
OF_LOTS = Composed(lambda lots, kind: ITEMS.filter(lot__in=lots, kind=kind), set, str)
BY_KEY = Composed(lambda key: Act.objects.select_related("voids", "device").filter(key=key), uuid.UUID)


@pytest.fixture
def bench() -> Bench:
    bench = Bench()
    pieces = (ReceivedPiece("40.00 m", "U-2"), ReceivedPiece("30.00 m", "U-3"))
    lots = (ReceivedLot("L 1", pieces, "2026-02-02"),)
    bench.do("receive", Receive("D 1", lots, "Kestrow Prepreg", "PP-U", "F1"), at=MONDAY - HOUR, key="received")
    return bench


def everything(row: Model) -> dict[str, Any]:
    """A row's values, and those of the related rows that came with it."""
    values = {name: value for name, value in vars(row).items() if name != "_state"}
    return values | {name: other and everything(other) for name, other in row._state.fields_cache.items()}


def test_the_rows_are_those_of_the_query_with_all_that_came_along(bench: Bench, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    site = bench.yard.site.pk
    for kind in ("roll", "lot", "roll", "pot"):
        plain = [everything(row) for row in ITEMS.filter(site=site, kind=kind)]
        assert [everything(row) for row in BY_KIND.all(site, kind)] == plain
        assert len(plain) == {"roll": 2, "lot": 1, "pot": 0}[kind]
    with django_assert_num_queries(1):
        first = BY_KIND.first(site, "roll")
        assert first is not None and first.material is not None and first.material.supplier is not None and first.lot is not None
        assert (first.mark, first.material.code, first.lot.kind, first.owner) == ("U-2", "PP-U", "lot", None)
    assert BY_KIND.all(site + 1, "roll") == []


def test_a_key_is_found_and_what_the_database_keeps_otherwise_comes_back_as_it_is_meant(bench: Bench) -> None:
    for act in Act.objects.select_related("voids", "device"):
        found = BY_KEY.first(act.key)
        assert found is not None and everything(found) == everything(act)
        assert isinstance(found.key, uuid.UUID)
    assert BY_KEY.first(uuid.uuid4()) is None
    assert all(isinstance(row.stub, bool) for row in BY_KIND.all(bench.yard.site.pk, "roll"))


def test_many_ids_are_one_value(bench: Bench) -> None:
    lots = set(Item.objects.filter(kind="lot").values_list("pk", flat=True))
    plain = [everything(row) for row in ITEMS.filter(lot__in=lots)]
    assert [everything(row) for row in OF_LOTS.all(lots, "roll")] == plain and len(plain) == 2
    assert OF_LOTS.all(set(), "roll") == [] and len(OF_LOTS.all({*lots, 10**9, *range(70_000)}, "roll")) == 2


def test_a_row_that_was_found_is_a_row_like_any_other(bench: Bench) -> None:
    found = BY_KIND.first(bench.yard.site.pk, "roll")
    assert found is not None and not found._state.adding and found == Item.objects.get(mark="U-2")


def test_a_value_that_is_changed_on_its_way_is_refused_and_so_is_one_of_another_kind(bench: Bench) -> None:
    containing = Composed(lambda text: Material.objects.filter(code__contains=text), str)
    halved = Composed(lambda number: Location.objects.filter(pk=number // 2), int)
    unused = Composed(lambda site, kind: Item.objects.filter(kind=kind), int, str)
    for query, values in ((containing, ("P%",)), (halved, (4,)), (unused, (1, "roll"))):
        with pytest.raises(TypeError, match="without Composed"):
            query.all(*values)
    for wrong in ((bench.yard.site.pk,), ("1", "roll"), (1, None)):
        with pytest.raises(TypeError, match="needs int, str"):
            BY_KIND.all(*wrong)
