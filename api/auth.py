"""Who calls: a token in the Authorization header (machines and tablets), or the browser's own session."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Any

from rest_framework.authentication import BaseAuthentication, SessionAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from inventory.clock import now_us
from inventory.composed import Composed
from inventory.core.reasons import Reason, Refused
from inventory.models import Token
from inventory.pages.door import Here
from inventory.recording import Who

PREFIX = "sv_"
NOBODY = Reason("role.not_allowed", "This sign-in has no person in the shop yet: ask the owner.", {})
_BY_HASH = Composed(lambda digest: Token.objects.select_related("person__site", "device").filter(sha256=digest), str)


@dataclass(frozen=True, slots=True)
class Caller:
    """A token's bearer, in the shape that the framework expects of a user."""

    token: Token
    scopes: frozenset[str]

    is_authenticated = True
    is_active = True
    is_anonymous = False
    is_staff = False

    @property
    def pk(self) -> int:
        return int(self.token.pk)


class TokenAuthentication(BaseAuthentication):
    """Authorization: Bearer sv_… Stored hashed; revoked and ended tokens stop at the next request."""

    def authenticate(self, request: Request) -> tuple[Any, Token] | None:
        kind, _, secret = request.headers.get("Authorization", "").partition(" ")
        if kind.lower() != "bearer" or not secret:
            return None
        digest = hashlib.sha256(secret.strip().encode("utf-8", "surrogateescape")).hexdigest()
        token = _BY_HASH.first(digest)
        at = now_us()
        dead = token is None or token.revoked_us is not None or (token.until_us is not None and token.until_us <= at)
        if token is None or dead or token.person.ended_us is not None:
            raise AuthenticationFailed("This token is not known, has ended or was revoked.")
        return Caller(token, frozenset(token.scopes.split())), token

    def authenticate_header(self, request: Request) -> str:
        return 'Bearer realm="selvedge"'


class BrowserSession(SessionAuthentication):
    """The signed-in browser, with CSRF protection."""


def need_scope(request: Request, scope: str) -> None:
    """Raises Refused (scope.missing) when a token lacks the scope. A browser session has what its person's roles give."""
    caller = request.user
    if isinstance(caller, Caller) and scope not in caller.scopes:
        raise Refused(Reason("scope.missing", f"This token may not do that: it needs the scope “{scope}”.", {"scope": scope}))


def who_of(request: Request) -> Who:
    """Who acts. Raises Refused when the sign-in is nobody in the shop."""
    caller = request.user
    if isinstance(caller, Caller):
        person = caller.token.person
        return Who(person.site_id, person.site.zone, person.pk, caller.token.device_id, "")
    from inventory.pages.door import device_of, shop_of

    shop = shop_of(request._request)
    if shop is None:
        raise Refused(NOBODY)
    return Who(shop.site, shop.zone, shop.person.pk, device_of(request._request, shop), "", shop.user.pk)


def here_of(request: Request) -> Here:
    """Where and when somebody asks who records nothing: without a device, which a browser gets with its first record. Raises Refused."""
    caller = request.user
    if isinstance(caller, Caller):
        person = caller.token.person
        return Here(person.site_id, person.site.zone, now_us())
    from inventory.pages.door import shop_of

    shop = shop_of(request._request)
    if shop is None:
        raise Refused(NOBODY)
    return Here(shop.site, shop.zone, shop.now_us)


class SignedIn(BasePermission):
    """Anybody who is somebody. What they may do is asked by the verbs."""

    message = "Sign in, or send a token."

    def has_permission(self, request: Request, view: Any) -> bool:
        return bool(request.user and request.user.is_authenticated)
