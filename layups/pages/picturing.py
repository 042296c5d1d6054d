"""The picture of a trace as a page shows it: what stands in each box, where it leads, and the same line by line as a table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from django.http import HttpRequest
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from inventory.core.said import first_up, read_out, say, strung
from inventory.pages.door import Shop
from inventory.pages.ways import to
from inventory.templatetags import shapes
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.core import bundles
from layups.core.sheets import Sheet
from layups.tracing import Box, Drawing, Wire

from . import against
from .against import Against
from .boxes import SHAPE, Shown, svg
from .turning import Turned, turned

ROOM, LETTER = 138, 8.5
"""Pixels for a line of letters in a box; a letter of its first line, where all are alike."""
NAMED = 4
"""Neighbours that a box is told with; the table has them all."""
STEPS, PAPER = 40, 40
"""Boxes opened one after another at most; sheets of paper at most."""
LINES = (Column(say("From"), lead=True), Column(say("Into")), Column(say("How much"), num=True), Column(say("When")), Column(say("Note")))


@dataclass(frozen=True, slots=True)
class Pictured:
    """A drawing with its words. `opened`: what was opened, and the address that folds it again; `lines`: the table of its lines."""

    slug: str
    drawing: Drawing
    svg: SafeString
    total: int
    opened: list[tuple[str, str]]
    whole_url: str
    fold_url: str
    lines: Turned
    sheets: tuple[Sheet, ...]
    too_large: bool
    columns: tuple[Column, ...] = LINES


def steps_of(request: HttpRequest) -> list[str]:
    """The boxes to open, in order."""
    return [key[:80] for key in request.GET.getlist("open")[:STEPS]]


def pictured(request: HttpRequest, shop: Shop, slug: str, drawing: Drawing, warned: Against) -> Pictured:
    steps = steps_of(request)
    into: dict[int, list[int]] = {}
    out_of: dict[int, list[int]] = {}
    for wire in drawing.wires:
        into.setdefault(wire.src, []).append(wire.dst)
        out_of.setdefault(wire.dst, []).append(wire.src)
    names = {box.number: title_of(box) for box in drawing.boxes}
    counts = {box.number: against.counted(box.things, warned) for box in drawing.boxes}
    boxes = [
        _shown(request, slug, steps, box, names, out_of.get(box.number, []), into.get(box.number, []), counts[box.number])
        for box in drawing.boxes
    ]
    cells = {box.number: _named(names[box.number], box.count, counts[box.number]) for box in drawing.boxes}
    asked_whole = request.GET.get("whole") == "1"
    opened = [(title_of(box), _with_steps(request, bundles.without(steps, [x for x, _ in drawing.opened], o))) for o, box in drawing.opened]
    sheets = drawing.sheets if len(drawing.sheets) <= PAPER else ()
    return Pictured(
        slug, drawing, svg(slug, drawing.wires, boxes), sum(box.count for box in drawing.boxes), opened,
        whole_url=_changed(request, whole=["1"], open=[]) if drawing.folded and not asked_whole else "",
        fold_url=_changed(request, whole=[], open=[]) if opened or (asked_whole and len(boxes) > bundles.MOST) else "",
        lines=turned(request, f"lines-{slug}", f"lines-{slug}", drawing.wires, lambda wire: _line(wire, cells, shop)),
        sheets=sheets, too_large=bool(drawing.sheets) and not sheets,
    )  # fmt: skip


def _changed(request: HttpRequest, **lists: Sequence[str]) -> str:
    """The page's own query with lists of values changed."""
    kept = request.GET.copy()
    for name, values in lists.items():
        kept.setlist(name, list(values))
    return f"?{kept.urlencode()}"


def _with_steps(request: HttpRequest, steps: Iterable[Any]) -> str:
    return _changed(request, whole=[], open=[str(step) for step in steps])


