"""Where the yard's material comes from: packs, their papers, and how long a pack is kept in use.

`take` finds the piece to use next, as a storekeeper would: the current one while it lasts, else the next, else a delivery
that came in time. What is too short or too old goes into the bin, so that waste has its causes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from .anchor import DAY_US
from .arrivals import Arrival, arrive
from .hands import Hands, said
from .packs import PACKS

FIRST_DAY = -546


@dataclass
class Piece:
    """One roll, can or drum on the shelf, as the plan sees it."""

    mark: str
    lot: str
    left: int
    until: int
    since: int = 0


@dataclass
class Shelf:
    hands: Hands
    pieces: dict[str, list[Piece]] = field(default_factory=lambda: defaultdict(list))
    lots: dict[str, int] = field(default_factory=lambda: defaultdict(int))

    def stock(self, material: str, lot: str, mark: str, left: int, until: int, since: int = 0) -> None:
        self.pieces[material].append(Piece(mark, lot, left, until, since))

    def take(self, material: str, qty: int, at: int, lot: str = "") -> str:
        """The mark of the piece to take `qty` from. With a lot, only its pieces are looked at, and none is ordered."""
        shelf = self.pieces[material]
        for piece in [p for p in shelf if at >= p.since and (not lot or p.lot == lot)]:
            if at < piece.until and piece.left >= qty:
                piece.left -= qty
                return piece.mark
            if not lot or at >= piece.until:
                self._bin(material, piece, at)
            elif piece.left < qty:
                shelf.remove(piece)  # short for this, kept for small things
                shelf.append(piece)
        if lot:
            raise ValueError(f"nothing is left of {material} lot {lot} for {said(qty, self.hands.unit(material))}")
        self.order(material, at)
        return self.take(material, qty, at)

    def draw(self, material: str, mark: str, qty: int) -> None:
        """Take from this very piece."""
        piece = next(p for p in self.pieces[material] if p.mark == mark)
        if piece.left < qty:
            raise ValueError(f"{mark} has not {said(qty, self.hands.unit(material))}")
        piece.left -= qty

    def _bin(self, material: str, piece: Piece, at: int) -> None:
        self.pieces[material].remove(piece)
        if piece.left:
            cause = "past its date" if at >= piece.until else "too short to use"
            day = (at - self.hands.at(0, "00:00")) // DAY_US  # in the evening, when nobody works with it any more
            self.hands.scrap(self.hands.at(day, "20:00"), "Ines", piece.mark, cause)

    def order(self, material: str, needed: int) -> str:
        """A delivery some days before it is needed, on a morning of the week."""
        self.lots[material] += 1
        lot = f"{PACKS[material].prefix}{self.lots[material] + 100}"
        self.deliver(material, lot, max(self.day_before(needed, 6), FIRST_DAY))
        return lot

    def deliver(self, material: str, lot: str, day: int, marks: Sequence[str] = (), **papers: str) -> list[str]:
        """A delivery with its papers, released the same morning. `papers` replaces values, `printed` the last day printed on it."""
        pack = PACKS[material]
        marks = marks or [f"{lot}-{n}" for n in range(1, pack.pieces + 1)]
        arrive(self.hands, Arrival(material, lot, day, tuple((mark, pack.qty) for mark in marks), papers))
        for mark in marks:
            self.stock(material, lot, mark, pack.qty, self.hands.at(day + pack.keep, "18:00"), self.hands.at(day, "12:00"))
        return list(marks)

    def retire(self, material: str, day: int, cause: str = "too old to use", keep: Sequence[str] = (), lot: str = "") -> None:
        """What is left of a lot goes into the bin."""
        for piece in [p for p in self.pieces[material] if p.mark not in keep and (not lot or p.lot == lot)]:
            self.pieces[material].remove(piece)
            if piece.left:
                self.hands.scrap(self.hands.at(day, "15:30"), "Ines", piece.mark, cause)

    def day_before(self, at: int, days: int) -> int:
        """The day so many days before an instant, moved to a working day."""
        day = (at - self.hands.at(0, "00:00")) // DAY_US - days
        return day - max(day % 7 - 4, 0)
