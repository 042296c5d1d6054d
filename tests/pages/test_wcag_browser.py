"""WCAG 2.2 in a real browser, where neither axe nor a look at the source decides: keys, focus, narrow windows, wide text, names of
controls, forced colours, the dark scheme. One window walks through a few pages that have between them every part there is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from .browsing import Browser, frozen
from .store import Store
from .test_accessible_browser import AXE
from .test_every_page import DAY_END, addresses, make_busy
from .test_shelf_browser import HOST, answered

pytestmark = [pytest.mark.django_db, pytest.mark.browser, pytest.mark.slow, pytest.mark.once]

PAGES = (
    "today",
    "item",
    "part",
    "delivery",
    "mix",
    "records",
    "stock",
    "trace",
    "quality",
    "log",
    "labels",
    "floor",
    "count-sheet",
    "wall",
)
WATCH = """() => {
  window.seen = [];
  const all = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']";
  return [...document.querySelectorAll(all)].filter((node) => node.tabIndex >= 0 && !node.disabled
    && node.checkVisibility({ visibilityProperty: true })
    && !node.closest("details:not([open]) > :not(summary)")).length;
}"""
TOP = "() => { const b = document.body; b.tabIndex = -1; b.focus({ preventScroll: true }); b.removeAttribute('tabindex'); }"
"""A page puts the focus where its work begins; a walk begins at the top."""
LOOK = """() => {
  const node = document.activeElement, last = window.seen.at(-1)?.node;
  if (!node || node === document.body) return;
  const box = node instanceof SVGElement ? node.querySelector("rect:last-of-type") : node;
  const r = box.getBoundingClientRect(), s = getComputedStyle(box);
  const spots = [[.5, .5], [.1, .2], [.9, .2], [.1, .8], [.9, .8]];
  // somewhere on the screen a point of it is on top: nothing that stands still hides all of it
  const seen = r.width && r.height && spots.some(([fx, fy]) => {
    const top = document.elementFromPoint(r.left + r.width * fx, r.top + r.height * fy);
    return top && (node.contains(top) || top.contains(node) || top.closest("label")?.control === node);
  });
  const marked = node instanceof SVGElement ? parseFloat(s.strokeWidth) >= 4 : s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2;
  const back = last && last.compareDocumentPosition(node) & Node.DOCUMENT_POSITION_PRECEDING;
  const name = (node.getAttribute("aria-label") || node.textContent || node.name || node.id).trim().slice(0, 40);
  const wrong = [back ? "goes back" : "", seen ? "" : "hidden", marked ? "" : "no mark"].filter(Boolean);
  window.seen.push({ node, wrong: wrong.length ? `${name} (${node.localName}): ${wrong.join(", ")}` : "" });
}"""
SAID = "seen.map((s) => s.wrong).filter(Boolean)"
OVER = """() => {
  const wide = document.scrollingElement.scrollWidth - document.documentElement.clientWidth;
  const cut = [...document.querySelectorAll("main *, header *")].filter((node) => {
    const s = getComputedStyle(node);
    if (!["hidden", "clip"].includes(s.overflowX) && !["hidden", "clip"].includes(s.overflowY)) return false;
    if (s.clipPath !== "none" || node.closest("svg, .hush, .skip-over") || node.clientWidth < 3) return false;
    return node.scrollWidth > node.clientWidth + 1 || node.scrollHeight > node.clientHeight + 1;
  });
  return [wide > 1 ? `${wide} px too wide` : "", ...cut.map((node) => `cut: ${node.className || node.tagName}`)].filter(Boolean);
}"""
SPACED = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`* { line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important }
    p { margin-bottom: 2em !important }`);
  document.adoptedStyleSheets = [sheet];
}"""
NAMES = """() => [...document.querySelectorAll("a, button, input[type=submit], summary, [role=button]")].flatMap((node) => {
  const name = node.getAttribute("aria-label");
  if (!name) return [];
  const flat = (text) => text.toLowerCase().replace(/[^\\p{L}\\p{N}]+/gu, " ").trim();
  const lines = node instanceof SVGElement ? [...node.querySelectorAll("text")].map((t) => t.textContent) : [node.innerText];
  return lines.filter((line) => line && !line.includes("…") && !flat(name).includes(flat(line)))
    .map((line) => `${line} is not in “${name}”`);
})"""
PALE = "() => axe.run(document, { runOnly: { type: 'rule', values: ['color-contrast'] }, resultTypes: ['violations'] })"
SHAPES = """() => {
  const ground = getComputedStyle(document.body).backgroundColor;
  const chips = [...document.querySelectorAll(".status, .banner, .verdict-word")];
  const bad = chips.filter((chip) => {
    const shape = chip.querySelector(".shape");
    return !shape || !shape.getBoundingClientRect().width || getComputedStyle(shape).fill === ground || !chip.textContent.trim();
  });
  const boxes = [...document.querySelectorAll(".drawing .node-box")].filter((box) => getComputedStyle(box).stroke === ground);
  return { chips: chips.length, bad: bad.map((chip) => chip.outerHTML.slice(0, 120)), boxes: boxes.length };
}"""


@pytest.fixture(scope="module")
def shop(_made: Store, django_db_blocker: Any) -> Iterator[tuple[Store, dict[str, str]]]:
    """The yard at the end of a busy day, with an address for each page."""
    with django_db_blocker.unblock(), pytest.MonkeyPatch.context() as patch:
        clock = frozen(patch, _made, 0, DAY_END)
        make_busy(_made, clock)
        yield _made, addresses(_made)


