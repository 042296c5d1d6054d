"""What a delivery of each material looks like: packs, where they are put, how long they are kept in use, and their papers."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from .hands import KG, M

SHEET = 236_500_000


@dataclass(frozen=True, slots=True)
class Pack:
    """`qty` of one piece, `pieces` of a delivery, `keep` days of use after the delivery, made `age` days before it,
    printed with a last day `printed` days after it (0: none printed)."""

    supplier: str
    prefix: str
    kind: str
    qty: int
    pieces: int
    place: str
    keep: int = 700
    age: int = 12
    printed: int = 0
    papers: tuple[tuple[str, str, str], ...] = ()  # name, least, most: what the papers state lies between


PACKS: dict[str, Pack] = {
    "GB-600": Pack("Aldervane", "G", "roll", 100 * M, 3, "RACK",
        papers=(("areal mass", "590", "612"), ("moisture", "0.05", "0.12"), ("size", "0.55", "0.75"))),
    "CSM-300": Pack("Aldervane", "C", "roll", 80 * M, 3, "RACK", papers=(("areal mass", "285", "312"),)),
    "CT-204": Pack("Aldervane", "CT", "roll", 50 * M, 2, "RACK", papers=(("areal mass", "200", "208"),)),
    "TOW-12K": Pack("Tow", "TW", "box", 40_000 * M, 2, "DRY",
        papers=(("linear density", "792", "808"), ("density", "1.79", "1.81"), ("strength", "4800", "5100"))),
    "ROV-2400": Pack("Tow", "RV", "box", 40 * 8_333 * M, 1, "RACK", papers=(("linear density", "2340", "2460"),)),
    "CORE-80": Pack("Pellmoor", "K", "box", 30 * SHEET, 2, "RACK", papers=(("density", "76", "84"),)),
    "BALSA-150": Pack("Pellmoor", "BL", "box", 7_442_000 * 100, 1, "DRY", papers=(("moisture", "8.0", "11.0"),)),
    "PP-T": Pack("Kestrow", "T", "roll", 50 * M, 1, "F2", keep=300, age=10,
        papers=(("areal mass", "200", "208"), ("resin", "41.0", "43.0"))),
    "PP-U": Pack("Kestrow", "U", "roll", 60 * M, 1, "F2", keep=120, age=8,
        papers=(("areal mass", "147", "153"), ("resin", "35.0", "37.0"))),
    "FA-B": Pack("Kestrow", "FA", "roll", 25 * M, 1, "F2", keep=150, age=8, papers=(("lap shear", "24.0", "27.5"),)),
    "CS-F": Pack("Kestrow", "CS", "box", 24, 1, "F2", keep=150, age=8, papers=(("expansion", "1.9", "2.3"),)),
    "LAM-A": Pack("Orrisby", "LA", "can", 20 * KG, 1, "RS", papers=(("EEW", "188", "192"),)),
    "LAM-B": Pack("Orrisby", "LB", "can", 5 * KG, 1, "RS", keep=85, papers=(("amine value", "480", "500"),)),
    "INF-A": Pack("Orrisby", "IA", "can", 20 * KG, 2, "RS", papers=(("EEW", "178", "182"),)),
    "INF-B": Pack("Orrisby", "IB", "can", 6 * KG, 2, "RS", keep=85, papers=(("amine value", "460", "480"),)),
    "WND-A": Pack("Orrisby", "WA", "drum", 50 * KG, 1, "RS", papers=(("EEW", "183", "187"),)),
    "WND-B": Pack("Orrisby", "WB", "can", 4 * KG, 2, "RS", keep=85, papers=(("amine value", "440", "460"),)),
    "VE-I": Pack("Orrisby", "V", "drum", 225 * KG, 1, "RS", keep=110,
        papers=(("gel", "31.0", "36.0"), ("viscosity", "205", "225"), ("styrene", "42.0", "43.5"))),
    "PE-L": Pack("Orrisby", "P", "drum", 225 * KG, 1, "RS", keep=165, papers=(("gel", "19.0", "23.0"), ("viscosity", "380", "420"))),
    "GC-W": Pack("Orrisby", "GC", "can", 25 * KG, 4, "RS", keep=165, papers=(("gel", "9.0", "12.5"), ("hiding", "0.40", "0.45"))),
    "PH-R": Pack("Orrisby", "PR", "can", 20 * KG, 1, "FR", keep=75, papers=(("viscosity", "700", "900"), ("water", "6.0", "8.0"))),
    "PH-C": Pack("Orrisby", "PC", "can", 2 * KG, 1, "FR"),
    "MEKP": Pack("Tarnfold", "X", "can", 5 * KG, 2, "PX", keep=150, printed=170, papers=(("active oxygen", "8.95", "9.05"),)),
    "CU-300": Pack("Aldervane", "CU", "roll", 50 * M, 1, "RACK", papers=(("areal mass", "295", "305"),)),
    "CO-6": Pack("Tarnfold", "CB", "can", KG, 1, "AC"),
    "PU-B": Pack("Orrisby", "UB", "can", 5 * KG, 1, "RS", papers=(("NCO", "30.8", "31.6"),)),
    "TPT": Pack("Kestrow", "TP", "roll", 300 * M, 1, "DRY", papers=(("resin", "38.0", "41.0"), ("moisture", "0.10", "0.20"))),
    "BAG": Pack("Hask", "VB", "box", 40, 1, "RACK"),
    "MESH": Pack("Hask", "ME", "box", 40, 1, "RACK"),
    "PEEL-85": Pack("Hask", "PL", "roll", 100 * M, 1, "RACK"),
}  # fmt: skip


def value_of(name: str, least: str, most: str, lot: str) -> str:
    """What the papers of a lot state: somewhere between, and always the same for this lot."""
    places = len(least.partition(".")[2])
    low, high = (round(float(t) * 10**places) for t in (least, most))
    draw = int.from_bytes(hashlib.sha256(f"{lot} {name}".encode()).digest()[:4], "big")
    figure = low + draw % (high - low + 1)
    return f"{figure / 10**places:.{places}f}"
