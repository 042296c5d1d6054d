"""Everything that the page of a part shows, in a number of queries that does not grow with the part."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.html import format_html

from inventory.core.limits import Limit, Reading, Source
from inventory.core.said import say, strung
from inventory.core.spans import duration
from inventory.core.temperature import display_celsius
from inventory.core.units import display
from inventory.models import Item, ItemState, Recipe
from inventory.pages.door import Shop
from inventory.pages.today import governing_words
from inventory.pages.ways import item_url, may, to
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.core.rooms import rh_text
from layups.core.windows import OVER, WAITS
from layups.reads import schedules
from layups.reads.lives import Life
from layups.reads.part import Filled, LineView, PartPage
from layups.reads.runs import MISSING
from layups.tracing import LotIn, trace_back
from layups.verbs.finding import plies_text

from . import words
from .runfacts import chart_word, differs_words

LOTS = (
    Column(say("Material"), lead=True),
    Column(say("Lot")),
    Column(say("Supplier")),
    Column(say("Amount"), num=True),
    Column(say("Through"), wide=True),
    Column(say("When")),
)
MOST_POTS = 60
DONE = ("cured", "assembled", "shipped", "scrapped")


def chips(page: PartPage) -> Any:
    held = any(h.why != "incoming" for h in page.holds)
    waits = any(h.why == "incoming" for h in page.holds)
    more = [*(["held"] if held else []), *(["unreleased"] if waits else []), *(["finding"] if page.findings else [])]
    return words.states([page.word, *more])


# --- the schedule -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the schedule as it stands on the page."""

    name: str
    label: str
    wants: str
    others: str
    angle: str
    amount: str
    state: Any
    done: bool
    upcoming: bool
    inside: Any


def schedule_rows(page: PartPage, shop: Shop) -> list[Row]:
    upcoming = set(page.next.seqs) if page.next is not None else set()
    return [line_row(v, upcoming, shop) for v in page.lines]


def line_row(v: LineView, upcoming: set[int], shop: Shop) -> Row:
    line = v.line
    state = "filled" if v.done else "box" if line.box and not v.filled else "open"
    return Row(
        name=line.name.capitalize(),
        label=line.label,
        wants=line.wants,
        others=strung(", ", (code for _, code in line.alternates)),
        angle=f"{line.angle}°".replace("-", "−") if line.angle is not None else "",
        amount=v.wanted,
        state=words.state(state),
        done=v.done,
        upcoming=line.seq in upcoming,
        inside=filled_words(v.filled, shop),
    )


def filled_words(filled: Sequence[Filled], shop: Shop) -> Any:
    parts = [
        format_html(
            '{} {} <span class="quiet">{}, {}{}</span>',
            said.code_link(f.name, to("item", f.code)),
            "" if f.kind == "kit" else f.qty,
            f.person,
            said.instant(f.at_us, shop.zone, shop.now_us, "near"),
            {"box": say(", by the box (less exact)"), "lot": say(", by lot")}.get(f.grade, ""),
        )
        for f in filled
    ]
    return format_html("<br>".join(["{}"] * len(parts)), *parts) if parts else ""


# --- what to fetch ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Next:
    """What the builder's eye looks for first: the next lines, what to fetch and where from, and the older ones passed over.
    `mix`: the recipe to mix, when no pot stands ready; `ready`: it may be opened now; `ends`: the life by which it goes first."""

    lines: str
    wants: str
    amount: str
    name: str
    url: str
    kind: str
    place: str
    ready_us: int | None
    ready: bool
    mix: str
    mix_url: str
    passed: tuple[Any, ...]
    ends: Any

    @property
    def fetch(self) -> str:
        return say("{kind} {name}, {place}", kind=self.kind, name=self.name, place=self.place) if self.name else ""


def next_of(page: PartPage, shop: Shop) -> Next | None:
    f = page.next
    if f is None:
        return None
    by_seq = {v.line.seq: v.line for v in page.lines}
    lines = [by_seq[seq] for seq in f.seqs]
    plies = all(line.step == "ply" for line in lines)
    name = plies_text(f.seqs) if plies else strung(", ", (line.name for line in lines))
    label = lines[0].label if len(lines) == 1 else ""
    return Next(
        lines=name + (say(", {label}", label=label) if label else ""),
        wants=f.wants,
        amount=f.amount,
        name=f.name,
        url=to("item", f.code) if f.code else "",
        kind="pot" if f.kind == "mix" else f.kind,
        place=f.place,
        ready_us=f.ready_us,
        ready=f.ready_us is None or f.ready_us <= shop.now_us,
        mix=f.mix,
        mix_url=mix_url(lines[0].recipe) if f.mix and may(shop, "mix") else "",
        passed=f.passed,
        ends=governing_words(f.governs, shop.zone, shop.now_us),
    )


def mix_url(recipe: int | None) -> str:
    """Where it is mixed, with the recipe chosen already."""
    return to("mix", recipe=Recipe.objects.values_list("code", flat=True).get(pk=recipe)) if recipe is not None else to("mix")


@dataclass(frozen=True, slots=True)
class Pot:
    """A pot that one of the part's open lines can take, running against its stop time."""

    name: str
    url: str
    left: str
    stop_us: int


