"""Things that went wrong, were found, or were refused: the truths that a trace must tell. Each is named by its number."""

from __future__ import annotations

from inventory.verbs import counting, cutting, exposing, extending, holding, releasing

from .arrivals import Arrival, arrive
from .hands import KG, G, Hands, minutes, said
from .script import code_of
from .small import OFF_SCALE
from .supply import Shelf


def named(hands: Hands, shelf: Shelf) -> None:
    """All of them; called when the shelf is stocked, before building takes from it."""
    short_roll(hands, shelf)
    lost_label(hands)
    freezer_event(hands)
    frosted(hands)
    retest_of_a_drum(hands)
    spliced_spools(hands)
    training(hands, shelf)
    planted_lot(hands, shelf)


def short_roll(h: Hands, shelf: Shelf) -> None:
    """E3: a roll ticketed 100.0 m ran out at 97.4 m; the supplier hears of it."""
    for piece in shelf.pieces["GB-600"]:
        if piece.mark == "G3-2":
            piece.left -= 23_500_000
    at = h.at(-118, "10:00")
    h.use(at, "Bram", "G3-2", "20.9 m", "panel", "flat panels for fixtures")
    h.count(at + minutes(30), "Ines", "G3-2", "0 m", claim=True, reason="short roll: 97.4 m of 100.0 m ticketed")


def lost_label(h: Hands) -> None:
    """E7: a pail without a label on the floor is set aside, identified by its serial number, and labelled again."""
    arrive(h, Arrival("LAM-A", "LA25-2", -82, (("LA-5", 20 * KG),)))
    at = h.at(-70, "09:00")
    reason = "found on the floor without a label: unknown until its serial number is checked"
    h.call(at, "Odile", "hold", holding.Hold(code_of("LA-5"), reason), "LA-5")
    h.move(at + minutes(5), "Ines", "LA-5", "QUAR")
    label = counting.Relabel(code_of("LA-5"), code_of("LA-5, second label"))
    h.call(at + minutes(240), "Ines", "relabel", label, "LA-5")
    let_go = holding.Unhold(code_of("LA-5, second label"), "serial number and lot match the delivery note D-LA25-2")
    h.call(at + minutes(250), "Odile", "unhold", let_go, "LA-5")
    h.move(at + minutes(260), "Ines", "LA-5", "RS")


def freezer_event(h: Hands) -> None:
    """E9: F2 without power from Friday evening; charged by the product probe, not by the air."""
    begin = h.at(-52, "22:50")
    params = exposing.Expose(
        "F2",
        begin,
        begin + minutes(8 * 60 + 5),
        "-4.2 °C",
        "product probe in the dummy roll, chart of F2, Friday to Saturday",
        "power cut; twice-daily defrost charges nothing",
        air_time="14 h 30",
        air_warmest="3.8 °C",
    )
    h.call(h.at(-49, "09:00"), "Odile", "expose", params, "F2")


def frosted(h: Hands) -> None:
    """E11: an isocyanate came frosted; it is below its minimum, so it is set aside and goes back."""
    arrive(h, Arrival("PU-B", "UB-7", -33, (("UB-7-1", 5 * KG),), place="QUAR", coldest="3 °C"), release=False)
    back = releasing.ReturnToSupplier(code_of("UB-7-1"), "delivered frosted at 3 °C, minimum 15 °C", "claim 33")
    h.call(h.at(-31, "10:00"), "Odile", "return_supplier", back, "UB-7-1")


def retest_of_a_drum(h: Hands) -> None:
    """The slow drum V5 is tested in its fourth month and kept for two more."""
    ask = extending.ExtendAsk(code_of("V5-1"), 2, "33.5 min", evidence="gel cup at 25 °C, 1.5 %")
    h.call(h.at(-72, "10:00"), "Odile", "extend_ask", ask, "V5-1")
    h.call(h.at(-71, "09:00"), "Marek", "extend", extending.Extend(code_of("V5-1")), "V5-1")


def spliced_spools(h: Hands) -> None:
    """E15: the two spools that were spliced; the first tangled at 41 m."""
    for mark in ("TW-S1", "TW-S2"):
        arrive(h, Arrival("TOW-12K", f"TW-{mark}", -212, ((mark, 5_000_000_000),), kind="spool"))
    h.scrap(h.at(-200, "16:00"), "Bram", "TW-S1", "tangled at 41 m")


def training(h: Hands, shelf: Shelf) -> None:
    """E19: glass that was used, but in no boat."""
    shelf.draw("GB-600", "G0-1", 2_400_000)
    h.use(h.at(-300, "13:00"), "Bram", "G0-1", "1.20 m", "training", "first laminate of the new hand")
    h.use(h.at(-300, "15:00"), "Bram", "G0-1", "1.20 m", "panel", "test panel")


