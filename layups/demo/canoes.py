"""Sixty-five canoe hulls: gelcoat, dry layup, infusion of two pots, warm tent, hardness, shipped or in the yard."""

from __future__ import annotations

from dataclasses import dataclass

from .hands import G, Hands, minutes, said
from .hulls import IN_YARD, LAST, NOT_MEASURED, V6_SHIPPED, Hull
from .packs import SHEET
from .supply import Shelf

CUSTOMERS = ("Lunn", "Brae", "Skerrow", "Lunn", "Hestholm", "Brae", "P-03", "Lunn", "Ferrel", "P-11")
BIAX = 15_300_000
INTO_BAG = 7_100 * G
"""Resin of one pot that goes into the bag; what is mixed above it stays in the pot."""


@dataclass
class Canoes:
    hands: Hands
    shelf: Shelf

    def jobs(self, hull: Hull) -> None:
        """Everything that happens to one hull."""
        self._dry(hull)
        self._infuse(hull)
        if hull.number != LAST.numbers[0]:
            self._tent(hull)
            self._finish(hull)

    def _dry(self, hull: Hull) -> None:
        h, day, who, mark = self.hands, hull.day - 1, hull.builder, hull.mark
        customer = V6_SHIPPED[hull.number][0] if hull.number in V6_SHIPPED else CUSTOMERS[hull.number % len(CUSTOMERS)]
        customer = "" if hull.number in IN_YARD or hull.group is LAST else customer
        h.start(h.at(day, "08:20"), who, "CAN", mark, hull.bay, customer)
        at = h.at(day, "10:00")  # infused the next morning: within a day of the gelcoat
        gelcoat, peroxide = 4_600 * G, 92 * G
        parts = [(self.shelf.take("GC-W", gelcoat, at), gelcoat), (self.peroxide(hull, peroxide, at), peroxide)]
        h.mix(at, who, "GC", f"{mark} gelcoat", parts, hull.bay, max(hull.temp_mc, 18_500))
        h.lay(at + minutes(4), who, f"{mark} gelcoat", mark)
        at = h.at(day, "14:30")
        h.lay(at, who, self.shelf.take("GB-600", BIAX, at, hull.group.biax), mark, said(BIAX, "um"), plies=(2, 3, 5))
        at = h.at(day, "15:10")
        h.lay(at, who, self.shelf.take("CORE-80", 3 * SHEET, at, hull.group.core), mark)
        h.bag(h.at(day, "16:00"), who, [mark])

    def peroxide(self, hull: Hull, qty: int, at: int) -> str:
        return self.shelf.take("MEKP", qty, at, hull.group.peroxide)

    def pots(self, hull: Hull) -> tuple[int, int]:
        """Resin of the two pots. Two of V6 were mixed smaller."""
        return (7_500 * G, 7_400 * G) if hull.mark in ("CAN-060", "CAN-063") else (7_500 * G, 7_500 * G)

    def _infuse(self, hull: Hull) -> None:
        h, day, who, mark = self.hands, hull.day, hull.builder, hull.mark
        h.drop_test(h.at(day, "08:30"), who, mark, 3 + hull.number % 5)
        h.measure(h.at(day, "08:55"), hull.bay, hull.temp_mc)
        for pot, (resin, clock) in enumerate(zip(self.pots(hull), ("09:00", "09:35"), strict=True), 1):
            at, name = h.at(day, clock), f"{mark} pot {pot}"
            peroxide = resin * 15 // 1000
            parts = [(self.shelf.take("VE-I", resin, at, hull.group.resin), resin), (self.peroxide(hull, peroxide, at), peroxide)]
            h.mix(at, who, "VE", name, parts, hull.bay, hull.temp_mc)
            h.lay(at + minutes(7), who, name, mark, said(INTO_BAG * 1015 // 1000, "ug"))
            if hull.group.resin == "V6":
                h.gel(at + minutes(47 + (hull.number * 7 + pot * 5) % 12), who, name)
            h.scrap(h.at(day, "11:00") + minutes(pot), who, name, "left over in the pot")

    def _tent(self, hull: Hull) -> None:
        h, mark = self.hands, hull.mark
        h.cure([mark], hull.builder, f"WARM{hull.group.rack}", h.at(hull.day + 1, "08:00"), h.at(hull.day + 2, "00:30"))

    def _finish(self, hull: Hull) -> None:
        h, mark, day = self.hands, hull.mark, hull.day + 2
        place = IN_YARD.get(hull.number, "FIN")
        h.move(h.at(day, "09:00"), "Bram", mark, place)
        if hull.number == NOT_MEASURED:
            return
        found_late = hull.soft and (hull.number in V6_SHIPPED or hull.group.resin != "V6")
        mean = 28 if hull.soft and not found_late else (36 if hull.group.resin == "V6" else 38 + hull.number % 5)
        h.hardness(h.at(day, "10:00"), mark, mean)
        if hull.soft and not found_late:  # taken for a case of its own, like the others: nobody has seen the pattern yet
            h.dispose(h.at(day, "15:00"), mark, "rework", reason="back into the tent, test again")
        if hull.number in IN_YARD:
            return
        shipped = V6_SHIPPED[hull.number] if hull.number in V6_SHIPPED else (CUSTOMERS[hull.number % len(CUSTOMERS)], 0)
        leaves = -shipped[1] or min(day + 6 + hull.number % 9, -2)
        h.ship(h.at(leaves, "13:00"), [mark], shipped[0])
        if found_late:
            self._came_back(hull, leaves)

    def _came_back(self, hull: Hull, shipped: int) -> None:
        """It passed at the yard; the customer saw it later."""
        h, mark = self.hands, hull.mark
        seen = min(shipped + 60, -4) if hull.group.resin != "V6" else -7 + hull.number % 4
        h.step(h.at(seen, "10:30"), "Odile", mark, "looked at", note="the customer sees blisters and print-through")
        h.hardness(h.at(seen, "11:00"), mark, 29)
        h.dispose(h.at(seen, "16:00"), mark, "repair", f"customer's letter about {mark}", "to be laminated again at the customer's")
