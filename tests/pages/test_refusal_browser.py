"""A refused scan in a real browser: the refusal is on the screen, whatever its size, and the box for the next scan too."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.verbs.counting import Reserve
from inventory.verbs.holding import Hold

from .floor import Browser, Clock, Floor, clock, floor, made_floor
from .keying import press
from .test_shelf_browser import HOST, answered, focused

pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = [pytest.mark.browser, pytest.mark.django_db]
__all__ = ["clock", "floor", "made_floor"]


@pytest.fixture
def bram(floor: Floor, clock: Clock) -> Browser:
    """U-3 is held, kept for another job, and over: a long answer."""
    now = floor.at(0, "08:20")
    why = "the bag was found torn along the whole of one side after the night, and frost lay on the outer turns of the roll"
    floor.do(now, "Odile", "hold", Hold("U-3", why))
    floor.do(now, "Odile", "hold", Hold("U-3", f"again: {why}"))
    floor.do(now, "Ines", "reserve", Reserve("U-3", "DAG-099"))
    clock(0, "08:30")
    return Browser(floor, "Bram")


@pytest.mark.parametrize("scripted", [False, True], ids=["without script", "with script"])
@pytest.mark.parametrize("size", [(1280, 800), (1000, 720), (820, 1180)], ids=lambda size: f"{size[0]} x {size[1]}")
def test_a_refusal_is_on_the_screen_and_so_is_the_box_for_the_next_scan(
    chromium: Any, bram: Browser, size: tuple[int, int], scripted: bool
) -> None:
    context = chromium.new_context(viewport={"width": size[0], "height": size[1]}, java_script_enabled=scripted)
    page = context.new_page()
    page.route("**/*", answered(bram))
    page.goto(f"{HOST}/parts/RUD-073/")
    focused(page, "scan-in")
    with page.expect_navigation(timeout=10_000):
        press(page, [*"U-3", "Enter"])
    focused(page, "scan-in")
    page.wait_for_timeout(200)  # until it has scrolled to the focus
    assert page.title().startswith("No – ") and page.locator(".verdict-no li").count() >= 4
    verdict, box = (page.locator(s).bounding_box() for s in (".verdict-no", "#scan-in"))
    assert verdict["y"] >= 0 and verdict["y"] + verdict["height"] <= size[1], "the refusal is on the screen"
    assert verdict["y"] + verdict["height"] <= box["y"] and box["y"] + box["height"] <= size[1] + 1, "and so is the box"
    context.close()
