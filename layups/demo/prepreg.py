"""Rudder blades and tillers of prepreg: six rudders and two tillers at a time, cured the same afternoon.

Rolls leave the freezer the evening before and go back in the morning, so each time out is the same: unidirectional 14 h,
twill 15 h 30, film adhesive 16 h."""

from __future__ import annotations

from dataclasses import dataclass

from layups.verbs import curing

from . import cures
from .hands import Hands, minutes
from .supply import Shelf

KIT = 6_600_000  # six plies of 1.10 m
BATCHES = (*range(-535, -84, 50), -21, -7)
SIX = 6
TRIPPED = -21
TWILL, WRAP_T, WRAP_U, BOND, BLANK = 1_700_000, 400_000, 2_200_000, 400_000, 40_000_000


def rudder(number: int) -> str:
    return f"RUD-{number:03d}"


def home_of(roll: str) -> str:
    """The rolls with a name of their own lie in the chest freezer, the others upright."""
    return "F1" if roll in ("U-2", "U-3", "T-2") else "F2"


@dataclass(frozen=True, slots=True)
class Rolls:
    """What a batch is made of: marks. `kits` names the roll of each rudder's kit."""

    twill: str
    kits: tuple[str, ...]
    wrap: str
    film: str
    splice: str
    core: str


@dataclass
class Prepreg:
    hands: Hands
    shelf: Shelf

    def choose(self, index: int) -> Rolls:
        """From the shelf; the last batches take the rolls that the yard knows by name."""
        at = self.hands.at(BATCHES[index], "08:00")
        named = BATCHES[index] > -50
        film = "FA-9-1" if BATCHES[index] >= -85 else self.shelf.take("FA-B", SIX * BOND, at)
        kits = ["U-2" if BATCHES[index] == -21 and n == 0 else self._kit(index, at) for n in range(SIX)]
        return Rolls(
            twill="T-2" if named else self.shelf.take("PP-T", SIX * TWILL + 2 * WRAP_T, at),
            kits=tuple(kits),
            wrap="U-3" if BATCHES[index] >= -85 else self._wrap(index, at),
            film=film,
            splice=self.shelf.take("CS-F", SIX, at),
            core=self.shelf.take("CORE-80", SIX * BLANK, at, "K0"),
        )

    def _kit(self, index: int, at: int) -> str:
        if BATCHES[index] == -135:
            return "U-2"
        return self.shelf.take("PP-U", KIT, at)

    def _wrap(self, index: int, at: int) -> str:
        return "U-2" if BATCHES[index] == -135 else self.shelf.take("PP-U", 2 * WRAP_U, at)

    def jobs(self, index: int) -> None:
        h, day = self.hands, BATCHES[index]
        rolls = self.choose(index)
        rudders = [rudder(SIX * index + n) for n in range(1, SIX + 1)]
        tillers = [f"TIL-{2 * index + n:03d}" for n in (1, 2)]
        who = "Tove" if day > -120 else "Bram"
        self._out(day, rolls)
        h.measure(h.at(day, "07:30"), "CLEAN", 20_500 + day % 7 * 200, str(40 + day % 13))
        for n, number in enumerate(rudders):
            self._begin(day, n, number, rolls.kits[n], who)
        for number in tillers:
            h.start(h.at(day, "08:20"), who, "TIL", number, "CLEAN")
        self._lay(day, rolls, rudders, tillers, who)
        self._cure(day, [*rudders, *tillers], who)

    def _out(self, day: int, rolls: Rolls) -> None:
        """Out in the evening, back in the morning. U-2 has a history of its own on its last day."""
        h, evening = self.hands, self.hands.at(day - 1, "19:00")
        for roll in dict.fromkeys((*rolls.kits, rolls.wrap)):
            if roll == "U-2" and day == -21:
                continue
            h.move(evening, "Ines", roll, "CLEAN", h.at(day, "09:00"), exact=True)
            h.move(h.at(day, "09:00"), "Ines", roll, home_of(roll), exact=True)
        h.move(evening, "Ines", rolls.twill, "CLEAN", h.at(day, "10:30"), exact=True)
        h.move(h.at(day, "10:30"), "Ines", rolls.twill, home_of(rolls.twill), exact=True)
        for mark in (rolls.film, rolls.splice):
            h.move(evening, "Ines", mark, "CLEAN", h.at(day, "11:00"), exact=True)
            h.move(h.at(day, "11:00"), "Ines", mark, "F2", exact=True)

    def _begin(self, day: int, n: int, number: str, roll: str, who: str) -> None:
        h = self.hands
        customer = "Skerrow" if number == "RUD-061" else ""
        h.start(h.at(day, "07:40") + minutes(n), who, "RUD", number, "CLEAN", customer, planned=h.at(day, "16:00"))
        at, kit = h.at(day, "08:00") + minutes(n), "K-22" if number == "RUD-061" else f"K-{number}"
        h.kit(at, who, roll, "6.60 m", kit, number, plies=tuple(range(1, 7)), exact=number == "RUD-061")
        h.lay(at + minutes(30), who, kit, number)

    def _lay(self, day: int, rolls: Rolls, rudders: list[str], tillers: list[str], who: str) -> None:
        h = self.hands
        h.lay(h.at(day, "08:50"), who, rolls.wrap, tillers, plies=(2,), dry=True)
        h.lay(h.at(day, "09:20"), who, rolls.twill, tillers, plies=(1,), dry=True)
        h.lay(h.at(day, "09:40"), who, rolls.twill, rudders, "1.70 m", plies=(7, 8))
        h.lay(h.at(day, "10:40"), who, rolls.film, rudders, plies=(9,), dry=True)
        h.lay(h.at(day, "10:50"), who, rolls.core, rudders, plies=(10,))
        if day >= -85:  # the peel ply touches the bond: followed by its lot, not by length
            h.lay(h.at(day, "10:57"), who, "PL-4", rudders)
        h.lay(h.at(day, "10:55"), who, rolls.splice, rudders, plies=(11,), dry=True)

    def _cure(self, day: int, parts: list[str], who: str) -> None:
        h = self.hands
        h.bag(h.at(day, "12:30"), who, parts)
        for n, number in enumerate(parts):
            h.drop_test(h.at(day, "13:00") + minutes(8 * n), who, number, 2 + (day + n) % 6)
        run = h.cure(parts, who, "OV2", h.at(day, "16:00"), h.at(day, "17:45"), "STOCK")
        if day == TRIPPED:  # the oven tripped twelve minutes into a first start: void, and the clocks never stopped
            h.call(h.at(day, "15:45"), who, "cure_on", curing.CureOn(run), run)
            h.abort(h.at(day, "15:57"), who, run, "34")
        cures.hand_in(h, day, run, [number for number in parts if number.startswith(cures.DESIGN)], day == TRIPPED)
        for n, number in enumerate(parts):
            if number.startswith("RUD"):
                h.test(h.at(day + 1, "09:00") + minutes(n), "Odile", number, "tap test", passed=True)
