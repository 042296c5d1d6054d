"""A trace with 1 000 things, drawn: from the press until Chromium has painted the page, the service's own time in it. Limit: 1 s,
folded as it opens and with every box."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.management import call_command
from django.test import Client

from inventory.models import Customer, Item, ItemState, User
from layups.models import Design, Part, Shipment
from tests.benchmarks.ground import say, settle
from tests.ledger.shop import Shop

POTS, PARTS_EACH, DRUMS, CUSTOMERS, ROUNDS = 240, 3, 5, 14, 5
MARK = "requestAnimationFrame(() => requestAnimationFrame(() => performance.mark('painted')))"


def fill() -> tuple[Item, int]:
    """A lot in drums, pots of them, three parts of each pot, most of them with customers; a few assemblies."""
    shop = Shop()
    lot = shop.lot("ug")
    drums = [shop.roll(lot, 10**12, kind="drum") for _ in range(DRUMS)]
    parts, ships = [], []
    for n in range(POTS):
        pot = shop.item("mix", "ug", mark=f"M-{n:04}")
        shop.act("mix", [(drums[n % DRUMS], pot, 10**9)])
        for k in range(PARTS_EACH):
            part = shop.item("part", mark=f"HU-{n * PARTS_EACH + k:04}")
            shop.act("lay", [(pot, part, 10**8)])
            parts.append(part)
            if (n + k) % 4:
                ships.append((part, shop.act("ship", deltas={part: 0})))
    boats = [shop.item("assembly", mark=f"BO-{n:03}") for n in range(20)]
    for n, boat in enumerate(boats):
        shop.join(parts[n * 4], boat)
    shop.flush()
    design = Design.objects.create(code="HULL", name="Hull", process="infusion")
    customers = [Customer.objects.create(name=f"Sailing school {n}") for n in range(CUSTOMERS)]
    Part.objects.bulk_create(Part(item=p, design=design, number=p.mark) for p in [*parts, *boats])
    Shipment.objects.bulk_create(Shipment(part=Part(pk=p.pk), customer=customers[n % CUSTOMERS], act=a) for n, (p, a) in enumerate(ships))
    ItemState.objects.bulk_create(ItemState(item=p, head=1, qty=1, gone="shipped") for p, _ in ships)
    User.objects.create(username="ines", person=shop.ines)
    settle()
    return lot, 1 + DRUMS + POTS + len(parts) + len(boats) + CUSTOMERS


def served(client: Client, spent: list[float]) -> Any:
    """Answers the browser from this process, and notes how long the page itself took."""

    def answer(route: Any) -> None:
        path = urlsplit(route.request.url)
        if path.path.startswith("/static/"):
            file = Path(settings.STATIC_ROOT) / path.path.removeprefix("/static/")
            route.fulfill(
                body=file.read_bytes(), content_type={".js": "text/javascript", ".css": "text/css"}.get(file.suffix, "image/svg+xml")
            )
            return
        begun = time.perf_counter()
        response = client.get(f"{path.path}?{path.query}")
        spent.append(time.perf_counter() - begun)
        assert response.status_code == 200, response.status_code
        route.fulfill(body=response.content, content_type="text/html; charset=utf-8")

    return answer


def main() -> None:
    from playwright.sync_api import sync_playwright

    from deploy.testing.services import chromium

    # Playwright's loop stands in this thread; Django would take our own queries for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    call_command("collectstatic", interactive=False, verbosity=0)
    lot, things = fill()
    client = Client(headers={"host": "localhost"})
    client.force_login(User.objects.get(username="ines"))
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
        spent: list[float] = []
        page.route("**/*", served(client, spent))
        for what, query in (("as it opens", ""), ("with every box", "?whole=1")):
            times = []
            for _ in range(ROUNDS + 1):
                page.goto(f"http://localhost/trace/{lot.code}/{query}", wait_until="load")
                page.evaluate(MARK)
                page.wait_for_function("performance.getEntriesByName('painted').length > 0")
                times.append(page.evaluate("performance.getEntriesByName('painted')[0].startTime"))
            boxes = page.locator("[data-box]").count()
            found = f"{min(times[1:]):.0f} ms, {min(spent[-ROUNDS:]) * 1000:.0f} of them the service, {boxes} boxes"
            say("picture", f"a trace of {things:,} things, {what}", found, "under 1 000 ms", min(times[1:]) < 1000)
        browser.close()
