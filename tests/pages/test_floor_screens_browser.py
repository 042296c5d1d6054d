"""The screens of the floor in a real browser: with gloves on every target is 64 px each way and 12 px from the next, measured box by
box; whatever is read there has a contrast of 7:1 (WCAG 2.2, 1.4.6), by day, by night and with high contrast; and the wall keeps fresh."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from inventory.verbs import mixing
from inventory.verbs.holding import Hold
from inventory.verbs.moving import Open
from layups.verbs.laying import Lay

from .floor import Browser, Clock, Floor, clock, floor, made_floor
from .measuring import pale, unfit
from .test_shelf_browser import HOST, answered

pytestmark = [pytest.mark.browser, pytest.mark.django_db, pytest.mark.slow, pytest.mark.once]
__all__ = ["clock", "floor", "made_floor"]


@pytest.fixture
def bram(floor: Floor, clock: Clock) -> Browser:
    """10:20: a kit and a twill are in RUD-073, a pot runs and another is over, U-3 was left out, T-4 thaws, something is held."""
    floor.do(floor.at(0, "08:16"), "Bram", "lay", Lay("K-31", "RUD-073", dry=True))
    floor.do(floor.at(0, "08:20"), "Ines", "open", Open("T-2", True))
    floor.do(floor.at(0, "10:19", 30), "Bram", "lay", Lay("T-2", "RUD-073"))
    floor.do(floor.at(0, "09:30"), "Odile", "hold", Hold("U-4", "torn"))
    for mark, at in (("M-1", "10:00"), ("M-2", "09:00")):
        parts = (mixing.Component("LA-7", "400.0 g"), mixing.Component("LB-5", "100.2 g"))
        floor.do(floor.at(0, at), "Bram", "mix", mixing.Mix(parts, "BAY1", temperature="21.0", mark=mark))
    clock(0, "10:20")
    return Browser(floor, "Bram")


@pytest.fixture
def page(chromium: Any, bram: Browser) -> Iterator[Any]:
    context = chromium.new_context(viewport={"width": 820, "height": 1180}, reduced_motion="reduce")
    shown = context.new_page()
    shown.route("**/*", answered(bram))
    yield shown
    context.close()


def scanned(page: Any, path: str, box: str, code: str) -> None:
    page.goto(f"{HOST}{path}")
    page.locator(box).fill(code)
    with page.expect_navigation():
        page.locator(box).press("Enter")


def screens(page: Any, floor: Floor) -> Iterator[str]:
    """Each page of the floor, and each answer to a scan, as it stands in the browser."""
    for path in ("/", "/parts/RUD-073/", "/mix/?recipe=LAM", "/floor/", f"/i/{floor.code('M-1')}/", "/badge/", "/find/?q=zzz"):
        page.goto(f"{HOST}{path}", wait_until="load")
        yield path
    scanned(page, "/parts/RUD-073/", "#scan-in", floor.code("U-3"))
    yield "refused"
    scanned(page, "/parts/RUD-073/", "#scan-in", floor.code("T-2"))
    yield "laid"


def test_with_gloves_every_target_is_large_and_apart_and_everything_is_seven_to_one(page: Any, floor: Floor) -> None:
    page.goto(f"{HOST}/parts/RUD-073/")
    page.get_by_role("button", name="Gloves").click()
    page.wait_for_load_state()
    assert page.locator("html.gloves").count() == 1
    wrong = []
    for screen in screens(page, floor):
        wrong += [f"{screen}: {text}" for text in (*unfit(page), *pale(page))]
    page.goto(f"{HOST}/wall/")
    wrong += [f"wall: {text}" for text in pale(page)]
    assert wrong == [], "\n".join(wrong)


def test_the_wall_takes_over_what_is_new_and_says_so_when_no_answer_comes(chromium: Any, bram: Browser, floor: Floor, clock: Clock) -> None:
    context = chromium.new_context(viewport={"width": 1920, "height": 1080})
    wall = context.new_page()
    wall.clock.install()
    wall.route("**/*", answered(Browser(floor, "Vera")))
    wall.goto(f"{HOST}/wall/")
    wall.evaluate("document.same = true")
    assert wall.evaluate("document.querySelector('.wall-page').getBoundingClientRect().bottom <= innerHeight"), "nobody scrolls a wall"
    assert "as of 10:20" in wall.inner_text("main") and wall.inner_text("[data-fresh-care]") == ""
    parts = (mixing.Component("LA-7", "400.0 g"), mixing.Component("LB-5", "100.2 g"))
    floor.do(floor.at(0, "10:21"), "Bram", "mix", mixing.Mix(parts, "BAY1", temperature="21.0", mark="M-3"))
    clock(0, "10:22")
    wall.clock.fast_forward(20_000)
    wall.get_by_text("10:22").wait_for()
    wall.clock.fast_forward(1_000)
    assert wall.evaluate("document.same") and wall.locator(".wall-line:has-text('M-3') .countdown-left").inner_text().startswith("32:")
    wall.unroute_all()
    wall.route("**/*", lambda route: route.abort())
    for _ in range(3):
        wall.clock.fast_forward(60_000)
        wall.wait_for_timeout(50)
    assert "No answer from the service" in wall.inner_text("[data-fresh-care]")
    context.close()


def test_without_script_the_wall_is_loaded_again_by_the_browser(
    chromium: Any, bram: Browser, floor: Floor, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("layups.pages.wall.FRESH_S", 1)
    context = chromium.new_context(java_script_enabled=False)
    wall = context.new_page()
    wall.route("**/*", answered(Browser(floor, "Vera")))
    wall.goto(f"{HOST}/wall/")
    assert "as of 10:20" in wall.inner_text("main")
    clock(0, "10:25")
    wall.get_by_text("10:25").wait_for(timeout=5000)
    context.close()


def test_the_measure_sees_what_is_small_or_close(page: Any) -> None:
    """The check itself can fail."""
    page.set_content('<p><button style="width: 60px; height: 64px">a</button></p><a href="#" style="display: block; height: 64px">b</a>')
    wrong = unfit(page, least=1)
    assert len(wrong) == 1 and wrong[0].startswith("60 x 64")
    page.set_content(
        '<a href="#" style="display: block; height: 64px; margin-bottom: 11px">a</a><a href="#" style="display: block; height: 64px">b</a>'
    )
    assert [text[:5] for text in unfit(page, least=1)] == ["11 px"]
    page.set_content('<p style="background: white; color: #767676">grey</p>')
    assert any("light" in text for text in pale(page))
