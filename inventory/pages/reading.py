"""In whose language and units a page is made: first as the browser says; then, once it is known who acts, as they have chosen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.messages.storage.cookie import CookieStorage
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import translation

from inventory import readers
from inventory.core.said import Told, read_out, say
from inventory.models.people import Language, Units

from .door import Shop, page

MACHINES = ("/api/", settings.STATIC_URL)
"""What is for machines says what is written, whoever asks."""


class Readers:
    """Middleware around every page. The language is put back afterwards, since a thread serves many people."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        machine = request.path.startswith(MACHINES)
        with readers.reading("en" if machine else translation.get_language_from_request(request)):
            return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> None:
        """The admin has no door of ours that would say who acts."""
        person = getattr(request.user, "person", None) if request.path.startswith("/admin/") else None
        if person is not None:
            readers.chosen(person.language, person.units)


class Messages(CookieStorage):
    """What is told on the next page is put into words at once: it travels in a cookie, as text."""

    def add(self, level: int, message: str, extra_tags: str | None = "") -> None:
        super().add(level, read_out(message) if isinstance(message, Told) else message, extra_tags)


class ReadingForm(forms.Form):
    language = forms.ChoiceField(label=say("Language"), required=False, choices=Language.choices)
    units = forms.ChoiceField(label=say("Units"), choices=Units.choices, help_text=say("What is typed is kept as it was typed, in either."))


@page
def mine(request: HttpRequest) -> HttpResponseBase:
    """How the acting person reads: for everybody, each their own."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    person = shop.person
    form = ReadingForm(request.POST if request.method == "POST" else None, initial={"language": person.language, "units": person.units})
    if request.method == "POST" and form.is_valid():
        chosen = form.cleaned_data
        readers.keep(person.pk, chosen["language"], chosen["units"])
        readers.chosen(chosen["language"], chosen["units"])
        messages.success(request, say("From here on the pages are shown so to {person}.", person=person.name))
        return redirect("mine")
    context = {"title": say("How {person} reads", person=person.name), "form": form}
    return render(request, "inventory/mine.html", context, status=422 if form.errors else 200)
