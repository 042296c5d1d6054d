"""Everything that the page of a part shows, in a number of queries that does not grow with the part."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.html import format_html

from inventory.core.limits import Limit, Reading, Source
from inventory.core.lives import spoken
from inventory.core.spans import clock_text, day_text, duration, local_date
from inventory.core.units import display
from inventory.models import Act, Item, ItemState, Leg
from inventory.pages import acts
from inventory.pages.door import Shop
from inventory.pages.ways import item_url, may, to
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from inventory.verbs.voiding import UNDO_US
from layups.reads.lives import Life, lives_of
from layups.reads.part import Filled, LineView, PartPage
from layups.tracing import LotIn, trace_back
from layups.verbs.finding import plies_text

from . import words

LOTS = (
    Column("Material", lead=True),
    Column("Lot"),
    Column("Supplier"),
    Column("Amount", num=True),
    Column("Through", wide=True),
    Column("When"),
)
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
        others=", ".join(code for _, code in line.alternates),
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
            {"box": ", by the box (less exact)", "lot": ", by lot"}.get(f.grade, ""),
        )
        for f in filled
    ]
    return format_html("<br>".join(["{}"] * len(parts)), *parts) if parts else ""


# --- what to fetch ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Next:
    """What the builder's eye looks for first: the next lines, what to fetch and where from, and the older ones passed over.
    `stop_us`: of a pot; `mix`: the recipe to mix, when no pot stands ready; `ready`: it may be opened now."""

    lines: str
    wants: str
    amount: str
    name: str
    url: str
    kind: str
    place: str
    ready_us: int | None
    ready: bool
    stop_us: int | None
    mix: str
    mix_url: str
    passed: tuple[Any, ...]

    @property
    def fetch(self) -> str:
        return f"{self.kind} {self.name}, {self.place}" if self.name else ""


def next_of(page: PartPage, shop: Shop) -> Next | None:
    f = page.next
    if f is None:
        return None
    by_seq = {v.line.seq: v.line for v in page.lines}
    lines = [by_seq[seq] for seq in f.seqs]
    plies = all(line.step == "ply" for line in lines)
    name = plies_text(f.seqs) if plies else ", ".join(line.name for line in lines)
    label = lines[0].label if len(lines) == 1 else ""
    return Next(
        lines=name + (f", {label}" if label else ""),
        wants=f.wants,
        amount=f.amount,
        name=f.name,
        url=to("item", f.code) if f.code else "",
        kind="pot" if f.kind == "mix" else f.kind,
        place=f.place,
        ready_us=f.ready_us,
        ready=f.ready_us is None or f.ready_us <= shop.now_us,
        stop_us=_stop(f.code) if f.kind == "mix" and f.code else None,
        mix=f.mix,
        mix_url=to("mix") if f.mix and may(shop, "mix") else "",
        passed=f.passed,
    )


def _stop(code: str) -> int | None:
    doc = ItemState.objects.filter(item__code=code).values_list("doc", flat=True).first()
    stop = json.loads(doc).get("stop") if doc else None
    return stop if isinstance(stop, int) else None


# --- life until the cure ----------------------------------------------------------------------------


def readings(page: PartPage) -> list[tuple[str, Reading]]:
    """(which lot, its limit) of all that must be alive when heating begins, as the life lines take it; the first two of each
    lot are enough to see which one presses."""
    return [(life.label, as_reading(life)) for life in page.lives]


def as_reading(life: Life) -> Reading:
    limit = Limit(life.limit, life.clock, life.checkpoint)
    return Reading(Source(life.source, life.label, 0), limit, life.over, life.used, life.allowed, life.ends_us, missing=life.missing)


def too_early(page: PartPage) -> list[Life]:
    """Limits that end before the cure is to begin."""
    planned = page.part.planned_cure_us
    return [x for x in page.lives if planned is not None and x.ends_us is not None and not x.over and x.ends_us <= planned]


SOON_US = 7 * 86_400_000_000
DATED = ("printed", "calendar", "received", "opened")


def life_words(lives: Sequence[Life], shop: Shop, at_us: int) -> str:
    """ "Tack life governs: 58 h 49 left (13 h 11 used). Out life 106 h 49 left. Storage life: last day today." """
    told: list[str] = []
    running = [x for x in dict.fromkeys(lives) if x.clock == "above" and not x.missing and x.left is not None and x.used is not None]
    for n, x in enumerate(running):
        name = spoken(x.limit, first=True)
        if x.over or (x.left or 0) < 0:
            told.append(f"{name} over.")
        elif n == 0:
            told.append(f"{name} governs: {duration(x.left or 0)} left ({duration(x.used or 0)} used).")
        else:
            told.append(f"{name} {duration(x.left or 0)} left.")
    dated = [x for x in dict.fromkeys(lives) if x.clock in DATED and x.ends_us is not None and 0 < x.ends_us - at_us <= SOON_US]
    told += [f"{spoken(x.limit, first=True)}: {last_day(x.ends_us or 0, at_us, shop.zone)}." for x in dated]
    return " ".join(told)


def last_day(ends_us: int, at_us: int, zone: str) -> str:
    """A date lasts through its last day (R41)."""
    today = local_date(at_us, zone) == local_date(ends_us - 1, zone)
    return "last day today" if today else f"last day {day_text(ends_us - 1, zone).rsplit(' ', 1)[0]}"


# --- what was just done -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Told:
    """A record as the big answer: `reasons` are the rules it broke (it was stored all the same)."""

    title: Any
    reasons: tuple[Any, ...]
    yes: str
    tone: str
    act: int


SHOWN_US = 15 * 60_000_000
"""How long a page that was left open still answers with the record it made; later it is history like the rest."""


def told_of(page: PartPage, number: str, shop: Shop, text: str) -> Told | None:
    """The record that this page has just made, if it is one of this part's."""
    if not number.isascii() or not number.isdecimal() or len(number) > 18:
        return None
    legs = Leg.objects.select_related("act__person", "item", "location")
    leg = legs.filter(act=int(number), item=page.item.pk, act__site=shop.site).first()
    if leg is None or shop.now_us - leg.act.recorded_us > SHOWN_US:
        return None
    broke = acts.broke(leg.act)
    edges = [e for e in acts.edges_of([leg.act_id]).get(leg.act_id, ()) if page.item.pk in (e.src_id, e.dst_id)]
    title = text or format_html("{}: {}", acts.kind_words(leg.act.kind), acts.leg_text(leg, edges, shop))
    yes = lay_words(leg.act, shop) if leg.act.kind == "lay" else ""
    return Told(title, broke, yes, "kept" if broke else "yes", leg.act_id)


