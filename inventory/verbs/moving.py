"""Put away, take out, bring back, open: where things are, which is what their clocks run on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from inventory.core import thaw
from inventory.core.exposure import FROZEN_MC
from inventory.core.lives import spoken
from inventory.core.places import put_away
from inventory.core.reasons import Reason
from inventory.core.said import say, strung
from inventory.core.spans import day_text
from inventory.flags import raise_flag
from inventory.models import Act, Block, Item, ItemState, Location
from inventory.reads.misplaced import rule_of, storage_of
from inventory.recording import Line, Transaction
from inventory.recording.use import readings_at, thaw_of

from .registry import BUILDER, OWNER, QUALITY, STOREKEEPER, Call, Outcome, verb
from .resolve import ceiling_of, item_of, place_of


@dataclass(frozen=True, slots=True)
class Move:
    """`item`: code or mark. `place`: the place's code. `back_us`: planned return, for what leaves its home."""

    item: str
    place: str
    back_us: int | None = None


@verb("move", Move, (STOREKEEPER, BUILDER, QUALITY, OWNER), say("Put away, take out or bring back"))
def move(call: Call, p: Move) -> Outcome:
    item, place = item_of(call, p.item), place_of(call, p.place)
    state = ItemState.objects.filter(pk=item.pk).first()
    if state is not None and state.location_id == place.pk and call.stance == "intent" and not call.done_before():
        return Outcome(
            say("{item} is already in {place}.", item=item, place=place.name), [], {"already": True, "item": item.code, "place": place.code}
        )
    body: dict[str, object] = {"back_us": p.back_us} if p.back_us is not None else {}
    line = Line(item.pk, location=place.pk, ceiling=ceiling_of(place), body=body)
    claim = call.claim(
        "move", [line], p, checks=(partial(place_reasons, item=item, place=place),), effects=(partial(set_aside, item=item, place=place),)
    )
    receipts = call.record([claim], "move")
    return Outcome(say("{item} is in {place}.", item=item, place=place.name), receipts, {"item": item.code, "place": place.code})


def set_aside(tx: Transaction, act: Act, names: dict[str, int], item: Item, place: Location) -> None:
    """Brought back to the cold with a limit passed while it was out: quality is told, once, and it waits for them."""
    if not frozen_place(place):
        return
    entry = tx.entry(item.pk)
    over = [
        r
        for r in readings_at(entry.facts, entry.state, entry.state.since or tx.happened_us, tx.judging())
        if r.over and r.limit.clock == "above"
    ]
    if not over or Block.objects.filter(item=item, why="quality", to_us__isnull=True).exists():
        return
    names_ = strung(", ", (spoken(r.limit.name) for r in over))
    Block.objects.create(
        site_id=tx.who.site,
        item=item,
        why="quality",
        text=say("{names} passed while it was out", names=names_),
        opened=act,
        from_us=tx.now_us,
    )
    first = min(r.ends_us or tx.happened_us for r in over)
    raise_flag(
        tx.who.site, f"item:{item.pk}", "life.passed_out", QUALITY, f"{item}: {names_} passed while it was out.", first, tx.now_us, item.pk
    )


def place_reasons(tx: Transaction, item: Item, place: Location, adding: int | None = None) -> list[Reason]:
    """May this go there (R35)? Asked under the lock, so that two cans cannot both take the last free kilogram."""
    if item.material is None:
        return []
    held = list(
        ItemState.objects.filter(location=place, qty__gt=0).exclude(pk=item.pk).values_list("qty", "item__unit", "item__material__hazard")
    )
    rule = rule_of(place, sum(qty for qty, unit, _ in held if unit == "ug"))
    here = tx.state(item.pk).qty if adding is None else adding
    return put_away(rule, storage_of(item.material), here if item.unit == "ug" else 0, frozenset(h for _, _, h in held if h))


@dataclass(frozen=True, slots=True)
class Open:
    """`dry`: somebody looked and the bag is dry. None: nobody has looked yet."""

    item: str
    dry: bool | None = None


@verb("open", Open, (STOREKEEPER, BUILDER, QUALITY), say("Open"))
def open_item(call: Call, p: Open) -> Outcome:
    item = item_of(call, p.item)

    def thawed(tx: Transaction) -> list[Reason]:
        entry = tx.entry(item.pk)
        return thaw.open_reasons(thaw_of(entry.facts, entry.state, tx.happened_us), p.dry, partial(day_text, zone=call.who.zone))

    claim = call.claim("open", [Line(item.pk, body={"dry": bool(p.dry)})], p, checks=(thawed,))
    receipts = call.record([claim], "open")
    return Outcome(say("{item} is open.", item=item), receipts, {"item": item.code})


def frozen_place(place: Location) -> bool:
    return ceiling_of(place) <= FROZEN_MC
