"""A real tablet on a real line: the service on a port, a line to it that can be cut or lose an answer, and a browser of its own
that can be killed. The clocks of both stand where the test puts them."""

from __future__ import annotations

import os
import signal
import socket
import threading
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tests.conftest import FLAGS

from .keying import press
from .store import PASSWORD

# Dates alone stand still: timers run, and each key keeps the time that it carries (Playwright's own clock takes that away).
STILL = """(() => {
  globalThis.standing = %d;
  if (globalThis.running) return;
  const Real = globalThis.running = Date;
  globalThis.Date = class extends Real {
    constructor(...given) { super(...(given.length ? given : [globalThis.standing])); }
    static now() { return globalThis.standing; }
  };
})()"""
EDGES = ("inventory.clock", "api.verbs", "api.reads", "api.replay", "api.auth", "inventory.pages.door")


class Line:
    """A port before the service's own. `cut()`: nothing comes through, and what is open breaks off. `swallow(path)`: the next request
    there reaches the service, and its answer is lost."""

    def __init__(self, port: int) -> None:
        self.port, self.whole, self.path = port, True, b""
        self.swallowed = threading.Event()
        self.open: set[socket.socket] = set()
        self.listening = socket.create_server(("127.0.0.1", 0))
        self.here = self.listening.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        self.whole = False
        for one in list(self.open):
            _end(one)

    def mend(self) -> None:
        self.whole, self.path = True, b""

    def swallow(self, path: str) -> None:
        self.swallowed.clear()
        self.path = path.encode()

    def end(self) -> None:
        self.cut()
        _end(self.listening)

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self.listening.accept()
            except OSError:
                return
            if not self.whole:
                _end(near)
                continue
            far = socket.create_connection(("127.0.0.1", self.port))
            self.open |= {near, far}
            lost = threading.Event()
            threading.Thread(target=self._out, args=(near, far, lost), daemon=True).start()
            threading.Thread(target=self._back, args=(near, far, lost), daemon=True).start()

    def _out(self, near: socket.socket, far: socket.socket, lost: threading.Event) -> None:
        while data := _read(near):
            if self.path and self.path in data:
                lost.set()
            if not _write(far, data):
                break
        _end(far)

    def _back(self, near: socket.socket, far: socket.socket, lost: threading.Event) -> None:
        while data := _read(far):
            if lost.is_set():  # it was answered, so it was committed
                self.cut()
                self.swallowed.set()
                break
            if not _write(near, data):
                break
        _end(near)


def _read(end: socket.socket) -> bytes:
    try:
        return end.recv(65_536)
    except OSError:
        return b""


def _write(end: socket.socket, data: bytes) -> bool:
    try:
        end.sendall(data)
    except OSError:
        return False
    return True


def _end(end: socket.socket) -> None:
    for way in (lambda: end.shutdown(socket.SHUT_RDWR), end.close):
        try:
            way()
        except OSError:
            pass


class Hands:
    """Where the clocks stand, in µs. The service's edges and every page of the tablet read it."""

    def __init__(self, monkeypatch: Any, at: Callable[..., int]) -> None:
        self.at, self.us = at, at(0, "08:30")
        for module in EDGES:
            monkeypatch.setattr(f"{module}.now_us", lambda: self.us)

    def set(self, clock: str, second: int = 0) -> datetime:
        self.us = self.at(0, clock, second)
        return datetime.fromtimestamp(self.us / 1e6, UTC)


