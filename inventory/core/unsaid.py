"""From a sentence back to its template: for what was stored as text, long ago or by another process.

Each template is one pattern, its values being whatever stands between its fixed parts. Where several fit, the one that fixes the most
letters is meant. A value is looked at the same way, since it may be a sentence or a word of ours itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from inventory.core.said import Said, Told

_HOLE = re.compile(r"\{(\w+)\}")
_LETTERS = re.compile(r"[^\W\d_]")
LEAST = 4
"""Letters that a template with values has to fix, before a text is taken for it."""
DEEPEST = 4


class Known:
    """Templates by their fixed parts. `quantity` reads a value that is a measure."""

    def __init__(self, templates: Iterable[str], quantity: Callable[[str], Told | None] = lambda text: None) -> None:
        self._quantity = quantity
        self._words: set[str] = set()
        self._patterns: list[tuple[int, str, str, re.Pattern[str]]] = []
        for template in templates:
            if not _HOLE.search(template):
                self._words.add(template)
                continue
            fixed = [part.replace("{{", "{").replace("}}", "}") for part in _HOLE.split(template)[::2]]
            letters = sum(len(_LETTERS.findall(part)) for part in fixed)
            if letters >= LEAST:
                self._patterns.append((letters, max(fixed, key=len), template, _pattern(template)))
        self._patterns.sort(key=lambda row: -row[0])

    def find(self, text: str, depth: int = 0) -> Told | None:
        """The text as it was said, or None if none of the templates makes it."""
        if not text or depth > DEEPEST:
            return None
        if text in self._words:
            return Said(text.replace("{", "{{").replace("}", "}}"))
        for _, key, template, pattern in self._patterns:
            if key in text:
                found = pattern.fullmatch(text)
                if found:
                    return Said(template, {name: self._value(value, depth) for name, value in found.groupdict().items()})
        return None

    def _value(self, text: str, depth: int) -> str:
        return self._quantity(text) or self.find(text, depth + 1) or text


def _pattern(template: str) -> re.Pattern[str]:
    parts, seen, out = _HOLE.split(template), set(), ""
    for n, part in enumerate(parts):
        if n % 2 == 0:
            out += re.escape(part.replace("{{", "{").replace("}}", "}"))
        elif part in seen:
            out += f"(?P={part})"
        else:
            seen.add(part)
            out += f"(?P<{part}>.*?)" if n + 1 < len(parts) else f"(?P<{part}>.*)"
    return re.compile(out, re.DOTALL)