def lay_words(act: Act, shop: Shop) -> str:
    """What a lay leaves: how much of the roll, which life governs, how long the pot can still be used."""
    source = Item.objects.filter(legs__act=act).exclude(kind__in=("part", "assembly", "lot")).select_related("state").first()
    if source is None:
        return ""
    state = source.state
    left = f"{display(state.qty, source.unit)} left on {source}." if state.qty > 0 else ""
    if source.kind == "mix":
        return " ".join(part for part in (pot_words(json.loads(state.doc).get("stop"), act.happened_us, shop), left) if part)
    lives = lives_of(shop.zone, [source.pk], act.happened_us)[source.pk]
    return " ".join(part for part in (life_words(lives, shop, act.happened_us), left) if part)


def pot_words(stop: object, at_us: int, shop: Shop) -> str:
    if not isinstance(stop, int) or stop <= at_us:
        return ""
    return f"Its pot: {duration(stop - at_us)} left, stop by {clock_text(stop, shop.zone)} (an estimate)."


@dataclass(frozen=True, slots=True)
class Last:
    """The newest record on the part: what it did, and whether the person may still take it back."""

    act: int
    text: Any
    undo: bool
    too_late: bool
    url: str


def last_of(page: PartPage, shop: Shop) -> Last | None:
    legs = Leg.objects.filter(item=page.item.pk, act__voided_by__isnull=True).exclude(act__kind="void")
    leg = legs.select_related("act__person", "item", "location").order_by("-act__recorded_us", "-seq").first()
    if leg is None:
        return None
    act = leg.act
    edges = [e for e in acts.edges_of([act.pk]).get(act.pk, ()) if page.item.pk in (e.src_id, e.dst_id)]
    when = said.instant(act.happened_us, shop.zone, shop.now_us, "near")
    text = format_html("{} {} ({}, {})", acts.kind_words(act.kind), acts.leg_text(leg, edges, shop), act.person.name, when)
    mine = act.person_id == shop.person.pk
    age = shop.now_us - act.recorded_us
    undo = mine and may(shop, "undo") and age <= UNDO_US
    return Last(act.pk, text, undo, mine and UNDO_US < age <= SHOWN_US, to("record", act.pk))


@dataclass(frozen=True, slots=True)
class Again:
    """One tap: the next open line from the roll that was laid last."""

    code: str
    name: str
    line: str
    amount: str


def again_of(page: PartPage) -> Again | None:
    """Only where the same thing fits the next open line and is not used up."""
    if page.next is None or page.word != "building":
        return None
    laid = [(f.at_us, f.act, f, v.line) for v in page.lines for f in v.filled]
    if not laid:
        return None
    _, _, last, line = max(laid, key=lambda row: row[:2])
    upcoming = next((v for v in page.lines if v.line.seq == page.next.seqs[0]), None)
    if upcoming is None or upcoming.line.recipe is not None or upcoming.line.material != line.material or last.kind in ("kit", "lot"):
        return None
    left = ItemState.objects.filter(item__code=last.code, gone="").values_list("qty", flat=True).first()
    if not left or (upcoming.line.qty or 0) > left:
        return None
    return Again(last.code, last.name, upcoming.line.name, upcoming.wanted)


# --- what is in it ----------------------------------------------------------------------------------


def lots(page: PartPage, shop: Shop) -> list[list[Any]]:
    """The lots in a finished part, with how much of each."""
    back = trace_back(page.item.pk)
    return [lot_cells(x, shop) for x in (*back.lots, *back.no_lot)]


def lot_cells(x: LotIn, shop: Shop) -> list[Any]:
    unit = x.lot.unit
    amount = said.qty(round(x.amount), unit) if x.amount is not None else ""
    when = said.instant(x.first_us, shop.zone, shop.now_us)
    return [x.lot.material or x.lot.name, words.thing_link(x.lot), x.lot.supplier, amount, ", ".join(x.via), when]


def item_of_code(code: str) -> str:
    row = Item.objects.filter(code=code).first()
    return item_url(row) if row is not None else ""
