"""The windows of designs, and what happened to parts in the order in which it happened: what the rule of windows is asked with."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from inventory.composed import Composed
from inventory.core.fold import Key
from inventory.core.said import say
from inventory.models import Leg
from layups.core.schedule import Line
from layups.core.windows import Event, Window, stands
from layups.models import Window as Row

NAMED = {"bag": say("bagged"), "cure_on": say("heating begins"), "cure_off": say("cured")}
"""Records that are steps of a part by another verb, and the name by which a window knows them."""
KINDS = ("lay", "step", *NAMED)


@dataclass(frozen=True, slots=True)
class Happened:
    """One record of a part: where it stands in the order of what happened, the event, and the windows it was judged by."""

    key: Key
    leg: int
    part: int
    event: Event
    windows: tuple[Window, ...] = ()


@dataclass(frozen=True, slots=True)
class WindowView:
    """A window of a part that has begun and is not closed. `word`: waits, open, over. Instants in µs; `since_us` of the
    oldest of what began it."""

    name: str
    word: str
    first: str
    then: str
    since_us: int
    opens_us: int | None
    ends_us: int | None
    remedy: str
    again: str


_OF_DESIGNS = Composed(
    lambda designs: Row.objects.filter(design__in=designs).select_related("first_line", "then_line").order_by("design_id", "name"), set
)


def windows_of(designs: Iterable[int]) -> dict[int, tuple[Window, ...]]:
    """The windows of each design that has any, in one query."""
    found: dict[int, list[Window]] = defaultdict(list)
    for row in _OF_DESIGNS.all(set(designs)):
        first, first_words = _end(row.first_line, row.first_step)
        then, then_words = _end(row.then_line, row.then_step)
        times = (row.least_us, row.most_us)
        found[row.design_id].append(Window(row.name, first, then, first_words, then_words, *times, row.remedy, row.again))
    return {design: tuple(windows) for design, windows in found.items()}


def _end(line: object, step: str) -> tuple[int | str, str]:
    seq, kind = getattr(line, "seq", None), getattr(line, "step", "")
    return (step, step) if seq is None else (seq, Line(seq, kind, "").name)


def happened_to(parts: Iterable[int]) -> dict[int, list[Happened]]:
    """What happened to each part and still counts, in the order in which it happened, in one query."""
    out: dict[int, list[Happened]] = defaultdict(list)
    legs = Leg.objects.filter(item__in=set(parts), act__kind__in=KINDS, act__voided_by__isnull=True).select_related("act")
    for leg in legs:
        act, body = leg.act, json.loads(leg.body)
        lines = frozenset(int(seq) for seq, _ in body.get("fills", ()))
        step = NAMED.get(act.kind) or str(body.get("step", "") or (json.loads(act.body).get("step", "") if act.kind == "step" else ""))
        windows = tuple(Window.from_doc(doc) for doc in body.get("windows", ()))
        out[leg.item_id].append(Happened(act.order, leg.pk, leg.item_id, Event(act.happened_us, lines, step), windows))
    return {part: sorted(found, key=lambda h: h.key) for part, found in out.items()}


def running(design: int, part: int, now_us: int) -> tuple[WindowView, ...]:
    """The windows of a part that run now, the one that ends first before the others; one query, two where there are any."""
    return running_in({part: design}, now_us).get(part, ())


def running_in(designs: Mapping[int, int], now_us: int) -> dict[int, tuple[WindowView, ...]]:
    """The same of many parts, each with its design; parts without a window that runs are left out."""
    windows = windows_of(designs.values())
    mine = [part for part, design in designs.items() if design in windows]
    events = happened_to(mine) if mine else {}
    found = {part: _views(windows[designs[part]], [h.event for h in events.get(part, ())], now_us) for part in mine}
    return {part: views for part, views in found.items() if views}


def _views(windows: Iterable[Window], events: Sequence[Event], now_us: int) -> tuple[WindowView, ...]:
    found = []
    for window in windows:
        now = stands(window, events)
        word = now.word(now_us)
        if word and now.oldest_us is not None:
            first = window.again if now.again else window.first_words
            about = (first, window.then_words, now.oldest_us, now.opens_us, now.ends_us, window.remedy, window.again)
            found.append(WindowView(window.name, word, *about))
    return tuple(sorted(found, key=lambda v: (v.ends_us is None, v.ends_us or 0, v.name)))
