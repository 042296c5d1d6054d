"""GET: what so many parts of a design take, what the stock gives for them, and what is to buy."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core.reasons import BadInput
from inventory.reads.stock import Piece
from layups.core.demand import MAX_PARTS, Mix, Taken
from layups.models import Design
from layups.reads.demand import Demand, design_demand
from layups.reads.designs import design_at
from layups.reads.shopping import Row, Shopping, shopping
from layups.reads.tightening import tighter_for_design

from .documents import at, quantity
from .errors import reason_doc
from .paging import csv_response, wants_csv
from .reads import FORMAT, Read, _answers, text_param
from .verbs import instant

PARTS = OpenApiParameter("parts", int, description=f"1 to {MAX_PARTS}; without it, one.")
CURE = OpenApiParameter("cure", str, description="When they are cured, RFC 3339 with an offset: what is fetched lives until then.")
HEADER = ("material", "unit", "needed", "from_stock", "fetch", "missing", "on_order_in_time", "buy")


class DesignDemand(Read):
    @extend_schema(
        operation_id="design_demand",
        tags=["reads"],
        parameters=[PARTS, CURE, FORMAT],
        responses=_answers(OpenApiTypes.OBJECT, 404, sheet=True),
    )
    def get(self, request: Request, design: str) -> Any:
        """What so many parts take of each material; of that, what is picked first expired, first out from stock that is released, free,
        long enough and alive at the planned cure; what was passed over and why; what is missing, on order, and to buy."""
        try:
            row = design_at(design)
        except Design.DoesNotExist:
            raise BadInput("code.unknown", "There is no such design: GET /api/designs/ lists them.", "path") from None
        as_csv = wants_csv(request)
        cure = text_param(request, "cure")
        cure_us = instant(cure, "cure") if cure else None
        found = shopping(self.who.site, self.who.zone, design_demand(row, parts_of(request)), self.now, cure_us, tighter_for_design(row.pk))
        if as_csv:
            return csv_response("demand", HEADER, (csv_row(one) for one in found.rows))
        return Response({"design": row.code, **shopping_doc(found)})


def parts_of(request: Request) -> int:
    text = text_param(request, "parts") or "1"
    if not text.isascii() or not text.isdecimal() or len(text) > 6:
        raise BadInput("demand.parts", f"parts is a whole number from 1 to {MAX_PARTS}.", "parts")
    return int(text)


def csv_row(row: Row) -> list[object]:
    unit = row.order.unit
    fetch = "; ".join(f"{take.candidate.mark} {take.amount}" for take in row.takes)
    return [row.material.code, unit, row.order.whole, row.picked, fetch, row.missing, row.coming, row.buy]


def shopping_doc(found: Shopping) -> dict[str, Any]:
    return {**demand_doc(found.demand), "cure_at": at(found.cure_us), "materials": [row_doc(row) for row in found.rows]}


def demand_doc(demand: Demand) -> dict[str, Any]:
    weights = {name: getattr(demand.weights, name) for name in ("fibre", "resin", "core", "whole")}
    return {
        "parts": demand.parts,
        "weight_of_one_part": {name: None if mass is None else quantity(round(mass), "ug") for name, mass in weights.items()},
        "mixes_of_one_part": [mix_doc(one) for one in demand.mixes],
        "notes": list(demand.notes),
    }


def mix_doc(one: Mix) -> dict[str, Any]:
    def mass(value: int | None) -> dict[str, Any] | None:
        return None if value is None else quantity(value, "ug")

    computed = one.computed
    return {
        "line": one.what,
        "recipe": one.recipe,
        "fibre": mass(computed.fibre_ug if computed else None),
        "resin_in_part": mass(computed.laminate_ug if computed else None),
        "computed": mass(computed.whole_ug if computed else None),
        "scheduled": mass(one.stated_ug),
        "mixed": mass(one.amount_ug),
        "parts": {part.what: quantity(part.mass_ug, "ug") for part in one.parts.parts} if one.parts else None,
        "pot": mass(one.pot_ug),
        "pots": one.pots,
        "missing": list(one.lacks),
    }


def row_doc(row: Row) -> dict[str, Any]:
    unit = row.order.unit
    return {
        "material": row.material.code,
        "needed": quantity(row.order.whole, unit),
        "pieces": [{"length": quantity(size, "um"), "count": n} for size, n in sorted(row.order.sizes.items(), reverse=True)],
        "lines": [line_doc(one, unit) for one in row.order.taken],
        "fetch": [
            {**piece_row(take.candidate.ref), "quantity": quantity(take.amount, unit), "pieces": take.pieces or None} for take in row.takes
        ],
        "passed_over": [{**piece_row(p.candidate.ref), "reasons": [reason_doc(r) for r in p.reasons]} for p in row.passed],
        "missing": quantity(row.missing, unit),
        "missing_pieces": [{"length": quantity(size, "um"), "count": n} for size, n in sorted(row.pieces.items(), reverse=True)],
        "on_order": [
            {
                "delivery": order.number,
                "expected": quantity(order.expected_qty, unit) if order.expected_qty else None,
                "due_on": order.due_on.isoformat() if order.due_on else None,
            }
            for order in row.orders
        ],
        "buy": quantity(row.buy, unit),
    }


def line_doc(one: Taken, unit: str) -> dict[str, Any]:
    return {
        "line": one.line.what,
        "net_area": quantity(one.line.net_cmm2, "cmm2") if one.line.net_cmm2 is not None else None,
        "loss_ppm": one.line.loss_ppm,
        "scheduled": quantity(one.line.stated, unit) if one.line.stated is not None else None,
        "computed": quantity(one.computed, unit) if one.computed is not None else None,
        "one_part": quantity(one.amount, unit) if one.amount is not None else None,
        "yield_ppm": one.yield_ppm,
    }


def piece_row(piece: Any) -> dict[str, Any]:
    assert isinstance(piece, Piece)
    return {"item": piece.item.code, "mark": piece.item.mark or None, "place": piece.place_code or None}
