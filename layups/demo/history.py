"""The whole history of the yard, from the opening stock to the Monday of the anchor."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from . import cures, fixture, spares, truths
from .boards import MASTS, PAIRS, RUNS, Boards, Masts, Rods
from .boats import assemble, boats
from .canoes import Canoes
from .dinghies import DAYS, Dinghies, set_up_tanks
from .hands import Hands
from .hulls import hulls
from .master import Yard
from .prepreg import BATCHES, Prepreg
from .small import HATCHES, PHENOLIC, REPAIRS, Small
from .stock import bin_the_rest, named_deliveries, opening, settle_peroxide, tidy
from .supply import FIRST_DAY, Shelf

BEGINS, ENDS = FIRST_DAY, "07:30"
"""The first day, in days from the anchor, and the time on the anchor's Monday at which the history stops."""

Job = tuple[int, Callable[[], None]]


def write(yard: Yard) -> Hands:
    """The history as a script, not yet performed."""
    hands = Hands(yard)
    shelf = Shelf(hands)
    opening(hands, shelf)
    set_up_tanks(hands)
    named_deliveries(hands, shelf)
    fixture.named_things(hands)
    truths.named(hands, shelf)
    cures.name_recipe(hands)
    for _, job in sorted(jobs(hands, shelf), key=lambda j: j[0]):
        job()
    for boat in boats():
        assemble(hands, boat)
    spares.book_boxes(hands)
    spares.send(hands)
    truths.while_building(hands)
    fixture.unusual_hours(hands)
    fixture.friday_to_monday(hands)
    fixture.open_work(hands)
    late_scan(hands)
    bin_the_rest(hands, shelf)
    tidy(hands, shelf)
    settle_peroxide(hands, shelf)
    return hands


def jobs(hands: Hands, shelf: Shelf) -> list[Job]:
    """Everything that is built, by the day on which its material is taken."""
    canoes, dinghies, prepreg = Canoes(hands, shelf), Dinghies(hands, shelf), Prepreg(hands, shelf)
    boards, masts, rods, small = Boards(hands, shelf), Masts(hands, shelf), Rods(hands, shelf), Small(hands, shelf)
    found: list[Job] = [(hull.day - 1, partial(canoes.jobs, hull)) for hull in hulls()]
    found += [(day, partial(dinghies.jobs, n)) for n, day in DAYS.items()]
    found += [(day, partial(prepreg.jobs, i)) for i, day in enumerate(BATCHES)]
    found += [(day, partial(boards.pair, i)) for i, day in enumerate(PAIRS)]
    found += [(day, partial(masts.jobs, n)) for n, day in MASTS.items()]
    found += [(day, partial(rods.jobs, n)) for n, (day, _) in RUNS.items()]
    found += [(day, partial(small.repair, n)) for n, (day, _, _) in REPAIRS.items()]
    found += [(day, partial(small.hatch, n)) for n, (day, _) in HATCHES.items()]
    found += [(day, partial(small.phenolic, i)) for i, day in enumerate(PHENOLIC)]
    return found


def late_scan(hands: Hands) -> None:
    """E12: U-2 left the freezer on Friday, but that scan is still on a tablet without a network; on Sunday evening
    somebody scanned it again. By the records so far, its kit was cut in time."""
    hands.move(hands.at(-22, "22:00"), "Bram", "U-2", "CLEAN", hands.at(-21, "09:00"), exact=True)
    hands.use(hands.at(-20, "09:00"), "Bram", "U-2", "7.40 m", "panel", "the rest, for coupons that need no life")
    hands.ship(hands.at(-12, "13:30"), ["RUD-061"], "Skerrow")
