"""Sign in, sign out, and the badge that says who does the next thing on a shared tablet."""

from __future__ import annotations

import hashlib

from django import forms
from django.contrib import messages
from django.contrib.auth import views as auth
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.core import codes
from inventory.core.said import say
from inventory.models import Person

from .door import BADGE, page

TRIES, WINDOW_S = 10, 300


class SignIn(auth.LoginView):
    """Django's own sign-in, slowed down: after ten wrong passwords for a name from one address, five minutes' wait."""

    template_name = "inventory/sign_in.html"
    redirect_authenticated_user = True

    def _slot(self) -> str:
        name = self.request.POST.get("username", "")[:150].lower()
        said = f"{self.request.META.get('REMOTE_ADDR')}:{name}"
        return "sign-in:" + hashlib.sha256(said.encode()).hexdigest()

    def post(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if cache.get(self._slot(), 0) >= TRIES:
            form = self.get_form()
            form.full_clean()
            form.errors.clear()
            form.add_error(None, say("Too many wrong passwords. Wait five minutes, or ask the owner to set a new one."))
            return self.render_to_response(self.get_context_data(form=form), status=429)
        return super().post(request, *args, **kwargs)

    def form_invalid(self, form: forms.Form) -> HttpResponse:
        slot = self._slot()
        cache.add(slot, 0, WINDOW_S)
        cache.incr(slot)
        return super().form_invalid(form)  # type: ignore[arg-type]

    def form_valid(self, form: forms.Form) -> HttpResponse:
        cache.delete(self._slot())
        return super().form_valid(form)  # type: ignore[arg-type]


def badge_digest(code: str) -> str:
    return hashlib.sha256(code.encode()).hexdigest()


@page
def badge(request: HttpRequest) -> HttpResponse:
    """Scan a badge: the next records carry that person's name. A badge authorises no decision (those ask for a password)."""
    problem = ""
    if request.method == "POST":
        scan = codes.normalise(request.POST.get("code", ""))
        person = Person.objects.filter(
            badge_sha256=badge_digest(scan.code or ""),
            ended_us__isnull=True,
            site=request.shop.site,  # type: ignore[attr-defined]
        ).first()
        if person is not None:
            request.session[BADGE] = person.pk
            messages.success(request, say("{person}: the next records carry this name.", person=person.name))
            following = request.POST.get("next", "")
            return redirect(following if safe(following) else "today")
        problem = say("This badge is not known here. Scan it again, or ask the owner to enter it.")
    context = {"title": say("Whose badge?"), "problem": problem, "next": request.GET.get("next", "")}
    return render(request, "inventory/badge.html", context, status=422 if problem else 200)


@page
def badge_back(request: HttpRequest) -> HttpResponse:
    """Back to the person who signed in."""
    if request.method == "POST":
        request.session.pop(BADGE, None)
    return redirect("today")


def safe(path: str) -> bool:
    """A path of our own, never another site's."""
    return path.startswith("/") and not path.startswith("//") and "\\" not in path


def no_person(request: HttpRequest) -> HttpResponse:
    """A sign-in that is nobody yet: the owner must say who it is."""
    return render(request, "inventory/no_person.html", {"title": say("This sign-in has no person yet")}, status=403)
