"""Hostile labels at every door that takes a scan: each is answered, with what was read; nothing runs, and nothing is stored anywhere."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from urllib.parse import quote

import pytest
from django.apps import apps

from inventory.models import CountSheet
from layups.verbs.starting import StartPart
from tests.api.client import Machine, body, token_for
from tests.core.hostile import labels
from tests.core.labels import GS, GTIN
from tests.ledger.bench import Bench

from .browsing import Browser, Clock, Page
from .store import Store

RUN = re.compile(r"<(script|img|svg)[^>]*(alert|onerror|onload)|(src|href)=\"(javascript|data):", re.IGNORECASE)
NEVER_KEPT = {"sessions.Session"}
SPOILT = (
    "A" * 4096, "\x00", "R7\x00", "\ud800", "a\udfffb", "\u202e1-7G", "\u2066G7-1\u2069", "\uff27\uff17-\uff11", "\u0421-12", "1T\u0421-12",
    "<script>alert(1)</script>", f"01{GTIN}10<img src=x onerror=alert(1)>{GS}21" + "R" * 4000, f"]d201{GTIN}10\u202eG7{GS}3112010000",
    "javascript:alert(1)",
)  # fmt: skip
"""Four kilobytes; NUL; half characters; turned reading; wide and look-alike letters (the first letters are Cyrillic); markup."""


@pytest.fixture
def sheet(yard: Store, clock: Clock, ines: Browser) -> int:
    ines.post("/count/", {"code": "RACK"})
    yard.do(clock.now, "Bram", "start_part", StartPart("DAG", "DAG-900", place="BAY1"))
    return CountSheet.objects.get().pk


def kept() -> dict[str, int]:
    """How many rows each table has."""
    return {m._meta.label: m._default_manager.count() for m in apps.get_models() if m._meta.label not in NEVER_KEPT}


def sent(raw: str) -> str:
    """As a browser sends it: half a character is none."""
    return raw.encode("utf-8", "replace").decode()


def doors(who: Browser, sheet: int, item: str) -> list[Callable[[str], Page]]:
    count, part = f"/count/{sheet}/", "/parts/DAG-900/"
    return [
        lambda raw: who.get(f"/find/?q={quote(raw)}"),
        lambda raw: who.get(f"/receive/?scan={quote(raw)}"),
        lambda raw: who.get(f"/trace/?q={quote(raw)}"),
        lambda raw: who.post(count, {"intent": "see", "code": raw}),
        lambda raw: who.post(f"{count}?last={item}", {"intent": "see", "code": raw}),
        lambda raw: who.post(count, {"intent": "amount", "item": raw, "quantity": raw, "reason": raw}),
        lambda raw: who.post("/count/", {"code": raw}),
        lambda raw: who.post(f"/i/{item}/scan/", {"code": raw}),
        lambda raw: who.post(part, {"code": raw}),
        lambda raw: who.post("/parts/lay-many/", {"code": raw}),
        lambda raw: who.post("/mix/", {"code": raw}),
        lambda raw: who.post("/badge/", {"code": raw, "next": "/"}),
        lambda raw: who.post("/receive/delivery/", {"number": "D-118", "scan": raw, "at_once": "on"}),
        lambda raw: who.post("/receive/delivery/", {"number": raw, "scan": raw, "labels": raw}),
    ]


@pytest.mark.once
def test_every_box_for_a_scan_answers_each_hostile_label_and_keeps_nothing(yard: Store, odile: Browser, sheet: int) -> None:
    odile.post("/count/", {"code": "RACK"})  # a browser that writes for the first time is a device from then on
    item, before = yard.code("C-12"), kept()
    all_doors = doors(odile, sheet, item)
    asked = [
        *((door, raw) for raw in SPOILT for door in all_doors),
        *((all_doors[n % len(all_doors)], raw) for n, raw in enumerate(labels(280, seed=91))),
    ]
    for door, raw in asked:
        page = door(sent(raw))
        assert page.status < 500 and page.headings == 1, (page.status, page.path, raw)
        assert not RUN.search(page.source), (page.path, raw)
    assert kept() == before


@pytest.mark.once
def test_what_is_not_understood_says_what_was_read(ines: Browser, sheet: int) -> None:
    for raw, shown in (("\x1dzz\x07", "␝zz"), ("\u0421-12", "\u0421-12"), ("<b>zz</b>", "<b>zz</b>"), ("\u202ezz", "zz")):
        page = ines.get(f"/find/?q={quote(raw)}")
        assert "Not understood" in page.text and shown in page.text and "\u202e" not in page.source, raw


@pytest.mark.once
def test_every_verb_that_takes_a_scan_answers_each_hostile_label_and_keeps_nothing(yard: Store, clock: Clock, sheet: int) -> None:
    machine = Machine(token_for(Bench(yard.yard), "Odile"))
    lot: dict[str, Any] = {"number": "G7", "pieces": [{"quantity": "100 m"}]}
    verbs: list[Callable[[str], tuple[str, dict[str, Any]]]] = [
        lambda raw: ("move", {"item": raw, "place": "RACK"}),
        lambda raw: ("move", {"item": "C-12", "place": raw}),
        lambda raw: ("count_see", {"sheet": sheet, "item": raw}),
        lambda raw: ("count_begin", {"place": raw}),
        lambda raw: ("lay", {"part": "DAG-900", "item": raw}),
        lambda raw: ("receive", {"delivery": "D-118", "place": raw, "lots": [lot]}),
    ]
    before = kept()
    for n, raw in enumerate([*SPOILT, *labels(200, seed=92)]):
        for name, said in [make(raw) for make in (verbs if n < len(SPOILT) else [verbs[n % len(verbs)]])]:
            answer = machine.do(name, said)
            assert answer.status_code in (400, 404, 409, 422), (name, answer.status_code, raw, answer.content[:300])
            assert body(answer)["code"], name
    assert kept() == before
