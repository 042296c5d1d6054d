"""The description of the interface, for signed-in callers."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from drf_spectacular.renderers import OpenApiJsonRenderer, OpenApiJsonRenderer2, OpenApiYamlRenderer, OpenApiYamlRenderer2
from drf_spectacular.views import SpectacularAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from .auth import BrowserSession, SignedIn, TokenAuthentication


class Description(SpectacularAPIView):
    """OpenAPI 3.1, made from the verbs and reads themselves: JSON, as the address says, unless YAML is asked for."""

    authentication_classes = [TokenAuthentication, BrowserSession]
    permission_classes = [SignedIn]
    renderer_classes = [OpenApiJsonRenderer2, OpenApiJsonRenderer, OpenApiYamlRenderer, OpenApiYamlRenderer2]

    def handle_exception(self, exc: Exception) -> Response:
        """A problem document like everywhere else, whatever representation the description itself has."""
        response = super().handle_exception(exc)
        from rest_framework.renderers import JSONRenderer

        request: Request | HttpRequest = self.request
        request.accepted_renderer = JSONRenderer()  # type: ignore[union-attr]
        request.accepted_media_type = "application/json"  # type: ignore[union-attr]
        return response

    def perform_content_negotiation(self, request: Request, force: bool = False) -> Any:
        return super().perform_content_negotiation(request, force=True)
