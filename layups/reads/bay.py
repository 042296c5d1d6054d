"""What a whole bay needs to see at once: pots that run, what thaws, what is out of the freezer and until when, and the parts that are
being made. A number of queries that does not grow with the shop; names of people and of customers are not read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q

from inventory.core.limits import Reading
from inventory.core.units import display
from inventory.models import Site
from inventory.reads import stock
from inventory.reads.looking import Look
from inventory.reads.stock import Piece

from .schedules import recipes_of
from .underway import UnderWay, under_way

_OUT = Q(item__kind="mix") | Q(back_us__isnull=False) | Q(doc__contains='"thaw_from":')
"""Pots, and what may be out of its place: a state's document leaves out what never happened."""


@dataclass(frozen=True, slots=True)
class Pot:
    """A pot with something left in it, which has or had a stop time."""

    name: str
    recipe: str
    left: str
    place: str
    stop_us: int
    held: bool


@dataclass(frozen=True, slots=True)
class Out:
    """Something out of the cold. `ready_us`: from when it may be opened, None when now; `governs`: the limit that ends first."""

    name: str
    material: str
    place: str
    ready_us: int | None
    back_us: int | None
    governs: Reading | None
    held: bool

    @property
    def until_us(self) -> int | None:
        """The planned return, or else the end of the limit that governs."""
        return self.back_us if self.back_us is not None else self.governs.ends_us if self.governs is not None else None


@dataclass(frozen=True, slots=True)
class Bay:
    """Each list with what is most urgent first."""

    pots: tuple[Pot, ...]
    thawing: tuple[Out, ...]
    out: tuple[Out, ...]
    parts: tuple[UnderWay, ...]


def bay(site: Site, now_us: int) -> Bay:
    """As it stands at an instant."""
    found = stock.pieces(stock.on_hand(site.pk, _OUT), site.zone, now_us)
    pots = _pots([p for p in found if p.item.kind == "mix" and p.state.stop is not None])
    out = [_out(p) for p in Look(site.pk, site.zone, now_us, found).out if p.item.kind != "mix"]
    return Bay(
        pots=tuple(sorted(pots, key=lambda p: (p.stop_us, p.name))),
        thawing=tuple(sorted((o for o in out if o.ready_us is not None), key=lambda o: (o.ready_us or 0, o.name))),
        out=tuple(sorted((o for o in out if o.ready_us is None), key=lambda o: (o.until_us is None, o.until_us or 0, o.name))),
        parts=tuple(under_way(site, now_us)),
    )


def _pots(pieces: Sequence[Piece]) -> list[Pot]:
    recipes = recipes_of(p.item.pk for p in pieces)
    return [
        Pot(
            name=str(p.item),
            recipe=recipes[p.item.pk].code if p.item.pk in recipes else "",
            left=display(p.state.qty, p.item.unit),
            place=p.place,
            stop_us=p.state.stop or 0,
            held=_held(p),
        )
        for p in pieces
    ]


def _out(p: Piece) -> Out:
    material = p.item.material.code if p.item.material else ""
    ready = p.thaw_ready_us if not p.state.frozen else None
    return Out(str(p.item), material, p.place, ready, p.state.back, p.governs, _held(p))


def _held(p: Piece) -> bool:
    return any(r.code.startswith("block.") for r in p.against)
