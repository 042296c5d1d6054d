"""What a person may do with a thing: buttons by its kind, its state and the person's roles."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.said import say
from inventory.models import Item
from inventory.reads.stock import Piece
from inventory.verbs.cutting import ROLLS

from .door import Shop
from .ways import may, to, verb_url

LIQUID = ("drum", "can", "tank")
WHOLE = ("roll", "spool", "drum", "can", "box", "sheet")


@dataclass(frozen=True, slots=True)
class Button:
    label: str
    url: str
    css: str = ""


def buttons(p: Piece, shop: Shop) -> tuple[list[Button], list[Button], list[Button]]:
    """(what is done every day, the rest, quality's decisions), only what this person may do with this thing now."""
    if p.state.gone or p.item.kind in ("part", "assembly", "lot"):
        return [], [], _quality(p, shop)
    return [b for b in _daily(p, shop) if b.url], [b for b in _rest(p, shop) if b.url], _quality(p, shop)


def _daily(p: Piece, shop: Shop) -> list[Button]:
    item = p.item
    out = []
    if item.kind in (*WHOLE, "kit") and is_closed(p) and may(shop, "open"):
        ready = p.thaw_ready_us is None and not p.against
        out.append(Button(say("Open"), to("item-open", item.code), "primary" if ready else ""))
    if item.kind in ROLLS and item.unit == "um":
        out.append(Button(say("Cut a kit"), to("item-cut", item.code) if may(shop, "cut_kit") else ""))
        out.append(Button(say("Cut a length off"), verb_url("cut_off", item, shop)))
    if item.kind in LIQUID:
        out.append(Button(say("Mix with it"), to("mix", c=item.code) if may(shop, "mix") else ""))
    if item.kind in ("drum", "can") and item.unit == "ug" and item.material and item.material.kind in ("resin", "gelcoat"):
        out.append(Button(say("Top up a day tank"), verb_url("pour", item, shop)))
    if item.kind != "mix":
        out.append(Button(say("Count"), to("item-count", item.code) if may(shop, "count") else ""))
    lay = verb_url("lay", item, shop)
    out.append(Button(say("Lay into a part"), lay))
    if item.kind == "mix":
        out.append(Button(say("Scrap what is left"), to("item-leftover", item.code) if may(shop, "scrap") else "", "danger"))
        out.append(Button(say("It has gelled"), verb_url("gel", item, shop)))
    return out


def is_closed(p: Piece) -> bool:
    """Whether there is something to open: a bag after its thaw, also of a roll that was in use before; a can that is new."""
    if p.facts.thaw_us:
        return p.state.dry is None
    kept_closed = p.item.kind in ("drum", "can") or any(r.limit.clock == "opened" for r in p.readings)
    return kept_closed and p.state.opened is None


def _rest(p: Piece, shop: Shop) -> list[Button]:
    item = p.item
    rest = [
        Button(say("Use otherwise"), verb_url("use", item, shop)),
        Button(
            say("Reserve for a job") if not p.state.reserved else say("Free it, or keep it for another job"),
            verb_url("reserve", item, shop),
        ),
        Button(say("Give it a new label"), verb_url("relabel", item, shop)),
        Button(say("Correct the book"), verb_url("adjust", item, shop)),
    ]
    if item.kind == "mix":
        return [
            Button(say("Set another stop time"), verb_url("window", item, shop)),
            Button(say("Put it elsewhere"), verb_url("move", item, shop)),
            rest[0],
        ]
    if item.kind in WHOLE:
        rest.append(Button(say("Return to supplier"), verb_url("return_supplier", item, shop, items=item.code)))
    rest.append(Button(say("Scrap"), verb_url("scrap", item, shop), "danger"))
    return rest


def _quality(p: Piece, shop: Shop) -> list[Button]:
    """Decisions; each asks for the password again on its own page."""
    item, held = p.item, {r.code for r in p.against}
    out = []
    if "block.incoming" in held:
        out.append(Button(say("Release"), verb_url("release", item, shop, items=item.code)))
    if p.state.unknown:
        out.append(Button(say("Set a starting value"), verb_url("baseline", item, shop)))
    if held & {"block.quality", "block.recall"}:
        out.append(Button(say("Let go"), verb_url("unhold", item, shop)))
    if item.kind in (*WHOLE, "lot"):
        out.append(Button(say("Extend a limit"), verb_url("extend_ask", item, shop)))
    out.append(Button(say("Hold"), verb_url("hold", item, shop), "danger"))
    return [b for b in out if b.url]


def leftover_caution(item: Item) -> str:
    return say("It may be hot: leave it in an open container, outside, away from anything that burns.") if item.kind == "mix" else ""
