"""From a request to a call, and back: who acts (the badge or the sign-in), from which browser, under which key, now.

Every view that changes something goes through `door`: it reads the clock once, makes the call, and turns a refusal or an
input that was not understood into something the page can show. Views hold no rules.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import wraps
from typing import Any, Protocol

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect

from inventory import readers
from inventory.clock import now_us
from inventory.core.reasons import BadInput, Reason, Refused
from inventory.core.said import say
from inventory.models import Device, Person, Role, User
from inventory.recording import Who, log_refusal
from inventory.templatetags import tables
from inventory.verbs.registry import Call, Outcome, perform, said

from .sheets import FILE, TABLE, table_file

BADGE, DEVICE = "badge_person", "device"


class Where(Protocol):
    """Where and when something is asked, by whomever."""

    @property
    def site(self) -> int: ...

    @property
    def zone(self) -> str: ...

    @property
    def now_us(self) -> int: ...


@dataclass(frozen=True, slots=True)
class Here:
    """The same for who is no browser."""

    site: int
    zone: str
    now_us: int


@dataclass(slots=True)
class Shop:
    """What a view knows of its request: the signed-in user, who acts, where, when."""

    user: User
    person: Person
    signed_in: Person
    roles: frozenset[str]
    zone: str
    now_us: int

    @property
    def by_badge(self) -> bool:
        return self.person.pk != self.signed_in.pk

    @property
    def site(self) -> int:
        return self.person.site_id


@dataclass(slots=True)
class Answer:
    """What came of a call: an outcome, or why not."""

    outcome: Outcome | None = None
    reasons: list[Reason] = field(default_factory=list)
    where: str = ""
    understood: bool = True

    @property
    def done(self) -> bool:
        return self.outcome is not None


View = Callable[..., HttpResponseBase]


def page(view: View) -> View:
    """A page for signed-in people: puts `request.shop`, sends nothing to caches, and turns BadInput into a plain page."""

    @wraps(view)
    @login_required
    def inner(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        shop = shop_of(request)
        if shop is None:
            return redirect("no-person")
        request.shop = shop  # type: ignore[attr-defined]
        with tables.collecting() as drawn:
            response = view(request, *args, **kwargs)
        if request.method == "GET" and response.status_code == 200 and FILE in request.GET:
            response = table_file(drawn, request.GET[FILE], request.GET.get(TABLE, "1")) or response
        response.headers.setdefault("Cache-Control", "no-store")
        return response

    return inner


def shop_of(request: HttpRequest) -> Shop | None:
    user = request.user
    if not isinstance(user, User) or user.person is None:
        return None
    signed_in = user.person
    person = signed_in
    badge = request.session.get(BADGE)
    if badge and badge != signed_in.pk:
        person = Person.objects.filter(pk=badge, site=signed_in.site_id, ended_us__isnull=True).first() or signed_in
    readers.chosen(person.language, person.units)
    roles = frozenset(Role.objects.filter(person=person).values_list("role", flat=True))
    return Shop(user, person, signed_in, roles, signed_in.site.zone, now_us())


def device_of(request: HttpRequest, shop: Shop) -> int:
    """The browser as a device; it gets a name of its own at its first record."""
    known = request.session.get(DEVICE)
    if known and Device.objects.filter(pk=known, site=shop.site).exists():
        return int(known)
    device = Device.objects.create(
        site_id=shop.site, name=say("browser {hex}", hex=uuid.uuid4().hex[:8]), kind="browser", seen_us=shop.now_us
    )
    request.session[DEVICE] = device.pk
    return device.pk


def call_of(request: HttpRequest, key: uuid.UUID | None = None, **more: Any) -> Call:
    """A call of the acting person. The key comes with the form, so that a second press of the button counts once. People tell
    the time to the minute: of two records of one minute the one that was told first counts as the first."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    who = Who(shop.site, shop.zone, shop.person.pk, device_of(request, shop), "", shop.user.pk)
    return Call(who=who, now_us=shop.now_us, key=key or key_of(request), device_seq=shop.now_us, **more)


def key_of(request: HttpRequest) -> uuid.UUID:
    try:
        return uuid.UUID(request.POST.get("key", ""))
    except ValueError:
        return uuid.uuid4()


def ask(verb: str, call: Call, params: Any) -> Answer:
    """Perform a verb for a page. Never raises for what people do."""
    try:
        return Answer(perform(verb, call, params))
    except Refused as refused:
        return Answer(reasons=list(refused.reasons))
    except BadInput as bad:
        return Answer(reasons=[bad.reason], where=bad.where, understood=False)


def ask_confirmed(request: HttpRequest, verb: str, call: Call, params: Any) -> Answer:
    """Perform a decision: the signed-in person's own password again, never a badge. A wrong one
    leaves a trace like every refusal."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    if shop.by_badge:
        text = say("A badge cannot decide this: sign in as yourself first.")
        return _not_confirmed(call, verb, params, Reason("password.badge", text))
    if not shop.user.check_password(request.POST.get("password", "")):
        return _not_confirmed(
            call, verb, params, Reason("password.wrong", say("The password is wrong. Nothing was decided; type it again."))
        )
    return ask(verb, call, params)


def _not_confirmed(call: Call, verb: str, params: Any, reason: Reason) -> Answer:
    log_refusal(Refused(reason), call.who, call.now_us, verb, said(params))
    return Answer(reasons=[reason], where="password")
