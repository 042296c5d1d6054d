"""POST /api/scan/picture/: the codes in a picture, for a device whose browser reads none. Nothing is kept."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, inline_serializer
from rest_framework import serializers
from rest_framework.exceptions import Throttled
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import SimpleRateThrottle
from rest_framework.views import APIView

from inventory.camera import MOST_BYTES, Busy, codes_in

from .auth import Caller, here_of, need_scope
from .files import Bytes
from .verbs import problems

_CODE = inline_serializer(
    "SeenCode",
    {
        "text": serializers.CharField(help_text="As a scanner would send it, separators included."),
        "symbology": serializers.CharField(help_text="QRCode, DataMatrix, Code128 …"),
    },
    many=True,
)


class AFew(SimpleRateThrottle):
    """For each who asks: a camera sends two a second."""

    rate = "4/s"
    scope = "pictures"

    def get_cache_key(self, request: Request, view: Any) -> str:
        return f"pictures:{'token' if isinstance(request.user, Caller) else 'user'}:{request.user.pk}"


class ScanPicture(APIView):
    parser_classes = (Bytes,)
    throttle_classes = (AFew,)

    @extend_schema(
        operation_id="scan_picture",
        summary="The codes in a picture",
        tags=["reads"],
        request={"image/jpeg": OpenApiTypes.BINARY, "image/png": OpenApiTypes.BINARY},
        responses={200: inline_serializer("SeenCodes", {"codes": _CODE}), **problems(400, 401, 403, 406, 429)},
    )
    def post(self, request: Request) -> Response:
        """A JPEG or PNG as the body, at most 1 MB and 2 000 dots a side, four a second: the codes in it. Several are for the caller to
        choose from."""
        need_scope(request, "read")
        here_of(request)
        read = getattr(request.data, "read", None)  # nothing to read where the body is empty
        try:
            found = codes_in(read(MOST_BYTES + 1) if read is not None else b"")
        except Busy:
            raise Throttled(wait=1) from None
        return Response({"codes": [{"text": one.text, "symbology": one.symbology} for one in found]})
