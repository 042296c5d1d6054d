"""Pieces of work that several tests need: a pot, a laminated repair, a tiller up to its cure, a boat, a hold."""

from __future__ import annotations

from inventory.models import Block
from inventory.recording import Claim, Line, Transaction, record
from inventory.verbs.mixing import Component, Mix
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureLoad, CureOff, CureOn
from layups.verbs.inspecting import Inspect

from .day import Day, G, M


def pot(day: Day, clock: str, mark: str, *parts: tuple[str, str], place: str = "BAY1", temperature: str = "21.0") -> None:
    components = tuple(Component(item, mass) for item, mass in parts)
    day.do(day.at(clock), "mix", Mix(components, place, temperature=temperature, mark=mark))


def laminating(day: Day) -> None:
    """LA-7 12.40 kg and LB-5 3.10 kg, opened 20 days ago; REP-019 with its glass in it."""
    day.receive("LA-7", "LAM-A", 12_400 * G, "RS", kind="can")
    day.receive("LB-5", "LAM-B", 3_100 * G, "RS", kind="can")
    day.open(day.at("08:00", -20), "LB-5")
    day.receive("G6-4", "GB-600", 100 * M, "RACK")
    day.start(day.at("09:00"), "REP", "REP-019", "BAY1")
    day.lay(day.at("09:30"), "G6-4", "REP-019")


def tiller(day: Day, number: str = "TIL-020", clock: str = "07:00", customer: str = "") -> None:
    """A tiller that is laid, bagged and tested: PP-T 0.40 m and PP-U 2.20 m."""
    if "TL" not in day.lots:
        day.receive("T-1", "PP-T", 50 * M, "F1", lot="TL")
        day.receive("U-1", "PP-U", 60 * M, "F1", lot="UL")
        for roll in ("T-1", "U-1"):
            day.move(day.at("12:00", -1), roll, "CLEAN")
            day.open(day.at("06:00"), roll)
    day.start(day.at(clock), "TIL", number, "CLEAN", customer=customer)
    at = day.at(clock)
    day.lay(at + 1 * M, "T-1", number)
    day.lay(at + 2 * M, "U-1", number)
    day.do(at + 3 * M, "bag", Bag(number))
    day.do(at + 4 * M, "inspect", Inspect(number, "drop test", "4"))


def cured(day: Day, number: str = "TIL-020", clock: str = "07:00", customer: str = "") -> None:
    tiller(day, number, clock, customer)
    at = day.at(clock)
    day.do(at + 5 * M, "cure_load", CureLoad(f"CR-{number}", "OV2", number))
    day.do(at + 6 * M, "cure_on", CureOn(f"CR-{number}"))
    day.do(at + 100 * M, "cure_off", CureOff(f"CR-{number}", place="FIN"))


def hold(day: Day, at: int, mark: str, text: str = "soft laminate") -> None:
    thing = day.item(mark)

    def block(tx: Transaction, act: object, names: dict[str, int]) -> None:
        Block.objects.create(site=day.yard.site, item=thing, why="quality", text=text, opened=act, from_us=at)  # type: ignore[misc]

    record([Claim(day.key(), "hold", (Line(thing.pk),), effects=(block,))], day.yard.who("Odile"), at)


def boat(day: Day, number: str, at: int) -> None:
    day.start(at, "BOAT", number, "FIN", customer="Skerrow Sailing School")
