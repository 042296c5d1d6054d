"""A freezer event (R16): judged on the product probe, and charged by one decision to what was inside, each only while it was
there. The specification's own line decides whether the time counts; air spikes of a defrost charge nothing."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.durations import parse_duration
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, say_n, strung
from inventory.core.spans import day_text, duration
from inventory.core.temperature import display_celsius, parse_celsius
from inventory.models import Act, Item, LifeLimit, Location
from inventory.reads.stays import Stay, stays_in
from inventory.recording import Check, Claim, Line, Receipt, Transaction

from . import repeats
from .arrivals import at_field
from .registry import QUALITY, Call, Outcome, verb
from .releasing import required
from .resolve import ceiling_of, place_of


@dataclass(frozen=True, slots=True)
class Expose:
    """`place`: the freezer. `from_us` to `to_us`: when the product probe was above `line` (the specification's, "-12 °C";
    empty: the one line of all that was inside). `warmest`: what the product probe read at most. `charged`: where only the
    time above the line is known and not its exact interval; it is counted from `from_us` on. `air_time` and `air_warmest`
    are noted beside. `evidence`: the logger's file."""

    place: str
    from_us: int
    to_us: int
    warmest: str
    evidence: str
    reason: str = ""
    charged: str = ""
    line: str = ""
    air_time: str = ""
    air_warmest: str = ""


@verb("expose", Expose, (QUALITY,), say("Charge a freezer event"), observable=False, confirm=True)
def expose(call: Call, p: Expose) -> Outcome:
    receipts = repeats.again(call, p, "expose", "expose", stance="observed", happened_us=p.from_us)
    place = place_of(call, p.place)
    if receipts is None:
        event = _event(call, p, place)
        stays = stays_in(place, p.from_us, event["until_us"])
        if not stays:
            raise BadInput("expose.nobody", say("Nothing was in {place} then: check place and time.", place=place.name), "place")
        _one_line(event, stays)
        receipts = call.record(_claims(call, p, place, event, stays), "expose")
    return _told(call, place, receipts)


def _event(call: Call, p: Expose, place: Location) -> dict[str, Any]:
    """The event in base units. BadInput expose.order, .future, .longer_than_event, .not_warmer, evidence.missing."""
    if p.from_us >= p.to_us:
        raise BadInput("expose.order", say("The event ends before it begins: correct one of the two times."), "to_us")
    if p.to_us > call.now_us:
        raise BadInput("expose.future", say("The event is not over yet: decide when it is."), "to_us")
    with at_field("warmest"):
        warmest = parse_celsius(p.warmest, "°C")
    with at_field("charged"):
        charged = parse_duration(p.charged) if p.charged.strip() else p.to_us - p.from_us
    if not 0 < charged <= p.to_us - p.from_us:
        text = say("{charged} cannot be charged for an event of {to}.", charged=duration(charged), to=duration(p.to_us - p.from_us))
        raise BadInput("expose.longer_than_event", text, "charged")
    if warmest <= ceiling_of(place):
        text = say(
            "{warmest} is not warmer than {place} may be ({ceiling_of}): nothing to charge.",
            warmest=display_celsius(warmest),
            place=place.name,
            ceiling_of=display_celsius(ceiling_of(place)),
        )
        raise BadInput("expose.not_warmer", text, "warmest", warmest_mc=warmest)
    event: dict[str, Any] = {
        "place": place.pk,
        "from_us": p.from_us,
        "to_us": p.to_us,
        "until_us": p.from_us + charged,
        "warmest_mc": warmest,
    }
    with at_field("line"):
        event["line_mc"] = parse_celsius(p.line, "°C") if p.line.strip() else None
    with at_field("air_time"):
        event["air_us"] = parse_duration(p.air_time) if p.air_time.strip() else None
    with at_field("air_warmest"):
        event["air_warmest_mc"] = parse_celsius(p.air_warmest, "°C") if p.air_warmest.strip() else None
    event["evidence"] = required(p.evidence, "evidence", say("Say what it rests on: the product probe's file."))
    return event


