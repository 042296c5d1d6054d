"""The drawing of a trace as SVG. Written out by hand: a template takes three times as long for a thousand boxes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from django.utils.safestring import SafeString, mark_safe

from inventory.core.said import read_out
from inventory.templatetags import shapes
from layups.tracing import Box, Wire

UNDER, ROUND, SQUARE = 4, 20, 2
"""How far the second edge of a box of several stands out; corners of a customer's box and of the others."""
SHAPE = 16
"""Width of the shape before what speaks against a box, with the gap after it."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A box as it is drawn: its two lines cut to what fits; `name` all of it for those who cannot see the picture; `url` its own
    trace, or the page with this box opened; `into`: the numbers of the boxes that it leads to; `against`: the worst that speaks
    against what is in it, a code of templatetags.shapes.STATUS, said in words in the second line."""

    box: Box
    anchor: str
    line1: str
    line2: str
    name: str
    url: str
    into: str
    against: str = ""


def svg(slug: str, wires: Iterable[Wire], boxes: Iterable[Shown]) -> SafeString:
    """The inside of the picture: lines below, boxes on top in reading order. Everything that was typed by somebody is escaped."""
    lines = "".join(f'<path class="edge{" void" if w.ended else ""}" data-ends="{w.src} {w.dst}" d="{w.d}"/>' for w in wires)
    inside = "\n".join(map(_box, boxes))
    return mark_safe(f'<g id="drawing-{slug}" class="drawing" data-drawing=""><g aria-hidden="true">{lines}</g>\n{inside}</g>')


def _box(shown: Shown) -> str:
    b, name = shown.box, escape(read_out(shown.name))
    what = f'id="{escape(shown.anchor)}" class="{_classes(shown)}" data-box="{b.number}" aria-label="{name}"'
    here = ' aria-current="true"' if b.root else ""
    begin, end = f'<g {what} data-into="" role="img">', "</g>"
    if shown.url:
        begin, end = f'<a {what} href="{escape(shown.url)}" data-into="{shown.into}"{here}>', "</a>"
    under = _edge(b, UNDER, "node-box under") if b.count > 1 else ""
    first = _text(b, 17, "node-code", shown.line1)
    second = _stop(shown) if shown.against else _text(b, 33, "node-note", shown.line2)
    return f"{begin}<title>{name}</title>{under}{_edge(b, 0, 'node-box')}{first}{second}{end}"


def _classes(shown: Shown) -> str:
    b = shown.box
    tone = shapes.STATUS[shown.against][2] if shown.against else ""
    return escape(" ".join([b.kind, *(["here"] if b.root else []), *(["against", f"against-{tone}"] if tone else [])]))


def _stop(shown: Shown) -> str:
    """The second line of a box that something speaks against: the shape, then the words, from the left edge on."""
    b, drawing = shown.box, shapes.DRAWINGS[shapes.STATUS[shown.against][1]]
    left = b.x + 7
    mark = f'<g class="node-mark" transform="translate({left} {b.y + 22}) scale(.8)">{drawing}</g>'
    return f'{mark}<text class="node-against" x="{left + SHAPE}" y="{b.y + 33}">{escape(read_out(shown.line2))}</text>'


def _edge(b: Box, by: int, css: str) -> str:
    corner = ROUND if b.customers else SQUARE
    return f'<rect class="{css}" x="{b.x + by}" y="{b.y + by}" width="{b.w}" height="{b.h}" rx="{corner}"/>'


def _text(b: Box, down: int, css: str, text: str) -> str:
    return f'<text class="{css}" x="{b.mid_x}" y="{b.y + down}" text-anchor="middle">{escape(read_out(text))}</text>'
