"""python -m tests.browser.screenshots: walk through README's first quarter-hour in a real browser, and make its pictures.

A demo shop is made in a folder that is thrown away, served on a free port, and used as a new user would: typing codes into
whatever field has the focus, like a scanner. Each step waits for the words that README promises, so a picture never shows
something else.
"""

from __future__ import annotations

import argparse
import os
import secrets
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, expect, sync_playwright

from deploy.testing.services import chromium

REPOSITORY = Path(__file__).resolve().parents[2]
PICTURES = REPOSITORY / "deploy" / "pictures"
LARGEST = 150_000
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
SIZE = {"width": 1100, "height": 700}
PATIENCE_S = 60


@contextmanager
def shop(home: Path, password: str) -> Iterator[str]:
    """A demo shop that serves; yields its address. The server is ended at the end."""
    port = free_port()
    env = {name: value for name, value in os.environ.items() if not name.startswith("SELVEDGE_")}
    env |= {"SELVEDGE_HOME": str(home), "SELVEDGE_PORT": str(port)}
    for command in (["migrate", "--verbosity", "0"], ["collectstatic", "--no-input", "--verbosity", "0"], ["demo", "--password", password]):
        subprocess.run([sys.executable, "manage.py", *command], cwd=REPOSITORY, env=env, check=True, stdout=sys.stderr)
    with (home / "server.log").open("w") as log:
        server = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "-c", "python:deploy.gunicorn"], cwd=REPOSITORY, env=env, stdout=log, stderr=log
        )
    try:
        url = f"http://127.0.0.1:{port}"
        wait_for(f"{url}/sign-in/", server)
        yield url
    finally:
        server.terminate()
        server.wait(PATIENCE_S)


def free_port() -> int:
    """One that nobody uses at this instant."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def wait_for(url: str, server: subprocess.Popen[bytes]) -> None:
    """Until the page answers. Raises RuntimeError when the server ended or takes too long."""
    for _ in range(PATIENCE_S * 5):
        try:
            with urllib.request.urlopen(url, timeout=5):
                return
        except OSError:  # nobody listens yet, or the first page takes long
            if server.poll() is not None:
                break
            time.sleep(0.2)
    raise RuntimeError("the server did not answer; server.log in its home folder says why")


class Person:
    """One person's browser."""

    def __init__(self, browser: Browser, url: str, name: str, password: str) -> None:
        self.url = url
        self.page: Page = browser.new_context(viewport=SIZE, locale="en-GB").new_page()  # type: ignore[arg-type]
        self.page.goto(f"{url}/sign-in/")
        self.page.fill("[name=username]", name)
        self.page.fill("[name=password]", password)
        self.page.keyboard.press("Enter")
        self.page.wait_for_url(f"{url}/")

    def open(self, path: str) -> None:
        answer = self.page.goto(self.url + path)
        assert answer is not None and answer.status == 200, path

    def scan(self, code: str) -> None:
        """Into whatever has the focus, as a scanner does."""
        self.page.keyboard.type(code)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def sees(self, words: str) -> None:
        expect(self.page.locator("main")).to_contain_text(words)

    def picture(self, name: str) -> None:
        """A picture of the top of the page, without the caret. Raises AssertionError when it is too large to keep."""
        self.page.evaluate("scrollTo(0, 0)")
        file = PICTURES / f"{name}.png"
        self.page.screenshot(path=file, caret="hide", animations="disabled")
        assert file.stat().st_size < LARGEST, f"{file.name} has {file.stat().st_size} bytes"
        print(f"{file.relative_to(REPOSITORY)}: {file.stat().st_size // 1000} kB")


def storekeeper(ines: Person) -> None:
    """The morning list; a forgotten roll goes back into the freezer, another goes to the bench."""
    ines.sees("U-3: out since")
    ines.picture("today")
    ines.scan("U-3")
    ines.sees("U-3 may not be used now")
    ines.scan("F1")
    ines.sees("U-3 is in Chest freezer.")
    ines.open("/")
    ines.scan("C-12")
    ines.scan("CLEAN")
    ines.sees("C-12 is in Clean room.")


def builder(bram: Person) -> None:
    """Refused before the wrong roll touches the tool, with every reason; then the right one."""
    bram.open("/parts/DAG-041/")
    bram.scan("U-3")
    bram.sees("U-3 does not go into DAG-041")
    bram.sees("Tack life is over since")
    bram.picture("refused")
    bram.scan("C-12")
    bram.sees("6.20 m of C-12 is in ply 1 of DAG-041.")
    bram.picture("laid")


def quality(odile: Person, password: str) -> None:
    """From the part to its lot, and from the lot to everything made of it; one hold for all of that."""
    odile.open("/trace/?q=DAG-041")
    odile.sees("What is in DAG-041")
    odile.open("/trace/?q=CT26-3")
    odile.sees("Where lot CT26-3 went")
    odile.picture("trace")
    odile.page.get_by_role("link", name="Recall list").click()
    odile.sees("Not contained")
    odile.page.fill("[name=reason]", "Areal weight in doubt: notice from the supplier.")
    odile.page.fill("[name=password]", password)
    odile.page.get_by_role("button", name="Recall and hold").click()
    odile.sees("Contained:")
    odile.picture("recall")


def held(bram: Person) -> None:
    """What was held a moment ago is refused at the bench."""
    bram.open("/find/?q=C-12")
    bram.sees("C-12 may not be used now")


def main(given: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.browser.screenshots", description=__doc__.split("\n\n")[0] if __doc__ else "")
    parser.parse_args(given)
    PICTURES.mkdir(exist_ok=True)
    password = secrets.token_urlsafe(12)
    with tempfile.TemporaryDirectory(prefix="selvedge-pictures-") as folder, shop(Path(folder), password) as url, sync_playwright() as play:
        options: dict[str, Any] = {"executable_path": chromium(), "args": FLAGS}
        browser = play.chromium.launch(**options)
        try:
            storekeeper(Person(browser, url, "ines", password))
            bram = Person(browser, url, "bram", password)
            builder(bram)
            quality(Person(browser, url, "odile", password), password)
            held(bram)
        finally:
            browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
