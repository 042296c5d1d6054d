"""What a screen of the floor must be: every target large and apart, every word seven to one. Measured in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

axe = pytest.importorskip("axe_playwright_python")

AXE = (Path(axe.__file__).parent / "axe.min.js").read_text()
LEAST_PX, APART_PX = 64, 12
MEASURE = """([least, apart]) => {
  for (const folded of document.querySelectorAll("details")) folded.open = true;
  const pressed = 'a[href], button, summary, select, textarea, input:not([type="hidden"])';
  const shown = [...document.querySelectorAll(pressed)].filter((e) => e.checkVisibility() && !e.closest(".hush, .skip"));
  const boxes = shown.map((e) => {
    const own = [e, ...(/checkbox|radio/.test(e.type) ? e.labels : [])].map((x) => x.getBoundingClientRect());
    const [left, top] = [Math.min(...own.map((r) => r.left)), Math.min(...own.map((r) => r.top))];
    const [right, bottom] = [Math.max(...own.map((r) => r.right)), Math.max(...own.map((r) => r.bottom))];
    return { left, top, right, bottom, name: e.outerHTML.slice(0, 110), tag: e.tagName };
  });
  const gap = (a, b) => Math.max(a.left - b.right, b.left - a.right, a.top - b.bottom, b.top - a.bottom);
  const small = boxes.filter((b) => b.right - b.left < least - 0.5 || b.bottom - b.top < least - 0.5);
  const close = [];
  for (const [n, a] of boxes.entries()) {
    for (const b of boxes.slice(n + 1)) if (gap(a, b) < apart - 0.5) close.push(`${gap(a, b)} px: ${a.name} | ${b.name}`);
  }
  const wide = document.documentElement.scrollWidth > innerWidth ? ["the page is wider than the screen"] : [];
  const told = small.map((b) => `${Math.round(b.right - b.left)} x ${Math.round(b.bottom - b.top)}: ${b.name}`);
  return { many: boxes.length, wrong: [...told, ...close, ...wide] };
}"""
LIGHTS = ({"color_scheme": "light"}, {"color_scheme": "dark"}, {"color_scheme": "light", "contrast": "more"})


def unfit(page: Any, least: int = 4) -> list[str]:
    """Targets that are too small, too close to one another, or off the screen; folded parts of the page are opened first. A page with
    fewer targets than `least` is not the one that was meant."""
    found = page.evaluate(MEASURE, [LEAST_PX, APART_PX])
    assert found["many"] >= least, page.url
    wrong: list[str] = found["wrong"]
    return wrong


def pale(page: Any) -> list[str]:
    """What axe finds below 7:1 (4.5:1 where letters are large) in each light."""
    page.evaluate(AXE)
    found = []
    for light in LIGHTS:
        page.emulate_media(**{"contrast": "null", **light})
        answer = page.evaluate("axe.run(document, {runOnly: {type: 'rule', values: ['color-contrast-enhanced']}})")
        assert answer["passes"] or answer["violations"], "the rule was run"
        found += [f"{light}: {node['target']}: {node['failureSummary'][-150:]}" for v in answer["violations"] for node in v["nodes"]]
    return found
