"""Thirty-eight dinghy hulls in wet layup; their polyester comes through the day tank DT-1."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from .hands import KG, G, Hands, M, minutes, said
from .supply import Shelf

# The tank is emptied and washed when another lot begins, and gets a new label then: last hull, label. Once it was topped
# up instead (hull 017), so that two lots went on together.
TANKS = ((6, "DT-1/1"), (12, "DT-1/2"), (23, "DT-1"), (29, "DT-1/3"), (35, "DT-1/4"), (38, "DT-1/5"))
# hull: the day on which it was laminated; 021 and 022 onwards were cured with peroxide lot X4
DAYS: dict[int, int] = {
    **{n: -538 + 24 * (n - 1) for n in range(1, 17)},
    17: -139,
    18: -130,
    19: -124,
    20: -117,
    21: -105,
    22: -103,
    23: -95,
    **{n: -93 + 2 * (n - 24) for n in range(24, 35)},
    35: -55,
    36: -36,
    37: -31,
    38: -12,
}
# what is poured into the tank before a hull, from which drum; nothing is ever poured back
CHARGES: dict[int, tuple[tuple[str, int], ...]] = {
    16: (("PE-3", 56 * KG),),
    17: (("PE-4", 38 * KG),),  # onto 22 kg of the lot before: the next draw carries both
    18: (("PE-4", 5 * KG),),
    38: (("PE-6", 17 * KG), ("PE-8", 17 * KG)),
}
DRUMS = ((6, "PE-1"), (12, "PE-2"), (16, "PE-3"), (23, "PE-4"), (29, "PE-5"), (35, "PE-6"), (38, "PE-8"))
POT, USED = 17 * KG, 15_500 * G
MAT = 13 * M


def tank_of(number: int) -> str:
    return next(label for last, label in TANKS if number <= last)


def set_up_tanks(hands: Hands) -> None:
    """Each label on the morning of its first hull."""
    for first, (_, label) in zip((1, 7, 13, 24, 30, 36), TANKS, strict=True):
        hands.tank(hands.at(DAYS[first], "06:40"), label, "PE-L", "BAY1")


@dataclass
class Dinghies:
    hands: Hands
    shelf: Shelf

    def mark(self, number: int) -> str:
        return f"DIN-{number:03d}"

    def peroxide(self, number: int) -> str:
        return "X1" if number <= 5 else "X2" if number <= 12 else "X3" if number <= 20 else "X4"

    def jobs(self, number: int) -> None:
        h, day, mark = self.hands, DAYS[number], self.mark(number)
        who = "Tove" if day > -120 and number % 2 else "Bram"
        gelcoat_day, gelcoat_at = (day - 1, "09:00") if number == 22 else (day, "07:40")
        laid_at = "16:40" if number == 22 else "11:00"
        h.start(h.at(gelcoat_day, "07:10"), who, "DIN", mark, "BAY1")
        self._gelcoat(number, who, h.at(gelcoat_day, gelcoat_at))
        at = h.at(day, laid_at)
        for ply in (2, 3):
            roll = self.shelf.take("CSM-300", MAT, at)
            if number == 22 and ply == 2:  # 31 h after its gelcoat: refused, and laid when it is abraded
                h.lay(h.at(day, "16:04"), who, roll, mark, plies=(ply,), refused=("window.over",))
            h.lay(at + minutes(ply), who, roll, mark, plies=(ply,))
        self._charge(number, h.at(day, "10:20"))
        self._wet_out(number, who, at + minutes(10))
        h.cure_there([mark], who, at + minutes(75), h.at(day + 1, laid_at) + minutes(75))
        h.hardness(h.at(day + 2, "09:30"), mark, 37 + number % 5)
        h.move(h.at(day + 2, "09:50"), "Bram", mark, "FIN")

    def _gelcoat(self, number: int, who: str, at: int) -> None:
        h, mark, resin = self.hands, self.mark(number), 6_000 * G
        name, peroxide = f"{mark} gelcoat", 120 * G
        pail, can = self.shelf.take("GC-W", resin, at), self.shelf.take("MEKP", peroxide, at, self.peroxide(number))
        if number == 23:  # typed before the laminate from a paper slip: 54 g, which is 0.9 %
            late: dict[str, Any] = {"stance": "observed", "happened_us": at, "reason": "from the paper slip of the morning"}
            h.mix(at + minutes(190), who, "GC", name, [(pail, resin), (can, 54 * G)], "BAY1", 20_500, minutes=25, **late)
            late["happened_us"] = at + minutes(5)
            h.lay(at + minutes(192), who, name, mark, **late)
            return
        h.mix(at, who, "GC", name, [(pail, resin), (can, peroxide)], "BAY1", 20_500)
        h.lay(at + minutes(4), who, name, mark)

    def _charge(self, number: int, at: int) -> None:
        drum = next(d for last, d in DRUMS if number <= last)
        for n, (name, qty) in enumerate(CHARGES.get(number, ((drum, 34 * KG),))):
            self.shelf.draw("PE-L", name, qty)
            self.hands.pour(at + minutes(n), "Ines", name, tank_of(number), said(qty, "ug"))

    def _wet_out(self, number: int, who: str, at: int) -> None:
        h, mark = self.hands, self.mark(number)
        pots = ((18 * KG, 18 * KG), (13 * KG, 13 * KG)) if number == 17 else ((POT, USED), (POT, USED))
        for pot, (resin, used) in enumerate(pots, 1):
            begun, name = at + minutes(30 * (pot - 1)), f"{mark} pot {pot}"
            peroxide = resin * 15 // 1000
            can = self.shelf.take("MEKP", peroxide, begun, self.peroxide(number))
            h.mix(begun, who, "PE", name, [(tank_of(number), resin), (can, peroxide)], "BAY1", 20_500)
            h.lay(begun + minutes(10), who, name, mark, said(used * 1015 // 1000, "ug"))
            if used < resin:
                h.scrap(begun + minutes(90), who, name, "left over in the pot")
