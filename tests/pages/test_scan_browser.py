"""A wedge scanner in a real browser: fast keys, its separator as Ctrl+], its end as Enter or Ctrl+M, wherever the focus is."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from inventory.models import Act, LabelPrint, SupplierLabel
from tests.conftest import FLAGS
from tests.core.labels import GS, GTIN

from .browsing import Browser
from .film import NO_READER, false_camera, on_a_table
from .keying import press
from .store import Store
from .test_shelf_browser import HOST, SIZES, answered, focused, page, scripted, words

__all__ = ["page", "scripted"]
pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = pytest.mark.browser
with_script = pytest.mark.parametrize("scripted", [True], indirect=True, ids=["with script"])
ROLL = f"]d201{GTIN}1126030210G7{GS}21R0007{GS}3112010000"
DELIVERY = f"{HOST}/receive/delivery/?number=D-118"


def wedge(page: Any, raw: str, end: str = "Enter") -> None:
    """Key by key, as fast as a scanner."""
    press(page, [*("Control+]" if char == GS else char for char in raw), end])


def filled(page: Any) -> dict[str, str]:
    return {name: page.input_value(f"[name={name}]") for name in ("mark", "lot", "serial", "made", "quantity", "scan")}


EXPECTED = {"mark": "", "lot": "G7", "serial": "R0007", "made": "2026-03-02", "quantity": "100 m", "scan": ""}


@with_script
@pytest.mark.parametrize("where", ["#id_mark", "#id_quantity", "#scan-label", "body"])
@pytest.mark.parametrize("end", ["Enter", "Control+m"])
def test_a_label_goes_to_the_box_wherever_the_focus_is(page: Any, yard: Store, where: str, end: str) -> None:
    page.goto(DELIVERY)
    focused(page, "id_mark")
    if where == "body":
        page.evaluate("document.activeElement.blur()")
    else:
        page.focus(where)
    with page.expect_navigation(timeout=10000):
        wedge(page, ROLL, end)
    assert filled(page) == EXPECTED
    assert page.locator(".label-read").count() == 1 and not Act.objects.filter(legs__item__mark="G7-1").exists()


@with_script
def test_what_stands_half_typed_in_a_field_is_there_again_after_the_scan(page: Any, yard: Store) -> None:
    page.goto(DELIVERY)
    focused(page, "id_mark")
    page.keyboard.type("G7-", delay=120)
    page.wait_for_timeout(150)
    with page.expect_navigation(timeout=10000):
        wedge(page, ROLL)
    assert filled(page) == {**EXPECTED, "mark": "G7-"}


@with_script
def test_a_short_name_takes_the_piece_in_and_its_label_is_printed_at_once_and_counted_once(page: Any, yard: Store, ines: Browser) -> None:
    page.add_init_script(  # a browser without a screen has no print dialog, and no viewer of PDF that would stand this policy's routes
        "window.printed = []; const frame = HTMLIFrameElement.prototype;"
        "const print = (url) => printed.push(url.split(':')[0]);"
        "Object.defineProperty(frame, 'src', {set(url) { this.dataset.url = url; this.srcdoc = '<p>'; }});"
        "Object.defineProperty(frame, 'contentWindow', {get() { return {focus() {}, print: () => print(this.dataset.url)}; }});"
    )
    ines.client.cookies["labels_at_once"] = "roll-50x25 pdf"
    page.goto(DELIVERY)
    focused(page, "id_mark")
    with page.expect_navigation(timeout=10000):
        wedge(page, "G7-1")
    assert "1 of 3 rolls" in words(page)
    page.locator("[data-print-say]", has_text="print dialog").wait_for(timeout=10000)
    page.keyboard.press("F8")
    for _ in range(100):
        if page.evaluate("window.printed.length") == 2:
            break
        page.wait_for_timeout(50)
    assert page.evaluate("window.printed") == ["blob", "blob"] and LabelPrint.objects.get().format == "roll-50x25", (
        "printed twice, one print"
    )


@with_script
def test_the_same_label_twice_at_once_is_one_read_and_told(page: Any, yard: Store) -> None:
    """Within two seconds, by the page's clock: it stands still here, so that a slow machine does not make two reads of one."""
    page.add_init_script("Date.now = () => 1774850400000")
    page.goto(DELIVERY)
    focused(page, "id_mark")
    with page.expect_navigation(timeout=10000):
        wedge(page, ROLL)
    wedge(page, ROLL)
    page.wait_for_function("[...document.querySelectorAll('[data-scan-say]')].some(spot => spot.textContent.includes('counted once'))")
    assert "was read twice; counted once" in page.inner_text("[data-scan-say] >> nth=1") and filled(page) == EXPECTED


