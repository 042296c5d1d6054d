"""A person at a tablet that shows the ordinary pages: scans go key by key into whatever has the focus, all else is tapped or typed,
and what is read is what stands on the screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from .keying import press
from .tablet import Tablet


class Walk:
    def __init__(self, tablet: Tablet, label: Callable[[str], str]) -> None:
        self.tablet, self.label = tablet, label

    @property
    def page(self) -> Any:
        return self.tablet.page

    def scan(self, code: str) -> str:
        """A label, by the scanner; the words of the page that answers."""
        with self.page.expect_navigation():
            self.tablet.keyed = press(self.page, [*code, "Enter"], self.tablet.keyed)
        return self.words()

    def take(self, mark: str) -> str:
        return self.scan(self.label(mark))

    def type(self, text: str) -> str:
        """By hand, into what has the focus, then Enter."""
        self.page.keyboard.type(text)
        return self.enter()

    def enter(self) -> str:
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")
        return self.words()

    def tap(self, name: str, role: str = "button", within: str = "body") -> str:
        with self.page.expect_navigation():
            self.page.locator(within).get_by_role(role, name=name, exact=True).first.click()
        return self.words()

    def follow(self, name: str) -> str:
        return self.tap(name, "link")

    def unfold(self, name: str) -> None:
        self.page.locator("main summary").filter(has_text=name).first.click()

    def words(self) -> str:
        """What can be read on the page, in one line."""
        return " ".join(self.page.inner_text("main").replace("\u00a0", " ").split())

    def refused(self) -> list[str]:
        """The codes of the reasons under a big No; without a No there are none."""
        assert self.page.title().startswith("No – ") and self.page.locator(".verdict-no").count() == 1, self.words()
        return sorted(self.page.eval_on_selector_all(".verdict li[data-code]", "all => all.map((one) => one.dataset.code)"))

    def focus(self) -> str:
        """The field that has the focus; a page puts it there once it is drawn."""
        self.page.wait_for_function("() => document.activeElement && document.activeElement !== document.body", timeout=3000)
        return str(self.page.evaluate("document.activeElement.id"))
