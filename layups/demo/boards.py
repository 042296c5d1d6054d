"""Daggerboards of dry twill, two at a time from one pot; masts, wound; rods, pulled through a die and cut."""

from __future__ import annotations

from dataclasses import dataclass

from .hands import G, Hands, minutes, said
from .supply import Shelf

KIT = 6_200_000
PAIRS = (*(-525 + 27 * i for i in range(17)), -66, -44, -23)
SPLICED = 23
"""The mast of which a spool was spliced at 41 m and the bath topped up four times."""
MASTS: dict[int, int] = {**{n: -530 + 15 * (n - 1) for n in range(1, 31)}, 31: -78, 32: -66, 33: -52, 34: -40, 35: -28, 36: -14}
# run: (day, resin lot)
RUNS: dict[int, tuple[int, str]] = {1: (-520, "V1"), 2: (-430, "V2"), 3: (-330, "V3"), 4: (-220, "V4"), 5: (-33, "V6"), 6: (-17, "V6")}
# resin of each bath, and how much of it went into the product; the rest stays in the bath
BATHS = ((2_500 * G, 2_000 * G), (2_000 * G, 1_500 * G), (2_000 * G, 800 * G))
PIECES = 70


@dataclass
class Boards:
    hands: Hands
    shelf: Shelf

    def pair(self, index: int) -> None:
        h, day = self.hands, PAIRS[index]
        who = "Tove" if day > -120 and index % 2 else "Bram"
        boards = [f"DAG-{2 * index + n:03d}" for n in (1, 2)]
        for n, number in enumerate(boards):
            at = h.at(day, "08:00") + minutes(10 * n)
            h.start(at, who, "DAG", number, "CLEAN")
            roll = "C-12" if 2 * index + n >= 35 else self.shelf.take("CT-204", KIT, at)
            h.kit(at + minutes(2), who, roll, "6.20 m", f"K-{number}", number, "5.94 m²", plies=(1,))
            h.lay(at + minutes(40), who, f"K-{number}", number)
        h.bag(h.at(day, "10:00"), who, boards)
        for n, number in enumerate(boards):
            h.drop_test(h.at(day, "10:20") + minutes(8 * n), who, number, 3 + index % 4)
        self._infuse(day, who, boards)
        h.cure(boards, who, "OV1", h.at(day + 1, "08:00"), h.at(day + 1, "16:10"), "STOCK")

    def _infuse(self, day: int, who: str, boards: list[str]) -> None:
        h, at, name = self.hands, self.hands.at(day, "11:00"), f"{boards[0]} pot"
        resin, hardener = 4_200 * G, 1_260 * G
        parts = [(self.shelf.take("INF-A", resin, at), resin), (self.shelf.take("INF-B", hardener, at), hardener)]
        h.mix(at, who, "INF", name, parts, "CLEAN", 21_500)
        h.lay(at + minutes(15), who, name, boards)
        h.scrap(at + minutes(150), who, name, "left over in the pot")