@with_script
def test_a_scanner_never_answers_the_question_before_something_ends(page: Any, yard: Store) -> None:
    SupplierLabel.objects.create(
        supplier=yard.yard.supplier["Aldervane Weavers"], material=yard.yard.material["GB-600"], known_by="gtin", value=GTIN,
        told_by=yard.yard.person["Ines"], told_us=1,
    )  # fmt: skip
    page.goto(f"{HOST}/receive/labels/")
    page.click("button[data-confirm]")
    for scan in ("F1", ROLL, " F1"):
        wedge(page, scan)
    page.focus("dialog .danger")
    wedge(page, "U-3")
    wedge(page, " U-3")
    page.wait_for_timeout(200)
    assert page.locator("dialog[open]").count() == 1 and SupplierLabel.objects.get().ended_us is None
    page.click("dialog .danger")
    page.wait_for_load_state()
    assert SupplierLabel.objects.get().ended_us is not None


@with_script
def test_f2_goes_to_the_box_of_every_page_and_a_scan_is_told_at_once(page: Any, yard: Store) -> None:
    for path, box in (("/stock/", "scan-q-top"), ("/", "scan-q-page"), ("/receive/delivery/?number=D-118", "scan-label")):
        page.goto(HOST + path)
        page.evaluate("document.activeElement.blur()")
        page.keyboard.press("F2")
        focused(page, box)


@with_script
def test_an_answer_stands_in_its_place_within_a_tenth_of_a_second_of_the_servers(page: Any, yard: Store) -> None:
    """Word, shape, colour, sentence and signal, timed from the server's answer; and what is not understood leaves the page as it is."""
    page.add_init_script(
        "window.felt = []; navigator.vibrate = (pattern) => felt.push(pattern); const get = window.fetch;"
        "window.fetch = async (...all) => { const got = await get(...all); window.came = performance.now(); return got; };"
    )
    page.goto(f"{HOST}/stock/")
    page.evaluate("document.activeElement.blur()")
    page.wait_for_selector("[data-scan-answer]", state="attached")  # made by a module that comes after the page
    page.evaluate(
        "window.told = []; const spot = document.querySelector('[data-scan-answer]');"
        "new MutationObserver(() => told.push(performance.now() - came)).observe(spot, {childList: true});"
        "window.here = true;"
    )
    wedge(page, "<b>zz\u2603</b>")
    page.wait_for_selector(".scan-answer", timeout=5000)
    assert page.evaluate("told[0]") < 100 and page.evaluate("window.here") is True
    answer = page.locator(".scan-answer")
    assert answer.get_attribute("class") == "scan-answer tone-stop" and answer.locator("svg.shape").count() == 1
    assert "Not understood" in answer.inner_text() and "<b>zz☃</b>" in answer.inner_text() and answer.locator("b").count() == 0
    assert page.evaluate("felt") == [[15], [250]], "heard, then no"
    wedge(page, "<b>zz\u2603</b>")
    page.wait_for_timeout(100)
    assert "counted once" in page.inner_text(".top [data-scan-say]") and len(page.evaluate("felt")) == 2
    with page.expect_navigation(timeout=5000):
        wedge(page, "U-3")
    assert "may not be used now" in words(page) and page.evaluate("felt") == [], "the page says no again, and need not sound again"


