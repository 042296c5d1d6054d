"""Any other address under /api/: a problem document, not a page."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView


@extend_schema(exclude=True)
class Nowhere(APIView):
    authentication_classes = ()
    permission_classes = ()

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        raise Http404

    def get(self, request: Request) -> Response:
        raise Http404

    post = put = patch = delete = get
