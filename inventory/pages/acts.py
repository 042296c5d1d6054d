"""A record in words: what happened to a thing, or in one act, with links to what else it touched."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.core.reasons import Reason
from inventory.core.units import display
from inventory.models import Act, Edge, Leg
from inventory.templatetags import words

from .door import Shop
from .ways import item_link, joined, to

KINDS: dict[str, str] = {
    "made": "Made", "receive": "Received", "start": "Begun", "baseline": "Starting value set", "certify": "Papers entered",
    "release": "Released", "hold": "Held", "unhold": "Let go", "exempt": "Let go in part", "identify": "Identified",
    "relabel": "New label", "reserve": "Reserved", "move": "Moved", "dry": "Dried", "open": "Opened", "cut": "Cut",
    "pour": "Poured", "mix": "Mixed", "gel": "Gelled", "window": "Stop time set", "lay": "Laid", "bag": "Bagged",
    "join": "Built in", "unjoin": "Taken out", "heat": "Melted", "cure_on": "Heating began", "cure_abort": "Cure interrupted",
    "cure_off": "Cure done", "step": "Step", "inspect": "Tested", "defect": "Defect found",
    "chart": "Chart judged", "count": "Counted", "adjust": "Book corrected", "use": "Used otherwise", "scrap": "Scrapped",
    "return": "Returned to supplier", "ship": "Shipped", "sell": "Sold", "extend_ask": "Extension asked for",
    "extend": "Extended", "dispose": "Decided", "expose": "Excursion charged", "void": "Voided",
}  # fmt: skip
Edges = Mapping[int, Sequence[Edge]]


def kind_words(kind: str) -> str:
    return KINDS.get(kind, kind.replace("_", " ").capitalize())


def edges_of(acts: Iterable[int]) -> Edges:
    """The edges of some acts, by act, in one query."""
    found: dict[int, list[Edge]] = defaultdict(list)
    for edge in Edge.objects.filter(act__in=set(acts)).select_related("src__batch", "dst__batch").order_by("pk"):
        found[edge.act_id].append(edge)
    return found


def movement(leg: Leg, edges: Sequence[Edge], shop: Shop) -> dict[str, Any]:
    """One leg as the timeline takes it."""
    act = leg.act
    void = getattr(act, "voided_by", None)
    return {
        "when_us": act.happened_us,
        "verb": kind_words(act.kind),
        "text": leg_text(leg, edges, shop),
        "person": act.person.name,
        "device": device_words(act),
        "recorded_us": act.recorded_us if act.recorded_us - act.happened_us >= 1_000_000 else None,
        "void": void_words(void, shop) if void is not None else "",
        "marks": broke(act),
        "url": to("record", act.pk),
    }


def device_words(act: Act) -> str:
    return act.device.name + (", told afterwards" if act.stance == "observed" and act.kind != "made" else "")


def void_words(void: Act, shop: Shop) -> SafeString:
    when = words.instant(void.recorded_us, shop.zone, shop.now_us)
    return format_html("by {}, {}: {}", void.person.name, when, void.reason)


def broke(act: Act) -> tuple[Reason, ...]:
    """The rules that an observation broke when it was told."""
    return tuple(Reason(code, text, numbers) for code, text, numbers in json.loads(act.body).get("broke", ()))


def leg_text(leg: Leg, edges: Sequence[Edge], shop: Shop) -> SafeString:
    """What an act did to this one thing."""
    act, body, own = leg.act, json.loads(leg.act.body), json.loads(leg.body)
    parts = [
        *_off(leg, edges),
        *_flows(leg, edges),
        *_amounts(leg, body, bool(edges)),
        *_place(leg, own, shop),
        *_particulars(act, body, own, shop),
    ]
    return joined(parts, " · ")


def _off(leg: Leg, edges: Sequence[Edge]) -> list[Any]:
    """What a cut took off in all: more than went on, where there was waste."""
    taken = -leg.delta
    if leg.act.kind != "cut" or taken <= 0 or taken == sum(e.qty for e in edges if e.src_id == leg.item_id):
        return []
    return [words.emphasise(f"{display(taken, leg.item.unit)} off")]


def _flows(leg: Leg, edges: Sequence[Edge]) -> list[Any]:
    unit, parts = leg.item.unit, []
    for edge in edges:
        if edge.src_id == leg.item_id:
            into = "to" if leg.item.kind == "lot" else "into"
            amount = words.emphasise(display(edge.qty, unit)) if edge.qty else ""  # booked by the box: no amount is known
            parts.append(format_html("{} {} {}", amount, into, item_link(edge.dst)))
        elif edge.dst_id == leg.item_id:
            what = display(edge.qty, edge.src.unit) if edge.qty else ""
            name = format_html("lot {}", item_link(edge.src)) if edge.src.kind == "lot" else item_link(edge.src)
            parts.append(format_html("{} from {}", words.emphasise(what), name))
    more = len(parts) - 8
    return [*parts[:8], f"and {more} more"] if more > 0 else parts


def _amounts(leg: Leg, body: dict[str, Any], flowed: bool) -> list[Any]:
    unit = leg.item.unit
    if leg.counted is not None:
        book = body.get("book")
        said = f"{display(leg.counted, unit)} counted" + (
            f", the book had {display(book, unit)}" if isinstance(book, int) and book >= 0 else ""
        )
        return [words.emphasise(said + (", claim to the supplier" if body.get("claim") else ""))]
    waste = body.get("waste_cmm2")
    lost = [words.emphasise(f"waste {display(waste, 'cmm2')}")] if waste and leg.delta < 0 else []
    if leg.delta and not flowed and leg.item.kind not in ("part", "assembly"):
        return [words.emphasise(("+" if leg.delta > 0 else "−") + display(abs(leg.delta), unit)), *lost]
    return lost


def _place(leg: Leg, own: dict[str, Any], shop: Shop) -> list[Any]:
    parts: list[Any] = [format_html("to {}", leg.location.name)] if leg.location is not None else []
    if own.get("back_us"):
        parts.append(format_html("planned back {}", words.instant(own["back_us"], shop.zone, shop.now_us)))
    return parts


def _particulars(act: Act, body: dict[str, Any], own: dict[str, Any], shop: Shop) -> list[Any]:
    """What is particular to a kind of act."""
    parts: list[Any] = []
    if own.get("stop_us"):
        parts.append(format_html("stop by {}", words.instant(own["stop_us"], shop.zone, shop.now_us, "near")))
    if body.get("delivery"):
        parts.append(format_html('delivery <a href="{}">{}</a>', to("delivery", number=body["delivery"]), body["delivery"]))
    if body.get("sheet"):
        parts.append(format_html('<a href="{}">count {}</a>', to("count-sheet", body["sheet"]), body["sheet"]))
    for name, said in (
        ("job", "for {}"),
        ("purpose", "for: {}"),
        ("note", "{}"),
        ("step", "{}"),
        ("evidence", "evidence: {}"),
        ("code", "label {}"),
    ):
        value = body.get(name) or own.get(name)
        if value and isinstance(value, str):
            parts.append(format_html(said, value))
    if act.kind == "open":
        parts.append("bag dry" if own.get("dry") else "")
    if act.kind == "certify":
        parts.append(words.emphasise(", ".join(f"{v[1]} {v[2]}{f' ({v[0]})' if v[0] else ''}" for v in body.get("values", ()))))
    if act.voids_id:
        parts.append(format_html('<a href="{}">record {}</a>', to("record", act.voids_id), act.voids_id))
    if act.reason:
        parts.append(format_html("“{}”", act.reason))
    return [p for p in parts if p != ""]
