"""What the box says to a scan at once, by what the page is for: a tone, a word, a sentence, and what comes next. It only looks: what is
recorded is recorded, or refused, by the page that goes on.

The same for a page's script and for machines; what a scan is, is asked in one place (`verbs.scans`)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import first_up, say, say_n, strung
from inventory.core.units import display
from inventory.models import Item
from inventory.reads.stock import Piece
from inventory.verbs.lots import lot_by_number
from inventory.verbs.scans import Scanned, scanned

from .door import Where
from .finding import asked_where, search
from .itemfacts import against_now, piece_of
from .labelkinds import led, led_here, where
from .labelreading import FILLED, Goods, said_of

INTENTS = ("open", "receive", "take-out", "part", "mix", "count")
NEXT = ("open", "submit", "stay")
"""Go to the address; send the page's form; stay where one is, for the next scan."""
Tone = Literal["yes", "ask", "no"]
UNJUDGED = ("part", "assembly", "lot")


@dataclass(frozen=True, slots=True)
class Answered:
    """`told`: what a person must know or look at."""

    found: Scanned
    tone: Tone
    word: str
    text: str
    next: str
    url: str = ""
    told: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """A scan with what the page knows: `goods` of the delivery that is received, `late` for what already happened, which is stored
    whatever speaks against it."""

    here: Where
    raw: str
    goods: Goods | None = None
    late: bool = False


def look(here: Where, raw: str, intent: str = "open") -> Scanned:
    """What was scanned. Where labels are expected a single letter may be an identifier."""
    return scanned(here.site, here.zone, here.now_us, raw, bare=intent == "receive")


def answered(asked: Asked, found: Scanned, intent: str = "open") -> Answered:
    """The answer to what was found."""
    if found.reading.kind in ("empty", "too_long", "broken"):
        return _no(found, found.reading.reason)
    return _BY_INTENT[intent](asked, found)


# --- by what the page is for --------------------------------------------------------------------------------


def _opened(asked: Asked, found: Scanned) -> Answered:
    """Finding: on to the page of what it is; a label leads to the delivery that expects it; a name is looked for."""
    if found.what == "badge":
        return _badge(found)
    if asked_where(asked.raw):
        return Answered(found, "yes", say("Read"), say("Looking where that is."), "submit")
    if found.what == "thing":
        return _thing(asked, found, "open")
    if where(found):
        return Answered(found, "yes", say("Found"), sentence(found), "open", where(found))
    if found.reading.is_label:
        way = led(asked.here, found, asked.raw)
        if way.url:
            return Answered(found, "yes", say("Label"), sentence(found), "open", way.url, found.reading.warnings)
        return Answered(found, "ask", say("Look at it"), way.text, "submit", told=found.reading.warnings)
    rows = search(asked.here, found.reading.scan)
    if not rows:
        return _no(found, found.reading.reason)
    name = found.reading.text[:60]
    text = say_n("One thing has “{name}” in its name.", "{n} things have “{name}” in their names.", len(rows), name=name)
    return Answered(found, "yes", say("Found"), text, "submit")


def _received(asked: Asked, found: Scanned) -> Answered:
    """Receiving: a label goes into the form of its delivery, or leads to the delivery."""
    if found.what == "badge":
        return _badge(found)
    if asked.goods is None:
        way = led_here(asked.here, found, asked.raw)
        if way.url:
            return Answered(found, "yes", say("Found"), sentence(found), "open", way.url)
        return Answered(found, "ask" if way.tone == "ask" else "no", first_up(way.word), way.text, "submit" if way.map_url else "stay")
    read = said_of(asked.here, found, asked.goods, dict.fromkeys(FILLED, ""), {})
    tone: Tone = "yes" if read.tone == "yes" else "ask" if read.tone == "ask" else "no"
    onward = "submit" if tone != "no" or read.map_url else "stay"
    return Answered(found, tone, read.word, read.text, onward, told=tuple(read.told))


def _taken_out(asked: Asked, found: Scanned) -> Answered:
    """On the page of a thing: a place puts it there, anything else leads to its own page."""
    if found.place is not None:
        return Answered(found, "yes", say("Read"), say("It goes to {place}.", place=found.place.name), "submit")
    if found.what == "badge":
        return _badge(found)
    if found.what == "thing":
        return _thing(asked, found, "open")
    if where(found):
        return Answered(found, "yes", say("Found"), sentence(found), "open", where(found))
    return _no(found, found.reading.reason, place=True)


def _into_part(asked: Asked, found: Scanned) -> Answered:
    """On the page of a part: whatever is known is for the page to say; what is not known ends here."""
    if found.what == "badge":
        return _badge(found)
    if found.what == "thing":
        return _thing(asked, found, "submit")
    if found.place is not None:
        return Answered(found, "yes", say("Read"), sentence(found), "submit")
    if found.lot is not None or (found.what == "unknown" and _lot(asked.here, found.reading.text)):
        return Answered(found, "yes", say("Read"), say("Lot {number}.", number=_number(found)), "submit")
    if found.reading.is_label:
        text = say("This label is of nothing that has come in: receive it first, or scan our own label.")
        return Answered(found, "no", say("Not known"), text, "stay")
    if found.delivery is not None:
        text = say("Delivery {number} goes into no part: scan a piece of it.", number=found.delivery.number)
        return Answered(found, "no", say("Not here"), text, "stay")
    return _no(found, found.reading.reason)


