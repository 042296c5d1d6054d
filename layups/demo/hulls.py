"""The canoe hulls and what went into each: the planted lot, its decoys, and the groups that statistics must tell apart."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Group:
    """Hulls that share everything: `weeks` are the first and the last, week -1 being the one before the anchor."""

    numbers: tuple[int, ...]
    soft: tuple[int, ...]
    resin: str
    core: str
    peroxide: str
    biax: str
    rack: int
    crew: str
    cold: bool
    weeks: tuple[int, int]


def _span(first: int, last: int) -> tuple[int, ...]:
    return tuple(range(first, last + 1))


_A, _B = "A", "B"
GROUPS: dict[str, Group] = {
    "a": Group((46, 47, 50, 54, 63), (46, 47, 50, 54, 63), "V6", "K3", "X4", "G5", 2, _B, True, (-6, -2)),
    "b": Group((51,), (51,), "V6", "K3", "X4", "G5", 1, _A, True, (-4, -4)),
    "c": Group((48, 53), (), "V6", "K3", "X4", "G5", 1, _A, False, (-5, -3)),
    "d": Group((56,), (56,), "V6", "K3", "X3", "G4", 2, _A, True, (-3, -3)),
    "e": Group((58,), (58,), "V6", "K4", "X4", "G4", 1, _B, False, (-2, -2)),
    "f": Group((60,), (), "V6", "K4", "X4", "G4", 1, _B, False, (-2, -2)),
    "g": Group(_span(1, 9), (), "V1", "K1", "X1", "G1", 1, _A, False, (-78, -68)),
    "h": Group(_span(10, 14), (), "V2", "K1", "X1", "G1", 2, _A, False, (-67, -62)),
    "i": Group(_span(15, 18), (17,), "V2", "K1", "X2", "G2", 1, _A, True, (-61, -58)),
    "j": Group(_span(19, 23), (), "V3", "K1", "X2", "G2", 2, _A, True, (-57, -52)),
    "k": Group(_span(24, 27), (), "V3", "K2", "X2", "G2", 1, _A, False, (-50, -44)),
    "l": Group(_span(28, 31), (), "V4", "K2", "X2", "G3", 2, _A, False, (-42, -36)),
    "m": Group(_span(32, 35), (33,), "V4", "K2", "X3", "G3", 1, _A, False, (-34, -28)),
    "n": Group(_span(36, 38), (), "V5", "K2", "X3", "G3", 2, _A, False, (-26, -20)),
    "o": Group(_span(39, 41), (), "V5", "K2", "X3", "G4", 1, _B, True, (-16, -12)),
    "p": Group((42,), (), "V5", "K3", "X3", "G4", 1, _A, True, (-9, -9)),
    "q": Group(_span(43, 45), (), "V5", "K3", "X4", "G4", 2, _B, True, (-8, -5)),
    "r": Group((49, 52), (), "V7", "K3", "X4", "G5", 2, _B, True, (-4, -3)),
    "s": Group((55, 57), (), "V7", "K4", "X4", "G5", 1, _B, True, (-3, -2)),
    "t": Group((59, 61), (), "V7", "K4", "X5", "G5", 2, _B, False, (-2, -2)),
    "u": Group((62, 64), (), "V7", "K4", "X5", "G6", 2, _B, False, (-1, -1)),
}
# The last hull of V6: on the tool, not yet demoulded at the anchor, so in no group.
LAST = Group((65,), (), "V6", "K4", "X4", "G5", 2, _B, True, (-1, -1))
NOT_MEASURED = 63

# hull: (customer, days before the anchor on which it was shipped); the other hulls of V6 are in the yard.
V6_SHIPPED = {46: ("Lunn", 24), 47: ("Lunn", 20), 48: ("Brae", 19), 50: ("Brae", 13), 51: ("Skerrow", 12), 53: ("P-07", 6)}
IN_YARD = {54: "FIN", 56: "FIN", 58: "FIN", 60: "STOCK", 63: "STOCK"}
CREW = {_A: "Bram", _B: "Tove"}


@dataclass(frozen=True, slots=True)
class Hull:
    """One hull: `day` is when it was infused, in days before (negative) the anchor."""

    number: int
    group: Group
    day: int

    @property
    def mark(self) -> str:
        return f"CAN-{self.number:03d}"

    @property
    def soft(self) -> bool:
        return self.number in self.group.soft

    @property
    def builder(self) -> str:
        return CREW[self.group.crew]

    @property
    def bay(self) -> str:
        """V7 runs beside V6, in the other bay."""
        return "BAY1" if self.group.resin == "V7" else "BAY2"

    @property
    def temp_mc(self) -> int:
        """The bay when the pots were mixed; cold is below 19.5 °C, and 18 °C is the least."""
        spread = (self.number * 37) % 10 * 100
        return 18_300 + spread if self.group.cold else 20_600 + spread * 2


# Weekdays (Monday 0) of the infusion where a week has several hulls; the second hull of a day is in the other bay.
_DAYS = {
    47: 1,
    48: 3,
    49: 1,
    50: 1,
    51: 3,
    52: 1,
    53: 1,
    54: 2,
    55: 3,
    56: 3,
    57: 1,
    58: 1,
    59: 2,
    60: 2,
    61: 3,
    62: 0,
    63: 4,
    64: 2,
    65: 4,
}


def hulls() -> list[Hull]:
    """All sixty-five, in the order of their numbers."""
    out = []
    for group in (*GROUPS.values(), LAST):
        first, last = group.weeks
        for place, number in enumerate(group.numbers):
            week = first + (last - first) * place // max(len(group.numbers) - 1, 1)
            out.append(Hull(number, group, 7 * week + _DAYS.get(number, 2 + number % 2)))
    return sorted(out, key=lambda h: h.number)