@dataclass
class Masts:
    hands: Hands
    shelf: Shelf

    def jobs(self, number: int) -> None:
        h, day, mark = self.hands, MASTS[number], f"MAST-{number:03d}"
        who = "Tove" if day > -120 and number % 2 else "Bram"
        h.start(h.at(day, "08:00"), who, "MAST", mark, "WIND")
        at = h.at(day, "08:30")
        if number == SPLICED:
            self._spliced(at, who, mark)
        else:
            h.lay(at, who, self.shelf.take("TOW-12K", 4_250_000_000, at), mark, plies=(1,))
            self._bath(at + minutes(5), who, mark, f"{mark} bath", 2_275 * G, 728 * G, "1.8 kg")
        h.cure([mark], who, "OV1", h.at(day, "14:00"), h.at(day, "18:15"), "STOCK")
        h.test(h.at(day + 1, "09:00"), "Odile", mark, "roundness", passed=True)

    def _bath(self, at: int, who: str, mark: str, name: str, resin: int, hardener: int, used: str, extra: bool = False) -> None:
        h = self.hands
        parts = [(self.shelf.take("WND-A", resin, at), resin), (self.shelf.take("WND-B", hardener, at), hardener)]
        h.mix(at, who, "WND", name, parts, "WIND", 22_000)
        h.lay(at + minutes(12), who, name, mark, used, plies=(2,), extra=extra)
        h.scrap(at + minutes(230), who, name, "rest of the bath")

    def _spliced(self, at: int, who: str, mark: str) -> None:
        """Two spools on one creel position, and five pots in one bath: the mast names them all, with shares."""
        h = self.hands
        for n, (spool, metres) in enumerate((("TW-S1", "41 m"), ("TW-S2", "490.25 m"))):
            h.lay(at + minutes(n), who, spool, mark, metres, plies=(1,), extra=n > 0)
        rest = self.shelf.take("TOW-12K", 3_718_750_000, at)
        h.lay(at + minutes(3), who, rest, mark, "3718.75 m", plies=(1,), extra=True, reason="seven more spools")
        for n in range(5):
            self._bath(at + minutes(5 + 30 * n), who, mark, f"{mark} bath {n + 1}", 500 * G, 160 * G, "360 g", extra=n > 0)


@dataclass
class Rods:
    hands: Hands
    shelf: Shelf

    def jobs(self, number: int) -> None:
        h, (day, lot), run = self.hands, RUNS[number], f"RUN-{number}"
        h.measure(h.at(day, "08:50"), "PULT", 21_000)
        h.start(h.at(day, "08:30"), "Bram", "RUN", run, "PULT", length="90.0 m")
        at = h.at(day, "09:00")
        roving = 40 * 90 * 10**6
        h.lay(at, "Bram", self.shelf.take("ROV-2400", roving, at), run, plies=(1,))
        for n, (resin, used) in enumerate(BATHS):
            self._bath(at + minutes(5 + 40 * n), lot, run, n + 1, resin, used)
        h.cure_there([run], "Bram", at + minutes(110), at + minutes(180))
        h.cut_parts(h.at(day, "15:00"), "Bram", run, "ROD", "1.20 m", pieces(number, 1, PIECES), "STOCK")
        h.scrap(h.at(day, "15:20"), "Bram", run, "ends of the run")
        self._ship(number, day)

    def _bath(self, at: int, lot: str, run: str, n: int, resin: int, used: int) -> None:
        h, name = self.hands, f"{run} bath {n}"
        peroxide = resin * 15 // 1000
        can = self.shelf.take("MEKP", peroxide, at, peroxide_lot(RUNS[int(run[-1])][0]))
        h.mix(at, "Bram", "VE", name, [(self.shelf.take("VE-I", resin, at, lot), resin), (can, peroxide)], "PULT", 21_000)
        h.lay(at + minutes(9), "Bram", name, run, said(used * 1015 // 1000, "ug"), plies=(2,))
        if lot == "V6":
            h.gel(at + minutes(48 + 3 * n), "Bram", name)
        h.scrap(at + minutes(120), "Bram", name, "rest of the bath")

    def _ship(self, number: int, day: int) -> None:
        """Runs 5 and 6: sixty to the rowing club, thirty-six to the outfitters, the rest in stock."""
        h = self.hands
        if number == 5:
            h.ship(h.at(day + 4, "11:00"), pieces(5, 1, 60), "Ferrel")
        elif number == 6:
            h.ship(h.at(day + 4, "11:00"), [*pieces(5, 61, 70), *pieces(6, 1, 26)], "Brae")
        else:
            h.ship(h.at(day + 7, "11:00"), pieces(number, 1, PIECES), ("Ferrel", "Brae", "Hestholm", "Ferrel")[number - 1])


def pieces(run: int, first: int, last: int) -> list[str]:
    return [f"{run}-{n:02d}" for n in range(first, last + 1)]


def peroxide_lot(day: int) -> str:
    """The peroxide that was open for small work on a day."""
    return "X1" if day < -432 else "X2" if day < -250 else "X3" if day < -106 else "X4"