def _into_pot(asked: Asked, found: Scanned) -> Answered:
    """Mixing: a resin, a hardener, what else goes in."""
    if found.what == "thing" and not found.reading.is_label:
        return _thing(asked, found, "submit")
    if found.what == "unknown":
        return _no(found, found.reading.reason)
    text = say("{what} Scan our own label of the can or drum that goes into the pot.", what=sentence(found))
    return Answered(found, "no", say("Not here"), text, "stay")


def _counted(asked: Asked, found: Scanned) -> Answered:
    """Counting: whatever lies there counts, fit for use or not; a figure is the amount of what was scanned before."""
    if found.what == "badge":
        return _badge(found)
    if found.delivery is not None:
        text = say("Delivery {number} is nothing that lies here: scan a piece of it.", number=found.delivery.number)
        return Answered(found, "no", say("Not here"), text, "stay")
    if found.what == "unknown" and not found.reading.text[:1].isdecimal():
        return _no(found, found.reading.reason)
    figure = say("{amount} is taken for an amount.", amount=found.reading.text[:60])
    text = figure if found.what == "unknown" else sentence(found)
    return Answered(found, "yes", say("Read"), text, "submit", where(found))


_BY_INTENT: dict[str, Callable[[Asked, Scanned], Answered]] = {
    "open": _opened, "receive": _received, "take-out": _taken_out, "part": _into_part, "mix": _into_pot, "count": _counted,
}  # fmt: skip


# --- words ----------------------------------------------------------------------------------------------------


def _thing(asked: Asked, found: Scanned, onward: str) -> Answered:
    """A thing, and whether it may be used now. The page that goes on says the same with all that it knows besides."""
    item, url = found.item, where(found)
    assert item is not None
    word = say("Read") if onward == "submit" else say("Found")
    p = piece_of(item, asked.here) if item.kind not in UNJUDGED else None
    if p is None:
        return Answered(found, "yes", word, sentence(found), onward, url)
    if p.state.gone:
        tone: Tone = "no" if onward == "submit" and not asked.late else "ask"
        return Answered(found, tone, say("Gone"), say("{what} Nothing of it is in stock any more.", what=sentence(found)), onward, url)
    against = () if asked.late else tuple(against_now(p, asked.here))
    if against:
        return Answered(found, "no", say("No"), say("{item} may not be used now.", item=item), onward, url, against)
    return Answered(found, "yes", word, _piece(item, p), onward, url)


def _piece(item: Item, p: Piece) -> str:
    """ "Roll C-12: 18.40 m of CT-204, in Fabric rack." """
    kind, left = first_up(item.get_kind_display()), display(max(p.state.qty, 0), item.unit)
    what = say("{left} of {material}", left=left, material=item.material.code) if item.material is not None else left
    if not p.place_code:
        return say("{kind} {item}: {what}.", kind=kind, item=item, what=what)
    return say("{kind} {item}: {what}, in {place}.", kind=kind, item=item, what=what, place=p.place)


def _badge(found: Scanned) -> Answered:
    return Answered(found, "yes", say("Badge"), say("A badge: the next records carry its name."), "submit")


def _no(found: Scanned, reason: Reason | None, place: bool = False) -> Answered:
    name = found.reading.text[:60]
    if reason is not None:
        text = reason.text
    elif place:
        text = say("Nothing here is called “{name}”: scan the place where it goes.", name=name)
    else:
        text = say("Nothing here is called “{name}”: scan again, or type what stands under the code.", name=name)
    return Answered(found, "no", say("Not understood"), text, "stay")


def _lot(here: Where, text: str) -> bool:
    """Whether a lot has this number; which of several, the page asks."""
    try:
        return lot_by_number(here.site, text) is not None
    except BadInput:
        return True


def _number(found: Scanned) -> str:
    return found.lot.number if found.lot is not None else found.reading.text[:60]


def sentence(found: Scanned) -> str:
    """What it is, in few words."""
    if found.what == "lot" and found.lot is not None:
        return say("Lot {number} of {material}.", number=found.lot.number, material=found.lot.material.code)
    if found.item is not None:
        return say("{kind} {item}.", kind=first_up(found.item.get_kind_display()), item=found.item)
    if found.place is not None:
        return say("{place}.", place=found.place.name)
    if found.delivery is not None:
        return say("Delivery {number}.", number=found.delivery.number)
    if found.what == "badge":
        return say("A badge.")
    if found.what == "label":
        return say("A supplier's label of {materials}.", materials=strung(say(" or "), materials(found)))
    if found.what == "unmapped":
        return say("A supplier's label; nobody has said yet of which material.")
    return found.reading.reason.text if found.reading.reason is not None else say("Not understood: nothing here is called so.")


def materials(found: Scanned) -> list[str]:
    """The materials whose labels look so."""
    return sorted({kind.material.code for kind in found.kinds})
