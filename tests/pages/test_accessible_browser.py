"""Every page, as axe sees it, at three sizes: WCAG 2.2 A and AA, and axe's own advice, without a single complaint.

The pages are found by following every link from the first page, as four people; one page stands for all that share its view (and the
word in its address that chooses a form). So a new page is looked at as soon as something leads to it.

Criteria that axe decides by rule, among others: 1.1.1 text alternatives, 1.3.1 info and relationships, 1.4.3 contrast, 1.4.4 and 1.4.10
resizing and reflow (by the viewport), 2.4.1 skipping blocks, 2.4.2 titles, 2.4.4 links, 2.5.8 target size, 3.1.1 language, 3.3.2 labels,
4.1.2 name, role and value. What no tool decides (focus order, wording) is not claimed here.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.urls import Resolver404, URLPattern, get_resolver, resolve

from inventory.verbs.count_sheets import CountBegin, CountSee
from inventory.verbs.mixing import Component, Mix
from inventory.verbs.registry import perform
from layups.verbs import laying, starting

from .browsing import Browser, Clock
from .store import Store
from .test_shelf_browser import HOST, answered

axe = pytest.importorskip("axe_playwright_python")
pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.once]

AXE = (Path(axe.__file__).parent / "axe.min.js").read_text()
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
SIZED = ["color-contrast", "target-size", "scrollable-region-focusable", "meta-viewport", "label", "link-name", "aria-hidden-focus"]
"""Rules whose answer may change with the size; the others are asked once."""
SIZES = ((1280, 900), (820, 1180), (390, 800))
ENOUGH = 4
"""Pages of one kind that are opened to look for links: a kit's page leads elsewhere than a roll's."""
SHOTS = ("slug", "name")
"""Words in an address that choose another form of the same view."""
NO_PAGE = {
    "attachment", "item-scan", "part-undo", "sign-out", "badge-back", "recall-csv",  # answers to a form, or files
    "floor-manifest", "floor-worker", "floor-reader", "floor-who", "label-picture", "job-cancel", "gloves",
    "no-person", "sign-in",  # looked at by themselves, below
    "job", "log", "log-charge", "run", "part-chart",  # in test_accessible_records_browser, where there are some
}  # fmt: skip


def kind_of(path: str) -> tuple[str, ...] | None:
    """What a page is one of; None for what is no page of the shop."""
    try:
        found = resolve(urlsplit(path).path)
    except Resolver404:
        return None
    if found.app_names or found.url_name is None or found.url_name in NO_PAGE:
        return None
    return (found.url_name, *(str(found.kwargs[name]) for name in SHOTS if name in found.kwargs))


def pages_of(browser: Browser, found: dict[tuple[str, ...], str], starts: Sequence[str]) -> None:
    """Follow links from the first page until nothing new is found, through some pages of each kind; `found`: one address for each."""
    waiting = ["/", *starts]
    seen, times = set(waiting), Counter[tuple[str, ...]]()
    while waiting:
        path = waiting.pop()
        kind = kind_of(path)
        if kind is None or times[kind] >= ENOUGH:
            continue
        times[kind] += 1
        response = browser.client.get(path, follow=True)
        if response.status_code not in (200, 404) or not response.headers["Content-Type"].startswith("text/html"):
            continue
        found.setdefault(kind, path)
        for link in re.findall(r'href="([^"#]+)', response.content.decode()):
            there = link.replace("&amp;", "&")
            there = urlsplit(path).path + there if there.startswith("?") else there
            if there.startswith("/") and "file=" not in there and "format=" not in there and there not in seen:
                seen.add(there)
                waiting.append(there)


@pytest.fixture
def shown(chromium: Any) -> Iterator[Any]:
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce")
    yield context.new_page()
    context.close()


def complaints(page: Any, path: str) -> list[str]:
    """What axe says of the page at each size, in a line each."""
    page.goto(f"{HOST}{path}", wait_until="load")
    page.evaluate(AXE)
    found = []
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        wanted = {"type": "tag", "values": TAGS} if width == SIZES[0][0] else {"type": "rule", "values": SIZED}
        answer = page.evaluate("wanted => axe.run(document, {runOnly: wanted, resultTypes: ['violations']})", wanted)
        assert answer["passes"], "rules were run"
        for violation in answer["violations"]:
            nodes = [" ".join(map(str, node["target"])) for node in violation["nodes"][:3]]
            found.append(f"{path} at {width}: {violation['id']}: {violation['help']}: {nodes}")
    return found


def test_axe_complains_of_no_page(shown: Any, yard: Store, clock: Clock) -> None:
    yard.do(clock.now, "Bram", "start_part", starting.StartPart("DAG", "DAG-990", "CLEAN"))
    yard.do(clock.now + 1, "Bram", "lay", laying.Lay("C-12", "DAG-990"))
    late = yard.call("Bram", clock.now + 2, stance="observed", happened_us=clock.now + 1)
    perform("lay", late, laying.Lay("U-3", "DAG-990", qty="0.50 m", extra=True))
    yard.do(
        clock.now + 3,
        "Bram",
        "mix",
        Mix((Component("LA-7", "400.0 g"), Component("LB-5", "100.0 g")), "CLEAN", temperature="21.0", mark="M-990"),
    )
    sheet = yard.do(clock.now + 4, "Ines", "count_begin", CountBegin("RACK")).data["sheet"]
    for n, mark in enumerate(("C-12", "LA-7")):
        yard.do(clock.now + 5 + n, "Ines", "count_see", CountSee(sheet, mark, "18 m" if n == 0 else ""))
    codes = {mark: yard.code(mark) for mark in ("T-2", "M-990", "C-12")}
    starts = [
        "/find/?q=nothing+like+it",
        f"/count/{sheet}/?last={codes['C-12']}",
        "/trace/C-12/",
        "/trace/recall/C-12/",
        "/receive/papers/?lot=T-2",
        f"/i/{codes['M-990']}/leftover/",
        *(f"/i/{code}/" for code in codes.values()),
    ]
    found: dict[tuple[str, ...], str] = {}
    owners: dict[str, Browser] = {}
    for who in ("Odile", "Marek", "Ines", "Bram"):
        browser, before = Browser(yard, who), set(found)
        pages_of(browser, found, starts)
        owners |= {found[kind]: browser for kind in set(found) - before}
    named = {pattern.name for pattern in get_resolver("inventory.pages.urls").url_patterns if isinstance(pattern, URLPattern)}
    named |= {pattern.name for pattern in get_resolver("layups.pages.urls").url_patterns if isinstance(pattern, URLPattern)}
    assert named - NO_PAGE - {kind[0] for kind in found} == set(), "a page that no link leads to: link it, or say why it is none"
    said = []
    for path, browser in owners.items():
        shown.unroute_all()
        shown.route("**/*", answered(browser))
        said += complaints(shown, path)
    assert said == [], "\n".join(said)


def test_axe_sees_what_is_wrong(shown: Any, yard: Store, clock: Clock) -> None:
    """The check itself can fail: a picture without a word, and pale letters."""
    shown.route(
        "**/*",
        lambda route: route.fulfill(
            body='<html lang="en"><title>x</title><main><h1>x</h1><img src="x.png"><p style="color: #dddddd">pale</p></main>',
            content_type="text/html",
        ),
    )
    said = complaints(shown, "/")
    assert any("image-alt" in line for line in said)
    assert sum("color-contrast" in line for line in said) == len(SIZES)


@pytest.mark.parametrize("path", ["/sign-in/", "/no-person/"])
def test_axe_complains_of_no_page_outside(shown: Any, yard: Store, clock: Clock, path: str) -> None:
    browser = Browser(yard, "Ines")
    browser.client.logout()
    shown.route("**/*", answered(browser))
    assert complaints(shown, path) == []
