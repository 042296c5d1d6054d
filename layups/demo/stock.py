"""Deliveries that the story names: the hulls' lots, the drums of the day tank, the peroxide, and the opening stock."""

from __future__ import annotations

from inventory.verbs import releasing

from .arrivals import Arrival, opening_stock
from .hands import KG, Hands, M, minutes, said
from .packs import PACKS, SHEET
from .script import code_of
from .supply import FIRST_DAY, Shelf

# material, lot, ((piece, quantity), …): 23 part-used or full pieces that stood there on the first day
OPENING: tuple[tuple[str, str, tuple[tuple[str, int], ...]], ...] = (
    ("VE-I", "V1", (("V1-1", 171 * KG),)),
    ("PE-L", "P1", (("PE-1", 206 * KG),)),
    ("CORE-80", "K0", (("K0-1", 14 * SHEET),)),
    ("CORE-80", "K1", (("K1-1", 12 * SHEET), ("K1-2", 30 * SHEET), ("K1-3", 30 * SHEET))),
    ("GB-600", "G0", (("G0-1", 68 * M),)),
    ("GB-600", "G1", (("G1-1", 46 * M), ("G1-2", 100 * M), ("G1-3", 100 * M))),
    ("MEKP", "X1", (("X1-1", 4 * KG), ("X1-2", 5 * KG))),
    ("GC-W", "GC100", (("GC100-1", 18 * KG),)),
    ("CSM-300", "C100", (("C100-1", 53 * M),)),
    ("FA-B", "FA100", (("FA100-1", 18 * M),)),
    ("CS-F", "CS100", (("CS100-1", 20),)),
    ("LAM-A", "LA100", (("LA100-1", 17 * KG),)),
    ("LAM-B", "LB100", (("LB100-1", 4 * KG),)),
    ("INF-A", "IA100", (("IA100-1", 13 * KG),)),
    ("INF-B", "IB100", (("IB100-1", 5 * KG),)),
    ("WND-A", "WA100", (("WA100-1", 31 * KG),)),
    ("WND-B", "WB100", (("WB100-1", 3 * KG),)),
    ("CT-204", "CT100", (("CT100-1", 20 * M),)),
)
# four rolls of prepreg whose out time nobody knows: (material, lot, roll, length, what quality takes it to have used)
UNKNOWN = (
    ("PP-T", "T100", "T100-1", 38 * M, "120 h"),
    ("PP-T", "T99", "T99-1", 21 * M, "160 h"),
    ("PP-U", "U100", "U100-1", 56 * M, "30 h"),
    ("PP-U", "U99", "U99-1", 31 * M, "40 h"),
)
# material, lot, day, marks, what its papers say otherwise
NAMED: tuple[tuple[str, str, int, tuple[str, ...], dict[str, str]], ...] = (
    ("VE-I", "V2", -470, ("V2-1",), {}),
    ("VE-I", "V3", -402, ("V3-1",), {}),
    ("VE-I", "V4", -296, ("V4-1",), {}),
    ("VE-I", "V5", -186, ("V5-1",), {}),
    ("VE-I", "V6", -45, ("V6-1",), {"gel": "41.6", "viscosity": "228", "styrene": "43.8"}),
    ("VE-I", "V7", -31, ("V7-1",), {}),
    ("CORE-80", "K2", -353, ("K2-1", "K2-2"), {}),
    ("CORE-80", "K3", -66, ("K3-1", "K3-2"), {}),
    ("CORE-80", "K4", -24, ("K4-1",), {}),
    ("GB-600", "G2", -428, ("G2-1", "G2-2", "G2-3"), {}),
    ("GB-600", "G3", -297, ("G3-1", "G3-2"), {}),
    ("GB-600", "G4", -121, ("G4-1", "G4-2"), {}),
    ("GB-600", "G5", -45, ("G5-1", "G5-2", "G5-3"), {}),
    ("GB-600", "G6", -17, ("G6-1",), {}),
    ("PE-L", "P2", -398, ("PE-2",), {}),
    ("PE-L", "P3", -254, ("PE-3",), {}),
    ("PE-L", "P4", -145, ("PE-4",), {}),
    ("PE-L", "P5", -99, ("PE-5",), {}),
    ("PE-L", "P6", -84, ("PE-6",), {}),
    ("PE-L", "P8", -45, ("PE-8",), {}),
    ("MEKP", "X2", -432, ("X2-1", "X2-2", "X2-3"), {}),
    ("MEKP", "X3", -255, ("X3-1", "X3-2"), {}),
    ("MEKP", "X4", -108, ("X4-1", "X4-2", "X4-3", "X4"), {}),
    ("MEKP", "X5", -20, ("X5-1", "X5"), {}),
)
# what is left of a lot is binned on a day: material, lot, day
OVER = (
    ("VE-I", "V1", -466), ("VE-I", "V2", -400), ("VE-I", "V3", -300), ("VE-I", "V4", -186), ("VE-I", "V5", -28),
    ("PE-L", "P1", -396), ("PE-L", "P2", -252), ("PE-L", "P3", -135), ("PE-L", "P4", -90), ("PE-L", "P5", -70), ("PE-L", "P6", -10),
    ("MEKP", "X1", -428), ("MEKP", "X2", -240), ("MEKP", "X3", -15),
    ("GB-600", "G1", -420), ("GB-600", "G2", -300), ("GB-600", "G3", -118), ("GB-600", "G4", -9),
    ("CORE-80", "K1", -340), ("CORE-80", "K2", -62), ("CORE-80", "K3", -8),
)  # fmt: skip
LONG = 800
# what the storekeeper clears away in the last weeks: material, day, and how much is worth keeping
TIDY = (
    ("PP-T", -6, 50 * M), ("PP-U", -6, 60 * M), ("FA-B", -50, 25 * M), ("CSM-300", -10, 13 * M),
    ("CT-204", -20, 6_200_000), ("GC-W", -2, 4_600_000_000),
    ("PH-R", -95, 21 * KG), ("PH-C", -95, 3 * KG), ("LAM-B", -12, 6 * KG), ("GB-600", -9, 9 * M),
    ("BALSA-150", -95, 744_200_000), ("TOW-12K", -10, 4_250 * M),
)  # fmt: skip


