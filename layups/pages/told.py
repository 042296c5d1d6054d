"""What was just done to a part: the record as the big answer, which life and how much it leaves, undo, one tap for the next ply."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.html import format_html

from inventory.core.limits import DATED_CLOCKS
from inventory.core.lives import spoken
from inventory.core.said import say, strung
from inventory.core.spans import clock_text, day_name, duration, limit_text, local_date
from inventory.core.tighter import Tighter
from inventory.core.units import display
from inventory.models import Act, Item, ItemState, Leg
from inventory.pages import acts
from inventory.pages.door import Shop
from inventory.pages.ways import may, to
from inventory.recording.use import tight_in
from inventory.templatetags import words as said
from inventory.verbs.voiding import UNDO_US
from layups.reads.lives import Life, lives_of
from layups.reads.part import PartPage


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
    what = acts.leg_text(leg, edges, shop)
    kind = acts.kind_words(leg.act.kind)
    again = any(text in reason.text for reason in broke)  # a test that failed: its sentence is the reason
    title = text if text and not again else format_html("{}: {}", kind, what) if what else kind
    yes = lay_words(leg.act, shop, tight_in(json.loads(leg.body))) if leg.act.kind == "lay" else ""
    yes = cure_words(page, leg.act, shop) if leg.act.kind == "cure_on" else yes
    return Told(title, broke, yes, "kept" if broke else "yes", leg.act_id)


def lay_words(act: Act, shop: Shop, tighter: Sequence[Tighter] = ()) -> str:
    """What a lay leaves: how much of the roll, which life governs (for this part), how long the pot can still be used."""
    source = Item.objects.filter(legs__act=act).exclude(kind__in=("part", "assembly", "lot")).select_related("state").first()
    if source is None:
        return ""
    state = source.state
    left = say("{qty} left on {source}.", qty=display(state.qty, source.unit), source=source) if state.qty > 0 else ""
    if source.kind == "mix":
        return strung(" ", (part for part in (pot_words(json.loads(state.doc).get("stop"), act.happened_us, shop), left) if part))
    lives = lives_of(shop.zone, [source.pk], act.happened_us, tighter=tighter)[source.pk]
    return strung(" ", (part for part in (life_words(lives, shop, act.happened_us), left) if part))


def cure_words(page: PartPage, act: Act, shop: Shop) -> str:
    """At what each lot's clock stands since heating began: "PP-U lot U26-02: 20 h 47 of 120 h out life used." """
    lives = lives_of(shop.zone, [page.item.pk], act.happened_us, ("cure",))[page.item.pk]
    running = [x for x in lives if x.clock == "above" and x.used is not None and x.allowed is not None]
    return strung(" ", (clock_words(x) for x in running))


def clock_words(x: Life) -> str:
    used, allowed = duration(x.used or 0), limit_text(x.allowed or 0)
    return say("{what}: {used} of {allowed} {life} used.", what=x.label, used=used, allowed=allowed, life=spoken(x.limit))


def pot_words(stop: object, at_us: int, shop: Shop) -> str:
    if not isinstance(stop, int) or stop <= at_us:
        return ""
    return say("Its pot: {stop} left, stop by {stop_2} (an estimate).", stop=duration(stop - at_us), stop_2=clock_text(stop, shop.zone))


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
    laid = [f for v in page.lines for f in v.filled]
    if not laid:
        return None
    last = max(laid, key=lambda f: (f.at_us, f.act))
    upcoming = next((v for v in page.lines if v.line.seq == page.next.seqs[0]), None)
    if upcoming is None or upcoming.line.recipe is not None or last.kind in ("kit", "lot"):
        return None
    if last.material not in (upcoming.line.wants, *(code for _, code in upcoming.line.alternates)):
        return None
    left = ItemState.objects.filter(item__code=last.code, gone="").values_list("qty", flat=True).first()
    if not left or (upcoming.line.qty or 0) > left:
        return None
    return Again(last.code, last.name, upcoming.line.name.capitalize(), upcoming.wanted)


# --- how much is left ---------------------------------------------------------------------------------

SOON_US = 7 * 86_400_000_000


def life_words(lives: Sequence[Life], shop: Shop, at_us: int) -> str:
    """ "Tack life governs: 58 h 49 left (13 h 11 used). Out life 106 h 49 left. Storage life: last day today." """
    told: list[str] = []
    running = [x for x in dict.fromkeys(lives) if x.clock == "above" and not x.missing and x.left is not None and x.used is not None]
    for n, x in enumerate(running):
        name = spoken(x.limit, first=True)
        if x.over or (x.left or 0) < 0:
            told.append(say("{name} over.", name=name))
        elif n == 0:
            told.append(
                say("{name} governs: {left} left ({used} used).", name=name, left=duration(x.left or 0), used=duration(x.used or 0))
            )
        else:
            told.append(say("{name} {left} left.", name=name, left=duration(x.left or 0)))
    dated = [x for x in dict.fromkeys(lives) if x.clock in DATED_CLOCKS and x.ends_us is not None and 0 < x.ends_us - at_us <= SOON_US]
    told += [
        say("{limit}: {last_day}.", limit=spoken(x.limit, first=True), last_day=last_day(x.ends_us or 0, at_us, shop.zone)) for x in dated
    ]
    return strung(" ", told)


def last_day(ends_us: int, at_us: int, zone: str) -> str:
    """A date lasts through its last day (R41)."""
    today = local_date(at_us, zone) == local_date(ends_us - 1, zone)
    return say("last day today") if today else say("last day {day}", day=day_name(ends_us - 1, zone))
