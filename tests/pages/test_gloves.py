"""Glove mode: a switch of the browser, without script."""

from __future__ import annotations

import re

import pytest
from django.conf import settings

from .browsing import Browser, Clock, Page
from .store import Store

SWITCH = re.compile(
    r'action="(/gloves/)".*?name="next" value="([^"]*)".*?name="wear" value="(on|off)".*?aria-pressed="(true|false)"', re.DOTALL
)


def press(browser: Browser, page: Page) -> Page:
    """As a browser without script would: what stands in the form is sent."""
    found = SWITCH.search(page.source)
    assert found is not None
    return browser.post(found[1], {"next": found[2], "wear": found[3]})


def is_on(page: Page) -> bool:
    found = SWITCH.search(page.source)
    assert found is not None
    assert ('class="gloves"' in page.source) is ("gloves.css" in page.source) is (found[4] == "true") is (found[3] == "off")
    return found[4] == "true"


def test_the_switch_changes_this_browser_and_comes_back_to_the_page(yard: Store, clock: Clock, bram: Browser, ines: Browser) -> None:
    page = bram.get("/mix/?recipe=LAM")
    assert not is_on(page)
    page = press(bram, page)
    assert page.path == "/mix/?recipe=LAM" and is_on(page) and is_on(bram.get("/stock/"))
    assert not is_on(ines.get("/mix/")), "another browser is as it was"
    bram.client.post("/sign-out/")
    bram.client.force_login(yard.yard.user["ines"])
    assert is_on(bram.get("/")), "who is signed in makes no difference"
    assert not is_on(press(bram, bram.get("/")))


@pytest.mark.parametrize("path", ["https://elsewhere.test/", "//elsewhere.test/", "\\\\elsewhere.test", "", "javascript:alert(1)"])
def test_it_never_leads_elsewhere(yard: Store, clock: Clock, bram: Browser, path: str) -> None:
    answer = bram.client.post("/gloves/", {"next": path, "wear": "on"})
    assert answer.status_code == 302 and answer.headers["Location"] == "/"


def test_after_an_answer_to_a_scan_it_comes_back_to_the_thing(yard: Store, clock: Clock, ines: Browser) -> None:
    refused = ines.put("X4", "AC")
    assert refused.title.startswith("No – ")
    page = press(ines, refused)
    assert page.status == 200 and page.path == f"/i/{yard.code('X4')}/" and is_on(page)


def test_the_cookie_is_kept_out_of_reach_and_a_look_at_the_address_is_none(bram: Browser) -> None:
    kept = bram.client.post("/gloves/", {"wear": "on"}).cookies["gloves"]
    assert kept["httponly"] and kept["samesite"] == "Lax" and kept["max-age"] > settings.SESSION_COOKIE_AGE
    assert bram.get("/gloves/").status == 405
    bram.client.cookies["gloves"] = "<script>"
    assert not is_on(bram.get("/"))
