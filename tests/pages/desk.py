"""A person at a screen with the pages of the shop: a scanner that types into whatever has the focus, buttons that are pressed by their
words, and what then stands there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from inventory.models import Act, ItemState, Refusal

from .keying import press
from .store import PASSWORD

FOCUS = "document.activeElement?.id ?? ''"
READY = """() => {
  const at = document.activeElement, form = at?.closest('form[data-scan]');
  if (!at || at === document.body || !at.matches('input:not([type=hidden], [type=radio], [type=checkbox]), textarea, select')) return true;
  return Boolean(form) && at === (form.querySelector('[data-scan-box]') ?? form.querySelector('input:not([type=hidden])'));
}"""
"""Whether a scan is heard: the focus is in a scan box, or in no field at all."""


class Desk:
    """What one person does with the pages of the shop at an address."""

    def __init__(self, page: Any, host: str, seen: Callable[[str], None] = lambda _: None) -> None:
        self.page, self.host, self.seen, self.keyed = page, host, seen, 0.0
        page.set_default_timeout(30_000)

    def goto(self, path: str) -> str:
        self.page.goto(self.host + path)
        return self._there()

    def sign_in(self, name: str, path: str = "/") -> str:
        self.page.goto(f"{self.host}/sign-in/?next={path}")
        self.page.fill("input[name=username]", name)
        self.page.fill("input[name=password]", PASSWORD)
        self.page.press("input[name=password]", "Enter")
        self.page.wait_for_url(f"**{path}")
        return self._there()

    def scan(self, *codes: str, into: str = "") -> str:
        """One code after another, each key by key. Nothing is touched before: the page must be ready for it, by itself. `into`: the
        id of the field, not a scan box, that has to have the focus."""
        for code in codes:
            if into:
                self.page.wait_for_function("(id) => document.activeElement?.id === id", arg=into)
            else:
                assert self.page.evaluate(READY), f"a scan would go into {self.page.evaluate(FOCUS)!r}"
            with self.page.expect_navigation(timeout=30_000):
                self.keyed = press(self.page, [*code, "Enter"], self.keyed)
        return self._there()

    def press(self, name: str, goes: bool = True, near: str = "") -> str:
        """Press a button or follow a link that says so, or that begins so ("Open and decide…"). `goes`: to another page; `near`: on
        the card, or in the row, that speaks of this."""
        found = self._named(self.page, name)
        if near:
            found = self._named(self.page.locator("article, tr, li").filter(has_text=near).filter(has=found).last, name)
        wanted = found.first
        if not goes:
            wanted.click()
            return self.words()
        with self.page.expect_navigation(timeout=30_000):
            wanted.click()
        return self._there()

    def _named(self, within: Any, name: str) -> Any:
        exact = not name.endswith("…")
        link, button = (within.get_by_role(role, name=name.rstrip("…"), exact=exact) for role in ("link", "button"))
        return link.or_(button).or_(within.locator(f'summary:text-is("{name}")'))

    def fill(self, **fields: str) -> None:
        """Fields by their name, as a finger on the screen would choose them."""
        for name, value in fields.items():
            box = self.page.locator(f'main [name="{name}"]:visible').first
            if box.evaluate("(box) => box.tagName") == "SELECT":
                box.select_option(value)
            else:
                box.fill(value)

    def type_in(self, **fields: str) -> str:
        """The same, and Enter in the last."""
        self.fill(**fields)
        with self.page.expect_navigation(timeout=30_000):
            self.page.locator(f'main [name="{list(fields)[-1]}"]:visible').press("Enter")
        return self._there()

    # --- what stands there --------------------------------------------------------------------------

    def words(self) -> str:
        """What a person reads in the page's main part, in one line."""
        return " ".join(self.page.inner_text("main").replace("\u00a0", " ").split())

    def rows(self, words: str) -> int:
        """How many rows of the page's tables say that."""
        return int(self.page.locator("main tbody tr").filter(has_text=words).count())

    def told(self) -> str:
        """What the page answers before everything else: its banners and its verdict."""
        return " ".join(" ".join(self.page.locator("main .banner, main .verdict").all_inner_texts()).replace("\u00a0", " ").split())

    def reasons(self) -> list[str]:
        """The codes of the reasons of a refusal. A refusal is read first: the window's title says it."""
        assert self.page.title().startswith("No – ") and self.page.locator("main .verdict-no").first.is_visible()
        return sorted(self.page.eval_on_selector_all(".verdict-no [data-code]", "all => all.map((one) => one.dataset.code)"))

    def _there(self) -> str:
        self.page.wait_for_load_state()
        words = self.words()
        self.seen(words)
        return words


def state() -> tuple[Any, ...]:
    """What a refusal must not change."""
    return (Act.objects.count(), *ItemState.objects.order_by("pk").values_list("qty", "location", "gone", "doc"))


@contextmanager
def refused(n: int = 1) -> Iterator[None]:
    """Nothing changes but the log of refusals."""
    before, log = state(), Refusal.objects.count()
    yield
    assert state() == before and Refusal.objects.count() == log + n
