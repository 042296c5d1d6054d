"""A freezer event is charged by one decision to what was inside, each only while it was there (R16)."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.models import Act, Finding, Item, LifeLimit, LifeSpec
from inventory.recording import Transaction
from inventory.recording.propagate import propagate
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.counting import Scrap
from inventory.verbs.cutting import CutKit
from inventory.verbs.exposing import Expose
from inventory.verbs.moving import Move
from inventory.verbs.receiving import ReceivedPiece
from inventory.verbs.releasing import Release
from inventory.verbs.voiding import Void
from tests.ledger.bench import DAY, HOUR, MINUTE, Bench, clock, day, last, prepreg, reading

pytestmark = pytest.mark.django_db
FRIDAY = clock("19:10", day(2026, 3, 13))
PROBE = (clock("23:00", day(2026, 3, 13)), clock("07:05", day(2026, 3, 14)))
"""The product was above −12 °C for 8 h 05; the air above −15 °C for 14 h 30."""


@pytest.fixture
def bench() -> Bench:
    """Six rolls: T-1 stays in F2; T-2 leaves it in the middle; T-3 comes into it in the middle; T-4 is received into it in the
    middle; T-5 lies in F1; T-6 stays in F2, and is used up a week later."""
    bench = Bench()
    before = clock("08:00", day(2026, 3, 9))
    for mark, place in (("T-1", "F2"), ("T-2", "F2"), ("T-3", "F1"), ("T-5", "F1"), ("T-6", "F2")):
        bench.do("receive", prepreg(ReceivedPiece("5 m", mark), place=place, delivery=f"D-{mark}"), at=before)
    bench.do("move", Move("T-2", "F1"), at=PROBE[0] + 2 * HOUR)
    bench.do("move", Move("T-3", "F2"), at=PROBE[0] + 3 * HOUR)
    bench.do("receive", prepreg(ReceivedPiece("5 m", "T-4"), place="F2", delivery="D-T-4"), at=PROBE[0] + 7 * HOUR)
    bench.now_us = clock("09:00")
    return bench


def event(**more: Any) -> Expose:
    values: dict[str, Any] = {"warmest": "-4.2 °C", "evidence": "probe F2, file 31", "air_time": "14 h 30", "air_warmest": "+3.8 °C"}
    return Expose("F2", *PROBE, **{**values, **more})


def out_of(bench: Bench, mark: str) -> int:
    return int(reading(mark, "out", bench).used)


def test_each_roll_is_charged_only_for_the_time_that_it_was_inside(bench: Bench) -> None:
    told = bench.do("expose", event(), "Odile")
    charged = {mark: out_of(bench, mark) for mark in ("T-1", "T-2", "T-3", "T-4", "T-5", "T-6")}
    whole = 8 * HOUR + 5 * MINUTE
    assert charged == {"T-1": whole, "T-2": 2 * HOUR, "T-3": whole - 3 * HOUR, "T-4": HOUR + 5 * MINUTE, "T-5": 0, "T-6": whole}
    assert told.data["charged"] == {mark: us for mark, us in charged.items() if us}
    assert told.data["air_us"] == 14 * HOUR + 30 * MINUTE, "noted beside, not charged"
    tx = Transaction(bench.yard.who("Odile"), bench.now_us, True)
    assert propagate(tx, set(Item.objects.values_list("pk", flat=True)), write=False).differing == []


def test_what_was_scrapped_before_the_event_was_not_there(bench: Bench) -> None:
    bench.do("scrap", Scrap("T-1", "damaged"), at=PROBE[0] - HOUR)
    bench.do("scrap", Scrap("T-6", "damaged"), at=PROBE[0] + HOUR)
    told = bench.do("expose", event(), "Odile")
    whole = 8 * HOUR + 5 * MINUTE
    assert told.data["charged"] == {"T-2": 2 * HOUR, "T-3": whole - 3 * HOUR, "T-4": HOUR + 5 * MINUTE, "T-6": HOUR}


def test_the_specifications_own_line_decides(bench: Bench) -> None:
    spec = LifeSpec.objects.create(material=bench.yard.material["FA-B"], version=2)
    LifeLimit.objects.create(spec=spec, name="out", clock="above", limit_us=240 * HOUR, threshold_mc=-3_000, checkpoint="cure")
    film = prepreg(ReceivedPiece("5 m", "F-1"), place="F2", delivery="D-F", material="FA-B", lot="FB", made="2026-01-05")
    bench.do("receive", film, stance="observed", happened_us=clock("08:00", day(2026, 3, 10)))
    assert bench.not_understood("expose", event(), "Odile").reason.code == "expose.line_needed"
    assert bench.not_understood("expose", event(line="-3 °C"), "Odile").reason.code == "expose.below_line"
    assert bench.not_understood("expose", event(line="-3 °C", warmest="-1 °C"), "Odile").reason.code == "expose.line_too_high"
    bench.do("expose", event(line="-12 °C"), "Odile")
    assert out_of(bench, "T-1") == 8 * HOUR + 5 * MINUTE
    assert out_of(bench, "F-1") == 0, "the product never was above this material's line"


def test_a_defrost_charges_nothing(bench: Bench) -> None:
    """Air at −11 °C, product never above −16 °C."""
    nothing = bench.not_understood("expose", event(warmest="-16 °C", air_warmest="-11 °C"), "Odile")
    assert nothing.reason.code == "expose.below_line"
    assert Act.objects.filter(kind="expose").count() == 0


def test_minutes_alone_are_charged_from_the_beginning(bench: Bench) -> None:
    event_us = (FRIDAY, FRIDAY + 14 * HOUR + 30 * MINUTE)
    bench.do("expose", Expose("F2", *event_us, "-4.2 °C", "probe F2", charged="8 h 05"), "Odile")
    assert out_of(bench, "T-1") == 8 * HOUR + 5 * MINUTE


def test_one_event_is_charged_once_and_again_only_after_it_was_voided(bench: Bench) -> None:
    told = bench.do("expose", event(), "Odile", key="event")
    assert bench.do("expose", event(), "Odile", key="event").replay
    assert set(bench.refused("expose", event(warmest="-3 °C"), "Odile")) == {"expose.charged_already"}
    assert out_of(bench, "T-1") == 8 * HOUR + 5 * MINUTE
    for receipt in told.receipts:
        bench.do("void", Void(receipt.act, "wrong probe"), "Odile")
    assert out_of(bench, "T-1") == 0
    bench.do("expose", event(), "Odile")


def test_what_was_made_in_the_meantime_is_judged_anew(bench: Bench) -> None:
    """T-6 was out for 500 of 504 h when a kit was cut from it; with the event it was over."""
    roll = prepreg(ReceivedPiece("5 m", "T-9", out_time="480 h"), place="F2", delivery="D-T9", lot="T26-05", made="2026-01-05")
    bench.do("receive", roll, at=bench.now_us, stance="observed", happened_us=clock("08:00", day(2026, 3, 10)))
    papers = (PaperValue("areal mass", "204", "T-9"), PaperValue("resin", "42", "T-9"))
    bench.do("certify", Certify("T26-05", papers), stance="intent")
    bench.do("release", Release(("T-9",)), "Odile")
    bench.do("move", Move("T-9", "CLEAN"), "Bram", stance="observed", happened_us=clock("08:00", day(2026, 3, 20)))
    bench.do("cut_kit", CutKit("T-9", "5 m", mark="K-70"), "Bram", stance="observed", happened_us=clock("02:00", day(2026, 3, 21)))
    assert "life.over/out" not in " ".join(Finding.objects.filter(closed_us=None).values_list("code", flat=True))
    bench.do("expose", event(), "Odile", at=bench.now_us + DAY)
    over = Finding.objects.filter(closed_us=None, code__startswith="life.over/out")
    assert {str(f.item) for f in over} == {"K-70"}


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"place": "F9"}, "place.unknown"),
        ({"to_us": PROBE[0]}, "expose.order"),
        ({"to_us": clock("23:00")}, "expose.future"),
        ({"charged": "9 h"}, "expose.longer_than_event"),
        ({"charged": "0 min"}, "expose.longer_than_event"),
        ({"warmest": "-19 °C"}, "expose.not_warmer"),
        ({"warmest": "warm"}, "temperature.not_a_number"),
        ({"evidence": " "}, "evidence.missing"),
        ({"place": "QUARF"}, "expose.nobody"),
    ],
)
def test_an_event_that_cannot_be_is_asked_again(bench: Bench, change: dict[str, Any], code: str) -> None:
    from dataclasses import replace

    assert bench.not_understood("expose", replace(event(), **change), "Odile").reason.code == code
    assert Act.objects.filter(kind="expose").count() == 0


def test_only_quality_signs_an_event(bench: Bench) -> None:
    for who in ("Ines", "Bram", "Marek", "Vera"):
        assert "role.not_allowed" in bench.refused("expose", event(), who)
    bench.do("expose", event(), "Odile")
    assert last("expose").person.name == "Odile"
