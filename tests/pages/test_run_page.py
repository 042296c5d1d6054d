"""The page of a cure run: quality drops the oven's chart and sees where it failed."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Act, Attachment, Leg
from layups.demo.curves import chart_csv, cycle
from layups.models import CureChart, CureRecipe, Design
from layups.verbs.curing import CureOff, CureOn
from tests.layups.day import Day, new_day
from tests.layups.jobs import tiller
from tests.layups.test_charts import COLD, GOOD, TEXT, run

from .browsing import Browser, Page

PASSWORD = "copper-kettle-41"
pytestmark = pytest.mark.django_db


@pytest.fixture
def day(monkeypatch: pytest.MonkeyPatch) -> Day:
    day = new_day()
    recipe = CureRecipe.objects.create(code="OVEN-120", version=1, name="oven, 120 °C", text=TEXT)
    Design.objects.filter(code="TIL").update(cure_recipe=recipe)
    now = day.at("12:00")
    monkeypatch.setattr("inventory.pages.door.now_us", lambda: now)
    odile = day.yard.user["odile"]
    odile.set_password(PASSWORD)
    odile.save()
    return day


def browser(day: Day, who: str = "Odile") -> Browser:
    return Browser(day, who)  # type: ignore[arg-type]


def csv(day: Day, lines: Any) -> str:
    return chart_csv(day.at("08:00"), "Europe/Copenhagen", lines)


def drop(day: Day, page: Browser, text: str, path: str = "/runs/CR-9/", **more: str) -> Page:
    return page.post(path, {"file": SimpleUploadedFile("run.csv", text.encode()), **more})


def test_quality_drops_a_chart_and_sees_where_it_failed(day: Day) -> None:
    run(day)
    odile = browser(day)
    before = odile.get("/runs/CR-9/")
    assert "No chart has been handed in." in before.text and "chart missing" in before.text
    desk = odile.get("/quality/")
    assert "TIL-020 is cured and its chart is missing: OVEN-120 v1" in desk.text
    page = drop(day, odile, csv(day, COLD))
    assert page.path == "/runs/CR-9/" and page.status == 200
    assert "The chart fails. dwell: TC2 °C came to 117 °C only, at least 118 °C asked for." in page.text
    # By shape and word, and the exact instants in the table: the region runs over the whole chart, from 08:00:00.
    assert '<rect class="off"' in page.source and '<path class="off-line"' in page.source
    assert re.search(r">\d not reached TC2 °C</text>", page.source)
    assert "dwell not reached TC2 °C 08:00:00" in page.text
    assert page.source.count('<path class="line l') == 4, "two thermocouples, and the degree of cure of the lagging and the leading line"
    assert "dwell 118 to 124 °C for 60 to 80 min failed" in page.text
    desk = odile.get("/quality/")
    assert "Cure of TIL-020, run CR-9: The chart fails." in desk.text and "chart is missing" not in desk.text
    part = odile.get("/parts/TIL-020/")
    assert "/runs/CR-9/" in part.links() and "CR-9 failed" in part.text
    assert "CR-9" in odile.get("/runs/").text


def test_a_peak_of_one_reading_is_drawn_and_named(day: Day) -> None:
    run(day)
    lines = csv(day, GOOD).splitlines()
    hot = lines[100].split(";")
    lines[100] = ";".join([hot[0], "131.0", hot[2]])
    page = drop(day, browser(day), "\n".join(lines))
    assert "TC1 °C came to 131 °C, at most 124 °C allowed." in page.text
    highest = min(
        float(y) for path in re.findall(r'class="line l0" d="M([^"]+)"', page.source) for y in re.findall(r"[\d.]+ ([\d.]+)", path)
    )
    band = float(re.search(r'class="band" x="[\d.]+" y="([\d.]+)"', page.source)[1])  # type: ignore[index]
    assert highest < band


def test_what_the_file_does_not_say_is_asked_at_its_field_and_the_file_is_kept_meanwhile(day: Day) -> None:
    run(day)
    odile = browser(day)
    page = drop(day, odile, csv(day, GOOD).replace(" °C", ""))
    assert page.status == 422 and "say which" in page.text and not CureChart.objects.exists()
    sha = re.search(r'name="attachment" value="([0-9a-f]{64})"', page.source)
    assert sha and "run.csv is kept already" in page.text
    page = odile.post("/runs/CR-9/", {"attachment": sha[1], "unit": "C", "columns": "TC1; TIL-020; 2026-12-31\nTC2"})
    assert "The chart passes." in page.text and Attachment.objects.count() == 1
    wrong = odile.post("/runs/CR-9/", {"attachment": sha[1], "unit": "C", "columns": "TC1; TIL-020; 2026-12-31; more"})
    assert wrong.status == 422 and "Line 1 of the columns" in wrong.text
    nothing = odile.post("/runs/CR-9/", {})
    assert nothing.status == 422 and "Hand in the chart first" in nothing.text
    exe = odile.post("/runs/CR-9/", {"file": SimpleUploadedFile("run.csv", b"MZ\x00\x01\x02")})
    assert exe.status == 422 and "not taken" in exe.text
    assert CureChart.objects.count() == 1


def test_the_start_of_heating_is_put_right_by_two_links(day: Day) -> None:
    run(day)
    odile = browser(day)
    page = drop(day, odile, csv(day, GOOD))
    assert "by the chart heating began at 08:14:0" in page.text and "4 min later than the record says" in page.text
    assert "Put it right" in odile.get("/parts/TIL-020/").text
    void = next(link for link in page.links() if link.startswith("/quality/void/"))
    tell = next(link for link in page.links() if link.startswith("/do/cure_on/"))
    record = Act.objects.get(kind="cure_on").pk
    assert f"record={record}" in void
    form = odile.get(tell)
    values = dict(re.findall(r'name="(\w+)"[^>]* value="([^"]*)"', form.source))
    assert (values["run"], values["happened_at"][:16]) == ("CR-9", "2026-03-30T08:14")
    assert re.search(r'name="already"[^>]* checked', form.source)
    sent = {name: values[name] for name in ("run", "happened_at")} | {"parts": "TIL-020", "already": "on", "next": "/runs/CR-9/"}
    odile.post(void, {"record": str(record), "reason": "by the chart it began at 08:14", "password": PASSWORD})
    assert Act.objects.filter(kind="void", voids=record).exists()
    page = odile.post("/do/cure_on/", sent)
    assert page.path != "" and "later than the record says" not in odile.get("/runs/CR-9/").text
    assert (
        Leg.objects.filter(act__kind="cure_on", act__voided_by__isnull=True).get().act.happened_us // 1_000_000
        == day.at("08:14") // 1_000_000
    )


def test_a_builder_hands_in_and_an_auditor_only_looks(day: Day) -> None:
    run(day)
    assert "Judge it" in browser(day, "Bram").get("/runs/CR-9/").text
    vera = browser(day, "Vera")
    assert "Judge it" not in vera.get("/runs/CR-9/").text
    page = drop(day, vera, csv(day, GOOD))
    assert '<p class="verdict-title">Cure run <span class="nb">CR-9</span></p>' in page.source, "the word No stands beside it already"
    assert page.status == 403 and not CureChart.objects.exists() and not Attachment.objects.exists()
    assert vera.get("/runs/CR-404/").status == 404


def test_a_cure_outside_of_a_run_has_its_own_page(day: Day) -> None:
    tiller(day)
    day.do(day.at("08:10"), "cure_on", CureOn(parts=("TIL-020",)))
    day.do(day.at("11:00"), "cure_off", CureOff(parts=("TIL-020",)))
    odile = browser(day)
    assert "/parts/TIL-020/chart/" in odile.get("/parts/TIL-020/").links()
    page = drop(day, odile, csv(day, GOOD), "/parts/TIL-020/chart/")
    assert "The chart passes." in page.text
    assert "passed" in odile.get("/parts/TIL-020/").text


def test_an_older_chart_and_another_part_are_shown_on_demand_and_a_lost_file_is_told(day: Day) -> None:
    run(day, "TIL-020", "TIL-021")
    odile = browser(day)
    drop(day, odile, csv(day, COLD))
    page = drop(day, odile, csv(day, GOOD))
    assert "The chart passes." in page.text and "nothing: a newer one counts" in page.text
    old = CureChart.objects.order_by("act").first()
    assert old is not None
    page = odile.get(f"/runs/CR-9/?chart={old.act_id}&part=TIL-021")
    assert "judged for TIL-021" in page.text and "The chart fails." in page.text
    assert odile.get("/runs/CR-9/?chart=x&part=y").status == 200
    from inventory.attachments import path_of
    from layups.reads.chartfiles import chart_of

    for file in Attachment.objects.all():
        path_of(file.sha256).unlink()
    chart_of.cache_clear()
    page = odile.get("/runs/CR-9/")
    assert page.status == 200 and "not where papers are kept" in page.text and "dwell 118 to 124 °C" in page.text


def test_names_in_a_chart_are_text_and_never_markup(day: Day) -> None:
    run(day)
    page = drop(day, browser(day), csv(day, GOOD).replace("TC1 °C", "<script>alert(1)</script> °C"))
    assert page.status == 200 and "<script>alert(1)" not in page.source and "&lt;script&gt;" in page.source


def test_the_page_asks_as_much_for_two_parts_as_for_one(day: Day) -> None:
    run(day, "TIL-020")
    run(day, "TIL-021", "TIL-022", "TIL-023", cr="CR-10")
    odile = browser(day)
    counts = []
    for number in ("CR-9", "CR-10"):
        drop(day, odile, csv(day, COLD), f"/runs/{number}/")
        odile.get(f"/runs/{number}/")
        with CaptureQueriesContext(
            connection,
        ) as asked:
            odile.get(f"/runs/{number}/")
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_chart_that_runs_hot_is_drawn_with_its_band(day: Day) -> None:
    run(day)
    page = drop(day, browser(day), csv(day, {"TC1": cycle(127, 65)}))
    assert '<rect class="band"' in page.source and "too hot" in page.text
