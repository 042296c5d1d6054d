"""The things that everybody in the yard knows by name on the Monday of the anchor, and the state they are in at 07:30.

`alone` makes them without the history around them: what the history builds into parts is then used for panels, so that
lengths, masses and hours are the same."""

from __future__ import annotations

from datetime import timedelta

from inventory.core.spans import add_months
from inventory.verbs import expecting
from inventory.verbs.receiving import RollMark

from .arrivals import Arrival, arrive
from .hands import KG, G, Hands, M, minutes, said
from .limits import tighten_pp_u
from .master import Yard

TACK_FROM = -110
"""From this day on, PP-U that arrives has a tack life of 72 h."""
OUT_OF_TACK = (-126, -123)
FITTINGS = (-18, -12, -8, -5)
"""Days on which laminating epoxy was mixed for fittings."""
BONDED = (1_790 * G, 447_500_000)


def half_year_before(hands: Hands) -> int:
    """The day of manufacture of film whose six months end on the anchor itself (or, where the calendar has no such day, on
    the day after)."""
    monday = hands.anchor.monday
    made = add_months(monday, -6)
    while add_months(made, 6) < monday:
        made += timedelta(days=1)
    return (made - monday).days


def named_things(hands: Hands) -> None:
    """Deliveries of what has a name."""
    day = hands.anchor.text
    arrive(hands, Arrival("PP-U", "U25-11", -160, (("U-2", 60 * M),), {"made": day(-165)}, place="F1"))
    hands.script.do(hands.at(TACK_FROM, "07:00"), lambda: tighten_pp_u(hands.yard.material["PP-U"]))
    arrive(hands, Arrival("PP-T", "T25-19", -110, (("T-2", 50 * M),), {"made": day(-175)}, place="F1"))
    arrive(hands, Arrival("FA-B", "FA-9", -100, (("FA-9-1", 25 * M), ("FA-9-2", 25 * M)), {"made": day(half_year_before(hands))}))
    arrive(hands, Arrival("PP-U", "U25-12", -98, (("U-3", 60 * M),), {"made": day(-105)}, place="F1"))
    arrive(hands, Arrival("PP-U", "U26-02", -30, (("U-4", 39_600_000),), {"made": day(-36)}, place="F1", out_time="2 h 00"))
    arrive(hands, Arrival("PP-T", "T26-014", -26, (("T-4", 50 * M), ("T-6", 50 * M)), {"made": day(-33)}, place="F1"))
    arrive(hands, Arrival("CT-204", "CT26-3", -70, (("C-12", 50 * M), ("C-13", 50 * M))))
    arrive(hands, Arrival("CU-300", "CU26-1", -11, (("CO-1", 40 * M),), owner="Ferrel"))
    marks = {"G6-4": (RollMark("bad", "31.0 m", "31.4 m"), RollMark("splice", "72.0 m"))}
    arrive(hands, Arrival("GB-600", "G6", -16, (("G6-4", 100 * M),), {"made": day(-29)}, number="D-G6-4", marks=marks))
    arrive(hands, Arrival("LAM-A", "LA26-1", -25, (("LA-7", 20 * KG),)))
    arrive(hands, Arrival("LAM-B", "LB26-1", -25, (("LB-5", 5 * KG),)))
    hands.open(hands.at(-20, "08:00"), "Bram", "LB-5")
    arrive(hands, Arrival("CO-6", "CB-2", -60, (("CB-2", KG),)))
    hands.use(hands.at(-41, "10:00"), "Bram", "CB-2", "200 g", "test", "promoting a trial batch")
    arrive(hands, Arrival("PEEL-85", "PL25-4", -120, (("PL-4", 100 * M),)))
    hands.count(hands.at(-3, "14:30"), "Ines", "PL-4", "38 m", exact=True)


def unusual_hours(hands: Hands) -> None:
    """Time out that has nothing to do with building."""
    h = hands
    h.move(h.at(OUT_OF_TACK[0], "17:00"), "Bram", "U-2", "CLEAN", h.at(OUT_OF_TACK[0], "18:00"), exact=True)
    h.move(h.at(OUT_OF_TACK[1], "09:00"), "Ines", "U-2", "F1", exact=True)
    h.move(h.at(-60, "16:00"), "Ines", "U-2", "CLEAN", h.at(-59, "10:00"), exact=True)
    h.use(h.at(-59, "08:00"), "Bram", "U-2", "2.00 m", "panel", "coupons")
    h.move(h.at(-59, "10:00"), "Ines", "U-2", "F1", exact=True)
    h.move(h.at(-10, "07:00"), "Ines", "U-3", "CLEAN", h.at(-10, "17:00"), exact=True)
    h.use(h.at(-10, "16:00"), "Tove", "U-3", "5.30 m", "panel", "coupons for the surveyor")
    h.move(h.at(-10, "17:00"), "Ines", "U-3", "F1", exact=True)
    h.use(h.at(-21, "09:50"), "Bram", "T-2", "3.40 m", "panel", "coupons for the surveyor")
    h.use(h.at(-21, "10:45"), "Bram", "FA-9-1", "6.40 m", "test", "lap shear coupons and a bulkhead trial")
    h.kit(h.at(-85, "10:45"), "Tove", "FA-9-1", "0.40 m", "FK-12")
    h.move(h.at(-85, "13:30"), "Ines", "FK-12", "F1", exact=True)
    h.use(h.at(-65, "10:00"), "Bram", "C-12", "0.60 m", "sample", "retained")
    h.use(h.at(-28, "10:00"), "Bram", "C-13", "2.00 m", "panel", "permeability trial")
    for day in FITTINGS:
        name = f"fittings {-day}"
        h.mix(h.at(day, "13:00"), "Bram", "LAM", name, [("LA-7", BONDED[0]), ("LB-5", BONDED[1])], "BAY1", 21_000)
        h.use(h.at(day, "13:10"), "Bram", name, said(sum(BONDED), "ug"), "other", "fittings bonded")