@with_script
def test_a_page_that_gets_no_answer_in_time_sends_its_form_as_without_script(page: Any, yard: Store) -> None:
    page.goto(f"{HOST}/find/?q=X4")
    focused(page, "scan-code")
    page.route("**/api/scan/", lambda route: route.fulfill(json=None))
    with page.expect_navigation(timeout=5000):
        wedge(page, "BK")
    assert "X4 is in Outdoor bunker" in words(page)


def test_a_label_before_the_camera_is_read_by_the_server_and_so_is_a_photo_where_there_is_no_camera(
    chromium: Any, yard: Store, clock: Any, ines: Browser, tmp_path: Path
) -> None:
    """The browser's own false camera shows a label of ours, askew on a table. There is no reader in this browser, and none was brought."""
    table = on_a_table(yard.yard.site.pk, clock.now, "U-3", HOST)
    photo = tmp_path / "label.png"
    table.save(photo)
    browser = chromium.browser_type.launch(
        executable_path=os.environ.get("SELVEDGE_TEST_CHROMIUM", "/usr/bin/chromium"), args=[*FLAGS, *false_camera(table, tmp_path)]
    )
    try:
        for script, press in (
            ("delete window.BarcodeDetector", lambda page: None),
            (
                "Object.defineProperty(navigator, 'mediaDevices', {value: undefined}); delete window.BarcodeDetector",
                lambda page: page.set_input_files("dialog input[type=file]", photo),
            ),
        ):
            page = browser.new_context(viewport={"width": 820, "height": 1180}).new_page()
            page.add_init_script(script)
            page.route("**/*", answered(ines))
            page.route("**/floor/reader.js", lambda route: route.fulfill(body=NO_READER, content_type="text/javascript"))
            page.goto(f"{HOST}/")
            page.click("main form[data-scan] >> text=Camera")
            with page.expect_navigation(url="**/i/**", timeout=15000):
                press(page)
            assert "U-3 may not be used now" in words(page)
    finally:
        browser.close()


@with_script
def test_sounds_are_switched_off_for_this_browser_and_stay_off(page: Any, yard: Store) -> None:
    page.goto(f"{HOST}/stock/")
    page.click("[data-sounds]")
    page.goto(f"{HOST}/")
    assert page.get_attribute("[data-sounds]", "aria-pressed") == "false"


def test_without_separators_the_label_is_read_and_the_doubt_is_told(page: Any, yard: Store, scripted: bool) -> None:
    """Without script the browser drops Ctrl+]: what arrives has no separator in it."""
    page.goto(DELIVERY)
    page.fill("#scan-label", ROLL.replace(GS, "").removeprefix("]d2"))
    with page.expect_navigation(timeout=10000):
        page.click("[data-scan-go]")
    assert "may be two fields run together" in words(page)


@pytest.mark.parametrize("size", SIZES, ids=["desk", "tablet"])
def test_the_pages_of_labels_fit_the_screen_with_targets_that_are_large_enough(
    chromium: Any, yard: Store, clock: Any, ines: Browser, size: tuple[int, int]
) -> None:
    from urllib.parse import quote

    context = chromium.new_context(viewport={"width": size[0], "height": size[1]})
    shown = context.new_page()
    shown.route("**/*", answered(ines))
    for path in (
        f"/receive/delivery/?number=D-118&scan={quote(ROLL)}",
        "/receive/labels/",
        f"/receive/labels/new/?raw={quote(ROLL)}",
        f"/find/?q={quote(ROLL)}",
    ):
        shown.goto(HOST + path)
        assert shown.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0, path
        small = shown.evaluate(
            "[...document.querySelectorAll('main .button, main select, main input:not([type=hidden], [type=checkbox], [type=radio])')]"
            ".filter((e) => e.offsetParent && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 90))"
        )
        assert small == [], path
    context.close()