def opening(hands: Hands, shelf: Shelf) -> None:
    """The first day: what stood there is entered, and quality gives unknown rolls a starting value."""
    for n, (material, lot, pieces) in enumerate(OPENING):
        clock = f"{6 + n // 12:02d}:{5 * (n % 12):02d}"
        opened = hands.anchor.text(FIRST_DAY - 15) if material.endswith("-B") and material != "FA-B" else ""
        values = {"made": hands.anchor.text(FIRST_DAY - 40)} if opened else {}
        if material == "MEKP":
            values["printed"] = hands.anchor.text(-380)[:7]
        opening_stock(hands, Arrival(material, lot, FIRST_DAY, pieces, values, clock, opened=opened))
        for mark, qty in pieces:
            keep = min(PACKS[material].keep, 70) if material.endswith("-B") else PACKS[material].keep
            shelf.stock(material, lot, mark, qty, hands.at(FIRST_DAY + keep, "18:00"))
    for n, (material, lot, mark, qty, used) in enumerate(UNKNOWN):
        arrival = Arrival(material, lot, FIRST_DAY, ((mark, qty),), {}, f"08:{10 * n:02d}")
        opening_stock(hands, arrival, known=False)
        at = hands.at(FIRST_DAY + 1, "09:00") + minutes(n)
        hands.baseline(at, mark, used, "feel and tack of a test ply, and the freezer's paper list")
        hands.call(at + minutes(30), "Odile", "release", releasing.Release((code_of(mark),), reason="starting value set"), lot)
        shelf.stock(material, lot, mark, qty, hands.at(FIRST_DAY + 110, "18:00"))


def named_deliveries(hands: Hands, shelf: Shelf) -> None:
    for material, lot, day, marks, values in NAMED:
        papers = dict(values)
        if material == "MEKP":
            last = {"X4": 1, "X5": 160}.get(lot, day + 330)
            papers["printed"] = hands.anchor.text(last)[:7]
        shelf.deliver(material, lot, day, marks, **papers)
        for piece in shelf.pieces[material]:
            if piece.lot == lot:
                piece.until = hands.at(day + LONG, "18:00")


def bin_the_rest(hands: Hands, shelf: Shelf) -> None:
    for material, lot, day in OVER:
        left = [p for p in shelf.pieces[material] if p.lot == lot]
        for piece in left:
            shelf.pieces[material].remove(piece)
            if piece.left:
                cause = "rest made safe" if material == "MEKP" else "too little or too old to use"
                hands.scrap(hands.at(day, "15:30"), "Ines", piece.mark, cause)


def tidy(hands: Hands, shelf: Shelf) -> None:
    """Short ends, and what has ended or ends soon."""
    for material, day, least in TIDY:
        for piece in list(shelf.pieces[material]):
            if piece.left < least:
                shelf.pieces[material].remove(piece)
                if piece.left:
                    hands.scrap(hands.at(day, "15:40"), "Ines", piece.mark, "short end or past its date")


def settle_peroxide(hands: Hands, shelf: Shelf) -> None:
    """What is left in the cabinet on the last Friday: 1.5 kg of X4, and one can of X5 that nobody has opened."""
    at = hands.at(-3, "15:00")
    for piece in list(shelf.pieces["MEKP"]):
        if piece.mark == "X4":
            hands.use(at, "Bram", piece.mark, said(piece.left - 1_500_000_000, "ug"), "test", "gel cups of the season's resins")
            piece.left = 1_500_000_000
        elif piece.mark != "X5" and piece.left:
            hands.scrap(at, "Ines", piece.mark, "rest made safe")
            shelf.pieces["MEKP"].remove(piece)
