"""How parts are said on screen: their state as word and shape, their addresses, a thing in a trace."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.core.said import say
from inventory.pages.ways import to
from inventory.templatetags import shapes, words
from inventory.templatetags.words import html_say
from layups.reads.things import CONSUMED, CURED, OUT_AGAIN, SHELF, SHIPPED, WORK, Thing

STATES: dict[str, tuple[str, str, str]] = {
    "building": (say("being built"), "corners", "soon"),
    "bagged": (say("bagged"), "drop", "soon"),
    "curing": (say("in cure"), "heat", "soon"),
    "cured": (say("cured"), "heat", "fit"),
    "assembled": (say("assembled"), "tick", "fit"),
    "shipped": (say("shipped"), "flag", "quiet"),
    "scrapped": (say("scrapped"), "cross", "quiet"),
    "filled": (say("filled"), "tick", "fit"),
    "open": (say("open"), "corners", "soon"),
    "window_waits": (say("too early"), "hourglass", "soon"),
    "window_open": (say("open"), "tick", "fit"),
    "window_over": (say("over"), "octagon", "stop"),
    "deadline_over": (say("over"), "octagon", "stop"),
    "deadline_unknown": (say("not known"), "query", "soon"),
    "deadline_early": (say("ends before the cure"), "hourglass", "stop"),
    "deadline_late": (say("cure is late"), "dial", "soon"),
    "deadline_holds": (say("in time"), "tick", "fit"),
    "pot_running": (say("running"), "dial", "fit"),
    "pot_over": (say("over"), "octagon", "stop"),
    "missing": (say("chart missing"), "corners", "soon"),
    "box": (say("by the box"), "dot", "quiet"),
    SHELF: (SHELF, "tick", "fit"),
    WORK: (WORK, "corners", "soon"),
    CURED: (CURED, "heat", "fit"),
    SHIPPED: (SHIPPED, "flag", "quiet"),
    CONSUMED: (CONSUMED, "ring", "quiet"),
    OUT_AGAIN: (OUT_AGAIN, "leaving", "quiet"),
}
_PLAIN = re.compile(r"^[\w.+ -]{1,40}$")
TAKEN = {"lay-many", "start", "."}
"""Addresses under /parts/ that are no part's."""


def state(word: str, note: object = "") -> SafeString:
    """Word plus shape; what is not known here is asked of the shelf's words."""
    if word not in STATES:
        return shapes.chip(word, note)
    said, drawing, tone = STATES[word]
    tail = format_html(' <span class="status-note">{}</span>', note) if note else ""
    return format_html('<span class="status tone-{}">{}<span>{}</span>{}</span>', tone, shapes.shape(drawing), said, tail)


def states(names: Iterable[str]) -> SafeString:
    return format_html_join(" ", "{}", ((state(name),) for name in names))


def part_url(number: str, code: str = "") -> str:
    """A part's page, by its number; by its label's code where a number would not make an address."""
    readable = bool(_PLAIN.match(number)) and number not in TAKEN and not number.startswith(".")
    return reverse("part", args=[number if readable or not code else code])


def part_link(number: str, code: str = "") -> SafeString:
    return words.code_link(number, part_url(number, code))


def thing_url(thing: Thing) -> str:
    if thing.made and thing.design:
        return part_url(thing.name, thing.code)
    return to("item", thing.code)


def thing_link(thing: Thing) -> SafeString:
    name = thing.number if thing.kind == "lot" and thing.number else thing.name
    return words.code_link(name, thing_url(thing))


def trace_url(code: str, **query: Any) -> str:
    return to("trace", code, **query)


def listed(names: Iterable[Any]) -> SafeString:
    """ "A, B and C", each escaped or safe already."""
    found = list(names)
    if len(found) < 2:
        return format_html("{}", found[0] if found else "")
    return html_say("{several} and {last}", several=format_html_join(", ", "{}", ((n,) for n in found[:-1])), last=found[-1])
