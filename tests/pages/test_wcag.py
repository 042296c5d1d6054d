"""WCAG 2.2 without a browser: the list of criteria and its tests, and what can be read off pages, styles and scripts."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from . import wcag
from .browsing import Browser, Page, frozen
from .store import Store
from .test_every_page import DAY_END, WHO, addresses, make_busy

ROOT = Path(__file__).resolve().parents[2]
STYLES = {p.name: p.read_text() for app in ("inventory", "layups") for p in (ROOT / app / "static").rglob("*.css")}
SCRIPTS = {p.name: p.read_text() for app in ("inventory", "layups") for p in (ROOT / app / "static").rglob("*.js")}
pytestmark = pytest.mark.once


@pytest.fixture(scope="module")
def shown(_made: Store, django_db_blocker: Any) -> Iterator[dict[str, Page]]:
    """Each named page of a shop at the end of a busy day."""
    with django_db_blocker.unblock(), pytest.MonkeyPatch.context() as patch:
        clock = frozen(patch, _made, 0, DAY_END)
        make_busy(_made, clock)
        browsers = {who: Browser(_made, who) for who in ("Ines", "Odile", "Marek", "Bram")}
        yield {name: browsers[WHO.get(name, "Ines")].get(path) for name, path in addresses(_made).items()}


# --- the list -------------------------------------------------------------------------------------------------


def test_every_criterion_of_a_and_aa_names_a_test_that_is_there_or_what_was_looked_at() -> None:
    levels = Counter(level for level, *_ in wcag.CRITERIA.values())
    assert levels == {"A": 31, "AA": 24}, "WCAG 2.2 without 4.1.1: 31 and 24"
    order = [tuple(map(int, number.split("."))) for number in wcag.CRITERIA]
    assert order == sorted(order)
    known = {f"{p.stem}::{name}" for p in Path(__file__).parent.glob("test_*.py") for name in re.findall(r"def (test_\w+)", p.read_text())}
    named = [(number, how) for number, (*_, hows) in [*wcag.CRITERIA.items(), *wcag.BEYOND.items()] for how in hows]
    missing = [(n, how) for n, how in named if how not in known and not how.startswith((wcag.NONE, wcag.HAND))]
    assert missing == []
    assert all(hows for *_, hows in [*wcag.CRITERIA.values(), *wcag.BEYOND.values()])


# --- what stands in pages ------------------------------------------------------------------------------------


def test_every_picture_has_words_or_is_decoration(shown: dict[str, Page]) -> None:
    bare = []
    pictures = 0
    for name, page in shown.items():
        source = re.sub(r'<div class="trace" role="group"[^>]*aria-label=.*?</div>', "", page.source, flags=re.DOTALL)
        source = re.sub(r'<figure class="sheet[^>]*aria-hidden="true">.*?</figure>', "", source, flags=re.DOTALL)
        for tag in re.findall(r"<(?:svg|img|canvas|video)\b[^>]*>", source):
            pictures += 1
            if not re.search(r'aria-hidden="true"|role="img"[^>]*aria-label|aria-label[^>]*role="img"|alt="[^"]+"|aria-labelledby', tag):
                bare.append((name, tag[:160]))
    assert pictures > 100 and bare == []


def test_no_page_and_no_installed_page_asks_for_one_orientation() -> None:
    manifest = json.loads(b"".join(Client().get("/floor/floor.webmanifest")))
    assert manifest.get("orientation", "any") == "any"
    assert [name for name, text in STYLES.items() if "(orientation" in text] == []
    assert [name for name, text in SCRIPTS.items() if "orientation" in text] == []


def test_signing_in_is_for_a_password_manager_and_no_puzzle(db: None) -> None:
    source = Client().get("/sign-in/").content.decode()
    fields = {m[0]: m[1] for m in re.findall(r'<input type="(?:text|password)" name="(\w+)"[^>]*autocomplete="([\w-]+)"', source)}
    assert fields == {"username": "username", "password": "current-password"}
    assert len(re.findall(r"<input (?!type=\"hidden\")", source)) == 2, "a name and a password, nothing to solve"
    assert [name for name, text in SCRIPTS.items() if '"paste"' in text] == [], "what is pasted is taken"


def test_what_is_wrong_is_named_at_its_field_with_what_to_do_and_nothing_typed_is_lost(yard: Store, clock: Any) -> None:
    ines, bram, odile = (Browser(yard, who) for who in ("Ines", "Bram", "Odile"))
    thing = yard.code("C-12")
    forms: list[tuple[Browser, str, dict[str, str], set[str]]] = [
        (ines, "/receive/delivery/", {"number": "D-118", "mark": "Keep-1", "quantity": "a lot", "place": "NOWHERE"}, {"lot"}),
        (ines, f"/i/{thing}/cut/", {"taken": "plenty", "mark": "Keep-1"}, {"taken"}),
        (ines, f"/i/{thing}/count/", {"gross": "plenty"}, {"gross"}),
        (ines, f"/i/{thing}/count/", {"quantity": "plenty"}, {"quantity"}),
        (bram, "/parts/start/", {"number": "Keep-1"}, {"design", "place"}),
        (odile, "/quality/hold/", {"item": thing, "reason": "", "password": "x"}, {"reason"}),
        (ines, "/receive/labels/new/", {"supplier": "Keep-1", "value": ""}, {"material"}),
        (ines, "/logs/new/", {"probe": "Keep-1", "place": "F2"}, {"file"}),
    ]
    for browser, path, typed, wrong in forms:
        page = browser.post(path, typed)
        assert page.status == 422, (path, page.status)
        told = set(re.findall(r'id="id_(\w+)_error"', page.source))
        assert told and wrong <= told, (path, told)
        for name in told:
            control = re.search(rf'<(?:input|select|textarea|fieldset)[^>]*id="id_{name}(?:_group)?"[^>]*>', page.source)
            assert control and f"id_{name}_error" in control[0], (path, name)
            assert 'aria-invalid="true"' in control[0] or control[0].startswith("<fieldset"), (path, name)
            assert f'href="#id_{name}' in page.source, "the summary leads to it"
            words = re.search(rf'id="id_{name}_error">.*?<p>(.*?)</p>', page.source, re.DOTALL)
            assert words and len(words[1]) > 12, (path, name)
        if "Keep-1" in typed.values():
            assert "Keep-1" in page.source, f"{path}: what was typed is still there"


def test_what_happened_is_announced_without_taking_the_focus(yard: Store, clock: Any) -> None:
    ines = Browser(yard, "Ines")
    done = ines.put("U-3", "F1")
    refused = ines.put("X4", "RS")
    assert re.search(r'class="(?:banner|verdict)[^"]*" role="status"', done.source)
    assert re.search(r'class="verdict verdict-no" role="alert"', refused.source)
    assert 'class="scan-say" role="status"' in done.source, "what is being read"
    floor = ines.get("/floor/").source
    assert 'role="alert"' in floor or "aria-live" in floor or 'role="status"' in floor


# --- what stands in styles and scripts -----------------------------------------------------------------------


def rules(text: str) -> list[tuple[str, set[str]]]:
    """(selector, properties) of a sheet."""
    bare = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    return [(m[1].strip(), set(re.findall(r"([\w-]+)\s*:", m[2]))) for m in re.finditer(r"([^{}]+)\{([^{}]*)\}", bare)]


def test_nothing_appears_only_under_the_pointer() -> None:
    seen = re.compile(r"border|shadow|background|stroke|fill|decoration|color|outline|cursor")
    found = [(name, selector) for name, text in STYLES.items() for selector, does in rules(text) if ":hover" in selector]
    shows = [
        (name, selector, prop)
        for name, text in STYLES.items()
        for selector, does in rules(text)
        if ":hover" in selector
        for prop in does
        if not seen.search(prop)
    ]
    assert len(found) > 5 and shows == []


def test_nothing_moves_or_flashes() -> None:
    moving = {n: re.findall(r"@keyframes|\banimation(?!: none)|\btransition(?!: none)", t) for n, t in STYLES.items()}
    assert {n: found for n, found in moving.items() if found} == {}
    assert [name for name, text in SCRIPTS.items() if re.search(r"\.animate\(|behavior: \"smooth\"", text)] == []


def test_nothing_happens_on_the_way_down() -> None:
    down = re.compile(r'"(mousedown|pointerdown|touchstart|dragstart|drop)"')
    assert {name: down.findall(text) for name, text in SCRIPTS.items() if down.search(text)} == {}
    assert len(SCRIPTS) > 15


def test_choosing_something_sends_nothing() -> None:
    """A change of a field in a page of the frame starts nothing: what is typed only hides an answer that is old, and a photo that is chosen
    to be read is read into the box. The floor page, which has no frame, notes no record by it."""
    assert {name for name, text in SCRIPTS.items() if re.search(r'addEventListener\("(change|input)"', text)} <= {
        "floor.js",
        "scan.js",
        "camera.js",
    }
