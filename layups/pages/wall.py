"""The wall: one page for a screen that the whole bay looks at. It is read from metres away and keeps itself fresh; it shows things and
times, never who did what or for which customer, and nothing that somebody typed as a reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.core.said import say, strung
from inventory.core.spans import day_name, local_date
from inventory.lineage import BlockHit
from inventory.pages.door import Shop, page
from inventory.pages.today import governing_words
from layups.core.windows import OVER as WINDOW_OVER
from layups.core.windows import WAITS
from layups.reads.bay import Bay, Out, Pot, bay
from layups.reads.underway import UnderWay
from layups.reads.windows import WindowView

from . import words
from .ongoing import against, moment, next_words, until

FRESH_S = 20
"""How often the page asks again."""
PARTS, POTS, THAWING, BESIDE, LEAST = 6, 4, 4, 7, 2
"""Lines that a screen holds which is half again as wide as high: of parts; beside them of pots, of what thaws and, with what is out,
of all three, of which what is out has always two. A longer list ends with how many more there are; what is most urgent stands first."""
READERS = frozenset({"auditor"})


@dataclass(frozen=True, slots=True)
class Line:
    """One line: what it is, its state as words and shapes, sentences, and a time with the word that says what it is the time of.
    `stop_us`: an instant to count down to."""

    name: str
    about: str
    states: Any
    told: tuple[Any, ...]
    word: str
    at_us: int | None
    stop_us: int | None = None


@dataclass(frozen=True, slots=True)
class Lines:
    """A list of the wall, cut to what a screen holds."""

    rows: tuple[Line, ...]
    more: int


@page
@require_safe
def wall(request: HttpRequest) -> HttpResponse:
    """GET still: without asking again by itself."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    found = bay(shop.signed_in.site, shop.now_us)
    reads_only = shop.roles <= READERS and not shop.by_badge
    if reads_only:
        request.session.modified = True  # a screen on the wall is not signed in anew each morning
    context = {
        "title": say("Wall"),
        "site": shop.signed_in.site.name,
        "fresh_s": 0 if "still" in request.GET else FRESH_S,
        "reads_only": reads_only,
        **lists(found, shop),
    }
    return render(request, "layups/wall.html", context)


def lists(found: Bay, shop: Shop) -> dict[str, Lines]:
    pots, thawing = cut([pot_line(p, shop) for p in found.pots], POTS), cut([thaw_line(o, shop) for o in found.thawing], THAWING)
    left = max(LEAST, BESIDE - len(pots.rows) - len(thawing.rows))
    out, parts = cut([out_line(o, shop) for o in found.out], left), cut([part_line(u, shop) for u in found.parts], PARTS)
    return {"pots": pots, "thawing": thawing, "out": out, "parts": parts}


def cut(rows: Sequence[Line], most: int) -> Lines:
    return Lines(tuple(rows[:most]), max(0, len(rows) - most))


def pot_line(p: Pot, shop: Shop) -> Line:
    over = p.stop_us <= shop.now_us
    states = words.states(["pot_over" if over else "pot_running", *(["held"] if p.held else [])])
    told = say("{left} left. It may be hot: outside, in an open container.", left=p.left) if over else say("{left} left.", left=p.left)
    return Line(
        p.name,
        in_place(p.recipe, p.place),
        states,
        (told,),
        dated("stopped", p.stop_us, shop) if over else say("stop by"),
        p.stop_us,
        None if over else p.stop_us,
    )


def thaw_line(o: Out, shop: Shop) -> Line:
    return Line(o.name, in_place(o.material, o.place), _chips("thawing", o.held), (), dated(say("open from"), o.ready_us, shop), o.ready_us)


def out_line(o: Out, shop: Shop) -> Line:
    late = o.back_us is not None and o.back_us <= shop.now_us
    life = governing_words(o.governs, shop.zone, shop.now_us)
    word = say("back by") if o.back_us is not None else say("until") if o.until_us is not None else ""
    return Line(
        o.name,
        in_place(o.material, o.place),
        _chips("overdue" if late else "out", o.held),
        (life,) if life else (),
        dated(word, o.until_us, shop),
        o.until_us,
    )


def part_line(u: UnderWay, shop: Shop) -> Line:
    about = in_place(u.part.design.name, u.place)
    if u.since_us is not None:
        return Line(
            u.part.number, about, words.states([u.word, *against(u, "")]), (), dated(say("in the heat since"), u.since_us, shop), u.since_us
        )
    end = until(u.deadline, shop)
    windows = [window_words(w, shop) for w in u.windows]
    told = (next_words(u), end.governs, *windows, *(held_words(hit, u, shop) for hit in u.holds))
    word, at_us = pressing(u)
    return Line(
        u.part.number, about, words.states([u.word, *against(u, end.word)]), tuple(t for t in told if t), dated(word, at_us, shop), at_us
    )


def pressing(u: UnderWay) -> tuple[str, int | None]:
    """The first of its ends, and what it is the end of."""
    life = u.deadline.governs.ends_us if u.deadline.governs is not None else None
    ends = [
        (say("heat before"), life),
        (say("cure planned"), u.deadline.planned_us),
        *((say("{then} before", then=w.then), w.ends_us) for w in u.windows),
    ]
    known = [(us, n, word) for n, (word, us) in enumerate(ends) if us is not None]
    return (min(known)[2], min(known)[0]) if known else ("", None)


def window_words(w: WindowView, shop: Shop) -> str:
    if w.word == WAITS and w.opens_us is not None:
        return say("{name}: {then} from {moment}.", name=w.name, then=w.then, moment=moment(w.opens_us, shop))
    if w.word == WINDOW_OVER and w.ends_us is not None:
        return say(
            "{name}: over since {moment}; {remedy}.", name=w.name, moment=moment(w.ends_us, shop), remedy=w.remedy or say("ask quality")
        )
    return say("{name}: {then} before {moment}.", name=w.name, then=w.then, moment=moment(w.ends_us, shop)) if w.ends_us is not None else ""


def held_words(hit: BlockHit, u: UnderWay, shop: Shop) -> str:
    """Which thing is held and since when; why, and by whom, stands on the part's page."""
    own = hit.item == u.part.pk
    if hit.why == "incoming":
        return "" if own else say("{hit}, which is in it, waits for release.", hit=hit.name)
    since = moment(hit.from_us, shop)
    return (
        say("Held since {since}.", since=since) if own else say("{hit}, which is in it, is held since {since}.", hit=hit.name, since=since)
    )


def dated(word: str, at_us: int | None, shop: Shop) -> str:
    """What a time is the time of, with its day unless that is today: the clock itself is large beside it."""
    if at_us is None or local_date(at_us, shop.zone) == local_date(shop.now_us, shop.zone):
        return word
    return say("{word} {day}", word=word, day=day_name(at_us, shop.zone))


def in_place(what: str, place: str) -> str:
    return strung(", ", (word for word in (what, place) if word))


def _chips(word: str, held: bool) -> Any:
    return words.states([word, *(["held"] if held else [])])
