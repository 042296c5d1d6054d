"""Text into a given width: broken at blanks, made smaller down to a least size, and only then cut with "…"."""

from __future__ import annotations

from collections.abc import Callable

Measure = Callable[[str, float, bool], float]
"""(text, size in mm, bold) → width in mm."""
STEP = 0.92
ONE_LINE = 0.7
"""A text stays in one line while that takes no more than three tenths off its size."""


def fitted(
    text: str, width: float, most: int, want: float, least: float, bold: bool, measure: Measure
) -> tuple[float, tuple[str, ...], bool]:
    """(size, lines, whether it was cut). The largest size from `want` down to `least` at which it stands in `most` lines; in one
    if that costs little."""
    for lines_most, floor in ((1, max(least, ONE_LINE * want)), (most, least)):
        size = want
        while True:
            lines = broken(text, width, size, bold, measure)
            if len(lines) <= lines_most:
                return size, tuple(lines), False
            if size <= floor:
                break
            size = max(floor, size * STEP)
    return size, tuple(_cut(text, lines[: most - 1], width, size, bold, measure)), True


def broken(text: str, width: float, size: float, bold: bool, measure: Measure) -> list[str]:
    """Lines of at most `width`; a word that is longer than a line is broken where the line ends."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        while measure(word, size, bold) > width:
            start = f"{line} " if line else ""
            head = _head(word, width, size, bold, measure, start)
            lines.append(start + head if head else line)
            line = ""
            word = word[len(head) :]
        if line and measure(f"{line} {word}", size, bold) > width:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}" if line else word
    return [*lines, line] if line else lines or [""]


def _cut(text: str, lines: list[str], width: float, size: float, bold: bool, measure: Measure) -> list[str]:
    """The lines that are whole, and one more with as much of the rest as there is room for, ending in "…"."""
    rest, seen = " ".join(text.split()), sum(len(line.replace(" ", "")) for line in lines)
    while seen:
        seen -= rest[0] != " "
        rest = rest[1:]
    rest = rest.lstrip()
    while rest and measure(f"{rest}…", size, bold) > width:
        rest = rest[:-1].rstrip()
    return [*lines, f"{rest}…"]


def _head(word: str, width: float, size: float, bold: bool, measure: Measure, start: str) -> str:
    """As much of a word as stands in a line behind `start`; in an empty line at least one character, however narrow it is."""
    n = len(word)
    while n > (0 if start else 1) and measure(start + word[:n], size, bold) > width:
        n -= 1
    return word[:n]
