"""Repairs, hatch lids and brackets."""

from __future__ import annotations

from dataclasses import dataclass

from .boards import peroxide_lot
from .hands import G, Hands, minutes
from .supply import Shelf

# repair: (day, customer, resin lot or "" for epoxy)
REPAIRS: dict[int, tuple[int, str, str]] = {
    1: (-515, "P-03", ""), 2: (-488, "Hestholm", "V1"), 3: (-452, "P-11", ""), 4: (-431, "Skerrow", "V2"), 5: (-399, "P-07", ""),
    6: (-368, "Lunn", ""), 7: (-341, "Brae", "V3"), 8: (-298, "P-03", ""), 9: (-262, "Ferrel", ""), 10: (-215, "Skerrow", "V4"),
    11: (-172, "P-11", ""), 12: (-128, "Hestholm", ""), 13: (-90, "P-07", ""), 14: (-36, "P-03", "V6"), 15: (-33, "P-07", "V6"),
    16: (-29, "P-11", "V6"), 17: (-24, "Skerrow", "V6"), 18: (-15, "Lunn", ""),
}  # fmt: skip
# hatch lid: (day, resin lot)
HATCHES: dict[int, tuple[int, str]] = {
    **{n: (-530 + 24 * (n - 1), "") for n in range(1, 17)}, 17: (-38, "V6"), 18: (-34, "V6"), 19: (-23, "V6"),
    20: (-22, "V7"), 21: (-15, "V7"), 22: (-9, "V7"),
}  # fmt: skip
PHENOLIC = (-400, -340, -290, -235, -180, -110)
# repairs in which a scale read the hardener 1.8 % too high: the reading, with 400 g of resin
OFF_SCALE = {-38: 97_000, -31: 96_500, -22: 100_200}  # mg
GLASS_PATCH, GLASS_LID = 800_000, 1_200_000


def resin_lot(day: int) -> str:
    """The drum of vinyl ester that was open on a day, where none is named."""
    return next(lot for last, lot in ((-468, "V1"), (-402, "V2"), (-302, "V3"), (-190, "V4"), (-41, "V5"), (0, "V7")) if day <= last)


@dataclass
class Small:
    hands: Hands
    shelf: Shelf

    def vinyl(self, at: int, day: int, who: str, name: str, resin: int, lot: str, place: str = "BAY1") -> None:
        h, peroxide = self.hands, resin * 15 // 1000
        lot = lot or resin_lot(day)
        parts = [(self.shelf.take("VE-I", resin, at, lot), resin), (self.shelf.take("MEKP", peroxide, at, peroxide_lot(day)), peroxide)]
        h.mix(at, who, "VE", name, parts, place, 21_000)

    def repair(self, number: int) -> None:
        h, (day, customer, lot), mark = self.hands, REPAIRS[number], f"REP-{number:03d}"
        who = "Tove" if day > -120 and number % 2 else "Bram"
        h.start(h.at(day, "08:00"), who, "REV" if lot else "REP", mark, "BAY1", customer)
        at, name = h.at(day, "13:00"), f"{mark} pot"
        h.lay(at, who, self.shelf.take("GB-600", GLASS_PATCH, at), mark, plies=(1,))
        if lot:
            self.vinyl(at + minutes(5), day, who, name, 550 * G, lot)
            if lot == "V6":
                h.gel(at + minutes(5 + 49 + number % 7), who, name)
        else:
            self.epoxy(at + minutes(5), who, name, ("LA-7", "LB-5") if number == 18 else None)
        h.lay(at + minutes(12), who, name, mark, plies=(2,))
        h.cure_there([mark], who, at + minutes(40), h.at(day + 1, "13:40"))
        h.ship(h.at(day + 4, "14:00"), [mark], customer)

    def epoxy(self, at: int, who: str, name: str, pails: tuple[str, str] | None) -> None:
        resin, hardener = 440 * G, 110 * G
        first, second = pails or (self.shelf.take("LAM-A", resin, at), self.shelf.take("LAM-B", hardener, at))
        self.hands.mix(at, who, "LAM", name, [(first, resin), (second, hardener)], "BAY1", 21_000)

    def hatch(self, number: int) -> None:
        h, (day, lot), mark = self.hands, HATCHES[number], f"HAT-{number:03d}"
        who = "Tove" if day > -120 and number % 2 else "Bram"
        h.start(h.at(day, "08:10"), who, "HAT", mark, "BAY1")
        at, name = h.at(day, "14:00"), f"{mark} pot"
        h.lay(at, who, self.shelf.take("GB-600", GLASS_LID, at), mark, plies=(1,))
        self.vinyl(at + minutes(5), day, who, name, 1_100 * G, lot)
        h.lay(at + minutes(11), who, name, mark, plies=(2,))
        if lot == "V6":
            h.gel(at + minutes(5 + 48 + number % 8), who, name)
        h.cure_there([mark], who, at + minutes(70), h.at(day + 1, "14:30"))
        h.move(h.at(day + 2, "09:00"), who, mark, "STOCK")

    def phenolic(self, index: int) -> None:
        h, day, mark = self.hands, PHENOLIC[index], f"HAP-{index + 1:03d}"
        h.start(h.at(day, "08:10"), "Bram", "HAP", mark, "PRESS")
        at, name, resin, acid = h.at(day, "09:00"), f"{mark} pot", 1_100 * G, 66 * G
        h.lay(at, "Bram", self.shelf.take("BALSA-150", 30_000_000, at), mark, plies=(1,))
        parts = [(self.shelf.take("PH-R", resin, at), resin), (self.shelf.take("PH-C", acid, at), acid)]
        h.mix(at + minutes(3), "Bram", "PH", name, parts, "PRESS", 21_000)
        h.lay(at + minutes(8), "Bram", name, mark, plies=(2,))
        h.cure_there([mark], "Bram", at + minutes(20), at + minutes(110))
        h.move(h.at(day + 1, "09:00"), "Bram", mark, "STOCK")
