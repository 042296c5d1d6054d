"""The scripts in a real browser: a scanner simulated key by key, the question, the key of a form, the pot's clock.

No server runs: the browser's requests are answered from here, under the same content security policy as the shop's.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

import pytest
from django.template.loader import render_to_string
from django.test import RequestFactory

from deploy.csp import build_policy
from inventory.core.spans import MINUTE_US
from inventory.pages import gallery

from .keying import APART_S, press

pytestmark = pytest.mark.browser

STATIC = Path(__file__).resolve().parents[2] / "inventory" / "static"
TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
SCAN_BOX = "#scan-code-page"


class Shop:
    """One page of the gallery, and what was posted from it."""

    def __init__(self, page, settings) -> None:
        self.page = page
        self.posts: list[dict[str, str]] = []
        self.faults: list[str] = []
        self.at = 0.0
        self.policy = build_policy(settings.SECURE_CSP)
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", lambda line: self.faults.append(line.text) if line.type in ("error", "warning") else None)
        page.route("**/*", self.answer)

    def answer(self, route) -> None:
        request = route.request
        path = request.url.split("/", 3)[3].split("?")[0]
        if path.startswith("static/"):
            file = STATIC / path.removeprefix("static/")
            route.fulfill(body=file.read_bytes(), content_type=TYPES[file.suffix])
            return
        if request.method == "POST":
            self.posts.append({name: values[0] for name, values in parse_qs(request.post_data or "", keep_blank_values=True).items()})
            route.fulfill(status=204)  # the post is kept and no new page comes: the browser stays where it is
            return
        html = render_to_string("inventory/parts_gallery.html", gallery.context(), request=RequestFactory().get("/parts/"))
        route.fulfill(body=html, content_type="text/html; charset=utf-8", headers={"Content-Security-Policy": self.policy})

    def open(self) -> None:
        self.page.goto("http://selvedge.test/parts/", wait_until="load")

    def scan(self, code: str) -> None:
        """As a scanner does it: fast keys into whatever has the focus, then Enter."""
        self.keys([*code, "Enter"])

    def keys(self, keys: list[str], apart_s: float = APART_S) -> None:
        self.at = press(self.page, keys, self.at, apart_s)

    def posted(self, count: int) -> list[dict[str, str]]:
        for _ in range(40):
            if len(self.posts) >= count:
                break
            self.page.wait_for_timeout(25)
        self.page.wait_for_timeout(50)
        assert len(self.posts) == count
        return self.posts


@pytest.fixture
def shop(chromium: Any, settings: Any) -> Iterator[Shop]:
    context = chromium.new_context(viewport={"width": 820, "height": 1180})
    shop = Shop(context.new_page(), settings)
    shop.open()
    yield shop
    context.close()
    assert not shop.faults


def test_a_scan_with_the_focus_nowhere_goes_to_the_pages_own_scan_box(shop: Shop) -> None:
    shop.scan("U-3")
    (post,) = shop.posted(1)
    assert (post["code"], post["intent"]) == ("U-3", "take-out")
    assert len(post["key"]) == 36


def test_a_scan_while_a_button_has_the_focus_does_not_press_it(shop: Shop) -> None:
    shop.page.get_by_role("button", name="Scrap the rest").focus()
    shop.scan("F1 A")
    assert shop.posted(1)[0]["code"] == "F1 A"
    assert shop.page.locator("dialog").count() == 0


def test_a_scan_while_a_choice_has_the_focus_leaves_the_choice_alone(shop: Shop) -> None:
    choice = shop.page.locator("#id_open-why")
    choice.focus()
    shop.scan("DAG-041")
    assert shop.posted(1)[0]["code"] == "DAG-041"
    assert choice.input_value() == ""


def test_a_scan_into_another_text_field_stays_there(shop: Shop) -> None:
    field = shop.page.locator("#id_open-note")
    field.focus()
    shop.page.keyboard.type("lot C25-204")
    assert field.input_value() == "lot C25-204"
    assert not shop.posts


def test_keys_typed_slowly_outside_a_field_are_no_scan(shop: Shop) -> None:
    shop.keys(["U", "-", "3", "Enter"], apart_s=0.13)
    shop.page.wait_for_timeout(100)
    assert not shop.posts


def test_the_same_code_twice_within_two_seconds_is_sent_once(shop: Shop) -> None:
    shop.scan("U-3")
    shop.posted(1)
    shop.open()
    shop.scan("U-3")
    shop.posted(1)
    assert "read twice" in shop.page.locator("main [data-scan-say]").inner_text()
    shop.scan("F1")
    assert shop.posted(2)[1]["code"] == "F1"


def test_what_stood_half_typed_in_the_box_does_not_join_the_scan(shop: Shop) -> None:
    shop.page.locator(SCAN_BOX).fill("C-1")
    shop.page.locator(SCAN_BOX).focus()
    shop.scan("U-3")
    assert shop.posted(1)[0]["code"] == "U-3"


def test_the_group_separator_of_a_code_arrives_in_the_box(shop: Shop) -> None:
    shop.page.locator(SCAN_BOX).focus()
    shop.keys([*"10L7", "Control+]", *"21A", "Enter"])
    assert shop.posted(1)[0]["code"] == "10L7\x1d21A"


def test_a_scan_never_answers_a_question(shop: Shop) -> None:
    shop.page.get_by_role("button", name="Scrap the rest").click()
    assert shop.page.locator("dialog[open] h2").inner_text() == "Scrap the rest of M-1, 180.0 g?"
    shop.scan("U-3")
    shop.page.get_by_role("button", name="Scrap it").focus()
    shop.scan("U-3")
    assert shop.page.locator("dialog[open]").count() == 1
    assert not shop.posts


def test_the_question_starts_on_leaving_it_and_escape_leaves_it_too(shop: Shop) -> None:
    button = shop.page.get_by_role("button", name="Scrap the rest")
    button.click()
    assert shop.page.evaluate("document.activeElement.textContent") == "Leave it"
    shop.page.keyboard.press("Escape")
    assert shop.page.locator("dialog").count() == 0
    assert shop.page.evaluate("document.activeElement.textContent") == "Scrap the rest"
    assert not shop.posts


def test_a_press_that_gets_no_answer_is_not_sent_twice_and_a_changed_form_gets_a_new_key(shop: Shop) -> None:
    form = shop.page.locator("form.form").nth(1)
    form.locator("#id_open-length").fill("0.85")
    form.locator("#id_open-why").select_option("DAG-041")
    form.locator("#id_open-bag_0").check()
    press = form.get_by_role("button", name="Open the roll")
    press.click()
    press.click(force=True)  # it rests: a person presses all the same
    first = shop.posted(1)[0]["key"]
    wake = "document.querySelectorAll('form.form')[1].dataset.sending = ''"
    shop.page.evaluate(wake)
    press.click(force=True)
    assert shop.posted(2)[1]["key"] == first
    shop.page.evaluate(wake)
    form.locator("#id_open-length").fill("0.90")
    press.click(force=True)
    assert shop.posted(3)[2]["key"] != first


def test_the_pot_counts_by_the_servers_clock_and_ends_with_its_stop_word(shop: Shop) -> None:
    pots = shop.page.locator(".countdown")
    assert pots.nth(0).locator(".countdown-left").inner_text() in ("24:00", "23:59", "23:58", "23:57", "23:56")
    assert "ending" in (pots.nth(1).get_attribute("class") or "")
    assert pots.nth(2).locator(".countdown-left").inner_text() == "Stop: pot life over"
    shop.page.clock.install()
    shop.open()
    shop.page.clock.fast_forward(24 * MINUTE_US // 1000)
    assert pots.nth(0).locator(".countdown-left").inner_text() == "stop: time is over"
    assert "over" in (pots.nth(0).get_attribute("class") or "")


def test_targets_are_large_enough_for_gloves(shop: Shop) -> None:
    """48 px for what is pressed on the floor; WCAG 2.2 asks 24 by 24 (2.5.8) and excepts links inside sentences."""
    pressed = "button, a.button, select, summary, nav a, textarea, input[type=text]"
    low = "r => r.height < 48 || r.width < 44"
    assert not shop.page.evaluate(
        f"[...document.querySelectorAll('{pressed}')].filter(e => ({low})(e.getBoundingClientRect())).map(e => e.outerHTML)"
    )


@pytest.mark.parametrize("width", [390, 820, 1024, 1280])
def test_nothing_hangs_over_the_side_of_the_page(shop: Shop, width: int) -> None:
    shop.page.set_viewport_size({"width": width, "height": 900})
    assert shop.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
