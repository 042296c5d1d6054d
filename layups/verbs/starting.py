"""A part begins; a run is cut into pieces; a planned cure moves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.units import display, parse
from inventory.models import Act, Customer, Item
from inventory.recording import Flow, Line, NewItem, Transaction
from inventory.verbs.births import new_code
from inventory.verbs.registry import BUILDER, OWNER, QUALITY, Call, Outcome, verb
from inventory.verbs.resolve import ceiling_of, customer_of, place_of
from layups.models import Design, Part

from .finding import design_of, made_of, words

BUILDERS = (BUILDER, QUALITY, OWNER)
Row = Callable[[Transaction, Act, dict[str, int]], None]


@dataclass(frozen=True, slots=True)
class StartPart:
    """`design`: the product's design. `number`: what is written on the part (RUD-073). `place`: the bay it is built in.
    `customer`: whose it will be, if known. `planned_cure_us`: when its cure is to begin. `length`: only for a run that is made
    continuously and cut into pieces later ("90.0 m"). `code`: the label's code, if it already has one."""

    design: str
    number: str
    place: str
    customer: str = ""
    planned_cure_us: int | None = None
    length: str = ""
    code: str = ""


@verb("start_part", StartPart, BUILDERS, say("Begin a part"))
def start_part(call: Call, p: StartPart) -> Outcome:
    design, place = design_of(p.design), place_of(call, p.place)
    number = words(p.number, "number", 40, needed=True)
    customer = customer_of(p.customer) if p.customer.strip() else None
    unit, qty = ("um", parse(p.length, None, "um")) if p.length.strip() else ("pc", 1)
    new = NewItem(new_code(call, "part", p.code), design.kind, unit, number)
    line = Line("part", delta=qty, location=place.pk, ceiling=ceiling_of(place))
    claim = call.claim(
        "start",
        [line],
        p,
        new={"part": new},
        body={"design": design.code, "number": number},
        checks=(number_free(call, [number]),),
        effects=(part_row("part", design, number, customer, p.planned_cure_us),),
    )
    receipts = call.record([claim], "start_part")
    data = {"part": number, "items": {"part": new.code}, "design": design.code}
    return Outcome(
        say("{number}, {design}, is begun in {place}.", number=number, design=design.name.lower(), place=place.name), receipts, data
    )


def part_row(name: str, design: Design, number: str, customer: Customer | None, planned_us: int | None) -> Row:
    """The part's own row, in the transaction that brings it into being."""

    def effect(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Part.objects.create(item_id=names[name], design=design, number=number, customer=customer, planned_cure_us=planned_us)

    return effect


def number_free(call: Call, numbers: list[str]) -> Callable[[Transaction], list[Reason]]:
    """A number is written on one part only, and names nothing else on the site."""

    def check(tx: Transaction) -> list[Reason]:
        written = {form for n in numbers for form in (n, n.upper(), n.lower())}
        taken = {n.casefold() for n in Part.objects.filter(number__in=written).values_list("number", flat=True)}
        marks = Item.objects.filter(site=call.who.site, mark__in=written, stub=False)
        taken |= {m.casefold() for m in marks.values_list("mark", flat=True)}
        return [number_taken(n) for n in numbers if n.casefold() in taken]

    return check


def number_taken(number: str) -> Reason:
    """Nobody may override it: two parts with one number cannot be told apart."""
    text = say("{number} is already the name of something here: choose another number.", number=number)
    return Reason("part.number_taken", text, {"number": number}, cap=True)


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a run: its number, and its label's code if it already has one."""

    number: str
    code: str = ""


@dataclass(frozen=True, slots=True)
class CutParts:
    """`run`: the run that is cut. `design`: what the pieces are. `length`: of each piece, off the run ("1.20 m"). `pieces`: in
    the order in which they come off. `place`: where they are put (empty: where the run is)."""

    run: str
    design: str
    length: str
    pieces: tuple[Piece, ...]
    place: str = ""
    customer: str = ""


@verb("cut_parts", CutParts, BUILDERS, say("Cut a run into pieces"))
def cut_parts(call: Call, p: CutParts) -> Outcome:
    run, design = made_of(call, p.run, "run"), design_of(p.design)
    if run.item.unit != "um":
        raise BadInput("run.not_a_length", say("{run} is not a run kept by length: it cannot be cut into pieces.", run=run), "run")
    if not p.pieces:
        raise BadInput("run.no_pieces", say("Say the numbers of the pieces."), "pieces")
    each = parse(p.length, None, "um")
    numbers = [words(piece.number, "pieces", 40, needed=True) for piece in p.pieces]
    if len({n.casefold() for n in numbers}) < len(numbers):
        raise BadInput("run.piece_twice", say("Two pieces have the same number: each needs its own."), "pieces")
    customer = customer_of(p.customer) if p.customer.strip() else None
    names = {f"piece{i}": n for i, n in enumerate(numbers)}
    new = {k: NewItem(new_code(call, k, piece.code), "part", "pc", names[k]) for k, piece in zip(names, p.pieces, strict=True)}
    where = _where(call, run.id, p.place)
    claim = call.claim(
        "start",
        [Line(run.id, delta=-each * len(names)), *(Line(k, delta=1, **where) for k in names)],
        p,
        flows=tuple(Flow(run.id, k, each, 1) for k in names),
        new=new,
        body={"design": design.code, "run": run.part.number},
        checks=(number_free(call, numbers), _run_cured(run.id)),
        effects=tuple(part_row(k, design, n, customer or run.part.customer, None) for k, n in names.items()),
    )
    receipts = call.record([claim], "cut_parts")
    text = say("{names} × {each} cut from {run}.", names=len(names), each=display(each, "um"), run=run)
    return Outcome(text, receipts, {"run": run.part.number, "items": {names[k]: item.code for k, item in new.items()}})


def _where(call: Call, run: int, place: str) -> dict[str, Any]:
    from inventory.models import ItemState

    if place.strip():
        row = place_of(call, place)
        return {"location": row.pk, "ceiling": ceiling_of(row)}
    state = ItemState.objects.filter(pk=run).first()
    return {"location": state.location_id, "ceiling": state.ceiling_mc} if state is not None else {}


def _run_cured(run: int) -> Callable[[Transaction], list[Reason]]:
    def check(tx: Transaction) -> list[Reason]:
        entry = tx.entry(run)
        if entry.state.cured is not None or not entry.state.strands:
            return []
        text = say("{facts} is not cured: record its cure before cutting it.", facts=entry.facts.name)
        return [Reason("part.not_cured", text, {"item": run})]

    return check


@dataclass(frozen=True, slots=True)
class PlanCure:
    """`planned_cure_us`: when the cure of `part` is to begin; what is laid into it must live until then."""

    part: str
    planned_cure_us: int


@verb("plan_cure", PlanCure, BUILDERS, say("Plan the cure"), observable=False)
def plan_cure(call: Call, p: PlanCure) -> Outcome:
    made = made_of(call, p.part)
    if p.planned_cure_us <= call.now_us and not call.done_before():
        raise BadInput("plan.past", say("The planned cure lies in the past: choose a time to come."), "planned_cure_us")

    def effect(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Part.objects.filter(pk=made.id).update(planned_cure_us=p.planned_cure_us)

    body = {"step": say("cure planned"), "planned_cure_us": p.planned_cure_us}
    receipts = call.record([call.claim("step", [Line(made.id)], p, body=body, effects=(effect,))], "plan_cure")
    return Outcome(
        say("The cure of {made} is planned.", made=made), receipts, {"part": made.part.number, "planned_cure_us": p.planned_cure_us}
    )
