"""Components are built into assemblies and taken out again, with dates (R43)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import day_text
from inventory.models import Act, Edge
from inventory.recording import Flow, Line, Transaction
from inventory.verbs.registry import BUILDER, OWNER, QUALITY, Call, Outcome, verb
from inventory.verbs.resolve import ceiling_of, place_of
from layups.reads import charts
from layups.reads.assemblies import seats_of

from .finding import Made, made_of

BUILDERS = (BUILDER, QUALITY, OWNER)


@dataclass(frozen=True, slots=True)
class Join:
    """`component` goes into `assembly`, from now on."""

    component: str
    assembly: str


@verb("join", Join, BUILDERS, say("Build in"))
def join(call: Call, p: Join) -> Outcome:
    component, assembly = made_of(call, p.component, "component"), made_of(call, p.assembly, "assembly")
    if component.id == assembly.id:
        raise BadInput("join.itself", say("{component} cannot be built into itself: scan the assembly.", component=component), "assembly")
    if component.item.unit != "pc":
        raise BadInput(
            "join.a_run", say("{component} is a run kept by length: cut it into pieces first.", component=component), "component"
        )

    def ready(tx: Transaction) -> Iterator[Reason]:
        for seat in seats_of([component.id]).get(component.id, []):
            text = say(
                "{component} is in {seat} since {from_}: take it out there first.",
                component=component,
                seat=seat.number,
                from_=day_text(seat.from_us, tx.who.zone),
            )
            yield Reason("part.in_assembly", text, {"item": component.id, "assembly": seat.assembly}, cap=True)
        yield from uncured(tx, component)
        yield from charts.open_findings([component.id])

    flow = Flow(component.id, assembly.id, 1)
    claim = call.claim("join", [Line(component.id, delta=-1), Line(assembly.id)], p, flows=(flow,), checks=(ready,))
    receipts = call.record([claim], "join")
    return Outcome(
        say("{component} is in {assembly}.", component=component, assembly=assembly),
        receipts,
        {"component": component.part.number, "assembly": assembly.part.number},
    )


def uncured(tx: Transaction, made: Made) -> Iterator[Reason]:
    """What reacts must be cured before it is built in or goes out; a thermoplastic part and a bare assembly have no cure."""
    state = tx.state(made.id)
    if state.cured is not None or made.part.design.kind == "assembly" or "thermoplastic" in made.part.design.process:
        return
    if state.cured is None and cut_of_a_run(made.id):
        return
    yield Reason("part.not_cured", say("{made} is not cured.", made=made), {"item": made.id})


def cut_of_a_run(part: int) -> bool:
    """A piece cut from a run is as cured, and as complete, as the run was when it was cut."""
    return Edge.objects.filter(dst=part, kind="start", void=False).exists()


@dataclass(frozen=True, slots=True)
class Unjoin:
    """`component` is taken out of what it is in. `place`: where it goes."""

    component: str
    place: str = ""


@verb("unjoin", Unjoin, BUILDERS, say("Take out"))
def unjoin(call: Call, p: Unjoin) -> Outcome:
    component = made_of(call, p.component, "component")
    place = place_of(call, p.place) if p.place.strip() else None
    if call.done_before():
        return Outcome(say("{component} is taken out.", component=component), call.record([call.claim("unjoin", (), p)], "unjoin"))
    seats = seats_of([component.id]).get(component.id, [])
    if not seats:
        raise BadInput("join.not_in_one", say("{component} is not built into anything.", component=component), "component")
    seat = seats[0]

    def check(tx: Transaction) -> Iterator[Reason]:
        if not Edge.objects.filter(pk=seat.edge, void=False, until_us__isnull=True).exists():
            yield Reason(
                "join.not_in_one",
                say("{component} is no longer in {seat}.", component=component, seat=seat.number),
                {"item": component.id},
                cap=True,
            )
        if tx.happened_us <= seat.from_us:
            text = say(
                "{component} is in {seat} only since {from_}: give the time when it came out.",
                component=component,
                seat=seat.number,
                from_=day_text(seat.from_us, tx.who.zone),
            )
            yield Reason("join.before_it_was_in", text, {"from_us": seat.from_us}, cap=True)

    def until(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Edge.objects.filter(pk=seat.edge).update(until_us=tx.happened_us)

    where: dict[str, Any] = {"location": place.pk, "ceiling": ceiling_of(place)} if place else {}
    lines = [Line(component.id, delta=1, **where), Line(seat.assembly)]
    claim = call.claim("unjoin", lines, p, body={"edge": seat.edge, "from": seat.number}, checks=(check,), effects=(until,))
    receipts = call.record([claim], "unjoin")
    return Outcome(
        say("{component} is out of {seat}.", component=component, seat=seat.number),
        receipts,
        {"component": component.part.number, "assembly": seat.number},
    )
