"""A place counted with a wedge scanner in a real browser: scans that do not wait for each other, a field for a figure, a reload."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.models import CountLine, CountSheet

from .keying import press
from .store import Store
from .test_shelf_browser import HOST, focused, page, scripted, words

__all__ = ["page", "scripted"]
pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = [pytest.mark.browser, pytest.mark.once]


def wedge(page: Any, *codes: str) -> None:
    """One scan right after another, a scanner's pause between them: 100 ms, which is less than a page takes."""
    at = 0.0
    for code in codes:
        at = press(page, [*code, "Enter"], after_s=at + 0.1 if at else 0.0)


def settled(page: Any, text: str) -> None:
    page.wait_for_function("(text) => document.querySelector('main').innerText.includes(text)", arg=text, timeout=15000)


@pytest.mark.parametrize("scripted", [True], indirect=True, ids=["with script"])
def test_scans_need_not_wait_for_each_other_and_a_name_never_lands_in_a_figure(page: Any, yard: Store) -> None:
    page.goto(f"{HOST}/count/")
    focused(page, "scan-code-page")
    with page.expect_navigation(timeout=10000):
        wedge(page, "RACK")
    page.goto(f"{HOST}/count/{CountSheet.objects.get().pk}/")  # where the service leads to: here redirects are followed behind the browser
    focused(page, "scan-code-page")
    page.evaluate("window.same = true")
    wedge(page, "C-12", "18.06 m", "C-13", "G6-4", "G6-4", "PEEL-1")
    settled(page, "PEEL-1 (PEEL-85): the book has")
    lines = {line.item.mark: line.counted for line in CountLine.objects.select_related("item")}
    assert lines == {"C-12": 18_060_000, "C-13": None, "G6-4": None, "PEEL-1": None} and "4 seen, 1 not seen yet" in words(page)
    page.fill("#id_quantity", "37")
    page.focus("#id_gross")
    wedge(page, "LA-7")
    settled(page, "LA-7 (LAM-A) is booked in")
    assert page.evaluate("document.activeElement.id") == "scan-code-page", "what was said of the thing before is gone from the page"
    assert page.locator("[data-answer=ask]").count() == 1 and CountLine.objects.get(item__mark="PEEL-1").counted is None
    page.evaluate(
        "for (const code of ['nothing-1', '5 kg', 'CO-1']) { const form = document.querySelector('main form[data-scan]');"
        "form.querySelector('input.code').value = code; form.requestSubmit(); }"
    )
    settled(page, "Not taken: 5 kg, CO-1. Scan again.")
    wedge(page, "5 kg")
    settled(page, "“5 kg”")
    assert CountLine.objects.get(item__mark="LA-7").counted is None, "a figure behind a refusal belongs to nothing"
    assert page.evaluate("window.same") is True, "the page stood all the time"
    page.reload()
    settled(page, "5 seen, 1 not seen yet")
    page.focus("button[data-confirm-yes='Write it']")
    wedge(page, "CO-1")
    settled(page, "6 seen, 0 not seen yet")
    assert page.locator("dialog[open]").count() == 0 and CountSheet.objects.get().ended_us is None, "a scan ends no count"
    page.click("button[data-confirm-yes='Write it']")
    page.keyboard.press("Enter")
    page.wait_for_timeout(200)
    assert CountSheet.objects.get().ended_us is None, "the question begins with leaving it"
    page.click("button[data-confirm-yes='Write it']")
    with page.expect_navigation(timeout=10000):
        page.click("dialog .danger")
    assert "amounts written 1, of them differing 1" in words(page)
