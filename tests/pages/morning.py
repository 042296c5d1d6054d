"""The state of the yard at 07:00 on the Monday of the worked days, as far as the storekeeper's day needs it."""

from __future__ import annotations

from inventory.verbs import cutting, moving
from layups.demo.anchor import DAY_US, HOUR_US

from .store import Store

M, G, KG, M2 = 10**6, 10**6, 10**9, 10**8


def morning() -> Store:
    """The common fixture: rolls left out, thawing, ending, arriving, to reorder."""
    s = Store()
    prepreg(s)
    film(s)
    dry(s)
    liquids(s)
    expected(s)
    return s


def prepreg(s: Store) -> None:
    fetched = s.at(-60, "09:00")
    u_made, t_made = s.at(-105, "00:00"), s.yard.anchor.at(-175, "00:00")
    s.stock("U-3", "PP-U", 41_500_000, "F1", fetched, lot="U25-118", made_us=u_made, out_us=52 * HOUR_US)
    s.stock("U-4", "PP-U", 36_000_000, "F1", fetched + 1, lot="U25-118", made_us=u_made, out_us=3 * HOUR_US)
    s.stock("T-2", "PP-T", 24_600_000, "F1", fetched + 2, lot="T25-090", made_us=t_made, out_us=31 * HOUR_US)
    s.stock("T-4", "PP-T", 50 * M, "F1", fetched + 3, lot="T26-014", made_us=s.at(-70, "00:00"))
    s.stock("T-6", "PP-T", 50 * M, "F1", fetched + 4, lot="T26-014")
    friday = -3
    s.do(s.at(friday, "06:00"), "Ines", "move", moving.Move("U-4", "CLEAN", s.at(friday, "17:00")))
    kit = cutting.CutKit("U-4", "3.00 m", "0.80 m²", "K-31", job="RUD-073", plies=(1, 2, 3, 4, 5, 6))
    s.do(s.at(friday, "14:00"), "Ines", "cut_kit", kit)
    s.do(s.at(friday, "15:10"), "Ines", "move", moving.Move("U-4", "F1"))
    s.do(s.at(friday, "15:10", 1), "Ines", "move", moving.Move("K-31", "F1"))
    s.do(s.at(friday, "16:30"), "Bram", "move", moving.Move("U-3", "CLEAN", s.at(friday, "17:30")))
    s.do(s.at(-1, "19:00"), "Ines", "move", moving.Move("T-2", "CLEAN", s.at(0, "17:00")))
    s.do(s.at(0, "06:30"), "Ines", "move", moving.Move("T-4", "CLEAN", s.at(0, "17:00")))


def early(s: Store) -> None:
    """What happens between 07:00 and the morning list at 07:30."""
    s.do(s.at(0, "07:15"), "Bram", "move", moving.Move("K-31", "CLEAN", s.at(0, "17:00")))
    s.do(s.at(0, "07:15", 1), "Bram", "move", moving.Move("FK-12", "CLEAN", s.at(0, "17:00")))
    s.do(s.at(0, "07:30"), "Ines", "move", moving.Move("T-6", "CLEAN", s.at(0, "17:00")))


def film(s: Store) -> None:
    at, made = s.at(-150, "09:00"), s.at(-181, "00:00")  # 30 September 2025
    for n, (mark, left) in enumerate((("FA-9-1", 11_800_000), ("FA-9-2", 25 * M))):
        s.stock(mark, "FA-B", left, "F2", at + n, lot="FA-9", made_us=made)
    s.do(s.at(-4, "06:00"), "Ines", "move", moving.Move("FA-9-1", "CLEAN", s.at(-4, "17:00")))
    s.do(s.at(-4, "10:00"), "Ines", "open", moving.Open("FA-9-1", True))
    s.do(s.at(-4, "12:30"), "Ines", "cut_kit", cutting.CutKit("FA-9-1", "0.80 m", "0.80 m²", "FK-12"))
    s.do(s.at(-4, "12:31"), "Ines", "move", moving.Move("FA-9-1", "F2"))
    s.do(s.at(-3, "00:30"), "Ines", "move", moving.Move("FK-12", "F2"))


def dry(s: Store) -> None:
    at = s.at(-40, "10:00")
    s.stock("C-12", "CT-204", 18_400_000, "RACK", at, lot="CT-88", core_ug=1_600 * G)
    s.stock("C-13", "CT-204", 48 * M, "RACK", at + 1, lot="CT-91", core_ug=1_600 * G)
    ticket = [[31 * M, 31_400_000, "bad"], [72 * M, 72 * M, "splice"]]
    s.stock("G6-4", "GB-600", 100 * M, "RACK", at + 2, lot="G6", marks=ticket)
    s.stock("CO-1", "CU-300", 50 * M, "RACK", at + 3, lot="CU-7", owner="Ferrel")
    s.stock("PEEL-1", "PEEL-85", 38 * M, "RACK", at + 4, lot="PL-3")


def liquids(s: Store) -> None:
    at = s.at(-30, "10:00")
    s.stock("LA-7", "LAM-A", 12_400 * G, "RS", at, "can", lot="LA-7")
    s.stock("LB-5", "LAM-B", 3_100 * G, "RS", at + 1, "can", lot="LB-5", opened_us=s.at(-20, "10:00"))
    s.stock("PE-8", "PE-L", 140 * KG, "RS", at + 2, "drum", lot="PE-8")
    s.stock("X4", "MEKP", 1_500 * G, "PX", at + 3, "can", lot="X4", printed_us=s.at(2, "00:00"))
    s.stock("X5", "MEKP", 5 * KG, "PX", at + 4, "can", lot="X5", printed_us=s.at(100, "00:00"))
    s.stock("CB-2", "CO-6", 800 * G, "AC", at + 5, "can", lot="CB-2")


def expected(s: Store) -> None:
    s.expect("D-118", "GB-600", 0, lot_number="G7", expected_pieces=3, expected_qty=300 * M, order_number="PO 2287")
    s.expect("D-119", "PP-T", 0, lot_number="T26-031", expected_pieces=2, expected_qty=100 * M, order_number="PO 2288")
    s.expect("D-120", "MEKP", 0, lot_number="X6", expected_pieces=4, expected_qty=20 * KG, order_number="PO 2289")
    s.expect("D-121", "PEEL-85", 2, expected_pieces=1, expected_qty=100 * M, order_number="PO 2291", price="212.00 EUR")


__all__ = ["DAY_US", "early", "morning"]
