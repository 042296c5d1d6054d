"""What the tests of the parts share: rendering a snippet, its text, its tags, and hostile text."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from django.template import Context, Template

from inventory.pages import gallery

ZONE = "Europe/Copenhagen"
NOW = gallery.NOW_US  # Monday 30 March 2026, 07:40 there
HOSTILE = "<script>alert('x')</script>\"'><img src=x onerror=alert(1)>&amp;{{ 7|add:7 }}"


def render(source: str, **context: object) -> str:
    return Template("{% load selvedge %}" + source).render(Context({"zone": ZONE, "now_us": NOW, **context}))


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", "", html).replace("\u00a0", " ").split())


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))


def tags_of(html: str) -> list[tuple[str, dict[str, str | None]]]:
    parser = _Tags()
    parser.feed(html)
    return parser.tags
