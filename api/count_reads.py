"""Counts of places for machines: which places are due, and one count as it stands. Begun, seen and ended by their verbs."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core.reasons import BadInput
from inventory.models import CountSheet, ItemState
from inventory.reads import counts
from inventory.reads.counts import Seen

from .documents import at, quantity
from .log_reads import _number
from .reads import CURSOR, LIMIT, Read, _answers, _free, text_param, yes_param


class Counts(Read):
    @extend_schema(
        operation_id="counts", tags=["counts"],
        parameters=[CURSOR, LIMIT, OpenApiParameter("place", str), OpenApiParameter("under_way", str, enum=["yes"])],
        responses=_answers(_free("CountPage")),
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Counts of places, newest first: who, when, whether they are under way, done or left off."""
        rows = CountSheet.objects.filter(site=self.who.site).select_related("location", "begun_by", "ended_by")
        if place := text_param(request, "place"):
            rows = rows.filter(location__code__iexact=place)
        if yes_param(request, "under_way"):
            rows = rows.filter(ended_us__isnull=True)
        return self.paged(request, rows, sheet_doc, newest_first=True)


class OneCount(Read):
    @extend_schema(operation_id="count", tags=["counts"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, count: str) -> Response:
        """What was seen, what is still expected, what is booked elsewhere or gone, what was not found. `rev` is what its end asks for."""
        rows = CountSheet.objects.select_related("location", "begun_by", "ended_by").filter(site=self.who.site)
        row = rows.filter(pk=_number(count)).first()
        if row is None:
            raise BadInput("code.unknown", "There is no such count.", "path")
        found = counts.look(row)
        piles = {name: [seen_doc(s) for s in getattr(found, name)] for name in ("here", "elsewhere", "gone", "missing")}
        expected = {name: [expected_doc(s) for s in getattr(found, name)] for name in ("waiting", "handled")}
        return Response({**sheet_doc(row), **piles, **expected})


class CountPlaces(Read):
    @extend_schema(operation_id="count_places", tags=["counts"], responses=_answers(_free("CountPlacePage")))
    def get(self, request: Request) -> Response:
        """Every place with its last count, the interval that the owner set, and for how many days its next count has been due."""
        rows = counts.places(self.who.site, self.who.zone, self.now)
        return Response({"results": [due_doc(d) for d in rows], "next": None})


def sheet_doc(row: CountSheet) -> dict[str, Any]:
    return {
        "id": row.pk,
        "place": row.location.code,
        "state": "under way" if row.ended_us is None else "left off" if row.dropped else "done",
        "rev": row.rev,
        "begun_by": row.begun_by.name,
        "begun_at": at(row.begun_us),
        "ended_by": row.ended_by.name if row.ended_by is not None else None,
        "ended_at": at(row.ended_us),
    }


def seen_doc(seen: Seen) -> dict[str, Any]:
    line, item = seen.line, seen.line.item
    return {
        "item": item.code,
        "mark": item.mark,
        "material": item.material.code if item.material is not None else None,
        "seen_at": at(line.seen_us),
        "seen_by": line.seen_by.name if line.seen_by is not None else None,
        "booked": line.booked.code if line.booked is not None else None,
        "book": quantity(line.book, item.unit),
        "gone": line.gone or None,
        "counted": quantity(line.counted, item.unit) if line.counted is not None else None,
        "difference": seen.difference,
        "how": line.how or None,
        "reason": line.reason or None,
        "act": line.act_id,
        "settled": line.settled or None,
    }


def expected_doc(state: ItemState) -> dict[str, Any]:
    item = state.item
    material = item.material.code if item.material is not None else None
    return {"item": item.code, "mark": item.mark, "material": material, "book": quantity(state.qty, item.unit)}


def due_doc(due: counts.Due) -> dict[str, Any]:
    return {
        "place": due.place.code,
        "every_days": due.place.count_days,
        "last_count": due.last.pk if due.last is not None else None,
        "last_at": at(due.last.ended_us) if due.last is not None else None,
        "under_way": due.under_way.pk if due.under_way is not None else None,
        "days_over": due.days_over,
    }
