"""The floor page's own addresses: the same for all, without a sign-in; who acts, only with one."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

from inventory.core.reasons import BadInput
from inventory.pages.floor import LATER, MODULES, STYLES
from inventory.passes import bearer

from .browsing import Browser, Clock
from .store import Store

pytestmark = pytest.mark.django_db


def content(name: str) -> bytes:
    return Path(str(finders.find(name))).read_bytes()


def test_the_page_is_the_same_for_everybody_and_carries_nothing_of_the_shop(yard: Store, ines: Browser) -> None:
    mine, nobodys = ines.client.get("/floor/"), Client().get("/floor/")
    assert mine.status_code == nobodys.status_code == 200
    assert mine.content == nobodys.content and b"Ines" not in mine.content and b"csrf" not in mine.content
    assert nobodys["Cache-Control"] == "no-cache" and not nobodys.cookies


def test_script_and_style_of_the_page_stay_under_forty_kilobytes_gzipped() -> None:
    weights = {name: len(gzip.compress(content(name), 9)) for name in (*STYLES, *MODULES)}
    assert 5_000 < sum(weights.values()) < 40_000, weights


def test_every_module_of_the_page_is_kept_by_its_worker(yard: Store) -> None:
    """A module that one of them imports and the worker forgets would be missing in the cold store."""
    import re

    kept = {*MODULES, *LATER}
    for name in kept:
        for path in re.findall(r'(?:from |import\()"(\.[^"]+)"', content(name).decode()):
            target = (Path(name).parent / path).as_posix().replace("floor/../", "")
            assert target in kept, (name, path)
    for way in ("", "?module"):
        script = Client().get(f"/floor/worker.js{way}")
        assert script.status_code == 200 and script["Content-Type"].startswith("text/javascript")
        assert all(f'"/static/{name}"' in script.content.decode() for name in kept)
        assert ("import {" in script.content.decode()) is bool(way)


def test_the_manifest_makes_it_installable() -> None:
    found = json.loads(Client().get("/floor/floor.webmanifest").content)
    assert found["start_url"] == found["scope"] == "/floor/" and found["display"] == "standalone"
    icon = found["icons"][0]["src"]
    assert finders.find(icon.removeprefix("/static/"))


def test_who_acts_is_told_only_to_a_sign_in_with_a_word_for_this_tablet(yard: Store, ines: Browser, clock: Clock) -> None:
    assert Client().get("/floor/who/?tablet=t").status_code == 401
    response = ines.client.get("/floor/who/?tablet=tablet+1")
    said = response.json()
    assert said["person"]["name"] == "Ines" and "storekeeper" in said["person"]["roles"] and response["Cache-Control"] == "no-store"
    assert bearer(said["word"], yard.site.pk, "tablet 1", clock.now).name == "Ines"
    with pytest.raises(BadInput, match="another tablet"):
        bearer(said["word"], yard.site.pk, "tablet 2", clock.now)


def test_a_badge_takes_over_and_an_unknown_one_does_not(yard: Store, ines: Browser) -> None:
    changed = ines.client.post("/floor/who/?tablet=t", {"code": yard.yard.badge["Bram"]})
    assert changed.json()["person"]["name"] == "Bram"
    assert ines.client.get("/floor/who/").json()["person"]["name"] == "Bram"
    assert ines.client.post("/floor/who/?tablet=t", {"code": "BADGE"}).status_code == 422
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(yard.yard.user["ines"])
    assert strict.post("/floor/who/?tablet=t", {"code": yard.yard.badge["Bram"]}).status_code == 403
