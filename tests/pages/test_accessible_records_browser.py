"""Logs, jobs and cure runs as axe sees them, at three sizes: the pages for which the shop of the other pages has nothing."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.models import Job
from layups.verbs.curing import CureOff, CureOn
from tests.layups.day import Day
from tests.layups.jobs import tiller
from tests.layups.test_charts import COLD, run
from tests.ledger.bench import HOUR
from tests.ledger.loggers import csv_of
from tests.ledger.test_logs import BEGIN, END, PROBE, product

from .browsing import Browser
from .store import Store
from .test_accessible_browser import complaints, shown
from .test_logs_pages import hand_in, store, taken
from .test_run_page import browser, csv, day, drop
from .test_shelf_browser import answered

__all__ = ["day", "shown", "store"]
pytestmark = [pytest.mark.django_db, pytest.mark.browser, pytest.mark.slow, pytest.mark.once]


def said_of(shown: Any, who: Browser, *paths: str) -> list[str]:
    shown.route("**/*", answered(who))
    found = []
    for path in paths:
        assert who.get(path).status == 200, path
        found += complaints(shown, path)
    return found


def test_axe_complains_of_no_log_and_no_job(shown: Any, store: Store) -> None:
    odile = Browser(store, "Odile")
    log = taken(store, odile, csv_of(BEGIN, END, product))
    hand_in(odile, b"no log at all")  # waits
    paths = [f"/jobs/{job.pk}/" for job in Job.objects.order_by("pk")]
    assert len(paths) == 2
    charge = f"/logs/{log.pk}/charge/?at={PROBE[0] + HOUR}"
    assert said_of(shown, odile, "/jobs/", *paths, f"/logs/{log.pk}/", charge, "/logs/new/?place=F2", "/places/F2/") == []


def test_axe_complains_of_no_run_with_a_chart_that_fails(shown: Any, day: Day) -> None:
    run(day)
    odile = browser(day)
    drop(day, odile, csv(day, COLD))
    assert said_of(shown, odile, "/runs/", "/runs/CR-9/", "/parts/TIL-020/", "/quality/") == []


def test_axe_complains_of_no_chart_of_a_part(shown: Any, day: Day) -> None:
    tiller(day)
    day.do(day.at("08:10"), "cure_on", CureOn(parts=("TIL-020",)))
    day.do(day.at("11:00"), "cure_off", CureOff(parts=("TIL-020",)))
    assert said_of(shown, browser(day), "/parts/TIL-020/chart/") == []
