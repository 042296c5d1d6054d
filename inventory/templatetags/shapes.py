"""Status on screen is always a word and a shape. The shapes are drawn here, in a 16 × 16 box, each with a silhouette
of its own, so that they stay apart in grey, in print and at arm's length. Colour comes from the stylesheet and only helps.

No colour, no style and no script stands in the markup: the content security policy forbids inline style.
"""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext_lazy as _

DRAWINGS: dict[str, str] = {
    # filled disc, tick cut out
    "tick": '<path fill-rule="evenodd" d="M8 .5a7.5 7.5 0 1 0 0 15 7.5 7.5 0 0 0 0-15ZM6.9 11.9 3.3 8.3l1.5-1.5 2.1 2.1 4.4-4.4L12.8 6Z"/>',
    # filled octagon, cross cut out
    "octagon": '<path fill-rule="evenodd" d="M5 .5h6L15.5 5v6L11 15.5H5L.5 11V5ZM4.2 5.7 6.5 8l-2.3 2.3 1.5 1.5L8 9.5l2.3 2.3 1.5-1.5'
    'L9.5 8l2.3-2.3-1.5-1.5L8 6.5 5.7 4.2Z"/>',
    # filled square, two bars cut out: standing still
    "bars": '<path fill-rule="evenodd" d="M1 1h14v14H1ZM4.6 4v8h2.2V4Zm4.6 0v8h2.2V4Z"/>',
    # corners of a square: a place that is still empty
    "corners": '<path d="M1 1h5v2H3v3H1Zm9 0h5v5h-2V3h-3ZM1 10h2v3h3v2H1Zm12 0h2v5h-5v-2h3Z"/>',
    "drop": '<path d="M8 .5c3.2 4 4.9 6.7 4.9 9.3A4.9 4.9 0 0 1 8 15.5a4.9 4.9 0 0 1-4.9-5.7C3.1 7.2 4.8 4.5 8 .5Z"/>',
    # two triangles, tip on tip
    "hourglass": '<path d="M2 .8h12v2L9.3 8l4.7 5.2v2H2v-2L6.7 8 2 2.8Z"/>',
    "ring": '<path fill-rule="evenodd" d="M8 1a7 7 0 1 0 0 14A7 7 0 0 0 8 1Zm0 2a5 5 0 1 1 0 10A5 5 0 0 1 8 3Z"/>',
    # a cold star of six arms
    "star": '<path d="M7 .5h2v4.6l4-2.3 1 1.7L10 6.8V9.2l4 2.3-1 1.7-4-2.3v4.6H7v-4.6l-4 2.3-1-1.7 4-2.3V6.8L2 4.5l1-1.7 4 2.3Z"/>',
    # an arrow leaving a box
    "leaving": '<path d="M1 1h8v2H3v10h6v2H1Zm9.5 3L15.5 8l-5 4V9H6V7h4.5Z"/>',
    # a dial whose hand has passed the end
    "dial": '<path fill-rule="evenodd" d="M8 .5a7.5 7.5 0 1 0 0 15 7.5 7.5 0 0 0 0-15Zm-1 3h2v4l3.5 2.1-1 1.7L7 8.6Z"/>',
    "diamond": '<path fill-rule="evenodd" d="M8 0l8 8-8 8-8-8Zm-1 3.5v5.5h2V3.5Zm0 7v2h2v-2Z"/>',
    "query": '<path fill-rule="evenodd" d="M1 1h14v14H1Zm2 2v10h10V3ZM5.2 6.4C5.2 4.8 6.4 4 8 4s2.8.9 2.8 2.3'
    'c0 1.2-.7 1.7-1.3 2.1-.4.3-.5.4-.5.9H7c0-1.2.5-1.6 1.1-2 .5-.4.7-.5.7-1 0-.4-.3-.7-.8-.7s-.8.3-.8.8ZM7 10.2h2V12H7Z"/>',
    "cross": '<path d="M3.3 1 8 5.7 12.7 1 15 3.3 10.3 8l4.7 4.7-2.3 2.3L8 10.3 3.3 15 1 12.7 5.7 8 1 3.3Z"/>',
    "struck": '<path d="M1 7h14v2H1Zm2-4h10v2H3Zm0 8h10v2H3Z"/>',
    "flag": '<path d="M2 .5h2v1h10l-3 3.5 3 3.5H4v7H2Z"/>',
    "heat": '<path d="M1 15v-2h14v2Zm2-4.5c2-2-1-3.5 1-6.5l1.7 1c-1.5 2.5 1.5 4-1 6.5Zm4 0c2-2-1-4.5 1-8l1.7 1c-1.5 3 1.5 5-1 8'
    'Zm4 0c2-2-1-3.5 1-6.5l1.7 1c-1.5 2.5 1.5 4-1 6.5Z"/>',
    "dot": '<path d="M8 3a5 5 0 1 0 0 10A5 5 0 0 0 8 3Z"/>',
}

