"""Thirty complete dinghies: a hull, a rudder, a daggerboard, a mast and, for most, a hatch lid."""

from __future__ import annotations

from dataclasses import dataclass

from .boards import MASTS, PAIRS
from .dinghies import DAYS as HULL_DAYS
from .hands import Hands, minutes
from .prepreg import BATCHES, SIX, rudder
from .small import HATCHES, PHENOLIC

LEFT_OUT = frozenset({9, 15, 20, 23, 30, 33, 35, 38})
"""Hulls that were sold bare, are still in the yard, or never left it."""
HULLS = tuple(n for n in sorted(HULL_DAYS) if n not in LEFT_OUT)
CUSTOMERS = ("Skerrow", "Hestholm", "Skerrow", "Lunn", "P-03", "Skerrow", "Brae", "Hestholm", "P-11", "Skerrow")
NAMED = {36: "Skerrow", 37: "Hestholm"}
SWAPPED = "MAST-031"
"""Taken off BOAT-029 and fitted to BOAT-034."""


@dataclass(frozen=True, slots=True)
class Boat:
    """`order`: the how-manieth boat it is, from 1; the components are counted alike."""

    order: int
    hull: int

    @property
    def mark(self) -> str:
        return f"BOAT-{self.hull:03d}"

    @property
    def customer(self) -> str:
        return NAMED.get(self.hull, CUSTOMERS[self.order % len(CUSTOMERS)])

    @property
    def mast(self) -> int:
        return {29: 31, 34: 0}.get(self.hull, self.order)

    @property
    def lid(self) -> tuple[str, int]:
        """Its hatch lid and the day on which that was made; the mark is empty for a boat without one."""
        if self.hull in (36, 37):
            number = self.hull - 19
            return f"HAT-{number:03d}", HATCHES[number][0]
        if self.order <= 16:
            return f"HAT-{self.order:03d}", HATCHES[self.order][0]
        index = self.order - 17
        return (f"HAP-{index + 1:03d}", PHENOLIC[index]) if index < len(PHENOLIC) else ("", -600)

    @property
    def day(self) -> int:
        """Five days after the last of its components."""
        made = [HULL_DAYS[self.hull], BATCHES[(self.order - 1) // SIX], PAIRS[(self.order - 1) // 2], self.lid[1]]
        return max([*made, MASTS[self.mast] if self.mast else -600]) + 5


def boats() -> list[Boat]:
    return [Boat(order, hull) for order, hull in enumerate(HULLS, 1)]


def assemble(hands: Hands, boat: Boat) -> None:
    h, day, who = hands, boat.day, "Tove" if boat.day > -120 and boat.order % 2 else "Bram"
    h.start(h.at(day, "08:00"), who, "BOAT", boat.mark, "FIN", boat.customer)
    components = [f"DIN-{boat.hull:03d}", rudder(boat.order), f"DAG-{boat.order:03d}"]
    components += [f"MAST-{boat.mast:03d}"] if boat.mast else []
    components += [boat.lid[0]] if boat.lid[0] else []
    for n, component in enumerate(components):
        h.join(h.at(day, "08:30") + minutes(10 * n), who, component, boat.mark)
    swap(h, boat)
    leaves = {29: -50, 34: -58}.get(boat.hull, min(day + 9, -4))
    h.ship(h.at(leaves, "14:00"), [boat.mark], boat.customer, hull_number(boat))


def swap(h: Hands, boat: Boat) -> None:
    """A mast changes boats, and its first boat gets another."""
    if boat.hull == 29:
        h.unjoin(h.at(-63, "10:00"), "Bram", SWAPPED, "FIN")
        h.join(h.at(-60, "09:00"), "Bram", f"MAST-{boat.order:03d}", boat.mark)
    if boat.hull == 34:
        h.join(h.at(-63, "10:30"), "Bram", SWAPPED, boat.mark)


def hull_number(boat: Boat) -> str:
    return f"hull number {boat.hull:05d}"
