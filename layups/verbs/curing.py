"""A cure run: loaded (no clock stops), heating (the clocks stop), tripped (below the design's temperature the start is void and
the gap counts), ended (R11). And the plain steps of a part: demoulded, debulked, into the tent."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.spans import clock_text, day_text
from inventory.core.temperature import display_celsius, parse_celsius
from inventory.flags import raise_flag
from inventory.models import Act, ItemState, Leg, Location
from inventory.recording import Claim, Line, Transaction
from inventory.verbs import repeats
from inventory.verbs.registry import BUILDER, OWNER, QUALITY, Call, Outcome, verb
from inventory.verbs.resolve import ceiling_of, place_of
from layups.models import CureRun, Part
from layups.reads.charts import LOADED
from layups.reads.results import drop_test_reason
from layups.reads.tightening import carried, tighter_for

from .finding import Made, listed, run_of, several, words
from .windowing import Closing, closing_step

BUILDERS = (BUILDER, QUALITY, OWNER)


@dataclass(frozen=True, slots=True)
class CureLoad:
    """`run`: the run's number (CR-311). `place`: the oven, press or tent. `part` and `also`: what is loaded."""

    run: str
    place: str
    part: str
    also: tuple[str, ...] = ()


@verb("cure_load", CureLoad, BUILDERS, say("Load for cure"))
def cure_load(call: Call, p: CureLoad) -> Outcome:
    number, place, parts = words(p.run, "run", 40, needed=True), place_of(call, p.place), several(call, p.part, p.also)
    known = CureRun.objects.select_related("location").filter(site=call.who.site, number=number).first()
    if known is not None and known.location_id != place.pk:
        raise BadInput(
            "run.elsewhere",
            say("Run {number} is in {location}: give this load another number.", number=number, location=known.location.name),
            "run",
        )

    def row(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        CureRun.objects.get_or_create(site_id=call.who.site, number=number, defaults={"location": place})

    claim = call.claim(
        "step",
        [Line(m.id, location=place.pk, ceiling=ceiling_of(place)) for m in parts],
        p,
        body={"step": LOADED, "run": number, "place": place.code},
        checks=(_loadable(parts),),
        effects=(row,),
    )
    receipts = call.record([claim], "cure_load")
    text = say(
        "{listed} in {place}, run {number}. The clocks run until heating begins.", listed=listed(parts), place=place.name, number=number
    )
    return Outcome(text, receipts, {"run": number, "parts": [m.part.number for m in parts]})


def _loadable(parts: list[Made]) -> Callable[[Transaction], Iterator[Reason]]:
    def check(tx: Transaction) -> Iterator[Reason]:
        for m in parts:
            state = tx.state(m.id)
            if state.gone:
                yield Reason(
                    "stock.gone",
                    say("{m} is {gone}: nothing more can happen to it.", m=m, gone=state.gone),
                    {"item": m.id, "gone": state.gone},
                )
            yield from _before_heat(tx, m)

    return check


def _before_heat(tx: Transaction, m: Made) -> Iterator[Reason]:
    """What must be so before a part is heated."""
    state = tx.state(m.id)
    if state.curing is not None:
        text = say("{m} is heating since {curing} already.", m=m, curing=day_text(state.curing, tx.who.zone))
        yield Reason("cure.started", text, {"item": m.id, "since_us": state.curing})
    reason = drop_test_reason(m.part, state.bagged)
    if reason is not None:
        yield reason


@dataclass(frozen=True, slots=True)
class CureOn:
    """Heating begins. `run`: all that is loaded in it; or `parts`, for a cure where they stand (at room temperature, in a die)."""

    run: str = ""
    parts: tuple[str, ...] = ()


@verb("cure_on", CureOn, BUILDERS, say("Heating begins"))
def cure_on(call: Call, p: CureOn) -> Outcome:
    parts, number = _chosen(call, p.run, p.parts, heating=False)

    def ready(tx: Transaction) -> Iterator[Reason]:
        for m in parts:
            yield from _before_heat(tx, m)

    shut, tighter = closing_step("cure_on", parts), tighter_for(m.part for m in parts)
    lines = [Line(m.id, body=shut.body(m.id) | carried(tighter[m.id])) for m in parts]
    claim = call.claim("cure_on", lines, p, body={"run": number}, checks=(ready, shut))
    receipts = call.record([claim], "cure_on")
    at = receipts[0].happened_us
    text = say("{listed}: heating since {at}, the clocks stand.", listed=listed(parts), at=clock_text(at, call.who.zone))
    return Outcome(text, receipts, {"run": number, "parts": [m.part.number for m in parts], "since_us": at})


@dataclass(frozen=True, slots=True)
class CureAbort:
    """The run stopped before its end. `reached`: the part's temperature then ("34", in °C): below what the design calls cured,
    the start is void and all the time since counts. `run` or `parts` as for the start."""

    reached: str
    run: str = ""
    parts: tuple[str, ...] = ()


@verb("cure_abort", CureAbort, BUILDERS, say("Cure interrupted"))
def cure_abort(call: Call, p: CureAbort) -> Outcome:
    reached = _degrees(p.reached)
    receipts = repeats.again(call, p, "cure_abort", "cure_abort", stance="observed")
    if receipts is None:
        parts, number = _chosen(call, p.run, p.parts, heating=True)
        rest = [m.part.number for m in parts[1:]]
        claims = [_abort(call, p, m, number, reached, rest[i - 1] if i else "", rest if i == 0 else []) for i, m in enumerate(parts)]
        receipts = call.record(claims, "cure_abort")
    touched = [item for r in receipts for item in r.touched]
    parts, number = _made(touched), str(receipts[0].body.get("run", ""))
    void = [m for m in parts if reached < m.part.design.cure_min_mc]
    texts = [say("Start void for {listed}: the time since heating began counts, and the clocks run.", listed=listed(void))] if void else []
    kept = [m for m in parts if m not in void]
    texts += (
        [say("{listed} had reached {reached}: quality decides.", listed=listed(kept), reached=display_celsius(reached))] if kept else []
    )
    data = {"run": number, "reached_mc": reached, "void": [m.part.number for m in void], "kept": [m.part.number for m in kept]}
    return Outcome(strung(" ", texts), receipts, data)


def _abort(call: Call, p: CureAbort, m: Made, number: str, reached: int, part: str, rest: list[str]) -> Claim:
    """One act a part: each has its design's temperature. It is a fact, so it is stored whatever it breaks, and quality told."""
    least = m.part.design.cure_min_mc
    void = reached < least
    numbers: dict[str, int | str | None] = {"reached_mc": reached, "least_mc": least, "part": m.part.number}
    where = say("{m} in run {number}", m=m, number=number) if number else str(m)

    def check(tx: Transaction) -> Iterator[Reason]:
        if tx.state(m.id).curing is None:
            yield Reason("cure.not_started", say("{m} is not heating: there is no start to void.", m=m), {"item": m.id}, cap=True)
        elif not void:
            text = say(
                "The cure of {where} was interrupted at {reached}, above {least}: quality decides.",
                where=where,
                reached=display_celsius(reached),
                least=display_celsius(least),
            )
            yield Reason("cure.interrupted", text, numbers)

    def tell(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        if void:
            text = say(
                "The start of cure of {where} is void: it stopped at {reached}, below {least}.",
                where=where,
                reached=display_celsius(reached),
                least=display_celsius(least),
            )
            raise_flag(tx.who.site, f"item:{m.id}", "cure.void_start", "quality", text, tx.happened_us, tx.now_us, m.id)

    line = Line(m.id, body={"void_start": void, "reached_mc": reached})
    body = {"run": number, "reached_mc": reached, **repeats.parts(rest)}
    return call.claim("cure_abort", [line], p, part=part, stance="observed", body=body, checks=(check,), effects=(tell,))


def _degrees(text: str) -> int:
    """As typed into a field that is headed °C; a unit typed along is heeded."""
    text = text.strip()
    return parse_celsius(text, "°C" if text[-1:].isdigit() else None)


@dataclass(frozen=True, slots=True)
class CureOff:
    """The cure is done. `run` or `parts` as for the start. `place`: where the parts go, if they are unloaded."""

    run: str = ""
    parts: tuple[str, ...] = ()
    place: str = ""


@verb("cure_off", CureOff, BUILDERS, say("Cure done"))
def cure_off(call: Call, p: CureOff) -> Outcome:
    parts, number = _chosen(call, p.run, p.parts, heating=True)
    place = place_of(call, p.place) if p.place.strip() else None

    def heating(tx: Transaction) -> list[Reason]:
        return [
            Reason("cure.not_started", say("{m} has no start of cure on record: record when heating began.", m=m), {"item": m.id})
            for m in parts
            if tx.state(m.id).curing is None
        ]

    shut = closing_step("cure_off", parts)
    claim = call.claim("cure_off", [_line(m, place, shut) for m in parts], p, body={"run": number}, checks=(heating, shut))
    receipts = call.record([claim], "cure_off")
    return Outcome(say("{listed} cured.", listed=listed(parts)), receipts, {"run": number, "parts": [m.part.number for m in parts]})


def _line(m: Made, place: Location | None, shut: Closing) -> Line:
    body = shut.body(m.id)
    return Line(m.id, body=body) if place is None else Line(m.id, location=place.pk, ceiling=ceiling_of(place), body=body)


@dataclass(frozen=True, slots=True)
class Step:
    """Something done to parts: "demoulded", "debulked", "post-cured". `place`: where they go with it, if anywhere."""

    part: str
    step: str
    note: str = ""
    place: str = ""
    also: tuple[str, ...] = ()


@verb("step", Step, BUILDERS, say("Record a step"))
def step(call: Call, p: Step) -> Outcome:
    parts, name = several(call, p.part, p.also), words(p.step, "step", 60, needed=True)
    note, place = words(p.note, "note", 500), place_of(call, p.place) if p.place.strip() else None
    body = {"step": name, **({"note": note} if note else {}), **({"place": place.code} if place else {})}
    shut = closing_step("step", parts, name)
    receipts = call.record([call.claim("step", [_line(m, place, shut) for m in parts], p, body=body, checks=(shut,))], "step")
    return Outcome(
        say("{listed}: {name}.", listed=listed(parts), name=name), receipts, {"parts": [m.part.number for m in parts], "step": name}
    )


# --- which parts ------------------------------------------------------------------------------------


def _chosen(call: Call, run: str, parts: tuple[str, ...], heating: bool) -> tuple[list[Made], str]:
    """The parts that were named, else those in the run. BadInput run.needed, run.empty."""
    row = run_of(call, run) if run.strip() else None
    number = row.number if row else ""
    if parts:
        return several(call, parts[0], parts[1:]), number
    if row is None:
        raise BadInput("run.needed", say("Say which run, or which parts."), "run")
    if call.done_before():
        ids = list(Leg.objects.filter(act__site=call.who.site, act__key=call.key).values_list("item_id", flat=True))
    else:
        ids = _loaded(row, heating)
    if not ids:
        what = say("is heating") if heating else say("is loaded and waits for heat")
        raise BadInput("run.empty", say("Nothing in run {number} {what}: scan the parts.", number=number, what=what), "run")
    return _made(ids), number


def _made(ids: list[int]) -> list[Made]:
    rows = Part.objects.select_related("item", "design", "customer").filter(pk__in=ids).order_by("pk")
    return [Made(r.item, r) for r in rows]


def _loaded(run: CureRun, heating: bool) -> list[int]:
    """What stands in the run's oven, was last loaded there for this run, and is heating or waits for it."""
    states = ItemState.objects.filter(location=run.location, item__kind__in=("part", "assembly"), gone="")
    docs = {pk: json.loads(doc) for pk, doc in states.values_list("pk", "doc")}
    wanted = [pk for pk, doc in docs.items() if (doc.get("curing") is not None) == heating]
    last: dict[int, str] = {}
    legs = Leg.objects.filter(item__in=wanted, act__kind="step", location=run.location, act__voided_by__isnull=True)
    for item, body in legs.order_by("act__happened_us", "seq").values_list("item_id", "act__body"):
        last[item] = json.loads(body).get("run", "")
    return sorted(item for item, number in last.items() if number == run.number)