# code: (word on screen, shape, tone). Tones are the five of the stylesheet: fit, stop, soon, cold, quiet.
STATUS: dict[str, tuple[Promise, str, str]] = {
    "fit": (_("fit"), "tick", "fit"),
    "unreleased": (_("not released"), "corners", "soon"),
    "held": (_("held"), "bars", "stop"),
    "expired": (_("expired"), "octagon", "stop"),
    "ending": (_("ending soon"), "hourglass", "soon"),
    "thawing": (_("thawing"), "drop", "cold"),
    "frozen": (_("frozen"), "star", "cold"),
    "out": (_("out"), "leaving", "soon"),
    "overdue": (_("overdue"), "dial", "stop"),
    "gone": (_("used up"), "ring", "quiet"),
    "scrapped": (_("scrapped"), "cross", "quiet"),
    "returned": (_("returned"), "leaving", "quiet"),
    "shipped": (_("shipped"), "flag", "quiet"),
    "uncured": (_("not cured"), "drop", "soon"),
    "curing": (_("in cure"), "heat", "soon"),
    "cured": (_("cured"), "heat", "fit"),
    "passed": (_("passed"), "tick", "fit"),
    "failed": (_("failed"), "octagon", "stop"),
    "finding": (_("open finding"), "diamond", "stop"),
    "waiting": (_("waiting"), "corners", "soon"),
    "wrong": (_("does not fit"), "cross", "stop"),
    "short": (_("too little"), "hourglass", "stop"),
    "expected": (_("expected"), "corners", "quiet"),
    "done": (_("done"), "tick", "fit"),
    "running": (_("running"), "dial", "soon"),
    "stopped": (_("stopped"), "struck", "quiet"),
    "withdrawn": (_("withdrawn"), "struck", "quiet"),
    "unproven": (_("not evidence"), "octagon", "stop"),
    "void": (_("void"), "struck", "quiet"),
    "unknown": (_("not known"), "query", "soon"),
}

# How a sentence of the morning list or a message begins: word, shape, tone; in the order of urgency.
URGENCY: dict[str, tuple[Promise, str, str]] = {
    "now": (_("Now"), "dial", "stop"),
    "today": (_("Today"), "hourglass", "soon"),
    "soon": (_("Soon"), "flag", "cold"),
    "note": (_("To know"), "dot", "quiet"),
}

MESSAGE: dict[str, tuple[Promise, str, str]] = {
    "success": (_("Done"), "tick", "fit"),
    "info": (_("Note"), "dot", "cold"),
    "debug": (_("Note"), "dot", "quiet"),
    "warning": (_("Careful"), "diamond", "soon"),
    "error": (_("Not done"), "octagon", "stop"),
}


def shape(name: str) -> SafeString:
    """One shape as inline SVG, hidden from screen readers (the word beside it speaks). Unknown names draw the dot."""
    body = DRAWINGS.get(name, DRAWINGS["dot"])
    return mark_safe(  # constants of this module only
        f'<svg class="shape" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true" focusable="false">{body}</svg>'
    )


def chip(code: object, note: object = "") -> SafeString:
    """Word plus shape for a status code, with an optional note after it ("held · Odile 10:00").

    An unknown code shows itself beside the query shape: never nothing, never another status.
    """
    word, drawing, tone = STATUS.get(str(code), (str(code), "query", "quiet"))
    tail = format_html(' <span class="status-note">{}</span>', note) if note else ""
    return format_html('<span class="status tone-{}">{}<span>{}</span>{}</span>', tone, shape(drawing), word, tail)
