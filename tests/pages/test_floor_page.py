"""The floor page's own addresses: the same for all, without a sign-in; who acts, only with one."""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

from inventory.camera import GS1
from inventory.core.reasons import BadInput
from inventory.models import Person
from inventory.pages import floor
from inventory.pages.floor import LATER, MODULES, STYLES
from inventory.passes import bearer

from .browsing import Browser, Clock
from .film import NO_READER
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
    """What it needs to open and to answer. What the camera needs comes when it is asked for, and the reader, a megabyte of it, is kept
    once the page stands: neither is counted."""
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


def test_what_reads_codes_is_kept_later_and_alone_may_compile_what_it_runs(
    yard: Store, ines: Browser, tmp_path: Path, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """W3C, Content Security Policy Level 3, 'wasm-unsafe-eval'; a worker has the policy that it was sent with. The set-up may not have
    brought the reader here, so two files stand for it."""
    for name in ("zxing_reader.js", "zxing_reader.wasm"):
        (tmp_path / name).write_text("")
    settings.STATICFILES_DIRS = [("codes", tmp_path)]
    monkeypatch.setattr(floor, "version", lambda: "v")
    finders.get_finder.cache_clear()
    try:
        there, worker = Client().get("/floor/reader.js"), Client().get("/floor/worker.js").content.decode()
    finally:
        finders.get_finder.cache_clear()
    assert there["Content-Security-Policy"] == "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'"
    head = {"READER": "/static/codes/zxing_reader.js", "WASM": "/static/codes/zxing_reader.wasm", "GS1": GS1}
    assert all(f"const {name} = {json.dumps(value)};" in there.content.decode() for name, value in head.items())
    files, late = (json.loads(worker.split(f"const {name} = ")[1].split(";\n")[0]) for name in ("FILES", "LATE"))
    assert late == [head["READER"], head["WASM"]] and "/floor/reader.js" in files and not set(late) & set(files)
    for path in ("/", "/floor/", "/floor/worker.js"):
        assert "unsafe-eval" not in ines.client.get(path)["Content-Security-Policy"], path
        assert "script-src" not in ines.client.get(path)["Content-Security-Policy"], "so it is default-src, 'self'"


def test_where_the_set_up_brought_no_reader_its_worker_says_so_and_nothing_is_kept(yard: Store, settings: Any) -> None:
    settings.STATICFILES_DIRS = []
    finders.get_finder.cache_clear()
    try:
        there, worker = Client().get("/floor/reader.js"), Client().get("/floor/worker.js").content.decode()
    finally:
        finders.get_finder.cache_clear()
    assert there.status_code == 200 and there.content.decode() == NO_READER + "\n"
    assert "unsafe-eval" not in there["Content-Security-Policy"]
    assert "const LATE = [];" in worker and "/floor/reader.js" not in worker


def test_the_manifest_makes_it_installable() -> None:
    found = json.loads(Client().get("/floor/floor.webmanifest").content)
    assert found["start_url"] == found["scope"] == "/floor/" and found["display"] == "standalone"
    icon = found["icons"][0]["src"]
    assert finders.find(icon.removeprefix("/static/"))


@pytest.mark.parametrize("name", ["", "worker.js", "worker.js?module", "reader.js", "floor.webmanifest"])
def test_the_page_and_its_own_files_can_be_asked_for_without_what_is_in_them(yard: Store, name: str) -> None:
    """HEAD answers as GET does, with no body: RFC 9110, 9.3.2."""
    whole, head = Client().get(f"/floor/{name}"), Client().head(f"/floor/{name}")
    assert head.status_code == whole.status_code == 200 and head.content == b"" and whole.content
    assert {k: v for k, v in head.headers.items() if k != "Set-Cookie"} == {k: v for k, v in whole.headers.items() if k != "Set-Cookie"}
    assert Client().post(f"/floor/{name}").status_code == 405


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
    assert ines.client.get("/floor/who/").json()["person"]["units"] == "metric"
    Person.objects.filter(name="Bram").update(units="us")
    assert ines.client.get("/floor/who/").json()["person"]["units"] == "us"
    assert ines.client.post("/floor/who/?tablet=t", {"code": "BADGE"}).status_code == 422
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(yard.yard.user["ines"])
    assert strict.post("/floor/who/?tablet=t", {"code": yard.yard.badge["Bram"]}).status_code == 403