def friday_to_monday(hands: Hands) -> None:
    """The last days: K-31 cut on Friday, U-3 forgotten, and what was taken out for Monday."""
    h = hands
    h.move(h.at(-3, "05:00"), "Ines", "U-4", "CLEAN", h.at(-3, "15:30"), exact=True)
    h.kit(h.at(-3, "14:00"), "Bram", "U-4", "6.60 m", "K-31", "RUD-073", plies=range(1, 7), exact=True)
    h.move(h.at(-3, "15:10"), "Ines", "U-4", "F1", exact=True)
    h.move(h.at(-3, "15:10"), "Ines", "K-31", "F1", exact=True)
    h.move(h.at(-3, "16:30"), "Bram", "U-3", "CLEAN", h.at(-3, "17:30"), exact=True)
    h.move(h.at(-1, "19:00"), "Ines", "T-2", "CLEAN", h.at(0, "18:00"), exact=True)
    h.move(h.at(0, "06:30"), "Ines", "T-4", "CLEAN", h.at(0, "18:00"), exact=True)
    h.move(h.at(0, "07:15"), "Ines", "K-31", "CLEAN", h.at(0, "17:00"), exact=True)
    h.move(h.at(0, "07:15"), "Ines", "FK-12", "CLEAN", h.at(0, "17:00"), exact=True)
    h.move(h.at(0, "07:30"), "Ines", "T-6", "CLEAN", h.at(0, "20:00"), exact=True)


def open_work(hands: Hands) -> None:
    """Jobs that are begun and wait for material, and deliveries that are due; the clean room as its logger has it."""
    h = hands
    h.measure(h.at(0, "07:20"), "CLEAN", 21_000, "45")
    h.start(h.at(-3, "15:20"), "Bram", "RUD", "RUD-073", "CLEAN", "Skerrow", planned=h.at(0, "17:00"))
    h.start(h.at(-3, "15:22"), "Bram", "RUD", "RUD-074", "CLEAN", planned=h.at(0, "17:00"))
    h.start(h.at(-3, "15:24"), "Bram", "DAG", "DAG-041", "CLEAN")
    h.start(h.at(-3, "15:26"), "Bram", "REP", "REP-019", "BAY1", "Lunn")
    h.start(h.at(-3, "15:28"), "Bram", "REP", "REP-020", "BAY1", "P-11")
    h.start(h.at(-3, "15:32"), "Bram", "CAN", "CAN-066", "BAY2")
    day = h.anchor.text
    for number, material, supplier, quantity, pieces, due, order, lot in (
        ("D-118", "GB-600", "Aldervane", "300 m", 3, 0, "PO 2280", "G7"),
        ("D-119", "PP-T", "Kestrow", "100 m", 2, 0, "PO 2286", "T26-031"),
        ("D-120", "MEKP", "Tarnfold", "20 kg", 4, 0, "PO 2288", "X6"),
        ("D-124", "PEEL-85", "Hask", "100 m", 1, 2, "PO 2291", ""),
    ):
        name = h.yard.supplier[supplier].name
        params = expecting.Expect(number, material, name, quantity, pieces, day(due), order=order, lot=lot)
        h.call(h.at(-6, "14:00"), "Ines", "expect", params, number)


def alone(yard: Yard) -> Hands:
    """Only the named things, for tests that need no history: what parts took in the history is used for panels."""
    h = Hands(yard)
    named_things(h)
    unusual_hours(h)
    for roll, qty, days, back in (
        ("U-2", "44.00 m", (-135,), "09:00"),
        ("U-3", "4.40 m", (-85, -21, -7), "09:00"),
        ("T-2", "11.00 m", (-21, -7), "10:30"),
        ("FA-9-1", "2.40 m", (-85, -21, -7), "11:00"),
    ):
        home = "F2" if roll == "FA-9-1" else "F1"
        for day in days:
            h.move(h.at(day - 1, "19:00"), "Ines", roll, "CLEAN", h.at(day, back), exact=True)
            h.use(h.at(day, "08:40"), "Bram", roll, qty, "panel")
            h.move(h.at(day, back), "Ines", roll, home, exact=True)
    _other_things(h)
    friday_to_monday(h)
    open_work(h)
    return h


def _other_things(h: Hands) -> None:
    """Drums and cans that the history delivers and uses."""
    for n in range(5):
        h.use(h.at(-23, "10:00") + minutes(n), "Bram", "C-12", "6.20 m", "panel")
    arrive(h, Arrival("PE-L", "P8", -45, (("PE-8", 225 * KG),)))
    h.use(h.at(-12, "11:00"), "Bram", "PE-8", "85 kg", "test")
    arrive(h, Arrival("MEKP", "X4", -108, (("X4", 5 * KG),), {"printed": h.anchor.text(1)[:7]}))
    h.use(h.at(-3, "15:00"), "Bram", "X4", "3.5 kg", "test")
    arrive(h, Arrival("MEKP", "X5", -20, (("X5", 5 * KG),), {"printed": h.anchor.text(160)[:7]}))
    h.mix(h.at(-15, "13:00"), "Bram", "LAM", "trial", [("LA-7", 440 * G), ("LB-5", 110 * G)], "BAY1", 21_000)
    h.use(h.at(-15, "13:10"), "Bram", "trial", "550 g", "test")


def build(yard: Yard, until_us: int) -> None:
    """Perform the fixture in an empty yard that was made with `tack_from_start=False`."""
    alone(yard).script.run(until_us)
