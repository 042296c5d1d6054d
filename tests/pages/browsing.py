"""A browser for tests of pages: a frozen clock, one person signed in, and what a page says as plain text."""

from __future__ import annotations

import html
import itertools
import re
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from .store import Store

_NUMBER = itertools.count()


def _key() -> str:
    """A key of its own for each form. The clock of the tests stands still, and of two acts of one instant the lower key counts as
    the first: so keys rise."""
    return str(uuid.UUID(int=next(_NUMBER) << 96 | uuid.uuid4().int >> 32))


@dataclass
class Page:
    """An answer: its status, its words, its source, and what it was asked for."""

    status: int
    source: str
    path: str

    @property
    def text(self) -> str:
        """The words of the page's main part, in one line."""
        main = re.search(r"<main.*?</main>", self.source, re.DOTALL)
        bare = re.sub(r"<(style|script|svg).*?</\1>", " ", main[0] if main else self.source, flags=re.DOTALL)
        bare = re.sub(r"</?(?!/?(?:a|b|i|s|span|time)[ >])[^>]+>", " ", bare)  # what is no inline tag parts words
        return " ".join(html.unescape(re.sub(r"<[^>]+>", "", bare)).replace("\u00a0", " ").split())

    @property
    def title(self) -> str:
        """The window's title: what a screen reader says first."""
        return html.unescape(re.search(r"<title>(.*?)</title>", self.source, re.DOTALL)[1])  # type: ignore[index]

    @property
    def headings(self) -> int:
        return len(re.findall(r"<h1[ >]", self.source))

    def links(self) -> list[str]:
        return [html.unescape(found) for found in re.findall(r'<a [^>]*href="([^"]+)"', self.source)]

    @property
    def reasons(self) -> list[str]:
        """The stable codes of the verdict's reasons."""
        return re.findall(r'<li data-code="([^"]+)"', self.source)


class Browser:
    """One person's browser. Every form is sent with a key of its own, as the page would."""

    def __init__(self, store: Store, who: str) -> None:
        self.store, self.client = store, Client()
        self.client.force_login(store.yard.user[who.lower()])

    def get(self, path: str) -> Page:
        return self._page(self.client.get(path, follow=True), path)

    def post(self, path: str, data: dict[str, Any] | None = None, **more: Any) -> Page:
        sent = {"key": _key(), **(data or {}), **more}
        return self._page(self.client.post(path, sent, follow=True), path)

    def scan(self, thing: str) -> Page:
        """Into the box of the first page."""
        return self._page(self.client.get("/find/", {"q": thing}, follow=True), "/find/")

    def put(self, thing: str, place: str, **more: Any) -> Page:
        """Two scans: the thing, then the place."""
        page = self.scan(thing)
        return self.post(f"{page.path}scan/", {"code": place, **more})

    def queries(self, path: str) -> int:
        with CaptureQueriesContext(connection) as asked:
            response = self.client.get(path)
            assert response.status_code == 200, (path, response.status_code)
        return len(asked)

    @staticmethod
    def _page(response: Any, path: str) -> Page:
        chain = getattr(response, "redirect_chain", [])
        content = b"".join(response.streaming_content) if response.streaming else response.content
        return Page(response.status_code, content.decode(), chain[-1][0] if chain else path)


@dataclass
class Clock:
    """The time that pages read. `clock(0, "07:40")` sets it to that time of the Monday."""

    store: Store
    now: int

    def __call__(self, day: int, clock: str, second: int = 0) -> None:
        self.now = self.store.at(day, clock, second)


def frozen(monkeypatch: pytest.MonkeyPatch, store: Store, day: int = 0, clock: str = "07:30") -> Clock:
    """Freeze the clock of the pages."""
    found = Clock(store, store.at(day, clock))
    reading: Callable[[], int] = lambda: found.now  # noqa: E731
    monkeypatch.setattr("inventory.pages.door.now_us", reading)
    return found