class Tablet:
    """A browser with a folder of its own. `kill()` ends its processes the hard way; `start()` opens it again on the same folder."""

    def __init__(self, chromium: Any, chromium_path: str, folder: Path, line: Line, hands: Hands) -> None:
        self.kind, self.path, self.folder, self.line, self.hands = chromium.browser_type, chromium_path, folder, line, hands
        self.faults: list[str] = []
        self.context: Any = None
        self.page: Any = None
        self.flags: tuple[str, ...] = ()
        self.fast_s = 0
        self.keyed = 0.0

    def start(self, width: int = 820, height: int = 1180) -> None:
        self.context = self.kind.launch_persistent_context(
            str(self.folder), executable_path=self.path, args=[*FLAGS, *self.flags], viewport={"width": width, "height": height}
        )
        self.page = self.context.pages[0]
        self.watch(self.page)
        self.clock()

    def watch(self, page: Any) -> None:
        page.on("pageerror", lambda error: self.faults.append(str(error)))

    def clock(self, text: str = "", second: int = 0) -> None:
        """Put both clocks to a time of the Monday; the tablet's own runs `fast_s` seconds before it."""
        if text:
            self.hands.set(text, second)
        still = STILL % (self.hands.us // 1000 + self.fast_s * 1000)
        self.context.add_init_script(still)
        for page in self.context.pages:
            page.evaluate(still)

    def kill(self) -> None:
        for pid in _with(str(self.folder)):
            os.kill(pid, signal.SIGKILL)
        try:
            self.context.close()
        except Exception:  # the browser is gone, which is the point
            pass

    # --- the hand that holds it -----------------------------------------------------------------

    def goto(self, path: str) -> None:
        self.page.goto(f"http://localhost:{self.line.here}{path}")

    def sign_in(self, name: str) -> None:
        self.goto("/sign-in/?next=/floor/")
        self.page.fill("input[name=username]", name)
        self.page.fill("input[name=password]", PASSWORD)
        self.page.press("input[name=password]", "Enter")
        self.page.wait_for_url("**/floor/")
        self.ready()
        self.says("#as-of", "List as of")
        self.page.wait_for_selector("html[data-kept=yes]")

    def ready(self) -> None:
        self.page.wait_for_selector("html[data-ready=yes]")

    def scan(self, code: str) -> str:
        """As a scanner types, into whatever has the focus; what the page answers."""
        self._seen()
        self.keyed = press(self.page, [*code, "Enter"], self.keyed)
        self.page.wait_for_selector("#answer > :not([data-seen])")
        return self.answer()

    def press(self, name: str) -> str:
        self._seen()
        self.page.get_by_role("button", name=name).first.click()
        self.page.wait_for_selector("#answer > :not([data-seen])")
        return self.answer()

    def _seen(self) -> None:
        """What stands there now is not the answer to what comes next."""
        self.page.eval_on_selector_all("#answer > *", "all => all.forEach((one) => { one.dataset.seen = 'yes'; })")

    def answer(self) -> str:
        return " ".join(self.page.inner_text("#answer").replace("\u00a0", " ").split())

    def reasons(self) -> list[str]:
        return sorted(self.page.eval_on_selector_all("#answer [data-code]", "all => all.map((one) => one.dataset.code)"))

    def undo(self) -> None:
        self.page.locator("#notes").get_by_role("button", name="Undo").first.click()

    def online(self) -> None:
        self.page.evaluate("window.dispatchEvent(new Event('online'))")

    def says(self, selector: str, words: str) -> None:
        """Waits until it says so."""
        self.page.wait_for_function("([s, w]) => document.querySelector(s)?.textContent.includes(w)", arg=[selector, words])

    def noted(self) -> list[tuple[str, str]]:
        """(what, its state), the oldest first."""
        rows = self.page.eval_on_selector_all(
            "#notes > li", "all => all.map((one) => [one.querySelector('strong').textContent, one.dataset.state])"
        )
        return [tuple(row) for row in reversed(rows)]  # type: ignore[misc]

    def states(self, *wanted: str) -> None:
        """Waits until the notes, the oldest first, are in these states."""
        script = "(wanted) => [...document.querySelectorAll('#notes > li')].reverse().map((one) => one.dataset.state).join() === wanted"
        self.page.wait_for_function(script, arg=",".join(wanted))


def _with(word: str) -> list[int]:
    """Processes whose command line holds a word: this tablet's own folder."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit() and int(entry.name) != os.getpid():
            try:
                if word.encode() in (entry / "cmdline").read_bytes():
                    found.append(int(entry.name))
            except OSError:
                continue
    return found
