"""GET: cure runs with what their charts said."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core.reasons import BadInput
from layups.models import CureRun
from layups.reads.runs import PartIn, Record, RunPage, run_page, runs

from .documents import at
from .paging import cursor, cursor_of, size_of
from .reads import CURSOR, LIMIT, Read, _answers, _free


class Runs(Read):
    @extend_schema(operation_id="runs", tags=["reads"], parameters=[CURSOR, LIMIT], responses=_answers(_free("RunPage")))
    def get(self, request: Request) -> Response:
        """Cure runs, newest first, with the worst verdict of the charts that count (null: no chart)."""
        size = size_of(request)
        found = runs(self.who.site, cursor_of(request), size + 1)
        docs = [
            {"number": r.run.number, "place": r.run.location.code, "charts": r.charts, "verdict": r.verdict or None, "parts": list(r.parts)}
            for r in found[:size]
        ]
        return Response({"results": docs, "next": cursor(found[size - 1].run.pk) if len(found) > size else None})


class OneRun(Read):
    @extend_schema(operation_id="run", tags=["reads"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, number: str) -> Response:
        """One run: its parts, each with its verdict by stage and thermocouple, the stretches that offend (µs UTC), how far its resin came
        (parts per million, m°C) and when heating began by the chart and by the record; and every chart that was handed in."""
        try:
            page = run_page(self.who.site, number) if "\x00" not in number else None
        except CureRun.DoesNotExist:
            page = None
        if page is None:
            raise BadInput("code.unknown", f"There is no cure run “{number[:40]}”.", "path")
        return Response(run_doc(page))


def run_doc(page: RunPage) -> dict[str, Any]:
    off = {d.part.pk: d.later_us for d in page.differs}
    return {
        "number": page.number,
        "place": page.run.location.code if page.run is not None else None,
        "verdict": page.verdict or None,
        "parts": [_part(p, off) for p in page.parts],
        "charts": [_record(r) for r in page.records],
    }


def _part(p: PartIn, off: dict[int, int | None]) -> dict[str, Any]:
    recipe = p.doc.get("recipe")
    return {
        "number": p.part.number,
        "design": p.part.design.code,
        "verdict": p.verdict or None,
        "chart": p.chart.act_id if p.chart is not None else None,
        "recipe": {"code": recipe[0], "version": recipe[1], "text": recipe[2]} if recipe else None,
        "heating_began_by_chart": at(p.doc.get("heated_us")),
        "heating_began_on_record": at(p.start.happened_us) if p.start is not None else None,
        "starts_differ": p.part.pk in off,
        "thermocouples": p.doc.get("thermocouples", []),
        "stages": p.doc.get("stages", []),
        "cured": p.doc.get("cured"),
    }


def _record(r: Record) -> dict[str, Any]:
    return {
        "record": r.act.pk,
        "at": at(r.act.happened_us),
        "person": r.act.person.name,
        "verdict": r.body["verdict"],
        "says": r.body["says"],
        "file": {"sha256": r.body["file"][0], "name": r.body["file"][1]},
        "counts_for": list(r.counts_for),
        "uncalibrated": r.body["uncalibrated"],
        "lines_left_out": r.body["left"],
        "voided_by": r.void.pk if r.void is not None else None,
    }
