"""What is asked before material touches the tool, besides what every record is asked (R21): all of it, in one answer.

Each check is a function of the transaction, so that it is asked under the lock."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from inventory.core import thaw
from inventory.core.exposure import UNKNOWN_MC
from inventory.core.limits import Moment, judge, read_all
from inventory.core.places import FRESH_US
from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.spans import day_text
from inventory.core.temperature import display_celsius
from inventory.core.tighter import Tighter, tighten
from inventory.models import Item, Leg, Reading, Recipe
from inventory.recording import Transaction
from inventory.recording.use import thaw_of
from layups.core import rooms
from layups.core.pairing import Stuff, pair_reasons
from layups.core.rooms import Band
from layups.reads import schedules
from layups.reads.rooms import place_at, room_at
from layups.reads.schedules import Laid

from .finding import Made


def owner_reasons(item: Item, made: Made) -> Iterator[Reason]:
    """A customer's material goes only into that customer's parts (R38)."""
    owner = item.owner
    if owner is None or owner == made.part.customer:
        return
    whose = (
        say("{made} is for {customer}", made=made, customer=made.part.customer)
        if made.part.customer
        else say("{made} is for nobody in particular", made=made)
    )
    text = say("{item} belongs to {owner}: only for its jobs, and {whose}.", item=item, owner=owner, whose=whose)
    yield Reason("owner.other", text, {"item": item.pk, "owner": str(owner), "part": made.part.number})


def job_reasons(item: Item, job: str, made: Made) -> Iterator[Reason]:
    """What is reserved for another job, or was cut for another part, stays for it."""
    jobs = {word.casefold() for word in job.replace(",", " ").split()}
    if not jobs or jobs & {made.part.number.casefold(), made.part.design.code.casefold()}:
        return
    if made.part.customer and made.part.customer.name.casefold() == job.strip().casefold():
        return
    text = say(
        "{item} is kept for {job}, not for {made}. If it is wanted here, reserve it for {made} first.", item=item, job=job, made=made
    )
    yield Reason("reserved.other", text, {"item": item.pk, "job": job, "part": made.part.number})


def kit_plan(item: Item) -> tuple[str, tuple[int, ...]]:
    """The job and the plies that a kit was cut for."""
    if item.kind not in ("kit", "sheet"):
        return "", ()
    leg = Leg.objects.filter(item=item, act__kind="cut", delta__gt=0).select_related("act").order_by("seq").first()
    body = json.loads(leg.act.body) if leg else {}
    return str(body.get("job", "")), tuple(int(seq) for seq in body.get("plies", ()))


def bag_reasons(tx: Transaction, item: Item, dry: bool | None, intent: bool) -> Iterator[Reason]:
    """Something that came out of the cold is opened only when its bag is dry (R15); asked once for each thaw."""
    if dry is False:
        entry = tx.entry(item.pk)
        yield from thaw.open_reasons(thaw_of(entry.facts, entry.state, tx.happened_us), False, partial(day_text, zone=tx.who.zone))
    elif intent and bag_unasked(tx, item.pk):
        entry = tx.entry(item.pk)
        yield from thaw.open_reasons(thaw_of(entry.facts, entry.state, tx.happened_us), None, partial(day_text, zone=tx.who.zone))


def bag_unasked(tx: Transaction, item: int) -> bool:
    """Has nobody said that the bag is dry since it left the cold?"""
    state = tx.state(item)
    return state.thaw_from is not None and (state.dry is None or state.dry < state.thaw_from)


def too_short(tx: Transaction, item: int, made: Made, planned_us: int | None, rules: Sequence[Tighter] = ()) -> Iterator[Reason]:
    """Will it live until the planned cure where the part lies? What is still in the freezer would be out from now on."""
    if planned_us is None:
        return
    entry, at = tx.entry(item), tx.happened_us
    ceiling = tx.state(made.id).ceiling
    extended = tx.judging().moment(item, entry.state, at).extended
    when = Moment(at, UNKNOWN_MC if ceiling is None else ceiling, tx.who.zone, extended, at)
    readings = read_all(entry.state.at(at).totals(), tighten(tx.sources, rules), when)
    yield from (r for r in judge(readings, "lay", when, {"cure": planned_us}) if r.code == "life.too_short")


def pairing(item: Item, recipe: Recipe | None, there: Iterable[Laid], planned: Iterable[Stuff]) -> Iterator[Reason]:
    """Binder and sizing against resin, resin over resin (R40): what lies in the part, and the resin it will get."""
    material = recipe.resin if recipe else item.material
    if material is None:
        return
    new = schedules.stuff_of(material)
    if new.fibre is not None or new.resin is not None:
        yield from pair_reasons(new, schedules.stuff_in(there), planned)


def room_reasons(tx: Transaction, recipe: Recipe | None, made: Made) -> Iterator[Reason]:
    """Is the room warm enough for what cures in it? Judged by a fresh reading, as at mixing; without one, not at all."""
    place = place_then(tx, made)
    if recipe is None or place is None or (recipe.min_temp_mc is None and recipe.max_temp_mc is None):
        return
    rows = Reading.objects.filter(location=place, at_us__lte=tx.happened_us, at_us__gt=tx.happened_us - FRESH_US)
    newest = rows.select_related("location").order_by("-at_us").first()
    if newest is None:
        return
    low, high, now = recipe.min_temp_mc, recipe.max_temp_mc, newest.temp_mc
    where = say("{location} {now} at {at}", location=newest.location.name, now=display_celsius(now), at=day_text(newest.at_us, tx.who.zone))
    numbers: dict[str, int | str | None] = {"temp_mc": now, "min_mc": low, "max_mc": high, "place": newest.location.code}
    if low is not None and now < low:
        yield Reason(
            "room.too_cold",
            say("{where}: {recipe} needs at least {low} to cure.", where=where, recipe=recipe.code, low=display_celsius(low)),
            numbers,
        )
    if high is not None and now > high:
        yield Reason(
            "room.too_hot",
            say("{where}: {recipe} is laid at {high} at most.", where=where, recipe=recipe.code, high=display_celsius(high)),
            numbers,
        )


def place_then(tx: Transaction, made: Made) -> int | None:
    """Where the part stood when it happened: it may have been moved before somebody told."""
    state = tx.state(made.id)
    late = state.last is not None and state.last[0] > tx.happened_us
    return place_at(made.id, tx.happened_us) if late else state.location


def design_room_reasons(tx: Transaction, made: Made, bands: Iterable[Band], lines: Iterable[int]) -> Iterator[Reason]:
    """Is the room as the design asks, by the newest figures of the place? Without fresh ones nobody knows, and that is not met."""
    asked = rooms.bands_for(bands, lines)
    room = room_at(place_then(tx, made), tx.happened_us) if asked else None
    for band in asked:
        yield from rooms.judge(band, room, made.part.number, FRESH_US, tx.who.zone)


def ready_reasons(tx: Transaction, made: Made) -> Iterator[Reason]:
    """Nothing is laid into a part that is in the oven."""
    if tx.state(made.id).curing is not None:
        text = say(
            "{made} is curing since {curing}: end its cure first.", made=made, curing=day_text(tx.state(made.id).curing or 0, tx.who.zone)
        )
        yield Reason("part.curing", text, {"item": made.id})


def piece_reasons(item: Item) -> Iterator[Reason]:
    """Only what touches a bond is followed by its lot; the rest by the piece (R39)."""
    if item.kind == "lot" and item.material is not None and item.material.grade == "item":
        text = say("{material} is followed piece by piece: scan the roll, can or kit, not the lot.", material=item.material.code)
        yield Reason("trace.needs_the_piece", text, {"item": item.pk}, cap=True)