def pots_for(page: PartPage, shop: Shop) -> list[Pot]:
    """The pots that stand ready for it, the one that ends first before the others; two queries."""
    wanted = {v.line.recipe for v in page.lines if v.line.recipe is not None and not v.done}
    if not wanted or page.word not in ("building", "bagged"):
        return []
    rows = (
        ItemState.objects.filter(item__site=shop.site, item__kind="mix", gone="", qty__gt=0)
        .select_related("item")
        .order_by("-pk")[:MOST_POTS]
    )
    recipes = schedules.recipes_of(r.item_id for r in rows)
    found = [(json.loads(r.doc).get("stop"), r) for r in rows if r.item_id in recipes and recipes[r.item_id].pk in wanted]
    running = sorted(
        ((stop, r) for stop, r in found if isinstance(stop, int) and stop > shop.now_us), key=lambda pair: (pair[0], pair[1].pk)
    )
    return [Pot(str(r.item), to("item", r.item.code), display(r.qty, r.item.unit), stop) for stop, r in running[:3]]


# --- windows between steps --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Window:
    """A window that runs, as it stands on the page: how long ago it began, and until when it is open."""

    name: str
    state: Any
    first: str
    then: str
    ago: str
    opens_us: int | None
    ends_us: int | None
    waits: bool
    over: bool
    remedy: str


def windows(page: PartPage, shop: Shop) -> list[Window]:
    return [
        Window(
            name=w.name,
            state=words.state(f"window_{w.word}"),
            first=w.first,
            then=w.then,
            ago=say("{now} ago", now=duration(max(shop.now_us - w.since_us, 0))),
            opens_us=w.opens_us,
            ends_us=w.ends_us,
            waits=w.word == WAITS,
            over=w.word == OVER,
            remedy=say("{remedy}; then record the step “{again}”.", remedy=w.remedy, again=w.again) if w.again else "",
        )
        for w in page.windows
    ]


# --- the room ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Room:
    """What is asked of the room for the next line, what it is like, and where that is measured."""

    state: Any
    asked: str
    found: str
    at_us: int | None
    url: str
    reasons: tuple[str, ...]


def room_of(page: PartPage, shop: Shop) -> Room | None:
    view = page.room
    if view is None:
        return None
    codes = [r.code for r in view.reasons]
    word = "fit" if not codes else "unknown" if all(code == "room.unknown" for code in codes) else "wrong"
    room = view.room
    temp = display_celsius(room.temp.value) if room is not None and room.temp is not None else ""
    damp = rh_text(room.humidity.value) if room is not None and room.humidity is not None else ""
    times = [air.at_us for air in (room.temp, room.humidity) if air is not None] if room is not None else []
    return Room(
        state=words.state(word),
        asked=view.asked,
        found=strung(", ", filter(None, (temp, damp))),
        at_us=min(times) if times else None,
        url=to("do", "measure", place=room.code, next=words.part_url(page.part.number, page.item.code))
        if room is not None and may(shop, "measure")
        else "",
        reasons=tuple(r.text for r in view.reasons),
    )


# --- life until the cure ----------------------------------------------------------------------------


def readings(page: PartPage) -> list[tuple[str, Reading]]:
    """(which lot, its limit) of all that must be alive when heating begins, as the life lines take it; the first two of each
    lot are enough to see which one presses."""
    return [(life.label, as_reading(life)) for life in page.lives]


def as_reading(life: Life) -> Reading:
    limit = Limit(life.limit, life.clock, life.checkpoint, by=life.by)
    return Reading(Source(life.source, life.label, 0), limit, life.over, life.used, life.allowed, life.ends_us, missing=life.missing)


def too_early(page: PartPage) -> list[Life]:
    """Limits that end before the cure is to begin."""
    planned = page.part.planned_cure_us
    return [x for x in page.lives if planned is not None and x.ends_us is not None and not x.over and x.ends_us <= planned]


# --- what is in it ----------------------------------------------------------------------------------


def lots(page: PartPage, shop: Shop) -> list[list[Any]]:
    """The lots in a finished part, with how much of each."""
    back = trace_back(page.item.pk)
    return [lot_cells(x, shop) for x in (*back.lots, *back.no_lot)]


def lot_cells(x: LotIn, shop: Shop) -> list[Any]:
    unit = x.lot.unit
    amount = said.qty(round(x.amount), unit) if x.amount is not None else ""
    when = said.instant(x.first_us, shop.zone, shop.now_us)
    return [x.lot.material or x.lot.name, words.thing_link(x.lot), x.lot.supplier, amount, strung(", ", x.via), when]


def item_of_code(code: str) -> str:
    row = Item.objects.filter(code=code).first()
    return item_url(row) if row is not None else ""


# --- its cures --------------------------------------------------------------------------------------


def cures(page: PartPage, shop: Shop) -> list[dict[str, Any]]:
    """Each run with its chart: where to hand one in, or to see where it failed."""
    asks = page.part.design.cure_recipe_id is not None
    found = []
    for cure in page.cures:
        verdict = cure.verdict or (MISSING if asks and page.state.cured is not None else "")
        url = to("run", cure.run) if cure.run else words.part_url(page.part.number, page.item.code) + "chart/"
        found.append(
            {
                "name": cure.run or say("where it stood"),
                "url": url,
                "state": words.state(chart_word(verdict)) if verdict else "",
                "differs": differs_words(cure.differs, cure.run, shop, url)["text"] if cure.differs is not None else "",
            }
        )
    return found