def _one_line(event: dict[str, Any], stays: Sequence[Stay]) -> None:
    """The time was read above one line; a material whose line lies lower was out for longer than that."""
    lots = Item.objects.filter(pk__in=[s.item for s in stays]).values("lot")
    rows = LifeLimit.objects.filter(spec__lots__in=lots, clock="above").select_related("spec__material")
    lines = {row.threshold_mc: row.spec.material.code for row in rows if row.threshold_mc is not None}
    if event["line_mc"] is None:
        if len(lines) > 1:
            which = strung(", ", (say("{code} {mc}", code=code, mc=display_celsius(mc)) for mc, code in sorted(lines.items())))
            raise BadInput(
                "expose.line_needed",
                say("What was inside has several lines ({which}): say above which one the time was read.", which=which),
                "line",
            )
        event["line_mc"] = next(iter(lines), None)
    line_mc = event["line_mc"]
    if line_mc is not None and event["warmest_mc"] <= line_mc:
        text = say(
            "The product was at most {warmest}, never above {line}: nothing is charged.",
            warmest=display_celsius(event["warmest_mc"]),
            line=display_celsius(line_mc),
        )
        raise BadInput("expose.below_line", text, "warmest", warmest_mc=event["warmest_mc"], line_mc=line_mc)
    for line, code in sorted(lines.items()):
        if line < event["line_mc"]:
            text = say(
                "The time was read above {line}; {code} counts from {line_2}: read the chart again above that line.",
                line=display_celsius(event["line_mc"]),
                code=code,
                line_2=display_celsius(line),
            )
            raise BadInput("expose.line_too_high", text, "line", line_mc=line)


def _claims(call: Call, p: Expose, place: Location, event: dict[str, Any], stays: Sequence[Stay]) -> list[Claim]:
    """One act for what existed when it began; what came into being during it is charged from its own beginning."""
    groups: dict[int, list[int]] = defaultdict(list)
    for stay in stays:
        groups[max(event["from_us"], stay.born_us)].append(stay.item)
    starts = sorted(groups)
    rest = [f"born:{at}" for at in starts[1:]]
    claims = []
    for n, at_us in enumerate(starts):
        body = {"until_us": event["until_us"], "ceiling_mc": event["warmest_mc"], "place": place.pk}
        lines = [Line(item, body=body) for item in dict.fromkeys(groups[at_us])]
        shown = [[s.item, s.from_us, s.to_us] for s in stays if s.item in groups[at_us]]
        more = {"event": event, "stays": shown, **(repeats.parts(rest) if n == 0 else {})}
        claims.append(
            call.claim(
                "expose",
                lines,
                repeats.of(p, rest[n - 1] if n else ""),
                part=rest[n - 1] if n else "",
                stance="observed",
                happened_us=at_us,
                body=more,
                checks=(_not_charged(place, event),) if n == 0 else (),
                reason=" ".join((p.reason or call.reason or event["evidence"]).split()),
            )
        )
    return claims


def _not_charged(place: Location, event: dict[str, Any]) -> Check:
    """One event is charged once."""

    def check(tx: Transaction) -> Iterable[Reason]:
        rows = Act.objects.filter(site=tx.who.site, kind="expose", voided_by__isnull=True, happened_us__lt=event["until_us"])
        for act in rows.order_by("pk"):
            other = json.loads(act.body)["event"]
            if other["place"] == place.pk and other["until_us"] > event["from_us"]:
                text = say(
                    "An event of {place} is charged for that time already (record {pk}): void that first if it was wrong.",
                    place=place.name,
                    pk=act.pk,
                )
                yield Reason("expose.charged_already", text, {"record": act.pk}, cap=True)
                return

    return check


def _told(call: Call, place: Location, receipts: list[Receipt]) -> Outcome:
    event = receipts[0].body["event"]
    stays = [stay for receipt in receipts for stay in receipt.body["stays"]]
    names = dict(Item.objects.filter(pk__in=[item for item, _, _ in stays]).values_list("pk", "code"))
    names |= dict(Item.objects.filter(pk__in=list(names)).exclude(mark="").values_list("pk", "mark"))
    charged: dict[str, int] = defaultdict(int)
    for item, start, end in stays:
        charged[names[item]] += end - start
    zone = call.who.zone
    air = say("; air {air}", air=duration(event["air_us"])) if event["air_us"] is not None else ""
    text = say_n(
        "{place}: {until} above the line from {from_} charged to {n} thing{air}.",
        "{place}: {until} above the line from {from_} charged to {n} things{air}.",
        len(charged),
        place=place.name,
        until=duration(event["until_us"] - event["from_us"]),
        from_=day_text(event["from_us"], zone),
        air=air,
    )
    return Outcome(
        text, receipts, {"place": place.code, "charged": dict(charged), "air_us": event["air_us"], "warmest_mc": event["warmest_mc"]}
    )
