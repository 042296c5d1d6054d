"""From the Enter of a scan to the answer that can be seen, in Chromium, against the bare endpoint called from the same page. At most 3×.

What is seen is the frame after the answer was put into the page. Nothing is recorded: the page is kept from going on."""

from __future__ import annotations

import os
import signal
import statistics
import subprocess
import sys
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.test import Client

from tests.benchmarks import shop
from tests.benchmarks.ground import say, settle
from tests.benchmarks.scan import answering, free_port
from tests.conftest import FLAGS

ROLLS, WARM = 80, 10

# Both end with the answer read; the scan with the frame that shows it as well.
SCRIPT = """
window.navigation.addEventListener("navigate", (event) => event.preventDefault());
const form = document.querySelector(".top form[data-scan]"), box = form.querySelector("input.code");
const spot = form.querySelector("[data-scan-answer]");
window.bare = async (raw) => {
  const token = document.querySelector("input[name=csrfmiddlewaretoken]").value, start = performance.now();
  const response = await fetch("/api/scan/", {method: "POST", body: JSON.stringify({raw, intent: "open", late: false}),
    headers: {"Content-Type": "application/json", Accept: "application/json", "X-CSRFToken": token}});
  if (!response.ok) throw new Error(`the endpoint says ${response.status}`);
  await response.json();
  return performance.now() - start;
};
window.ready = (raw) => {
  box.value = raw;
  box.focus();
  let start = 0;
  window.addEventListener("keydown", (event) => (start = event.timeStamp), {capture: true, once: true});
  window.seen = new Promise((resolve) => {
    const watch = new MutationObserver(() => {
      if (!spot.textContent.includes(raw)) return;
      watch.disconnect();
      requestAnimationFrame(() => { const channel = new MessageChannel();
        channel.port1.onmessage = () => resolve(performance.now() - start); channel.port2.postMessage(0); });
    });
    watch.observe(spot, {childList: true, subtree: true});
  });
};
"""


def measured(page: Any, codes: list[str]) -> list[tuple[float, float]]:
    """(scan to what is seen, bare call) in ms, one right after the other."""
    pairs = []
    for code in codes:
        bare = page.evaluate("code => window.bare(code)", code)
        page.evaluate("code => window.ready(code)", code)
        page.keyboard.press("Enter")
        pairs.append((page.evaluate("window.seen"), bare))
    return pairs


def served(y: Any, marks: list[str], port: int) -> list[tuple[float, float]]:
    from playwright.sync_api import sync_playwright

    client = Client(headers={"host": "localhost"})
    client.force_login(y.user["ines"])
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": f"http://localhost:{port}"}
    path = os.environ.get("SELVEDGE_TEST_CHROMIUM", "/usr/bin/chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        context = browser.new_context(viewport={"width": 1280, "height": 900})
        context.add_cookies([cookie])  # type: ignore[list-item]
        page = context.new_page()
        page.goto(f"http://localhost:{port}/stock/")
        # The place for the answer is made by a module that the page asks for after it has loaded.
        page.wait_for_selector(".top form[data-scan] [data-scan-answer]", state="attached")
        page.evaluate(SCRIPT)
        pairs = measured(page, marks)
        browser.close()
    return pairs[WARM:]


def main() -> None:
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    y = shop.yard()
    marks = [roll.mark for roll in shop.rolls(y, ROLLS)]
    settle()
    call_command("collectstatic", verbosity=0, interactive=False)
    port, how = free_port(), ["-w", "1", "-k", "gthread", "--threads", "4", "--log-level", "error"]
    Path(os.environ["SELVEDGE_HOME"], "static").mkdir(exist_ok=True)
    server = subprocess.Popen([sys.executable, "-m", "gunicorn", "deploy.wsgi", "-b", f"127.0.0.1:{port}", *how])
    try:
        answering(server, port)
        pairs = served(y, marks, port)
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=60)
    seen, bare = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = statistics.median(a / b for a, b in pairs)
    worst = max(a for a, _ in pairs)
    found = f"{seen:.0f} against {bare:.0f} ms, {ratio:.2f}×; worst {worst:.0f} ms"
    say("answer", "scan to what is seen, against the bare endpoint", found, "at most 3×", ratio <= 3)
