"""The pages of temperature logs and of long work."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory import jobs
from inventory.models import Act, Calibration, Delivery, Job, Probe, TemperatureLog
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from tests.ledger.bench import HOUR, MINUTE
from tests.ledger.loggers import csv_of
from tests.ledger.test_logs import BEGIN, END, PROBE, air, product

from .browsing import Browser, Page, frozen
from .store import PASSWORD, Store

pytestmark = pytest.mark.django_db


@pytest.fixture
def store(monkeypatch: pytest.MonkeyPatch) -> Store:
    """Two rolls of prepreg in F2 since the ninth of March."""
    store = Store()
    for mark in ("T-1", "T-2"):
        store.stock(mark, "PP-T", 50_000_000, "F2", store.at(-21, "08:00"))
    frozen(monkeypatch, store)
    return store


def hand_in(browser: Browser, data: bytes, **more: Any) -> Page:
    said = {"probe": "P-F2", "measures": "product", "place": "F2", "file": SimpleUploadedFile("probe.csv", data, "text/csv"), **more}
    return browser.post("/logs/new/", said)


def work(store: Store) -> None:
    jobs.run_due(lambda: store.at(0, "07:30"))


def taken(store: Store, browser: Browser, data: bytes, **more: Any) -> TemperatureLog:
    hand_in(browser, data, **more)
    work(store)
    found = TemperatureLog.objects.order_by("pk").last()
    assert found is not None, Job.objects.order_by("pk").last().error  # type: ignore[union-attr]
    return found


def covered(store: Store) -> None:
    probe = Probe.objects.get(name="P-F2")
    Calibration.objects.create(probe=probe, done_on=date(2026, 1, 1), due_on=date(2026, 12, 31))


def test_a_file_is_handed_in_at_the_place_and_its_job_comes_anew_until_it_is_read(store: Store) -> None:
    ines = Browser(store, "Ines")
    assert "/logs/new/?place=F2" in ines.get("/places/F2/").links()
    waiting = hand_in(ines, csv_of(BEGIN, END, product))
    assert waiting.path == f"/jobs/{Job.objects.get().pk}/"
    assert "<progress" in waiting.source and "It waits for its turn" in waiting.text
    refresh = ines.client.get(waiting.path).headers["Refresh"]
    assert refresh == f"2; url={waiting.path}"
    work(store)
    done = ines.get(waiting.path)
    assert f"/logs/{TemperatureLog.objects.get().pk}/" in done.links() and "<progress" not in done.source
    assert "Refresh" not in ines.client.get(waiting.path).headers
    assert "P-F2 (product)" in ines.get("/places/F2/").text


def test_a_page_that_comes_anew_by_itself_can_be_made_to_stand_still(store: Store) -> None:
    ines = Browser(store, "Ines")
    path = hand_in(ines, csv_of(BEGIN, END, product)).path
    moving, still = ines.client.get(path), ines.client.get(f"{path}?still=1")
    assert "Refresh" in moving.headers and b'href="?still=1"' in moving.content
    assert "Refresh" not in still.headers and f'href="{path}"' in still.content.decode()


def test_progress_is_a_bar_and_words(store: Store) -> None:
    ines = Browser(store, "Ines")
    page = hand_in(ines, csv_of(BEGIN, END, product))
    Job.objects.update(state="running", done=150, total=600, started_us=1)
    page = ines.get(page.path)
    assert 'value="25" max="100"' in page.source and "150 of 600 lines, 25 %" in page.text


def test_who_asked_stops_it_and_others_do_not_see_it(store: Store) -> None:
    ines, bram = Browser(store, "Ines"), Browser(store, "Bram")
    path = hand_in(ines, csv_of(BEGIN, END, product)).path
    assert bram.get(path).status == 404
    assert bram.post(f"{path}cancel/").status == 404
    assert "Nothing of it was kept" in ines.post(f"{path}cancel/").text
    work(store)
    assert Job.objects.get().state == "cancelled" and not TemperatureLog.objects.exists()
    assert "probe.csv" in ines.get("/jobs/").text and "probe.csv" not in bram.get("/jobs/").text
    assert "probe.csv" in Browser(store, "Odile").get("/jobs/").text


def test_a_file_that_was_not_understood_says_why_and_is_tried_again_without_handing_it_in_anew(store: Store) -> None:
    ines = Browser(store, "Ines")
    data = csv_of(BEGIN, END, lambda at: 4_000)
    path = hand_in(ines, data).path
    work(store)
    page = ines.get(path)
    assert "Say the unit" in page.text
    again = next(link for link in page.links() if link.startswith("/logs/new/"))
    form = ines.get(again)
    assert "Handed in already: probe.csv" in form.text
    sha = Job.objects.get().params.split('"file":"')[1][:64]
    ines.post("/logs/new/", {"place": "F2", "probe": "P-F2", "unit": "°C", "sha": sha})
    work(store)
    assert TemperatureLog.objects.get().most_mc == 4_000


def test_nothing_is_taken_in_without_a_file_or_without_a_probe(store: Store) -> None:
    ines = Browser(store, "Ines")
    page = ines.post("/logs/new/", {"place": "F2", "probe": "P-F2", "measures": "air"})
    assert page.status == 422 and "Choose the logger’s file" in page.text
    assert hand_in(ines, csv_of(BEGIN, END, product), measures="").status == 422
    assert not Job.objects.exists()
    assert hand_in(Browser(store, "Vera"), csv_of(BEGIN, END, product)).status == 403


def test_a_log_shows_its_picture_its_figures_and_what_was_too_warm(store: Store) -> None:
    ines, odile = Browser(store, "Ines"), Browser(store, "Odile")
    log = taken(store, ines, csv_of(BEGIN, END, product))
    page = odile.get(f"/logs/{log.pk}/")
    assert page.headings == 1 and '<svg class="chart log-chart"' in page.source
    assert "8 h 05" in page.text and "−4 °C" in page.text and "not evidence" in page.text
    assert f"/logs/{log.pk}/charge/?at={PROBE[0]}&line=-12+%C2%B0C" in page.links()
    told = ines.get(f"/logs/{log.pk}/").text
    assert "quality charges it" in told and "place’s own band: charges nothing" in told


def test_quality_sees_what_a_charge_touches_and_signs_it(store: Store) -> None:
    ines, odile = Browser(store, "Ines"), Browser(store, "Odile")
    log = taken(store, ines, csv_of(BEGIN, END, product))
    taken(store, ines, csv_of(BEGIN, END, air), probe="A-F2", measures="air", unit="°C")
    path = f"/logs/{log.pk}/charge/"
    page = odile.get(f"{path}?at={PROBE[0] + HOUR}")
    assert "T-1" in page.text and "T-2" in page.text and "noted beside, not charged" in page.text
    sent = {"at": PROBE[0] + HOUR, "line": "", "reason": "power cut"}
    assert odile.post(path, sent | {"password": "wrong"}).reasons == ["password.wrong"]
    assert odile.post(path, sent | {"password": PASSWORD}).reasons == ["log.not_evidence"]
    covered(store)
    done = odile.post(path, sent | {"password": PASSWORD})
    assert done.path == f"/logs/{log.pk}/" and "8 h 05 above the line" in done.text and "charged" in done.text
    assert Act.objects.filter(kind="expose").count() == 1
    assert odile.post(path, sent | {"password": PASSWORD}).reasons == ["expose.charged_already"]
    assert "wants" not in odile.get(f"{path}?at=5").text and odile.get(f"{path}?at=5").path == f"/logs/{log.pk}/"
    assert ines.post(path, sent | {"password": PASSWORD}).reasons == ["role.not_allowed"]


def test_a_probe_in_the_air_shows_its_time_and_charges_nothing(store: Store) -> None:
    odile = Browser(store, "Odile")
    log = taken(store, odile, csv_of(BEGIN, END, air), probe="A-F2", measures="air", unit="°C")
    page = odile.get(f"/logs/{log.pk}/")
    assert "a probe in the air: charges nothing" in page.text and not [x for x in page.links() if "/charge/" in x]
    assert odile.get(f"/logs/{log.pk}/charge/?at={PROBE[0]}").reasons == ["log.air_probe"]


def test_the_file_of_a_delivery_fills_in_how_long_it_was_too_warm(store: Store) -> None:
    """Above −12 °C for 9 h 20 and −3.1 °C at most: what the storekeeper would have read off the logger by hand."""
    ines = Browser(store, "Ines")
    store.expect("D-119", "PP-T", 0)
    begin = store.at(-2, "06:00")

    def trip(at: int) -> int:
        warm = begin + 8 * HOUR <= at <= begin + 17 * HOUR + 20 * MINUTE
        return -12_000 + min(8_900, (at - begin - 8 * HOUR) // 1000, (begin + 17 * HOUR + 20 * MINUTE - at) // 1000) if warm else -12_000

    log = taken(store, ines, csv_of(begin, begin + 30 * HOUR, trip), place="", delivery="D-119", probe="box 4")
    assert log.delivery == Delivery.objects.get(number="D-119")
    page = ines.get(f"/logs/{log.pk}/")
    assert "9 h 20" in page.text and "−3.1 °C" in page.text and "PP-T counts above it" in page.text
    use = next(link for link in page.links() if "transport" in link)
    form = ines.get(use)
    assert 'value="9 h 20"' in form.source and 'value="-3.1 °C"' in form.source
    assert f"/logs/{log.pk}/" in ines.get("/receive/delivery/?number=D-119").links()


def test_a_transport_rests_on_the_log_of_its_delivery(store: Store) -> None:
    odile = Browser(store, "Odile")
    pieces = (ReceivedPiece("50 m", "T-7", transport="9 h 20", warmest="-3.1 °C"),)
    said = Receive("D-119", (ReceivedLot("T26-031", pieces, "2026-03-02"),), "Kestrow Prepreg", "PP-T", "QUARF")
    store.do(store.at(0, "07:10"), "Ines", "receive", said)
    assert "/logs/new/?delivery=D-119" in odile.get("/quality/").links()
    log = taken(store, odile, csv_of(BEGIN, END, product), place="", delivery="D-119", probe="box 4")
    links = odile.get("/quality/").links()
    assert f"/logs/{log.pk}/" in links and "/logs/new/?delivery=D-119" not in links
    form = odile.get(next(link for link in links if link.startswith("/quality/transport/")))
    assert f"log {log.pk} of box 4 (probe.csv)" in form.source


@pytest.mark.parametrize(
    "path", ["/logs/1/", "/logs/999999999999999999999/", "/logs/1/charge/?at=x", "/jobs/7/", "/jobs/99999999999999999999/"]
)
def test_what_is_not_there_is_not_found(store: Store, path: str) -> None:
    assert Browser(store, "Odile").get(path).status == 404


def test_a_page_asks_as_many_queries_for_many_stretches_as_for_one(store: Store) -> None:
    odile = Browser(store, "Odile")
    one = taken(store, odile, csv_of(BEGIN, END, product))
    many = taken(store, odile, csv_of(BEGIN, END, lambda at: -4_000 if at // HOUR % 2 else -20_000), probe="P-9")
    asked = [odile.queries(f"/logs/{log.pk}/") for log in (one, many)]
    assert asked[0] == asked[1]
    odile.get("/places/F2/")  # what is read of lots and limits is kept from then on
    few = odile.queries("/places/F2/")
    taken(store, odile, csv_of(BEGIN, END, lambda at: -19_000), probe="P-10")
    assert odile.queries("/places/F2/") == few
