"""Addresses of the interface. Every verb of the table has one; reads stand beside them."""

from __future__ import annotations

from django.urls import path
from drf_spectacular.views import SpectacularAPIView

from inventory.verbs.registry import VERBS

from .verbs import view_of

urlpatterns = [
    path("openapi.json", SpectacularAPIView.as_view(), name="api-schema"),
    *(path(f"verbs/{name}/", view_of(name), name=f"api-do-{name}") for name in sorted(VERBS)),
]
