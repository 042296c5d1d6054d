"""Life weighted by temperature, from the logs of where a thing lay; only for a material that has an activation energy."""

from __future__ import annotations

import math

import pytest
from django.test import Client

from inventory.models import Item, Material
from inventory.reads.ageing import Aged, aged
from inventory.verbs.cutting import CutKit
from inventory.verbs.loggers import WithdrawLog
from inventory.verbs.moving import Move
from inventory.verbs.receiving import ReceivedPiece
from tests.api.client import Machine, body, token_for
from tests.ledger.bench import DAY, HOUR, Bench, clock, day, item, prepreg
from tests.ledger.loggers import csv_of, taken

pytestmark = pytest.mark.django_db
IN, NOW = clock("08:00", day(2026, 3, 23)), clock("08:00")
ENERGY, REF = 60_000, 23_000


@pytest.fixture
def bench() -> Bench:
    """T-1 in F2 for five days, two days in F1 before that."""
    bench = Bench()
    bench.do("receive", prepreg(ReceivedPiece("5 m", "T-1"), place="F1", delivery="D-T-1"), at=IN)
    bench.do("move", Move("T-1", "F2"), at=IN + 2 * DAY)
    bench.now_us = NOW
    return bench


def with_energy() -> None:
    Material.objects.filter(code="PP-T").update(ageing_j_mol=ENERGY, ageing_ref_mc=REF)


def found(bench: Bench, mark: str = "T-1") -> Aged:
    told = aged(Item.objects.select_related("material").get(mark=mark), bench.now_us)
    assert told is not None
    return told


def speed(mc: int) -> float:
    """Arrhenius, R 8.314462618 J/(mol·K)."""
    return math.exp(ENERGY / 8.314462618 * (1 / (REF / 1000 + 273.15) - 1 / (mc / 1000 + 273.15)))


def test_a_material_without_an_energy_is_not_weighted_and_says_nothing(bench: Bench) -> None:
    taken(bench, csv_of(IN + 2 * DAY, IN + 3 * DAY, lambda at: -18_000))
    assert Material.objects.get(code="PP-T").ageing_j_mol is None, "off by default"
    assert aged(item("T-1"), NOW) is None
    assert "weighted_by_temperature" not in body(Machine(token_for(bench, "Ines")).get("items/T-1/"))


def test_time_is_weighted_where_logs_cover_it_and_the_rest_is_told(bench: Bench) -> None:
    with_energy()
    assert (found(bench).known_us, found(bench).equivalent_us, found(bench).total_us) == (0, 0, NOW - IN)
    taken(bench, csv_of(IN, IN + 4 * DAY, lambda at: -18_000))
    told = found(bench)
    assert told.known_us == 2 * DAY, "only while it lay in F2"
    assert told.equivalent_us == pytest.approx(2 * DAY * speed(-18_000), rel=1e-6)
    taken(bench, csv_of(IN, IN + DAY, lambda at: 5_000), place="F1", probe="P-F1", unit="°C")
    told = found(bench)
    assert told.known_us == 3 * DAY and len(told.logs) == 2
    assert told.equivalent_us == pytest.approx(2 * DAY * speed(-18_000) + DAY * speed(5_000), rel=1e-6)
    assert "23 °C (60 kJ/mol)" in told.text and "No log covers" in told.text


def test_the_product_is_believed_before_the_air_and_a_withdrawn_log_is_not(bench: Bench) -> None:
    with_energy()
    warm = taken(bench, csv_of(IN + 2 * DAY, IN + 5 * DAY, lambda at: -10_000), probe="A-F2", measures="air", unit="°C")
    assert found(bench).by_air_us == found(bench).known_us == 3 * DAY
    taken(bench, csv_of(IN + 3 * DAY, IN + 4 * DAY, lambda at: -18_000))
    told = found(bench)
    assert (told.known_us, told.by_air_us) == (3 * DAY, 2 * DAY), "no hour counts twice"
    assert told.equivalent_us == pytest.approx(DAY * speed(-18_000) + 2 * DAY * speed(-10_000), rel=1e-6)
    bench.do("withdraw_log", WithdrawLog(warm.pk, "the wrong freezer's"), "Odile")
    assert (found(bench).known_us, found(bench).by_air_us) == (DAY, 0)


def test_a_kit_has_aged_as_its_roll_did_until_the_cut(bench: Bench) -> None:
    with_energy()
    taken(bench, csv_of(IN + 2 * DAY, IN + 4 * DAY, lambda at: -18_000))
    bench.do("cut_kit", CutKit("T-1", "1 m", mark="KIT-1"), stance="observed", happened_us=IN + 3 * DAY)
    told = found(bench, "KIT-1")
    assert told.total_us == NOW - IN and told.known_us == 2 * DAY


def test_the_item_page_and_the_interface_show_it_beside_the_clocks(bench: Bench) -> None:
    with_energy()
    log = taken(bench, csv_of(IN + 2 * DAY, IN + 2 * DAY + 10 * HOUR, lambda at: -18_000))
    doc = body(Machine(token_for(bench, "Ines")).get("items/T-1/"))["weighted_by_temperature"]
    assert doc["known_us"] == 10 * HOUR and doc["logs"] == [log.pk] and doc["ref_mc"] == REF
    client = Client()
    client.force_login(bench.yard.user["ines"])
    page = client.get(f"/i/{item('T-1').code}/").content.decode()
    assert "Weighted by temperature" in page and "the limits above decide" in page and f'href="/logs/{log.pk}/"' in page
