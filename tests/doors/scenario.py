"""One Monday of the yard as a table: who does what at which minute, and which reasons stand against it.

The table names codes and marks only, so that every door can say the same thing in its own words. (One mark holds a slash,
as suppliers write them: it has no address of its own.)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.counting import Count, Scrap, UseOtherwise
from inventory.verbs.cutting import CutKit
from inventory.verbs.mixing import Component, Measure, Mix
from inventory.verbs.moving import Move, Open
from inventory.verbs.papers import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.releasing import Release
from layups.verbs.laying import Lay
from layups.verbs.starting import StartPart


@dataclass(frozen=True, slots=True)
class Step:
    """`against`: the codes of every reason of a refusal, empty where it is accepted. `at`: by the yard's clock."""

    at: str
    who: str
    verb: str
    params: Any
    against: frozenset[str] = frozenset()


def no(*codes: str) -> frozenset[str]:
    return frozenset(codes)


def came(delivery: str, material: str, supplier: str, place: str, lot: str, mark: str, quantity: str, made: str = "") -> Receive:
    pieces = (ReceivedPiece(quantity, mark),)
    return Receive(delivery, (ReceivedLot(lot, pieces, made),), supplier, material, place)


def papers(lot: str, *values: tuple[str, ...]) -> Certify:
    return Certify(lot, tuple(PaperValue(*value) for value in values))


def pot(mark: str, resin: str, hardener: str) -> Mix:
    return Mix((Component("LA-7", resin), Component("LB-5", hardener)), "BAY1", mark=mark)


MONDAY = (
    Step("06:00", "Ines", "receive", came("D-118", "GB-600", "Aldervane Weavers", "RACK", "G7", "G7/1", "100.00 m")),
    Step("06:02", "Ines", "receive", came("D-119", "PP-T", "Kestrow Prepreg", "F1", "T26-031", "T-7", "50 m", "2026-03-02")),
    Step("06:04", "Ines", "receive", came("D-120", "LAM-A", "Orrisby Resin Works", "RS", "A41", "LA-7", "12.40 kg", "2026-01-12")),
    Step("06:06", "Ines", "receive", came("D-121", "LAM-B", "Orrisby Resin Works", "RS", "B12", "LB-5", "3.10 kg", "2026-01-12")),
    Step(
        "06:08", "Ines", "receive", came("D-122", "GB-600", "Aldervane Weavers", "RACK", "G7", "G7/1", "100.00 m"), no("receive.mark_taken")
    ),
    Step("06:10", "Odile", "certify", papers("G7", ("areal mass", "602"))),
    Step("06:12", "Odile", "release", Release(("G7/1",)), no("certificate.missing")),
    Step("06:20", "Odile", "certify", papers("G7", ("moisture", "0.10"), ("size", "0.7"))),
    Step("06:21", "Odile", "certify", papers("T26-031", ("areal mass", "203", "T-7"), ("resin", "42.1", "T-7"))),
    Step("06:22", "Odile", "certify", papers("A41", ("EEW", "190"))),
    Step("06:23", "Odile", "certify", papers("B12", ("amine value", "480"))),
    Step("06:25", "Ines", "release", Release(("G7/1",)), no("role.not_allowed")),
    Step("06:26", "Ines", "cut_kit", CutKit("G7/1", "2.00 m", mark="K-0"), no("block.incoming")),
    Step("06:27", "Ines", "use", UseOtherwise("G7/1", "101 m", "panel"), no("block.incoming", "stock.not_enough")),
    Step("06:30", "Odile", "release", Release(("G7/1", "T-7", "LA-7", "LB-5"), evidence="papers on file")),
    Step("06:35", "Bram", "move", Move("T-7", "CLEAN")),
    Step("06:36", "Vera", "move", Move("T-7", "F1"), no("role.not_allowed")),
    Step("06:37", "Ines", "move", Move("LB-5", "PX"), no("place.takes_only", "place.never_together")),
    Step("10:35", "Ines", "cut_kit", CutKit("T-7", "0.40 m", mark="K-1"), no("thaw.short")),
    Step("10:36", "Ines", "open", Open("T-7", dry=True), no("thaw.short")),
    Step("18:35", "Ines", "open", Open("T-7"), no("thaw.bag_unasked")),
    Step("18:36", "Ines", "open", Open("T-7", dry=True)),
    Step("18:40", "Ines", "count", Count("T-7", "49.50 m")),
    Step("18:45", "Ines", "cut_kit", CutKit("T-7", "0.40 m", mark="K-1", job="TIL-020", plies=(1,))),
    Step("18:46", "Ines", "move", Move("T-7", "F1")),
    Step("18:50", "Bram", "measure", Measure("BAY1", "21.0")),
    Step("18:52", "Bram", "mix", pot("M-1", "440.0 g", "90.0 g"), no("mix.ratio_low")),
    Step("18:53", "Bram", "mix", pot("M-1", "440.0 g", "110.0 g")),
    Step("18:55", "Bram", "start_part", StartPart("REP", "REP-019", "BAY1")),
    Step("18:56", "Bram", "start_part", StartPart("TIL", "TIL-020", "CLEAN")),
    Step("18:57", "Bram", "start_part", StartPart("REP", "REP-019", "BAY2"), no("part.number_taken")),
    Step("18:58", "Bram", "lay", Lay("G7/1", "REP-019")),
    Step("18:59", "Bram", "lay", Lay("K-1", "REP-019"), no("reserved.other", "ply.none_fits")),
    Step("19:00", "Bram", "lay", Lay("M-1", "REP-019", qty="500 g")),
    Step("19:01", "Bram", "lay", Lay("K-1", "TIL-020", dry=True)),
    Step("19:05", "Bram", "scrap", Scrap("M-1", "left over in the pot")),
    Step("19:06", "Bram", "scrap", Scrap("M-1", "left over in the pot", "1 g"), no("stock.gone", "stock.not_enough")),
)
