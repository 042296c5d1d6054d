"""The state of the things with a name at 07:30 on the Monday: the same with the history around them and without."""

from __future__ import annotations

import json

from inventory.models import Delivery, Item, ItemState, Site
from layups.demo.anchor import HOUR_US, MINUTE_US, Anchor
from layups.models import Part
from layups.reads.lives import Life, lives_of

M, KG = 10**6, 10**9
LEFT = {
    "U-3": 41_500_000, "U-4": 33 * M, "T-2": 24_600_000, "T-4": 50 * M, "T-6": 50 * M, "FA-9-1": 11 * M, "FA-9-2": 25 * M,
    "C-12": 18_400_000, "C-13": 48 * M, "G6-4": 100 * M, "CO-1": 40 * M, "LA-7": 12_400_000_000, "LB-5": 3_100_000_000,
    "PE-8": 140 * KG, "X4": 1_500_000_000, "X5": 5 * KG, "CB-2": 800_000_000, "PL-4": 38 * M,
}  # fmt: skip
PLACES = {
    "U-3": "CLEAN", "U-4": "F1", "K-31": "CLEAN", "T-2": "CLEAN", "T-4": "CLEAN", "T-6": "CLEAN", "FK-12": "CLEAN", "FA-9-1": "F2",
    "C-12": "RACK", "LA-7": "RS", "X4": "PX", "X5": "PX", "CB-2": "AC", "PE-8": "RS", "CO-1": "RACK",
}  # fmt: skip


def item(mark: str) -> Item:
    return Item.objects.get(mark=mark)


def life(mark: str, name: str, at_us: int) -> Life:
    zone, thing = Site.objects.get(code="QUILL").zone, item(mark)
    return next(found for found in lives_of(zone, [thing.pk], at_us)[thing.pk] if found.limit == name)


def hours(us: int | None) -> str:
    assert us is not None
    return f"{us // HOUR_US} h {us % HOUR_US // MINUTE_US:02d}"


def check_quantities_and_places() -> None:
    states = {s.item.mark: s for s in ItemState.objects.select_related("item", "location").filter(item__mark__in={*LEFT, *PLACES})}
    assert {mark: states[mark].qty for mark in LEFT} == LEFT
    assert {mark: str(states[mark].location).split()[0] for mark in PLACES} == PLACES


def check_out_times(a: Anchor) -> None:
    """Hours to the minute, over the change of the clocks."""
    used = {
        "U-3 at 07:30": hours(life("U-3", "out", a.at(0, "07:30")).used),
        "U-3 at 07:40": hours(life("U-3", "out", a.at(0, "07:40")).used),
        "U-4": hours(life("U-4", "out", a.at(0, "07:30")).used),
        "K-31 at 08:16": hours(life("K-31", "out", a.at(0, "08:16")).used),
        "T-2 at 08:20": hours(life("T-2", "out", a.at(0, "08:20")).used),
        "T-4 at 16:25": hours(life("T-4", "out", a.at(0, "16:25")).used),
        "FK-12 at 07:15": hours(life("FK-12", "out", a.at(0, "07:15")).used),
    }
    assert used == {
        "U-3 at 07:30": "114 h 00",
        "U-3 at 07:40": "114 h 10",
        "U-4": "12 h 10",
        "K-31 at 08:16": "13 h 11",
        "T-2 at 08:20": "44 h 20",
        "T-4 at 16:25": "9 h 55",
        "FK-12 at 07:15": "18 h 30",
    }


def check_limits(a: Anchor) -> None:
    tack = life("U-3", "tack", a.at(0, "07:40"))
    assert tack.over and tack.ends_us == a.at(-2, "12:30")  # Saturday, half past twelve
    assert life("U-3", "storage", a.at(0, "07:40")).ends_us == a.at(78)  # through 15 June
    assert life("T-2", "storage", a.at(0, "07:40")).ends_us == a.at(191)  # through 6 October
    assert life("X4", "printed date", a.at(0, "07:40")).ends_us == a.at(2)  # through 31 March
    assert life("FA-9-1", "storage", a.at(0, "07:40")).ends_us == a.at(1)  # today is the last day
    assert hours(life("K-31", "tack", a.at(0, "08:16")).left) == "58 h 49"


def check_map_owner_and_orders(a: Anchor) -> None:
    doc = json.loads(item("G6-4").state.doc)
    assert doc["marks"] == [[31_000_000, 31_400_000, "bad"], [72_000_000, 72_000_000, "splice"]]
    owner = item("CO-1").owner
    assert owner is not None and owner.name == "Ferrel Rowing Club"
    due = {d.number: (d.material.code, d.due_on, d.expected_pieces) for d in Delivery.objects.filter(arrived_us__isnull=True)}
    assert due == {
        "D-118": ("GB-600", a.day(0), 3),
        "D-119": ("PP-T", a.day(0), 2),
        "D-120": ("MEKP", a.day(0), 4),
        "D-124": ("PEEL-85", a.day(2), 1),
    }


def check_open_work(a: Anchor) -> None:
    part = Part.objects.get(number="RUD-073")
    assert part.customer is not None and part.customer.name == "Skerrow Sailing School"
    assert part.planned_cure_us == a.at(0, "17:00")
    begun = {"RUD-074", "DAG-041", "REP-019", "REP-020", "CAN-066"}
    assert set(Part.objects.filter(number__in=begun).values_list("number", flat=True)) == begun
    opened = json.loads(item("LB-5").state.doc)["opened"]
    assert opened == a.at(-20, "08:00")
