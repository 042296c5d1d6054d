"""Answers as JSON. For a token, what is written: English, metric. For a browser that is signed in (the floor page asks so), sentences as
that person reads them; codes, numbers and names are the same for both."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import get_language_from_request
from rest_framework.renderers import JSONRenderer

from inventory import readers
from inventory.core.said import Told, read_out
from inventory.models import User


class Renderer(JSONRenderer):
    def render(self, data: Any, accepted_media_type: str | None = None, renderer_context: Mapping[str, Any] | None = None) -> bytes:
        request = (renderer_context or {}).get("request")
        user = getattr(request, "user", None)
        if request is not None and isinstance(user, User) and user.person is not None:
            with readers.reading(user.person.language or get_language_from_request(request), user.person.units):
                if not readers.canonical():
                    data = said(data)
        return super().render(data, accepted_media_type, renderer_context)


def said(data: Any) -> Any:
    """The same with each sentence as it is read."""
    if isinstance(data, Told):
        return read_out(data)
    if isinstance(data, dict):
        return {name: said(value) for name, value in data.items()}
    if isinstance(data, (list, tuple)):
        return [said(value) for value in data]
    return data
