"""The storekeeper's pages in a real browser: two scans without script and with it, by keyboard alone, at both sizes.

No server runs: what the browser asks for is answered by the service itself, in this process, under its own policy."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.contrib.staticfiles import finders
from django.db import connections

from inventory.models import Act

from .browsing import Browser, Clock
from .keying import press
from .store import Store

pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = pytest.mark.browser

TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml", ".wasm": "application/wasm"}
HOST = "http://localhost"
SIZES = ((1280, 900), (820, 1180))


def answered(browser: Browser) -> Any:
    """What answers the browser's requests: a client that is signed in already. Playwright calls back inside its own loop,
    where Django would open a second connection and see nothing of this test's transaction: it is given this one."""
    ours = connections["default"]

    def answer(route: Any) -> None:
        connections["default"] = ours
        request, parts = route.request, urlsplit(route.request.url)
        if parts.path.startswith("/static/"):
            file = Path(str(finders.find(parts.path.removeprefix("/static/"))))
            route.fulfill(body=file.read_bytes(), content_type=TYPES[file.suffix])
            return
        path = parts.path + (f"?{parts.query}" if parts.query else "")
        kind = request.headers.get("content-type", "application/octet-stream")
        response = browser.client.generic(request.method, path, request.post_data_buffer or b"", content_type=kind)
        while response.status_code in (301, 302):  # a browser would follow, with GET
            response = browser.client.get(response.headers["Location"])
        body = b"".join(response.streaming_content) if response.streaming else response.content  # type: ignore[attr-defined]
        route.fulfill(status=response.status_code, body=body, headers=dict(response.headers.items()))

    return answer


@pytest.fixture(params=[False, True], ids=["without script", "with script"])
def scripted(request: pytest.FixtureRequest) -> bool:
    return bool(request.param)


@pytest.fixture
def page(chromium: Any, ines: Browser, scripted: bool) -> Iterator[Any]:
    """A tablet, signed in as Ines. At the end nothing was complained of."""
    context = chromium.new_context(viewport={"width": 820, "height": 1180}, java_script_enabled=scripted)
    shown = context.new_page()
    faults: list[str] = []
    shown.on("pageerror", lambda error: faults.append(str(error)))
    told = ("status of 409", "status of 422")  # answers that refuse are no faults
    shown.on("console", lambda line: faults.append(line.text) if line.type == "error" and not any(s in line.text for s in told) else None)
    shown.route("**/*", answered(ines))
    yield shown
    context.close()
    assert faults == []


def scan(page: Any, code: str) -> None:
    """Fast keys and Enter, into whatever has the focus."""
    with page.expect_navigation(timeout=10_000):
        press(page, [*code, "Enter"])


def focused(page: Any, *ids: str) -> None:
    """The page has put the focus there by itself (autofocus waits for the page to be drawn)."""
    for _ in range(60):
        found = page.evaluate("document.activeElement ? document.activeElement.id : ''")
        if found in ids:
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"the focus is on {found!r}, not on {ids}")


def words(page: Any) -> str:
    return " ".join(page.inner_text("main").replace("\u00a0", " ").split())


def test_two_scans_bring_a_roll_back_and_a_third_says_already_there(page: Any, yard: Store, clock: Clock) -> None:
    page.goto(f"{HOST}/")
    focused(page, "scan-q-page")
    scan(page, "U-3")
    focused(page, "scan-code")
    scan(page, "F1")
    assert "114 h 10 of 120 h out life used" in words(page) and "5 h 50 of out life left" in words(page)
    before = Act.objects.count()
    clock(0, "07:41")
    page.goto(f"{HOST}/find/?q=U-3")
    focused(page, "scan-code")
    page.evaluate("sessionStorage.clear()")  # the scanner repeats later than a double read
    scan(page, "F1")
    assert "already in Chest freezer" in words(page) and Act.objects.count() == before


def test_a_refusal_is_read_first_and_the_next_scan_goes_on(page: Any, yard: Store) -> None:
    page.goto(f"{HOST}/find/?q=X4")
    focused(page, "scan-code")
    scan(page, "AC")
    assert page.title().startswith("No – ") and page.locator(".verdict-no").count() >= 1
    focused(page, "scan-code")
    scan(page, "BK")
    assert "X4 is in Outdoor bunker" in words(page)


def test_two_scans_and_the_scale_mix_a_pot_by_keys_alone(page: Any, yard: Store, clock: Clock) -> None:
    from inventory.verbs.mixing import Measure

    yard.do(clock.now, "Ines", "measure", Measure("BAY1", "21.0"))
    page.goto(f"{HOST}/mix/")
    for typed, where in (("LA-7", ("code0",)), ("400.0", ("mass0",)), ("LB-5", ("code1",)), ("100.2", ("mass1", "mass3"))):
        focused(page, *where)
        scan(page, typed)
    assert "Mix M-1" in words(page) and "stop by 08:13" in words(page)


PATHS = (
    "/", "/stock/", "/stock/PP-T/", "/places/", "/places/CLEAN/", "/peroxides/", "/receive/", "/receive/delivery/?number=D-118",
    "/receive/rows/?number=D-119", "/receive/opening/", "/receive/file/", "/receive/new/", "/mix/", "/mix/?recipe=LAM", "/records/",
    "/refused/", "/find/?q=U-3", "/find/?q=M-1", "/find/?q=zzz", "/find/?q=prepreg", "/nowhere/",
)  # fmt: skip


@pytest.mark.parametrize("size", SIZES, ids=["desk", "tablet"])
def test_no_page_is_wider_than_the_screen_and_every_button_is_large_enough(
    chromium: Any, yard: Store, clock: Clock, ines: Browser, size: tuple[int, int]
) -> None:
    """Targets of 44 px at least: WCAG 2.2, 2.5.5 (enhanced)."""
    context = chromium.new_context(viewport={"width": size[0], "height": size[1]})
    page = context.new_page()
    page.route("**/*", answered(ines))
    things = [
        f"/i/{yard.code(mark)}/{way}" for mark, way in (("C-12", ""), ("C-12", "cut/"), ("C-12", "count/"), ("T-4", "open/"), ("K-31", ""))
    ]
    lot = yard["C-12"].lot
    assert lot is not None
    for path in (*PATHS, *things, f"/i/{lot.code}/", f"/receive/papers/?lot={lot.code}", f"/records/{Act.objects.latest('pk').pk}/"):
        page.goto(HOST + path)
        assert "Sign in" not in page.title() and page.locator("h1").count() == 1, path
        assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0, (path, "is wider than the screen")
        small = page.evaluate(
            "[...document.querySelectorAll('main .button, main select, main input:not([type=hidden], [type=checkbox], [type=radio])')]"
            ".filter((e) => e.offsetParent && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 90))"
        )
        assert small == [], path
    context.close()
