"""Pages for what went wrong: each says what happened and what to do. The one for our own faults asks no database."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.template.loader import render_to_string

from inventory.core.said import say

log = logging.getLogger(__name__)
PAGES: dict[int, tuple[str, str, str]] = {
    400: (
        say("That was not understood"),
        say("The address or the form held something that cannot be read."),
        say("Go back and enter it again. If you came by a link, scan the label instead."),
    ),
    403: (
        say("You may not do this"),
        say("Your role does not include it, or you are not signed in as the right person."),
        say("Ask somebody who has the role, or badge in as yourself."),
    ),
    404: (
        say("There is nothing here"),
        say("No page, roll, drum, can, kit or place has this address."),
        say("Scan the label again, or type what stands on it into the box at the top."),
    ),
    405: (
        say("Not like this"),
        say("This address takes something else than what was sent."),
        say("Go back to the page and press its button."),
    ),
    413: (
        say("That is too much at once"),
        say("What was sent is larger than what is taken here."),
        say("Send a smaller file, or fewer rows."),
    ),
}
CSRF = (
    say("This form has expired"),
    say("Somebody signed out or in since the page was opened, or the browser keeps no cookies. Nothing was recorded."),
    say("Open the page again and enter it once more."),
)
BROKEN = (
    say("Something broke on our side"),
    say("Nothing of what you sent was recorded by halves: it is either whole or not there."),
    say("Look at the last records before you enter it again, and tell the owner when it happened."),
)


def shown(request: HttpRequest, status: int, words: tuple[str, str, str]) -> HttpResponse:
    """An error page in the shop's frame where that is possible, else without."""
    title, what, then = words
    context = {"title": title, "what": what, "then": then, "status": status}
    _find_shop(request)
    response = render(request, "inventory/error.html", context, status=status)
    response.headers["Cache-Control"] = "no-store"
    return response


def _find_shop(request: HttpRequest) -> None:
    """The frame needs to know who is there; an error page must not fail over it."""
    from .door import shop_of

    if getattr(request, "shop", None) is None and hasattr(request, "user"):
        try:
            shop = shop_of(request)
        except Exception:  # whatever broke, the page still says what to do
            log.exception("no frame for the error page")
            return
        if shop is not None:
            request.shop = shop  # type: ignore[attr-defined]


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return shown(request, 400, PAGES[400])


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return shown(request, 403, PAGES[403])


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return shown(request, 404, PAGES[404])


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    return shown(request, 403, CSRF)


def broken(request: HttpRequest) -> HttpResponse:
    """Our own fault: no frame, no query, since whatever broke may break again."""
    title, what, then = BROKEN
    return HttpResponse(render_to_string("inventory/broken.html", {"title": title, "what": what, "then": then}), status=500)


class ErrorPages:
    """Fills in what has no page of its own yet: answers that are only a number (a method that an address does not take)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response: Any = self.get_response(request)
        bare = response.status_code in (405, 413) and not response.streaming and not response.content
        if not bare or request.path.startswith(("/api/", "/static/")):
            return response
        told = shown(request, response.status_code, PAGES[response.status_code])
        if "Allow" in response.headers:
            told.headers["Allow"] = response.headers["Allow"]
        return told
