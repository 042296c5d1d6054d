"""A part or an assembly goes to its customer, if nothing speaks against it; everything that does is told at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.models import Act, Customer, Finding
from inventory.recording import Claim, Line, Transaction
from inventory.verbs.registry import OWNER, QUALITY, STOREKEEPER, Call, Outcome, verb
from inventory.verbs.resolve import customer_of
from layups.core import schedule, verdicts
from layups.models import Part, Shipment
from layups.reads import charts, schedules
from layups.reads.assemblies import all_components, seats_of
from layups.reads.results import inspections_of

from .finding import Made, listed, several, words
from .joining import cut_of_a_run, uncured


@dataclass(frozen=True, slots=True)
class Ship:
    """`part` and `also`: what goes out. `customer`: to whom (empty: whose part it is). `note`: delivery note or hull number."""

    part: str
    customer: str = ""
    also: tuple[str, ...] = ()
    note: str = ""


@verb("ship", Ship, (QUALITY, OWNER, STOREKEEPER), say("Ship"))
def ship(call: Call, p: Ship) -> Outcome:
    parts, note = several(call, p.part, p.also), words(p.note, "note", 200)
    named = customer_of(p.customer) if p.customer.strip() else None
    rest = [m.part.number for m in parts[1:]]
    claims = []
    for i, made in enumerate(parts):
        customer = named or made.part.customer
        if customer is None:
            raise BadInput("ship.no_customer", say("{made} is for nobody in particular: say to whom it goes.", made=made), "customer")
        claims.append(_claim(call, p, made, customer, note, rest[i - 1] if i else ""))
    receipts = call.record(claims, "ship")
    return Outcome(say("{listed} shipped.", listed=listed(parts)), receipts, {"parts": [m.part.number for m in parts]})


def _claim(call: Call, p: Ship, made: Made, customer: Customer, note: str, part: str) -> Claim:
    def check(tx: Transaction) -> Iterator[Reason]:
        own = made.part.customer
        if own is not None and own != customer:
            text = say("{made} is for {own}, not for {customer}.", made=made, own=own, customer=customer)
            yield Reason("ship.other_customer", text, {"part": made.part.number, "customer": str(own)})
        for seat in seats_of([made.id]).get(made.id, []):
            text = say("{made} is built into {seat}: ship that, or take it out.", made=made, seat=seat.number)
            yield Reason("part.in_assembly", text, {"item": made.id, "assembly": seat.assembly}, cap=True)
        yield from not_ready(tx, made)

    def row(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Shipment.objects.create(part=made.part, customer=customer, act=act)

    body = {"customer": customer.name, "customer_id": customer.pk, **({"note": note} if note else {})}
    return call.claim("ship", [Line(made.id)], p, part=part, body=body, checks=(check,), effects=(row,))


def not_ready(tx: Transaction, made: Made) -> Iterator[Reason]:
    """Everything against its going out, of the part and of what is built into it: plies that nothing went into, no cure, tests
    and charts that are missing, open findings. (Holds and open life findings are asked of every shipment by the write path.)"""
    ids = [made.id, *all_components(made.id)]
    tx.load(ids, lock=False)
    rows = Part.objects.select_related("item", "design__cure_recipe", "customer").filter(pk__in=ids).order_by("pk")
    things = [Made(r.item, r) for r in rows]
    lines = schedules.lines_of(m.part.design_id for m in things)
    laid, tests = schedules.laid_into(ids), inspections_of(ids)
    for m in things:
        if not cut_of_a_run(m.id):
            yield from _unfilled(m, schedule.missing(lines.get(m.part.design_id, ()), schedules.fillings(laid.get(m.id, ()))))
        yield from uncured(tx, m)
        hard = m.part.design.hardness_min
        if hard and not any(t.kind == verdicts.HARDNESS for t in tests.get(m.id, ())):
            text = say("The hardness of {m} was not measured: at least {hard}.", m=m, hard=hard)
            yield Reason("inspection.missing", text, {"part": m.part.number, "kind": verdicts.HARDNESS})
    yield from charts.against([m.part for m in things if not cut_of_a_run(m.id)])
    yield from _open_findings(ids)


def _unfilled(m: Made, missing: list[schedule.Line]) -> Iterator[Reason]:
    if missing:
        names = strung(", ", (say("{line} ({wants})", line=line.name, wants=line.wants) for line in missing))
        text = say("{m} is not complete: nothing went into {names}. If it did, record it as already happened.", m=m, names=names)
        yield Reason(
            "part.unfilled", text, {"part": m.part.number, "missing": len(missing), "plies": strung(" ", (str(x.seq) for x in missing))}
        )


def _open_findings(ids: list[int]) -> Iterator[Reason]:
    """Life findings are told by the write path itself."""
    rows = Finding.objects.filter(item__in=ids, closed_us__isnull=True).exclude(code__startswith="life.").select_related("item")
    for row in rows.order_by("pk"):
        text = say("An open finding stops this until quality has disposed of it: {text}", text=row.text)
        yield Reason("finding.open", text, {"item": row.item_id, "finding": row.pk, "code": row.code.split("/")[0]})