def opened(chromium: Any, shop: tuple[Store, dict[str, str]], who: str = "Odile", **more: Any) -> Any:
    context = chromium.new_context(**({"viewport": {"width": 1280, "height": 800}} | more))
    page = context.new_page()
    page.route("**/*", answered(Browser(shop[0], who)))
    return page


def each(page: Any, shop: tuple[Store, dict[str, str]], names: tuple[str, ...] = PAGES) -> Iterator[str]:
    """Goes to each page; hands out its name."""
    for name in names:
        page.goto(f"{HOST}{shop[1][name]}", wait_until="load")
        yield name


def test_keys_alone_reach_everything_in_order_and_see_where_they_are(chromium: Any, shop: tuple[Store, dict[str, str]]) -> None:
    """2.1.1, 2.1.2, 2.4.3, 2.4.7, 2.4.11, 3.2.1: Tab from the top to the end, at a size at which pages scroll."""
    page = opened(chromium, shop, viewport={"width": 820, "height": 600})
    said = []
    for name in each(page, shop):
        page.evaluate(TOP)
        count = page.evaluate(WATCH)
        before = page.url
        assert count > 1, name
        for _ in range(count):
            page.keyboard.press("Tab")
            page.evaluate(LOOK)
        reached = page.evaluate("new Set(seen.map((s) => s.node)).size")
        said += [f"{name}: {reached} of {count} are reached"] if reached < count else []
        said += [f"{name}: {line}" for line in page.evaluate(SAID)]
        assert page.url == before, f"{name}: nothing happens by arriving somewhere"
    page.context.close()
    assert said == [], "\n".join(said)


def test_the_first_key_skips_to_the_content(chromium: Any, shop: tuple[Store, dict[str, str]]) -> None:
    """2.4.1, as a person at the keys meets it."""
    page = opened(chromium, shop)
    for _ in each(page, shop, ("stock", "trace")):
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        assert page.locator(".skip").bounding_box()["y"] >= 0, "it shows itself"
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "content"
        page.keyboard.press("Tab")
        assert page.evaluate("document.querySelector('main').contains(document.activeElement)")
    page.context.close()


def test_a_narrow_window_and_wide_text_lose_nothing(chromium: Any, shop: tuple[Store, dict[str, str]]) -> None:
    """1.4.10 at 320 px, which is 1280 px at 400 % (so 1.4.4 too); 1.4.12 with the criterion's own figures."""
    page = opened(chromium, shop)
    said = []
    for name in each(page, shop):
        page.evaluate(SPACED)
        said += [f"{name}, spaced: {line}" for line in page.evaluate(OVER)]
        page.evaluate("document.adoptedStyleSheets = []")
        page.set_viewport_size({"width": 320, "height": 800})
        said += [f"{name} at 320: {line}" for line in page.evaluate(OVER)]
        page.set_viewport_size({"width": 1280, "height": 800})
    page.context.close()
    assert said == [], "\n".join(said)


def test_what_is_written_on_a_control_is_in_its_name(chromium: Any, shop: tuple[Store, dict[str, str]]) -> None:
    """2.5.3, which axe leaves to a rule that it does not run."""
    page = opened(chromium, shop)
    said = [f"{name}: {line}" for name in each(page, shop) for line in page.evaluate(NAMES)]
    page.context.close()
    assert said == [], "\n".join(said)


def test_no_single_letter_is_a_command(chromium: Any, shop: tuple[Store, dict[str, str]]) -> None:
    """2.1.4: letters typed slowly with the focus nowhere do nothing (a scanner's are fast)."""
    page = opened(chromium, shop)
    for name in each(page, shop, ("today", "part", "trace")):
        page.evaluate("document.activeElement?.blur()")
        where, before = page.url, page.locator("main").inner_text()
        for key in "acdehijlnoqrsx/.,1":
            page.keyboard.press(key)
            page.wait_for_timeout(10)
        assert (page.url, page.locator("main").inner_text()) == (where, before), name
    page.context.close()


def test_forced_colours_and_grey_leave_every_status_its_word_and_its_shape(chromium: Any, shop: tuple[Store, dict[str, str]]) -> None:
    """1.4.1: with the colours of a reader's own, status is a word and a drawing that can be seen."""
    page = opened(chromium, shop, forced_colors="active")
    chips = 0
    for name in each(page, shop, ("item", "part", "parts", "stock", "trace", "quality")):
        found = page.evaluate(SHAPES)
        assert (found["bad"], found["boxes"]) == ([], 0), name
        chips += found["chips"]
    page.context.close()
    assert chips > 5


def test_the_dark_scheme_keeps_its_contrast(chromium: Any, shop: tuple[Store, dict[str, str]]) -> None:
    page = opened(chromium, shop, color_scheme="dark")
    said = []
    for name in each(page, shop, ("today", "item", "part", "records", "trace", "quality", "log", "labels")):
        page.evaluate(AXE)
        answer = page.evaluate(PALE)
        assert answer["passes"], name
        said += [f"{name}: {node['target']}" for v in answer["violations"] for node in v["nodes"]]
    page.context.close()
    assert said == [], "\n".join(said)


def test_on_paper_there_are_no_doors_and_it_says_as_of_when(chromium: Any, shop: tuple[Store, dict[str, str]]) -> None:
    page = opened(chromium, shop)
    page.emulate_media(media="print")
    for name in each(page, shop, ("part", "fire", "record", "trace", "recall")):
        doors = page.locator(".button, .nav, .scanbox, .form, .skip").all()
        assert [d.get_attribute("class") for d in doors if d.is_visible()] == [], name
        assert "As of 2026-03-30 16:00:00, Quillstrand Boatyard, Odile" in page.locator("footer").inner_text(), name
        assert page.locator("h1").is_visible()
    page.context.close()
