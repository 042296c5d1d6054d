"""POST: a layup of materials in stock, tried. Nothing is recorded, so no key is asked for."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from layups.reads.trying import TRIAL, Trial, tried

from .auth import need_scope
from .demand_reads import shopping_doc
from .numbers import body_of, sheet_doc
from .reads import Read
from .verbs import instant, problems

BODY = body_of(TRIAL)


class LayupTrial(Read):
    @extend_schema(
        operation_id="numbers_layup",
        summary=TRIAL.title,
        tags=["numbers"],
        request=BODY,
        responses={200: OpenApiTypes.OBJECT, **problems(400, 401, 403, 406, 415)},
    )
    def post(self, request: Request) -> Response:
        """What kind of laminate a layup of materials in stock is, how thick, heavy and stiff, what is missing for that; and with an area,
        what so many parts take, what the stock gives and what is to buy. `cure` is RFC 3339 with an offset."""
        need_scope(request, "read")
        serializer = BODY(data=request.data)
        serializer.is_valid(raise_exception=True)
        trial = Trial(**serializer.validated_data)
        cure = trial.cure.strip()
        found = tried(trial, self.who.site, self.who.zone, self.now, instant(cure, "cure") if cure else None)
        doc: dict[str, Any] = {
            **sheet_doc(found.sheet),
            "in_plane": found.kind.in_plane,
            "symmetric": found.kind.symmetric,
            "balanced": found.kind.balanced,
            "reasons": list(found.kind.reasons),
            "missing": list(found.numbers.missing),
            "demand": shopping_doc(found.shopping) if found.shopping else None,
        }
        return Response(doc)
