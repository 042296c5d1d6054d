"""GET: designs with their schedules and the laminate that their plies make."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core.reasons import BadInput
from inventory.core.units import display
from layups.models import Design
from layups.reads.designs import DesignView, Laminate, design_view, designs
from layups.reads.infusing import filling_of
from layups.reads.plydata import laminate_numbers
from layups.worksheets.drawn import answer

from .errors import reason_doc
from .numbers import sheet_doc
from .reads import Read, _answers, _free


class Designs(Read):
    @extend_schema(operation_id="designs", tags=["reads"], responses=_answers(_free("DesignPage")))
    def get(self, request: Request) -> Response:
        """Every design in use, by code, with its layup in the standard notation and what kind of laminate that is."""
        return Response({"results": [short_doc(view) for view in designs()], "next": None})


class OneDesign(Read):
    @extend_schema(operation_id="design", tags=["reads"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, design: str) -> Response:
        """One design: its schedule, its laminate ply by ply with the reasons for its kind, how thick, heavy and stiff that is by the
        data of its materials (or what of them is missing), whether its panel fills in time, the windows between steps, and what it
        asks of the room."""
        try:
            view = design_view(design)
            numbers = numbers_doc(view.laminate) if view.laminate else None
            return Response({**design_doc(view), "numbers": numbers, "infusion": infusion_doc(view.design)})
        except Design.DoesNotExist:
            raise BadInput("code.unknown", "There is no such design: GET /api/designs/ lists them.", "path") from None


def short_doc(view: DesignView) -> dict[str, Any]:
    laminate = view.laminate
    return {
        "code": view.design.code,
        "name": view.design.name,
        "process": view.design.process,
        "layup": laminate.notation if laminate else None,
        "in_plane": laminate.kind.in_plane if laminate and laminate.kind else None,
    }


def design_doc(view: DesignView) -> dict[str, Any]:
    return {
        **short_doc(view),
        "active": view.design.active,
        "schedule": [
            {
                "line": line.seq,
                "step": line.step,
                "label": line.label or None,
                "wants": line.wants,
                "angle": line.angle,
                "amount": display(line.qty, line.unit) if line.qty is not None and line.unit else None,
                "or": [code for _, code in line.alternates],
            }
            for line in view.lines
        ],
        "laminate": laminate_doc(view.laminate) if view.laminate else None,
        "windows": [window.to_doc() for window in view.windows],
        "room": [{"line": band.line, "asked": str(band)} for band in view.bands],
    }


def numbers_doc(laminate: Laminate) -> dict[str, Any]:
    """As a worksheet answers, and what is missing for it. Figures that no ply can have are told."""
    try:
        numbers = laminate_numbers(laminate)
        return {**sheet_doc(answer(laminate.layers, laminate.kind, numbers)), "missing": list(numbers.missing)}
    except BadInput as bad:
        return {"missing": [bad.reason.text]}


def infusion_doc(design: Design) -> dict[str, Any] | None:
    """Every way of feeding the panel, the quickest first, in µs; or what is missing to say it. None: it is not infused."""
    found = filling_of(design)
    if found is None:
        return None
    return {
        "temperature": found.at or None,
        "viscosity": found.resin or None,
        "permeability_scatter": found.scatter,
        "missing": [*found.missing, *([found.wrong] if found.wrong else [])],
        "ways": [
            {
                "way": fill.name,
                "text": fill.text,
                "fills": fill.fills,
                "needs_us": fill.needs_us,
                "soonest_us": fill.soon_us,
                "latest_us": fill.late_us,
                "have_us": fill.have_us,
                "wet_at_stop": fill.part,
                "surely_wet_at_stop": fill.sure_part,
                "cautions": [reason_doc(reason) for reason in fill.cautions],
            }
            for fill in found.fills
        ],
    }


def laminate_doc(laminate: Laminate) -> dict[str, Any]:
    """Angles in degrees."""
    kind = laminate.kind
    return {
        "plies": [{"angle": layer.angle_md / 1000, "form": layer.form, "material": layer.material or None} for layer in laminate.layers],
        "areal_mg_m2": laminate.areal_mg_m2,
        "unknown": list(laminate.unknown),
        "symmetric": kind.symmetric if kind else None,
        "antisymmetric": kind.antisymmetric if kind else None,
        "balanced": kind.balanced if kind else None,
        "axis": kind.axis_md / 1000 if kind and kind.axis_md is not None else None,
        "bends_straight": kind.bends_straight if kind else None,
        "reasons": list(kind.reasons) if kind else [],
    }
