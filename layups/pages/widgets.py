"""A text field with suggestions that need no script: the browser's own list."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString


class Suggested(forms.TextInput):
    """`suggest` gives it its list; anything else may still be typed."""

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs)
        self.rows: list[str] = []

    def render(self, name: str, value: Any, attrs: dict[str, Any] | None = None, renderer: Any = None) -> SafeString:
        box = super().render(name, value, {**(attrs or {}), "list": f"{name}-known", "autocomplete": "off"}, renderer)
        return format_html(
            '{}<datalist id="{}-known">{}</datalist>', box, name, format_html_join("", '<option value="{}">', ((r,) for r in self.rows))
        )


def suggest(field: forms.Field, rows: Iterable[str]) -> None:
    if isinstance(field.widget, Suggested):
        field.widget.rows = list(rows)
