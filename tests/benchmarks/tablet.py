"""The same list of 8 000 things on a tablet, in a real browser: from a scan's Enter to the answer on the screen, and what a difference
costs there beside the whole list. Limits: 100 ms for each answer, also for the first after a change and for one that is written down;
three times what a list of 80 things takes; a difference of ten things in a twentieth of the time of the whole list.

The service's part is taken out: the pages of the list are made beforehand, see `offline`."""

from __future__ import annotations

import json
import os
import statistics
import uuid
from typing import Any
from urllib.parse import parse_qs, urlsplit

from django.contrib.staticfiles import finders
from django.test import Client

from inventory.clock import now_us
from inventory.models import Item
from inventory.verbs.moving import Move
from inventory.verbs.registry import Call, perform
from layups.demo.master import Yard, build_master
from tests.benchmarks.ground import say
from tests.benchmarks.offline import THINGS, TOUCHED, fill

FEW, SCANS, LIMIT_MS = 80, 40, 100.0
HOST = "http://localhost"
WATCH = """
window.rounds = [];
new BroadcastChannel('selvedge-floor').onmessage = () => window.rounds.push(performance.now());
addEventListener('keydown', (event) => { if (event.key === 'Enter') window.entered = performance.now(); }, true);
addEventListener('DOMContentLoaded', () => new MutationObserver(() => {
  if (window.entered === null) return;
  const began = window.entered;
  window.entered = null;
  requestAnimationFrame(() => setTimeout(() => { window.took = performance.now() - began; }));
}).observe(document.getElementById('answer'), { childList: true }));
"""


class Line:
    """Answers what the browser asks: the list from what was made beforehand, cut to `most` things; all else by the service."""

    def __init__(self, client: Client, most: int = THINGS) -> None:
        self.client, self.most, self.pages = client, most, dict[str, tuple[str, dict[str, str]]]()
        self.who = b""

    def ready(self, since: str = "") -> None:
        """Make the pages that follow a cursor."""
        while True:
            response = self.client.get(f"/api/shelf/?since={since}")
            assert response.status_code == 200, response.content[:300]
            page = json.loads(response.content)
            if self.most < THINGS:
                page["things"], page["more"] = page["things"][: self.most], False
            self.pages[since] = json.dumps(page), {name: response[name] for name in ("ETag", "Selvedge-Now")}
            since = page["cursor"]
            if not page["more"]:
                return

    def answer(self, route: Any) -> None:
        request, parts = route.request, urlsplit(route.request.url)
        since = parse_qs(parts.query).get("since", [""])[0]
        if request.method == "GET" and parts.path == "/floor/who/":
            self.who = self.who or self.client.get(request.url.removeprefix(HOST)).content
            route.fulfill(body=self.who, content_type="application/json")
            return
        if parts.path == "/api/shelf/" and since in self.pages:
            body, headers = self.pages[since]
            route.fulfill(body=body, content_type="application/json", headers=headers)
            return
        if parts.path.startswith("/static/"):
            file = finders.find(parts.path.removeprefix("/static/"))
            route.fulfill(path=str(file))
            return
        kind = request.headers.get("content-type", "application/octet-stream")
        sent = {name: request.headers[name] for name in ("if-none-match", "x-csrftoken") if name in request.headers}
        response = self.client.generic(request.method, request.url.removeprefix(HOST), request.post_data_buffer or b"", kind, headers=sent)
        content = b"".join(response.streaming_content) if response.streaming else response.content  # type: ignore[attr-defined]
        route.fulfill(status=response.status_code, body=content, headers=dict(response.headers.items()))


class Tablet:
    def __init__(self, browser: Any, line: Line) -> None:
        self.page = browser.new_context(viewport={"width": 820, "height": 1180}, service_workers="block").new_page()
        self.page.route("**/*", line.answer)
        self.page.add_init_script(WATCH)

    def begin(self) -> float:
        """Open the page for the first time; ms until the whole list is there."""
        self.page.goto(f"{HOST}/floor/")
        self.page.wait_for_function("() => window.rounds.length > 0", timeout=120_000)
        return float(self.page.evaluate("window.rounds[0]"))

    def update(self) -> float:
        """ms of a round that brings a difference in."""
        script = "async () => { const n = rounds.length, began = performance.now(); dispatchEvent(new Event('online')); "
        script += "while (rounds.length === n) await new Promise((go) => setTimeout(go, 1)); return rounds.at(-1) - began; }"
        return float(self.page.evaluate(script))

    def scan(self, code: str) -> float:
        """ms from Enter to the answer."""
        self.page.evaluate("window.took = null")
        self.page.keyboard.type(code)
        self.page.keyboard.press("Enter")
        self.page.wait_for_function("() => window.took !== null")
        return float(self.page.evaluate("window.took"))


def main() -> None:
    from playwright.sync_api import sync_playwright

    from deploy.testing.services import chromium
    from tests.conftest import FLAGS

    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # playwright's loop stands in this thread
    at = now_us() - 86_400_000_000
    yard = build_master(at)
    fill(yard, at)
    client = Client(headers={"host": "localhost"})
    client.force_login(yard.user["bram"])
    many, few = Line(client), Line(client, FEW)
    many.ready()
    few.ready()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
        measure(yard, at, Tablet(browser, many), many, Tablet(browser, few))
        browser.close()


def measure(yard: Yard, at: int, tablet: Tablet, line: Line, small: Tablet) -> None:
    codes = list(Item.objects.filter(kind="roll").order_by("pk").values_list("code", flat=True))
    whole = tablet.begin()
    small.begin()
    first = [tablet.scan(codes[0])]
    answers, beside = [], []
    for n in range(SCANS):
        answers.append(tablet.scan(codes[n * 193 % THINGS]))
        beside.append(small.scan(codes[n % FEW]))
    written = []
    for n in range(SCANS // 4):
        tablet.scan(codes[n * 191 % THINGS])
        written.append(tablet.scan("CLEAN"))
    parts = []
    for n in range(SCANS // 4):
        for code in codes[n * TOUCHED : (n + 1) * TOUCHED]:
            perform("move", Call(yard.who("Ines"), at + 10**9 + n, uuid.uuid4()), Move(code, "F1"))
        line.ready([json.loads(page)["cursor"] for page, _ in line.pages.values()][-1])
        parts.append(tablet.update())
        first.append(tablet.scan(codes[n]))
    ratio = statistics.median(answers) / statistics.median(beside)
    tell(f"{THINGS:,} things, scan to answer", f"median {statistics.median(answers):.0f}, worst {max(answers):.0f} ms", max(answers))
    tell("the first scan after a change", f"median {statistics.median(first):.0f}, worst {max(first):.0f} ms", max(first))
    tell("a scan that is written down", f"median {statistics.median(written):.0f}, worst {max(written):.0f} ms", max(written))
    say("tablet", f"scan to answer against {FEW} things", f"{ratio:.2f}×", "at most 3×", ratio <= 3)
    share = statistics.median(parts) / whole
    found = f"{statistics.median(parts):.0f} against {whole:.0f} ms, 1/{1 / share:.0f}"
    say("tablet", f"difference of {TOUCHED} brought in, against whole", found, "at most 1/20", share <= 0.05)


def tell(what: str, found: str, worst: float) -> None:
    say("tablet", what, found, f"at most {LIMIT_MS:.0f} ms", worst <= LIMIT_MS)
