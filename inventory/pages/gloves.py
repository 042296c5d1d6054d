"""Glove mode: larger targets with more room between them, in this browser only, whoever is signed in. A switch in the frame that works
without script; the browser keeps the answer."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from .signing import safe

COOKIE, ON = "gloves", "on"
KEPT_S = 400 * 86_400
"""As long as browsers keep anything."""


def worn(request: HttpRequest) -> bool:
    """Is glove mode on in this browser?"""
    return request.COOKIES.get(COOKIE) == ON


@require_POST
def gloves(request: HttpRequest) -> HttpResponse:
    """POST wear (on, or anything else for off) and next, the page to go back to."""
    following = request.POST.get("next", "")
    response = redirect(following if safe(following) else "today")
    if request.POST.get("wear") == ON:
        response.set_cookie(COOKIE, ON, KEPT_S, secure=settings.SESSION_COOKIE_SECURE, httponly=True, samesite="Lax")
    else:
        response.delete_cookie(COOKIE, samesite="Lax")
    return response