def planted_lot(h: Hands, shelf: Shelf) -> None:
    """V6: opened, sampled, and the gel cup at receipt was skipped ("five good lots in a row"); two cups later on."""
    h.open(h.at(-40, "08:10"), "Bram", "V6-1")
    shelf.draw("VE-I", "V6-1", 500 * G)
    jar = cutting.NewTank("V6 sample", "VE-I", "RS", code_of("V6 sample"))
    h.call(h.at(-40, "08:15"), "Ines", "new_tank", jar, "V6 sample")
    h.pour(h.at(-40, "08:20"), "Ines", "V6-1", "V6 sample", said(500 * G, "ug"))
    for n, day in enumerate((-39, -25), 1):
        shelf.draw("VE-I", "V6-1", 100 * G)
        shelf.draw("MEKP", "X4-1", 1_500_000)
        at, name = h.at(day, "15:40"), f"V6 cup {n}"
        h.mix(at, "Bram", "VE", name, [("V6-1", 100 * G), ("X4-1", 1_500_000)], "BAY2", 21_000)
        h.gel(at + minutes(57), "Bram", name)
        h.scrap(at + minutes(80), "Bram", name, "gel cup")


def while_building(h: Hands) -> None:
    """Called when everything is built: what needs a part that is there."""
    gelcoat_too_old(h)
    too_little_peroxide(h)
    mat_into_epoxy(h)
    off_scale(h)
    hardener_open_too_long(h)
    somebody_elses_roll(h)


def gelcoat_too_old(h: Hands) -> None:
    """E4: to be laminated 31 h after the gelcoat; refused at the scan, abraded, then laminated."""
    at = h.at(-103, "16:06")
    h.defect(at, "DIN-022", "gelcoat window passed", "31 h after the gelcoat, limit 24 h")
    h.dispose(at + minutes(10), "DIN-022", "rework", reason="abrade, then laminate")
    h.step(at + minutes(30), "Bram", "DIN-022", "abraded")


def too_little_peroxide(h: Hands) -> None:
    """E5: 0.9 % peroxide in the gelcoat, typed late; the hull is held and scrapped."""
    h.dispose(h.at(-92, "14:00"), "DIN-023", "scrap", reason="gelcoat with 0.9 % peroxide, soft at the edge")
    h.scrap(h.at(-92, "15:00"), "Bram", "DIN-023", "gelcoat under-cured")
    h.dispose(h.at(-92, "14:10"), "DIN-023 gelcoat", "scrap", reason="used up in DIN-023")
    for mark in ("DIN-023", "DIN-023 gelcoat"):
        settled(h, h.at(-92, "15:30"), mark)


def mat_into_epoxy(h: Hands) -> None:
    """E6: a mat whose binder needs styrene is scanned into an epoxy repair."""
    mat = max(mark for mark in _received(h, "CSM-300", -90))
    h.lay(h.at(-90, "13:22"), "Bram", mat, "REP-013", "0.80 m", refused=("compat.fibre_resin", "ply.none_fits"))


def _received(h: Hands, material: str, before: int) -> list[str]:
    """Marks of what had come in before a day, from the script itself."""
    found = [e for e in h.script.events if e.verb == "receive" and e.params.material == material and e.at_us < h.at(before, "00:00")]
    return [piece.mark for e in found[-1:] for lot in e.params.lots for piece in lot.pieces]


def off_scale(h: Hands) -> None:
    """E10: three mixes in which only the hardener stood on the scale that read 1.8 % too much."""
    for day, read in OFF_SCALE.items():
        at, name, resin, hardener = h.at(day, "10:00"), f"fittings {-day}", 400 * G, read * 1_000
        h.mix(at, "Tove", "LAM", name, [("LA-5", resin), ("LB-4", hardener)], "BAY1", 21_000)
        note = "fittings bonded; resin weighed on SC-1, hardener on SC-2"
        h.use(at + minutes(9), "Tove", name, said(resin + hardener, "ug"), "other", note)


def hardener_open_too_long(h: Hands) -> None:
    """E14: a pail open for longer than three months: a mix of Friday was told afterwards, the next one was refused."""
    arrive(h, Arrival("LAM-B", "LB25-9", -100, (("LB-4", 5 * KG),)))
    h.open(h.at(-96, "08:00"), "Bram", "LB-4")
    happened, told = h.at(-3, "11:00"), "noted on paper, the tablet was flat"
    parts = [("LA-5", 400 * G), ("LB-4", 100 * G)]
    h.mix(h.at(-3, "16:05"), "Tove", "LAM", "fittings 3", parts, "BAY1", 21_000, stance="observed", happened_us=happened, reason=told)
    h.mix(h.at(-2, "10:00"), "Tove", "LAM", "fittings 2", parts, "BAY1", 21_000, refused=("life.over",))
    h.dispose(h.at(-2, "10:30"), "fittings 3", "scrap", reason="hardener open too long")
    h.scrap(h.at(-2, "10:40"), "Tove", "fittings 3", "hardener open too long")
    h.scrap(h.at(-2, "10:45"), "Ines", "LB-4", "open for longer than three months")
    settled(h, h.at(-2, "11:00"), "fittings 3")


def settled(h: Hands, at: int, mark: str) -> None:
    """The hold on something that is scrapped has nothing left to hold."""
    h.call(at, "Odile", "unhold", holding.Unhold(code_of(mark), "scrapped, nothing is left of it"), mark)


def somebody_elses_roll(h: Hands) -> None:
    """E18: the rowing club's own roll is picked for a canoe."""
    h.lay(h.at(-8, "15:20"), "Tove", "CO-1", "CAN-062", "3.00 m", refused=("compat.fibre_resin", "owner.other", "ply.none_fits"))
