"""A record in words: what happened to a thing, or in one act, with links to what else it touched."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.core.reasons import Reason
from inventory.core.said import say, strung, template
from inventory.core.units import display
from inventory.models import Act, Edge, Leg
from inventory.templatetags import words

from .door import Shop
from .ways import item_link, joined, to

KINDS: dict[str, str] = {
    "made": say("Made"),
    "receive": say("Received"),
    "start": say("Begun"),
    "baseline": say("Starting value set"),
    "certify": say("Papers entered"),
    "release": say("Released"),
    "hold": say("Held"),
    "unhold": say("Let go"),
    "exempt": say("Let go in part"),
    "identify": say("Identified"),
    "relabel": say("New label"),
    "reserve": say("Reserved"),
    "move": say("Moved"),
    "dry": say("Dried"),
    "open": say("Opened"),
    "cut": say("Cut"),
    "pour": say("Poured"),
    "mix": say("Mixed"),
    "gel": say("Gelled"),
    "window": say("Stop time set"),
    "lay": say("Laid"),
    "bag": say("Bagged"),
    "join": say("Built in"),
    "unjoin": say("Taken out"),
    "heat": say("Melted"),
    "cure_on": say("Heating began"),
    "cure_abort": say("Cure interrupted"),
    "cure_off": say("Cure done"),
    "step": say("Step"),
    "inspect": say("Tested"),
    "defect": say("Defect found"),
    "chart": say("Chart judged"),
    "count": say("Counted"),
    "adjust": say("Book corrected"),
    "use": say("Used otherwise"),
    "scrap": say("Scrapped"),
    "return": say("Returned to supplier"),
    "ship": say("Shipped"),
    "sell": say("Sold"),
    "extend_ask": say("Extension asked for"),
    "extend": say("Extended"),
    "dispose": say("Decided"),
    "expose": say("Excursion charged"),
    "void": say("Voided"),
}
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
    return act.device.name + (say(", told afterwards") if act.stance == "observed" and act.kind != "made" else "")


def void_words(void: Act, shop: Shop) -> SafeString:
    when = words.instant(void.recorded_us, shop.zone, shop.now_us)
    return words.html_say("by {person}, {when}: {reason}", person=void.person.name, when=when, reason=void.reason)


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
    return [words.emphasise(say("{taken} off", taken=display(taken, leg.item.unit)))]


def _flows(leg: Leg, edges: Sequence[Edge]) -> list[Any]:
    unit, parts = leg.item.unit, []
    for edge in edges:
        if edge.src_id == leg.item_id:
            amount = words.emphasise(display(edge.qty, unit)) if edge.qty else ""  # booked by the box: no amount is known
            way = template("{amount} to {thing}") if leg.item.kind == "lot" else template("{amount} into {thing}")
            parts.append(words.html_say(way, amount=amount, thing=item_link(edge.dst)))
        elif edge.dst_id == leg.item_id:
            what = display(edge.qty, edge.src.unit) if edge.qty else ""
            name = words.html_say("lot {lot}", lot=item_link(edge.src)) if edge.src.kind == "lot" else item_link(edge.src)
            parts.append(words.html_say("{amount} from {thing}", amount=words.emphasise(what), thing=name))
    more = len(parts) - 8
    return [*parts[:8], say("and {more} more", more=more)] if more > 0 else parts


def _amounts(leg: Leg, body: dict[str, Any], flowed: bool) -> list[Any]:
    unit = leg.item.unit
    if leg.counted is not None:
        book = body.get("book")
        said = say("{counted} counted", counted=display(leg.counted, unit)) + (
            say(", the book had {book}", book=display(book, unit)) if isinstance(book, int) and book >= 0 else ""
        )
        return [words.emphasise(said + (say(", claim to the supplier") if body.get("claim") else ""))]
    waste = body.get("waste_cmm2")
    lost = [words.emphasise(say("waste {waste}", waste=display(waste, "cmm2")))] if waste and leg.delta < 0 else []
    if leg.delta and not flowed and leg.item.kind not in ("part", "assembly"):
        return [words.emphasise(("+" if leg.delta > 0 else "−") + display(abs(leg.delta), unit)), *lost]
    return lost


def _place(leg: Leg, own: dict[str, Any], shop: Shop) -> list[Any]:
    parts: list[Any] = [words.html_say("to {place}", place=leg.location.name)] if leg.location is not None else []
    if own.get("back_us"):
        parts.append(words.html_say("planned back {when}", when=words.instant(own["back_us"], shop.zone, shop.now_us)))
    return parts


def _particulars(act: Act, body: dict[str, Any], own: dict[str, Any], shop: Shop) -> list[Any]:
    """What is particular to a kind of act."""
    parts: list[Any] = []
    if own.get("stop_us"):
        parts.append(words.html_say("stop by {when}", when=words.instant(own["stop_us"], shop.zone, shop.now_us, "near")))
    if body.get("delivery"):
        number = body["delivery"]
        parts.append(words.html_say('delivery <a href="{url}">{number}</a>', url=to("delivery", number=number), number=number))
    if body.get("sheet"):
        parts.append(words.html_say('<a href="{url}">count {number}</a>', url=to("count-sheet", body["sheet"]), number=body["sheet"]))
    for name, said in (
        ("job", template("for {what}")),
        ("purpose", template("for: {what}")),
        ("note", "{what}"),
        ("step", "{what}"),
        ("evidence", template("evidence: {what}")),
        ("code", template("label {what}")),
    ):
        value = body.get(name) or own.get(name)
        if value and isinstance(value, str):
            parts.append(words.html_say(said, what=value))
    if act.kind == "open":
        parts.append(say("bag dry") if own.get("dry") else "")
    if act.kind == "certify":
        parts.append(
            words.emphasise(
                strung(
                    ", ",
                    (
                        say("{value} {value_2}{value_3}", value=v[1], value_2=v[2], value_3=say(" ({value})", value=v[0]) if v[0] else "")
                        for v in body.get("values", ())
                    ),
                )
            )
        )
    if act.voids_id:
        parts.append(words.html_say('<a href="{url}">record {number}</a>', url=to("record", act.voids_id), number=act.voids_id))
    if act.reason:
        parts.append(format_html("“{}”", act.reason))
    return [p for p in parts if p != ""]
