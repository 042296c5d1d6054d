"""Thermoplastic stock: dried before use, and each melting counted (R25). No pot life: it melts and re-forms."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.reasons import BadInput
from inventory.core.said import say, say_n
from inventory.recording import Line

from .registry import BUILDER, QUALITY, STOREKEEPER, Call, Outcome, verb
from .resolve import item_of

MOST_HEATS = 20


@dataclass(frozen=True, slots=True)
class Dry:
    """The drying of `item` has ended; its time in the open counts from here. `note`: how it was dried ("4 h at 80 °C")."""

    item: str
    note: str = ""


@verb("dry", Dry, (STOREKEEPER, BUILDER, QUALITY), say("Dried"))
def dry(call: Call, p: Dry) -> Outcome:
    item = item_of(call, p.item)
    receipts = call.record([call.claim("dry", [Line(item.pk)], p, body={"note": p.note[:200]})], "dry")
    return Outcome(say("{item} is dry; its time in the open counts from now.", item=item), receipts, {"item": item.code})


@dataclass(frozen=True, slots=True)
class Heat:
    """`item` (stock or a part) was heated to its melting temperature, `times` over."""

    item: str
    times: int = 1


@verb("heat", Heat, (BUILDER, QUALITY), say("Melted once more"))
def heat(call: Call, p: Heat) -> Outcome:
    item = item_of(call, p.item)
    if not 1 <= p.times <= MOST_HEATS:
        raise BadInput("heat.times", say("Give how many times it was melted, from 1 to {most_heats}.", most_heats=MOST_HEATS), "times")
    receipts = call.record([call.claim("heat", [Line(item.pk, body={"heats": p.times})], p)], "heat")
    return Outcome(
        say_n("{item}: {n} more heat counted.", "{item}: {n} more heats counted.", p.times, item=item),
        receipts,
        {"item": item.code},
    )
