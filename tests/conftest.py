"""What every test shares."""

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from tests.unlocked import ledger_unlocked

if TYPE_CHECKING:
    from playwright.sync_api import Browser

__all__ = ["chromium", "chromium_path", "ledger_unlocked", "sources_forgotten"]

# Nothing but the page under test: no updates, no sync, no experiments.
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_make_parametrize_id(config: pytest.Config, val: object, argname: str) -> str | None:
    """Names for long or binary values: a file made for a test holds the time of its making, and every worker has to
    see the same names."""
    if isinstance(val, bytes) and len(val) > 24:
        return f"{argname}-{len(val)}-bytes"
    if isinstance(val, str) and len(val) > 80:
        return f"{argname}-{len(val)}-characters"
    return None


@pytest.fixture(autouse=True)
def sources_forgotten() -> Iterator[None]:
    """The process keeps what it has read of lots, which never change; a test's database is thrown away under it."""
    from inventory.recording.facts import forget_sources

    forget_sources()
    yield


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """The browser that deploy/test found; Debian's when pytest was started by hand."""
    return os.environ.get("SELVEDGE_TEST_CHROMIUM", "/usr/bin/chromium")


@pytest.fixture(scope="session")
def chromium(chromium_path: str) -> "Iterator[Browser]":
    """One Chromium for the whole run; each test opens a context of its own in it."""
    from playwright.sync_api import sync_playwright

    # Playwright's loop stands in this thread; Django would take the tests' own queries for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path, args=FLAGS)
        yield browser
        browser.close()
