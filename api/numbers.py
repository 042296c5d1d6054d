"""POST: worksheets. Figures in, an answer out; nothing is recorded, so no key is asked for."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.worksheets.registry import MOST, WORKSHEETS, Figure, Sheet, Worksheet

from .auth import need_scope
from .parsing import MOST_BODY
from .reads import Read
from .shapes import StrictSerializer, StrictText
from .verbs import problems


@extend_schema_field({"oneOf": [{"type": "string", "maxLength": MOST}, {"type": "number"}]})
class FigureText(StrictText):
    """A text such as "181 GPa", or a number in the unit that the description names."""

    def to_internal_value(self, data: Any) -> str:
        bare = isinstance(data, (int, float)) and not isinstance(data, bool)
        return super().to_internal_value(f"{Decimal(repr(data)):f}" if bare else data)


@extend_schema_field({"type": "string"})
class LongText(StrictText):
    """A text that may be as long as a file."""


class WorksheetView(Read):
    """One worksheet; `sheet` and `body` are set by `view_of`."""

    sheet: Worksheet
    body: type[StrictSerializer]

    def take(self, request: Request) -> Response:
        need_scope(request, "read")
        serializer = self.body(data=request.data)
        serializer.is_valid(raise_exception=True)
        return Response(sheet_doc(self.sheet.run(self.sheet.params(**serializer.validated_data))))


def body_of(sheet: Worksheet) -> type[StrictSerializer]:
    """A text for each figure, "181 GPa" or a bare number in the unit that its description names. The figures of the page's example
    are no defaults here: what is left out is not given."""
    fields: dict[str, Any] = {}
    for f in dataclasses.fields(sheet.params):
        about = f.metadata
        said = [about["label"], f"a bare number is in {about['usual']}" if about["usual"] else "", about["words"]]
        text = "; ".join(filter(None, said))
        kind = FigureText if about["most"] == MOST else LongText
        fields[f.name] = kind(required=False, allow_blank=True, default="", max_length=about["most"], help_text=text)
    name = "".join(part.title() for part in sheet.name.split("-")) + "Figures"
    return type(name, (StrictSerializer,), {**fields, "__doc__": sheet.params.__doc__})


def view_of(name: str) -> Any:
    """The view of a worksheet, with its own description."""
    sheet = WORKSHEETS[name]
    body = body_of(sheet)

    def post(self: WorksheetView, request: Request) -> Response:
        return self.take(request)

    described = extend_schema(
        operation_id="numbers_" + name.replace("-", "_"),
        summary=sheet.title,
        description=sheet.about,
        tags=["numbers"],
        request=body,
        responses={200: OpenApiTypes.OBJECT, **problems(400, 401, 403, 406, 415)},
    )(post)
    title = "".join(part.title() for part in name.split("-"))
    most = max(f.metadata["most"] for f in dataclasses.fields(sheet.params))
    room = {"most_body": 2 * most + MOST_BODY} if most > MOST else {}  # in JSON a sign may take several bytes
    values = {"sheet": sheet, "body": body, "post": described, **room}
    view: type[WorksheetView] = type(f"{title}Worksheet", (WorksheetView,), values)
    return view.as_view()


def figure_doc(f: Figure) -> dict[str, Any]:
    """`also`: the same in other units, by unit."""
    also = {"also": dict(f.also)} if f.also else {}
    return {"value": f.value, "unit": f.unit, "text": f.text, "note": f.note or None, **also}


def sheet_doc(sheet: Sheet) -> dict[str, Any]:
    return {
        "headline": sheet.headline,
        "figures": {f.name: figure_doc(f) for f in sheet.figures},
        "notes": list(sheet.notes),
        "cautions": list(sheet.cautions),
        "tables": [{"caption": t.caption, "columns": list(t.columns), "rows": [list(row) for row in t.rows]} for t in sheet.tables],
        "charts": [
            {"title": c.title, "x": c.x, "y": c.y, "series": [{"name": s.name, "points": [list(p) for p in s.points]} for s in c.series]}
            for c in sheet.charts
        ],
    }
