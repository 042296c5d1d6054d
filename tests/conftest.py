"""What every test shares."""

import os
import shutil
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

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


LONG = 25
"""How many ordinary tests one takes that is marked slow, or a whole transaction and thus a database to empty; roughly."""


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The files that take longest first, since two processes take file by file: what is long must not be left for one of them when
    the other is done. (Of itself xdist begins with the file that has most tests, and leaves a whole day of one test for the end.)"""
    if not hasattr(config, "workerinput"):  # one process takes them as they come
        return
    weight: dict[Any, int] = {}
    for item in items:
        marks = list(item.iter_markers("django_db"))
        long = item.get_closest_marker("slow") or any(mark.kwargs.get("transaction") for mark in marks)
        weight[item.path] = weight.get(item.path, 0) + (LONG if long else 1)
    items.sort(key=lambda item: -weight[item.path])


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    """On SQLite a process begins with a copy of the database that deploy/test has migrated, where there is one. What is made of it is
    migrated as ever: a copy that lacks something gets it."""
    from django.db import connection

    migrated = os.environ.get("SELVEDGE_TEST_MIGRATED", "")
    if not migrated or connection.vendor != "sqlite":
        return
    creation: Any = connection.creation
    empty = creation._create_test_db

    def begun(*how: Any) -> str:
        name: str = empty(*how)
        shutil.copyfile(migrated, name)
        return name

    creation._create_test_db = begun


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