def _shown(
    request: HttpRequest, slug: str, steps: Sequence[str], box: Box, names: dict[int, str], sources: Sequence[int], ends: Sequence[int],
    counts: Mapping[str, int],
) -> Shown:  # fmt: skip
    anchor = f"{slug}-{box.key}".replace(" ", "_")
    url = f"{_with_steps(request, [*steps, box.key])}#{quote(anchor)}" if box.count > 1 else to("trace", box.key) if box.things else ""
    warned = against.told(counts, box.count)
    told = [told_of(box), *([f"{first_up(warned)}."] if warned else [])]
    if sources:
        told.append(_("From %(names)s.") % {"names": some(names[n] for n in sources)})
    if ends:
        told.append(_("Into %(names)s.") % {"names": some(names[n] for n in ends)})
    if box.count > 1:
        told.append(_("Opens."))
    first, second = two_lines(box)
    if warned:
        second = cut_to(warned, left=ROOM - SHAPE)
    return Shown(box, anchor, first, second, strung(" ", told), url, strung(" ", map(str, ends)), against.worst(counts))


def two_lines(box: Box) -> tuple[str, str]:
    """What is written in a box; a long name of a customer takes both lines."""
    title, fits = title_of(box), int(ROOM / LETTER)
    if box.customers and box.count == 1 and len(title) > fits and " " in title[: fits + 1]:
        at = title.rindex(" ", 0, fits + 1)
        return title[:at], cut_to(title[at + 1 :])
    return cut_to(title, LETTER), cut_to(note_of(box))


def some(names: Iterable[str]) -> str:
    """The first few names, and how many more there are."""
    found = list(names)
    few = strung(", ", found[:NAMED])
    return _("%(names)s and %(more)s more") % {"names": read_out(few), "more": len(found) - NAMED} if len(found) > NAMED else few


def cut_to(text: str, each: float = 0, left: float = ROOM) -> str:
    """As many letters as fit into `left` pixels: `each` is the width of one where all are alike, else they are taken as a wide face
    has them."""
    text, room = read_out(text), float(left)
    for at, letter in enumerate(text):
        room -= each or (8.3 if letter.isupper() else 7.6 if letter.isdecimal() else 3.9 if letter in " .,:;-…|'" else 7.0)
        if room < 0:
            return f"{text[: max(at - 1, 1)]}…"
    return text


def title_of(box: Box) -> str:
    if box.count == 1:
        return box.names[0]
    return say("{count} × {value}", count=box.count, value=_("customer") if box.customers else what_of(box))


def what_of(box: Box) -> str:
    """What all of them are, as closely as it holds for all."""
    found = {t.design or t.material or t.kind for t in box.things}
    return found.pop() if len(found) == 1 else box.things[0].kind


def state_of(box: Box) -> str:
    found = {t.where for t in box.things}
    return found.pop() if len(found) == 1 else _("in several states")


def note_of(box: Box) -> str:
    """The second line of a box."""
    if box.count > 1:
        both = say("{names} … {names_2}", names=box.names[0], names_2=box.names[-1])
        return both if cut_to(both) == both else say("{names} …", names=box.names[0])
    if box.customers:
        return _("customer")
    what = what_of(box)
    return (
        _("lot of %(what)s") % {"what": read_out(what)}
        if box.kind == "lot"
        else say("{what}, {state_of}", what=what, state_of=state_of(box))
    )


def told_of(box: Box) -> str:
    """A box in a sentence."""
    if box.count == 1:
        return say("{names}, {note_of}.", names=box.names[0], note_of=note_of(box))
    said_ = {"title": read_out(title_of(box)), "first": box.names[0], "last": box.names[-1]}
    if box.customers:
        return _("%(title)s: %(first)s to %(last)s.") % said_
    return _("%(title)s, %(state)s: %(first)s to %(last)s.") % {**said_, "state": read_out(state_of(box))}


def _named(name: str, of: int, counts: Mapping[str, int]) -> Any:
    """A box in the table of lines: its name, with what speaks against it as words and shapes."""
    chips = [shapes.chip(code, counts[code] if of > 1 else "") for code in against.CODES if counts.get(code)]
    return format_html("{} {}", name, format_html_join(" ", "{}", ((chip,) for chip in chips))) if chips else name


def _line(wire: Wire, cells: Mapping[int, Any], shop: Shop) -> list[Any]:
    when = said.instant(wire.first_us, shop.zone, shop.now_us)
    if wire.last_us != wire.first_us:
        when = said.html_say("{first} to {last}", first=when, last=said.instant(wire.last_us, shop.zone, shop.now_us))
    return [cells[wire.src], cells[wire.dst], wire.text, when, _("taken out again") if wire.ended else ""]
