"""The floor page: for the cold store and the clean room, where the network ends. It opens and works without one.

The page itself carries nothing of the shop and of nobody, so it is the same for all and needs no sign-in; what it shows, it asks
for under the sign-in that the browser has. Its worker keeps the page's own files only.
"""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.csrf import requires_csrf_token
from django.views.decorators.http import require_http_methods, require_safe

from inventory.camera import GS1
from inventory.core import codes
from inventory.core.said import read_out, say
from inventory.models import Person
from inventory.passes import give

from .door import BADGE, Shop, shop_of
from .signing import badge_digest

STYLES = ("inventory/css/tokens.css", "inventory/css/floor.css")
_OWN = "floor link look view verdict predict putaway shelf queue send store people codes words"
MODULES = (*(f"inventory/js/floor/{name}.js" for name in _OWN.split()), "inventory/js/key.js", "inventory/js/scan.js",
           "inventory/js/signal.js", "inventory/js/say.js")  # fmt: skip
LATER = ("inventory/js/answer.js", "inventory/js/camera.js", "inventory/js/picture.js", "inventory/js/reader.js")
"""Kept with the others, and loaded when somebody presses the camera's button; the page answers scans by itself."""
READWORK = "inventory/js/readwork.js"
READING = ("codes/zxing_reader.js", "codes/zxing_reader.wasm")
"""What reads codes where the browser does not: brought by the set-up where it could be had. The page keeps it once it stands by itself."""
ICON = "inventory/icons/floor.svg"
WORKER = "inventory/js/floor/worker.js"


def _file(name: str) -> bytes:
    found = finders.find(name)
    return Path(str(found)).read_bytes()


def reads() -> bool:
    """Whether there is something here that reads codes in a browser."""
    return all(finders.find(name) for name in READING)


@cache
def version() -> str:
    """Of the page's files, by what is in them."""
    digest = hashlib.sha256()
    for name in (*STYLES, *MODULES, *LATER, ICON, WORKER, *((READWORK, *READING) if reads() else ())):
        digest.update(_file(name))
    return digest.hexdigest()[:12]


def _address(name: str) -> str:
    """A file under its plain name: modules name one another so, and the worker's version tells new from old."""
    return f"{settings.STATIC_URL}{name}"


@require_safe
def floor(request: HttpRequest) -> HttpResponse:
    """The page, the same for everybody."""
    shop_of(request)  # in the language of whoever is signed in: so it is kept on the tablet
    context = {
        "styles": [_address(name) for name in STYLES],
        "module": _address(MODULES[0]),
        "scan": _address("inventory/js/scan.js"),
        "icon": _address(ICON),
    }
    response = render(request, "inventory/floor.html", context)
    response["Cache-Control"] = "no-cache"
    return response


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker; with `?module`, for browsers that take modules there, it can also send by itself."""
    files = [reverse("floor"), reverse("floor-manifest"), *map(_address, (*STYLES, *MODULES, *LATER, ICON))]
    wake = "const wake = () => undefined;"
    if "module" in request.GET:
        wake = f'import {{ woken as wake }} from "{_address("inventory/js/floor/send.js")}";'
    late = [static(name) for name in READING] if reads() else []
    if late:
        files.append(reverse("floor-reader"))
    head = f"{wake}\nconst VERSION = {json.dumps(version())};\nconst FILES = {json.dumps(files)};\nconst LATE = {json.dumps(late)};\n"
    return _script(head + _file(WORKER).decode())


@require_safe
def reader(request: HttpRequest) -> HttpResponse:
    """The worker that reads codes in pictures; one that says no where nothing is there to read with. It alone may compile WebAssembly:
    a worker has the policy that it comes with, and pages keep theirs."""
    if not reads():
        return _script("self.postMessage({ ready: false });\n")
    addresses = dict(zip(("READER", "WASM"), map(static, READING), strict=True))
    given = {**addresses, "GS1": GS1}
    head = "".join(f"const {name} = {json.dumps(value)};\n" for name, value in given.items())
    response = _script(head + _file(READWORK).decode())
    response["Content-Security-Policy"] = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'"
    return response


def _script(text: str) -> HttpResponse:
    response = HttpResponse(text, content_type="text/javascript; charset=utf-8")
    response["Cache-Control"] = "no-cache"
    return response


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """What makes the page one that a tablet can install."""
    found: dict[str, Any] = {
        "name": read_out(say("Selvedge floor")),
        "short_name": read_out(say("Floor")),
        "id": reverse("floor"),
        "start_url": reverse("floor"),
        "scope": reverse("floor"),
        "display": "standalone",
        "background_color": "#eff1ec",
        "theme_color": "#6b1d54",
        "icons": [{"src": _address(ICON), "sizes": "any", "type": "image/svg+xml", "purpose": "any"}],
    }
    response = HttpResponse(json.dumps(found), content_type="application/manifest+json")
    response["Cache-Control"] = "no-cache"
    return response


@require_http_methods(["GET", "POST"])
@requires_csrf_token
def who(request: HttpRequest) -> JsonResponse:
    """Who acts in this browser, with the service's word for it that a tablet keeps; POST: whose badge was shown."""
    shop = shop_of(request)
    if shop is None:
        return _said({"error": say("nobody is signed in")}, 401)
    if request.method == "POST":
        scan = codes.normalise(request.POST.get("code", ""))
        badge = badge_digest(scan.code or "")
        person = Person.objects.filter(badge_sha256=badge, ended_us__isnull=True, site=shop.site).first()
        if person is None:
            return _said({"error": say("this badge is not known here")}, 422)
        request.session[BADGE] = person.pk
        shop = shop_of(request) or shop
    return _said(_told(request, shop), 200)


def _told(request: HttpRequest, shop: Shop) -> dict[str, Any]:
    tablet = request.GET.get("tablet", "").strip()[:80]
    return {
        "person": {"id": shop.person.pk, "name": shop.person.name, "roles": sorted(shop.roles), "units": shop.person.units},
        "site": shop.site,
        "csrf": get_token(request),
        "word": give(shop.person.pk, shop.site, tablet, shop.now_us) if tablet else "",
        "now_ms": shop.now_us // 1000,
    }


def _said(body: dict[str, Any], status: int) -> JsonResponse:
    response = JsonResponse(body, status=status)
    response["Cache-Control"] = "no-store"
    return response
