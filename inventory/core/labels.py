"""What stands on a label: for each kind of thing its fields in order of importance, and the symbol that leads back to it.

Rolls, drums, parts and whatever else is large carry a QR code with a short link, so that a telephone finds the page; small and
bent things (spools, cans, kits, pots, bags) a DataMatrix with the code alone, which needs the least room; a place a DataMatrix
too, since it is scanned at the box all day. The code stands beside each in plain text.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from inventory.core import codes
from inventory.core.label_life import Life, day, life_of, moment
from inventory.core.label_words import DEFER, POT, Caution, caution, storage
from inventory.core.limits import Reading
from inventory.core.said import say
from inventory.core.spans import Zone, clock_text

Symbology = Literal["qr", "datamatrix"]
LINKED = frozenset({"roll", "sheet", "drum", "tank", "part", "assembly"})
MADE = frozenset({"part", "assembly"})
PATH = "/i/"
SCAN = say("Scan before use.")


@dataclass(frozen=True, slots=True)
class Thing:
    """What is to be labelled, in plain values. `facts`: (what, value) that belong to its kind alone, in order of importance:
    the design of a part, the job of a kit, the mixing time of a pot, what a place takes."""

    kind: str
    word: str
    code: str
    name: str
    material: str = ""
    material_name: str = ""
    material_kind: str = ""
    hazard: str = ""
    family: str = ""
    lot: str = ""
    supplier: str = ""
    owner: str = ""
    low_mc: int | None = None
    high_mc: int | None = None
    gone: str = ""
    readings: tuple[Reading, ...] = ()
    stop_us: int | None = None
    facts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Field:
    """One field. `role` says how it is set; `short` stands in for `text` where there is little room; `needed` fields are never
    left out."""

    role: Literal["word", "name", "what", "lot", "bad", "stop", "life", "more", "store", "fact", "caution", "foot"]
    text: str
    short: str = ""
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """The symbol and what it says, the code as printed, and the fields, the most important first."""

    symbology: Symbology
    payload: str
    code: str
    fields: tuple[Field, ...]


def label(thing: Thing, zone: Zone, now_us: int, address: str) -> Label:
    """`address`: where the shop's pages are found ("https://shop.example"), for the short link."""
    linked = thing.kind in LINKED
    payload = f"{address.rstrip('/')}{PATH}{thing.code}" if linked else thing.code
    shown = codes.grouped(thing.code) if codes.is_code(thing.code) else thing.code
    return Label("qr" if linked else "datamatrix", payload, shown, tuple(f for f in _fields(thing, zone, now_us) if f.text))


def _fields(t: Thing, zone: Zone, now_us: int) -> list[Field]:
    name = t.name or (codes.grouped(t.code) if codes.is_code(t.code) else t.code)
    head = [Field("word", t.word[:1].upper() + t.word[1:]), Field("name", name, needed=True)]
    material = Field(
        "what", say("{material} {material_name}", material=t.material, material_name=t.material_name).strip(), t.material, needed=True
    )
    lot = Field("lot", say("Lot {lot}", lot=t.lot) if t.lot else "", needed=True)
    facts = [Field("fact", say("{what}: {said}", what=what, said=said) if what else said) for what, said in t.facts if said]
    gone = [Field("bad", say("Not for use: {gone}", gone=t.gone), needed=True)] if t.gone else []
    printed = say("Printed {moment}.", moment=moment(now_us, zone))
    foot = Field("foot", printed if t.kind in ("place", *MADE) else say("{printed} {scan}", printed=printed, scan=SCAN), printed)
    owner = Field("fact", say("Property of {owner}", owner=t.owner) if t.owner else "", needed=bool(t.owner))
    if t.kind == "place":
        return [*head, *facts, foot]
    if t.kind == "mix":
        return [*head, *gone, _stop(t, zone), material, *facts, _caution(t), foot]
    if t.kind in MADE:
        return [*head, *gone, material, *facts, owner, foot]
    life = life_of(t.readings, zone, now_us) if not t.gone else Life()
    stored = storage(t.low_mc, t.high_mc)
    store = Field("store", stored.full, stored.short) if stored else Field("store", "")
    supplier = Field("fact", t.supplier)
    return [*head, *gone, material, lot, *_life(life), store, owner, *facts, _caution(t), supplier, foot]


def _life(life: Life) -> list[Field]:
    head = Field("bad" if life.bad else "life", life.head, life.short, needed=True)
    return [head, *(Field("more", line.full, line.short, needed=n == 0) for n, line in enumerate(life.more))]


def _stop(t: Thing, zone: Zone) -> Field:
    """The stop time of a pot, with its day: a pot that was forgotten overnight must not look like today's."""
    if t.stop_us is None:
        return Field("bad", say("Not for use: no stop time known"), say("No stop time"), needed=True)
    on = day(t.stop_us, zone)
    at = clock_text(t.stop_us, zone)
    return Field("stop", say("Stop {at}, {on}", at=at, on=on), say("Stop {at}, {day}", at=at, day=on.rsplit(" ", 1)[0]), needed=True)


def _caution(t: Thing) -> Field:
    own = POT if t.kind == "mix" else caution(t.hazard, t.material_kind, t.family)
    return Field("caution", *_joined(own), needed=True) if own else Field("caution", "")


def _joined(own: Caution) -> tuple[str, str]:
    return say("{full} {full_2}", full=own.full, full_2=DEFER.full), say("{short} {short_2}", short=own.short, short_2=DEFER.short)


def spoken(fields: Sequence[Field]) -> str:
    """All of a label as text, a line a field: what is kept of a print, and what a screen reader says."""
    return "\n".join(f.text for f in fields)
