"""Labels for machines: what stands on one, how it looks, and the file to print. Only the file is a print, and is recorded."""

from __future__ import annotations

import json
from typing import Any

from django.conf import settings
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema, inline_serializer
from rest_framework import serializers
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.clock import now_us
from inventory.core.label_formats import DEFAULT, FORMATS, format_named
from inventory.core.labels import label
from inventory.core.reasons import BadInput
from inventory.printing.asked import Wanted, texts_of, wanted
from inventory.printing.drawn import Drawn, draw
from inventory.printing.pictures import DPI, png
from inventory.printing.prints import FORMS, Order, drawn, print_labels, times_printed

from .auth import need_scope, who_of
from .reads import Read, _answers, text_param
from .shapes import StrictInteger, StrictSerializer, StrictText
from .verbs import key_of, problems

SIZE = OpenApiParameter("size", str, enum=list(FORMATS), default=DEFAULT, description="Format of the label.")
LONGEST = 8_000


class Bytes(BaseRenderer):
    """A file as it is; a problem as JSON, whatever was asked for."""

    charset = None
    render_style = "binary"

    def render(self, data: Any, accepted_media_type: str | None = None, renderer_context: Any = None) -> bytes:
        return data if isinstance(data, bytes) else json.dumps(data).encode()


class PngRenderer(Bytes):
    media_type, format = "image/png", "png"


class PdfRenderer(Bytes):
    media_type, format = "application/pdf", "pdf"


class TextRenderer(Bytes):
    media_type, format = "text/plain", "zpl"


class PrintRequest(StrictSerializer):
    """What to print. Nothing is guessed: an unknown code is named, and nothing is printed."""

    things = serializers.ListField(child=StrictText(max_length=200), max_length=400, required=False, default=list)
    delivery = StrictText(max_length=40, required=False, default="", allow_blank=True, help_text="All pieces of this delivery.")
    lot = StrictText(max_length=16, required=False, default="", allow_blank=True, help_text="All pieces of the lot with this code.")
    size = serializers.ChoiceField(choices=list(FORMATS), required=False, default=DEFAULT)
    copies = StrictInteger(required=False, default=1, min_value=-(2**31), max_value=2**31)
    start = StrictInteger(required=False, default=1, min_value=-(2**31), max_value=2**31, help_text="First free place of a used sheet.")
    form = serializers.ChoiceField(choices=list(FORMS), required=False, default="pdf", help_text="zpl: commands for a label printer.")
    reason = StrictText(max_length=200, required=False, default="", allow_blank=True, help_text="Why it is printed again.")


LABEL = inline_serializer(
    "LabelPage", {"results": serializers.ListField(child=serializers.DictField()), "next": serializers.CharField(allow_null=True)}
)
KEY = OpenApiParameter("Idempotency-Key", str, OpenApiParameter.HEADER, required=True, description="A UUID of the sender's.")


def address_of(request: Request) -> str:
    return settings.SELVEDGE_ADDRESS or request.build_absolute_uri("/")


class Labels(Read):
    renderer_classes = (JSONRenderer, PdfRenderer, TextRenderer)

    @extend_schema(
        operation_id="labels",
        tags=["labels"],
        parameters=[
            OpenApiParameter("things", str, description="Codes, marks or places with commas between them."),
            OpenApiParameter("delivery", str, description="All pieces of this delivery."),
            OpenApiParameter("lot", str, description="All pieces of the lot with this code."),
            SIZE,
        ],
        responses=_answers(LABEL),
    )
    def get(self, request: Request) -> Response:
        """What would stand on each label now, the most important first; what had no room or was cut; how often it was printed."""
        texts = texts_of(text_param(request, "things", LONGEST))
        asked = wanted(self.who.site, self.who.zone, self.now, texts, text_param(request, "delivery"), text_param(request, "lot"))
        order = Order(tuple(asked), format_named(text_param(request, "size")), address_of(request))
        before = times_printed(asked)
        made = drawn(order, self.who.zone, self.now)
        return Response({"results": [_doc(w, one, before[w.thing.code]) for w, one in zip(asked, made, strict=True)], "next": None})

    @extend_schema(
        operation_id="print_labels",
        tags=["labels"],
        parameters=[KEY],
        request=PrintRequest,
        responses={
            (200, "application/pdf"): OpenApiResponse(OpenApiTypes.BINARY, "The labels; the print is recorded, once for each key."),
            (200, "text/plain"): OpenApiResponse(OpenApiTypes.STR, "With form zpl."),
            **problems(400, 401, 403, 406, 415, 422),
        },
    )
    def post(self, request: Request) -> Response:
        """Print. The same key with the same content gives the labels again, as they are now, and counts once."""
        need_scope(request, "write")
        body = PrintRequest(data=request.data)
        body.is_valid(raise_exception=True)
        said, key, who, at = body.validated_data, key_of(request), who_of(request), now_us()
        things = wanted(who.site, who.zone, at, _clean(said["things"]), said["delivery"], said["lot"])
        order = Order(
            tuple(things), format_named(said["size"]), address_of(request), said["copies"], said["start"], said["form"],
            settings.SELVEDGE_LABEL_DPI, said["reason"],
        )  # fmt: skip
        data = print_labels(order, who, at, key)
        media, ending = FORMS[order.form]
        # The file is what was asked for, whatever the caller's Accept put first.
        request.accepted_renderer = PdfRenderer() if order.form == "pdf" else TextRenderer()
        return Response(data, content_type=media, headers={"Content-Disposition": f'attachment; filename="labels.{ending}"'})


class Picture(Read):
    renderer_classes = (PngRenderer, JSONRenderer)

    @extend_schema(
        operation_id="label_picture",
        tags=["labels"],
        parameters=[SIZE, OpenApiParameter("dpi", int, enum=list(DPI), default=DPI[1])],
        responses={(200, "image/png"): OpenApiTypes.BINARY, **problems(400, 401, 403, 404, 406)},
    )
    def get(self, request: Request, code: str) -> Response:
        """How the label of one thing or place looks now. A look is no print."""
        text = request.query_params.get("dpi", str(DPI[1]))
        if text not in map(str, DPI):
            raise BadInput("label.dpi", f"dpi is {' or '.join(map(str, DPI))}.", "dpi")
        fmt = format_named(text_param(request, "size"))
        if "\x00" in code or not code.strip() or len(code) > 200:
            raise BadInput("code.unknown", "Nothing here has this code or mark.", "path")
        try:
            found = wanted(self.who.site, self.who.zone, self.now, [code.strip()])[0]
        except BadInput as bad:
            raise BadInput("code.unknown", bad.reason.text, "path") from None
        one = draw(label(found.thing, self.who.zone, self.now, address_of(request)), fmt)
        request.accepted_renderer = PngRenderer()
        return Response(png(one, int(text)), content_type="image/png")


def _clean(texts: list[str]) -> list[str]:
    return list(dict.fromkeys(t.strip() for t in texts if t.strip()))


def _doc(w: Wanted, one: Drawn, before: int) -> dict[str, Any]:
    return {
        "code": w.thing.code,
        "kind": w.thing.kind,
        "symbol": one.label.symbology,
        "holds": one.label.payload,
        "fields": [{"role": f.role, "text": f.text} for f in one.label.fields],
        "left_out": list(one.layout.left_out),
        "cut": list(one.layout.cut),
        "not_shown": one.lost,
        "printed": before,
    }
