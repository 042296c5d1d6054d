"""GET: what was built, and traces both ways. Each answer asks a number of queries that does not grow with its rows."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core.reasons import BadInput
from inventory.core.units import display
from inventory.models import Site
from layups.reads.part import PartPage, part_page
from layups.reads.parts import STATES, Row
from layups.reads.parts import parts as listed_parts
from layups.reads.rooms import RoomView
from layups.reads.windows import WindowView
from layups.tracing import trace_back, trace_forward
from layups.tracing.rows import BACK, FORWARD, back_json, back_rows, forward_json, forward_rows

from .documents import at, plain
from .paging import csv_response, cursor, cursor_of, size_of, wants_csv
from .reads import CURSOR, FORMAT, LIMIT, Read, _answers, _free, text_param, yes_param

DIRECTION = OpenApiParameter("direction", str, enum=["back", "forward"], description="back (the default): every lot in it.")


class Trace(Read):
    @extend_schema(
        operation_id="trace", tags=["reads"], parameters=[DIRECTION, FORMAT], responses=_answers(OpenApiTypes.OBJECT, 404, sheet=True)
    )
    def get(self, request: Request, code: str) -> Any:
        """Back from a thing to every lot in it, or forward from a lot (or any other thing) to everything made of it, shipped
        or not: things with quantities and times, and the edges between them. Instants are µs UTC, quantities in base units."""
        item, way = self.item(code), text_param(request, "direction") or "back"
        if way not in ("back", "forward"):
            raise BadInput("trace.direction", "direction is back or forward.", "direction")
        sheet = wants_csv(request)
        if way == "back":
            back = trace_back(item.pk)
            return csv_response(f"trace-back-{item.code}", BACK, back_rows(back, self.who.zone)) if sheet else Response(back_json(back))
        found = trace_forward(item.pk)
        if sheet:
            return csv_response(f"trace-forward-{item.code}", FORWARD, forward_rows(found, self.who.zone))
        return Response(forward_json(found))


class Parts(Read):
    @extend_schema(
        operation_id="parts",
        tags=["reads"],
        parameters=[
            CURSOR,
            LIMIT,
            FORMAT,
            OpenApiParameter("design", str),
            OpenApiParameter("q", str, description="A piece of the number."),
            OpenApiParameter("in_shop", str, enum=["yes"], description="Neither shipped nor scrapped."),
            OpenApiParameter("state", str, enum=list(STATES), description="in_work: building, bagged or curing."),
        ],
        responses=_answers(_free("PartPage"), sheet=True),
    )
    def get(self, request: Request) -> Any:
        """Parts and assemblies, newest first, with their state, holds and open findings."""
        found = listed_parts(
            Site.objects.get(pk=self.who.site),
            design=text_param(request, "design"),
            text=text_param(request, "q"),
            in_shop=yes_param(request, "in_shop"),
            state=text_param(request, "state"),
            before=cursor_of(request),
            limit=size_of(request),
        )
        docs = [part_doc(row) for row in found.rows]
        if wants_csv(request):
            columns = ("number", "code", "design", "state", "customer", "place", "inside", "held", "findings", "planned_cure_at")
            return csv_response("parts", columns, [[doc[c] for c in columns] for doc in docs])
        return Response({"results": docs, "next": cursor(found.before) if found.before is not None else None})


class OnePart(Read):
    @extend_schema(operation_id="part", tags=["reads"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, number: str) -> Response:
        """One part by its number or label: its schedule and what fills it, the lives that must last until its cure, the windows between
        steps that run, the room beside what the next line asks of it, what speaks
        against it, tests, defects, where it sits, and its steps."""
        item = self.item(number)
        if not hasattr(item, "part"):
            raise BadInput("code.unknown", f"{item} is no part: ask for it as an item.", "path")
        return Response(page_doc(part_page(Site.objects.get(pk=self.who.site), item.pk, self.now)))


def part_doc(row: Row) -> dict[str, Any]:
    return {
        "number": row.number,
        "code": row.code,
        "design": row.design,
        "state": row.word,
        "customer": row.customer or None,
        "place": row.place or None,
        "inside": row.inside or None,
        "held": row.held,
        "findings": row.findings,
        "planned_cure_at": at(row.planned_cure_us),
    }


def page_doc(p: PartPage) -> dict[str, Any]:
    part = p.part
    return {
        "number": part.number,
        "code": p.item.code,
        "design": part.design.code,
        "state": p.word,
        "customer": part.customer.name if part.customer else None,
        "place": p.place or None,
        "planned_cure_at": at(part.planned_cure_us),
        "schedule": [
            {
                "line": v.line.seq,
                "name": v.line.name,
                "step": v.line.step,
                "wants": v.line.wants,
                "angle": v.line.angle,
                "amount": display(v.line.qty, v.line.unit) if v.line.qty is not None and v.line.unit else None,
                "filled": v.done,
                "with": [filled_doc(f) for f in v.filled],
            }
            for v in p.lines
        ],
        "beside": [filled_doc(f) for f in p.beside],
        "next": plain(p.next) if p.next is not None else None,
        "lives": [life.to_json() for life in p.lives],
        "windows": [window_doc(w) for w in p.windows],
        "room": room_doc(p.room) if p.room is not None else None,
        "holds": [{"id": h.block, "on": h.name, "why": h.why, "text": h.text, "by": h.by, "from": at(h.from_us)} for h in p.holds],
        "findings": [{"id": f.pk, "code": f.code, "text": f.text, "at": at(f.at_us), "case": f.nonconformance_id} for f in p.findings],
        "inspections": [
            {
                "kind": i.kind,
                "result": i.result,
                "limit": i.limit,
                "passed": i.passed,
                "instrument": i.instrument,
                "at": at(i.act.happened_us),
            }
            for i in p.inspections
        ],
        "defects": [{"defect": d.code, "text": d.text, "at": at(d.act.happened_us)} for d in p.defects],
        "shipments": [{"customer": s.customer.name, "at": at(s.act.happened_us)} for s in p.shipments],
        "seats": [plain(s) for s in (*p.components, *p.seats)],
        "steps": [
            {"act": act.pk, "kind": act.kind, "at": at(act.happened_us), "by": act.person.name, "body": body} for act, body in p.steps
        ],
    }


def window_doc(w: WindowView) -> dict[str, Any]:
    return {
        "name": w.name,
        "state": w.word,
        "first": w.first,
        "then": w.then,
        "since": at(w.since_us),
        "opens_at": at(w.opens_us),
        "ends_at": at(w.ends_us),
        "when_over": w.remedy or None,
        "again": w.again or None,
    }


def room_doc(view: RoomView) -> dict[str, Any]:
    room = view.room
    temp, damp = (room.temp, room.humidity) if room is not None else (None, None)
    return {
        "place": room.code if room is not None else None,
        "asked": view.asked,
        "temp_mc": temp.value if temp is not None else None,
        "temp_at": at(temp.at_us if temp is not None else None),
        "rh_ppm": damp.value if damp is not None else None,
        "rh_at": at(damp.at_us if damp is not None else None),
        "against": [{"code": r.code, "text": r.text} for r in view.reasons],
    }


def filled_doc(f: Any) -> dict[str, Any]:
    return {
        "name": f.name,
        "code": f.code,
        "kind": f.kind,
        "material": f.material,
        "amount": f.qty or None,
        "at": at(f.at_us),
        "by": f.person,
        "act": f.act,
        "known": f.grade,
    }
