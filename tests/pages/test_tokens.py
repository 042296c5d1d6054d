"""Contrast of the design tokens, computed from the stylesheet.

Formula: relative luminance and contrast ratio of WCAG 2.2 (definitions "relative luminance" and "contrast ratio"); 1.4.3 asks 4.5:1
for text, 1.4.6 asks 7:1, 1.4.11 asks 3:1 for what marks a control. Checked against the two ratios the definition itself fixes
(black on white 21:1, a colour on itself 1:1).
"""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import pytest

STATIC = Path(__file__).resolve().parents[2] / "inventory" / "static" / "inventory"
GROUNDS = ("cloth", "slip", "well")
TONES = ("fit", "stop", "soon", "cold", "quiet")


def test_the_rules_of_tables_stand_in_one_sheet() -> None:
    root = STATIC.parents[2]
    sheets = [p for app in ("inventory", "layups") for p in (root / app / "static").rglob("*.css")]
    found = {p.name for p in sheets if re.search(r"\.cloth ", p.read_text())}
    assert len(sheets) > 5 and found == {"tables.css", "print.css"}


def _tokens(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6});", block))


def _schemes() -> dict[str, dict[str, str]]:
    text = (STATIC / "css" / "tokens.css").read_text()
    light_text, dark_text = text.split("@media (prefers-color-scheme: dark)")
    light = _tokens(light_text)
    return {"light": light, "dark": light | _tokens(dark_text.split("@media")[0])}


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def ratio(one: str, other: str) -> float:
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_ratio_gives_the_two_values_that_its_definition_fixes() -> None:
    assert ratio("#000000", "#ffffff") == pytest.approx(21)
    assert ratio("#6b1d54", "#6b1d54") == pytest.approx(1)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_and_links_reach_seven_to_one_on_every_ground(scheme: str) -> None:
    t = _schemes()[scheme]
    low = {(ink, g): ratio(t[ink], t[g]) for ink in ("ink", "soft", "thread") for g in GROUNDS if ratio(t[ink], t[g]) < 7}
    assert not low


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_status_tone_reaches_seven_to_one_on_every_ground_and_on_its_own_wash(scheme: str) -> None:
    t = _schemes()[scheme]
    pairs = [(tone, g) for tone in TONES for g in (*GROUNDS, f"{tone}-wash")] + [("ink", f"{tone}-wash") for tone in TONES]
    assert not {pair: ratio(t[pair[0]], t[pair[1]]) for pair in pairs if ratio(t[pair[0]], t[pair[1]]) < 7}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_on_filled_buttons_reach_seven_to_one(scheme: str) -> None:
    t = _schemes()[scheme]
    assert ratio(t["on-thread"], t["thread"]) >= 7
    assert ratio(t["on-stop"], t["stop"]) >= 7


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_borders_of_controls_and_the_focus_ring_reach_three_to_one(scheme: str) -> None:
    t = _schemes()[scheme]
    assert not {(mark, g): ratio(t[mark], t[g]) for mark in ("rule", "focus") for g in GROUNDS if ratio(t[mark], t[g]) < 3}


def test_both_schemes_name_the_same_colours() -> None:
    text = (STATIC / "css" / "tokens.css").read_text()
    light_text, dark_text = text.split("@media (prefers-color-scheme: dark)")
    assert set(_tokens(light_text)) == set(_tokens(dark_text.split("@media")[0]))


def test_colours_stand_in_the_tokens_only() -> None:
    """Elsewhere a colour is a token, so that dark, print and high contrast cannot miss one. Print defines its own tokens."""
    strays = {
        p.name: re.findall(r"#[0-9a-fA-F]{3,8}\b", p.read_text())
        for p in (STATIC / "css").glob("*.css")
        if p.name not in ("tokens.css", "print.css")
    }
    assert not {name: found for name, found in strays.items() if found}


def test_every_token_that_is_used_is_defined() -> None:
    sheets = [p.read_text() for p in (STATIC / "css").glob("*.css")]
    used = {name for s in sheets for name in re.findall(r"var\(--([\w-]+)", s)}
    defined = {name for s in sheets for name in re.findall(r"--([\w-]+)\s*:", s)}
    assert used <= defined


def test_style_and_script_of_the_first_page_stay_under_forty_kilobytes_gzipped() -> None:
    """What the frame loads, with the modules that these import; a page's own (the floor's) is counted by its own test."""
    parts = STATIC.parents[1] / "templates" / "inventory" / "parts"
    named = re.findall(r"'inventory/([^']+)'", "".join((parts / f"{name}.html").read_text() for name in ("styles", "scripts")))
    files = {STATIC / name for name in named}
    waiting = list(files)
    while waiting:
        file = waiting.pop()
        more = {(file.parent / m).resolve() for m in re.findall(r'from "(\./[^"]+)"', file.read_text())} - files
        files |= more
        waiting += more
    assert len(files) > 12
    assert sum(len(gzip.compress(p.read_bytes())) for p in files) < 40_000
