"""Every page that has a name: one main heading, a title, the frame in one order, and a number of queries that does not grow with
the shop. A page that is added has no address here, and fails until somebody gives it one."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import URLPattern, get_resolver

from inventory import jobs
from inventory.models import Act, CountSheet, Customer, Job, Nonconformance, Recipe, TemperatureLog
from inventory.verbs import moving
from inventory.verbs.count_sheets import CountBegin, CountSee
from inventory.verbs.mixing import Component, Mix
from inventory.verbs.registry import perform
from layups.models import CureRecipe, Design
from layups.verbs import laying, starting
from tests.layups.day import Day
from tests.layups.test_charts import TEXT, run
from tests.ledger.bench import HOUR
from tests.ledger.loggers import csv_of
from tests.ledger.test_logs import BEGIN, END, PROBE, product

from .browsing import Browser, Clock, Page
from .store import Store

pytestmark = pytest.mark.once
NO_PAGE = {
    "attachment", "item-scan", "part-undo", "sign-out", "badge-back", "recall-csv", "label-picture", "job-cancel",
    "floor-manifest", "floor-worker", "floor-reader", "floor-who", "gloves",
}  # fmt: skip
"""Answers to a form, and files."""
WITHOUT_FRAME, WITHOUT_ROWS = {"floor", "sign-in", "no-person", "wall"}, {"floor", "sign-in", "no-person"}
WHO = {
    "quality": "Odile",
    "job": "Odile",
    "jobs": "Odile",
    "log-charge": "Odile",
    "decide": "Odile",
    "nonconformance": "Odile",
    "overview": "Marek",
    "mix": "Bram",
    "part": "Bram",
    "part-deed": "Bram",
}
ANSWERS = {"no-person": 403}
WERE_EMPTY = {"wall": 1, "trace": 1}
"""Queries that a page asks only where a list has something: in the small shop it has nothing, and nothing in the small trace is held (the
walk of its holds is a second statement)."""
DAY_END = "16:00"


def addresses(yard: Store) -> dict[str, str]:
    """An address for each named page, where there is something to see."""
    code = {mark: yard.code(mark) for mark in ("C-12", "U-3", "M-990")}
    log, job = TemperatureLog.objects.order_by("pk")[0], Job.objects.order_by("pk")[0]
    case, act = Nonconformance.objects.order_by("pk")[0], Act.objects.order_by("-pk")[0]
    thing = f"/i/{code['C-12']}/"
    return {
        "today": "/", "find": "/find/?q=C", "item": thing, "item-open": f"/i/{code['U-3']}/open/", "item-cut": f"{thing}cut/",
        "item-count": f"{thing}count/", "item-leftover": f"/i/{code['M-990']}/leftover/", "labels": "/labels/?things=C-12",
        "stock": "/stock/", "material": "/stock/PP-T/", "values": "/materials/PP-T/values/", "receive": "/receive/",
        "label-kinds": "/receive/labels/", "label-new": "/receive/labels/new/", "receive-new": "/receive/new/",
        "delivery": "/receive/delivery/?number=D-118", "receive-rows": "/receive/rows/?number=D-118", "receive-import": "/receive/file/",
        "receive-opening": "/receive/opening/", "papers": "/receive/papers/?lot=T-2", "mix": "/mix/?recipe=LAM", "recipes": "/recipes/",
        "recipe": "/recipes/LAM/", "numbers": "/numbers/", "worksheet": "/numbers/pot/", "places": "/places/", "place": "/places/CLEAN/",
        "log-new": "/logs/new/?place=F2", "log": f"/logs/{log.pk}/", "log-charge": f"/logs/{log.pk}/charge/?at={PROBE[0] + HOUR}",
        "mine": "/mine/", "counts": "/count/", "count-sheet": f"/count/{CountSheet.objects.latest('pk').pk}/", "wall": "/wall/",
        "jobs": "/jobs/",
        "job": f"/jobs/{job.pk}/", "fire": "/peroxides/", "records": "/records/", "record": f"/records/{act.pk}/",
        "refusals": "/refused/", "sign-in": "/sign-in/", "badge": "/badge/", "do": f"/do/move/?item={code['C-12']}", "floor": "/floor/",
        "no-person": "/no-person/", "parts": "/parts/", "part-start": "/parts/start/", "lay-many": "/parts/lay-many/",
        "part": "/parts/DAG-990/", "part-chart": "/parts/TIL-020/chart/", "part-deed": "/parts/DAG-990/bag/", "runs": "/runs/",
        "run": "/runs/CR-9/", "layup": "/layup/", "designs": "/designs/", "design": "/designs/DAG/",
        "design-demand": "/designs/DAG/demand/",
        "quality": "/quality/", "nonconformance": f"/quality/case/{case.pk}/", "decide": f"/quality/hold/?item={code['C-12']}",
        "trace": f"/trace/{code['C-12']}/", "recall": f"/trace/recall/{code['C-12']}/", "overview": "/overview/", "defects": "/defects/",
    }  # fmt: skip


def named() -> set[str]:
    found = set()
    for module in ("inventory.pages.urls", "layups.pages.urls"):
        found |= {str(p.name) for p in get_resolver(module).url_patterns if isinstance(p, URLPattern)}
    return found - NO_PAGE


def make_busy(yard: Store, clock: Clock) -> None:
    """The end of a day on which a little of everything happened."""
    CureRecipe.objects.create(code="OVEN-120", version=1, name="oven, 120 °C", text=TEXT)
    Design.objects.filter(code="TIL").update(cure_recipe=CureRecipe.objects.get(code="OVEN-120"))
    run(Day(yard.yard))
    clock(0, DAY_END)
    build(yard, clock, "990")
    read(yard, clock, "0")


@pytest.fixture
def busy(yard: Store, clock: Clock) -> Store:
    make_busy(yard, clock)
    return yard


def build(yard: Store, clock: Clock, n: str) -> None:
    """A part with a layer of fibre, a finding and a pot; a refusal."""
    now = yard.at(0, "15:00", int(n) % 60)
    number = f"DAG-{n}"
    yard.do(now, "Bram", "start_part", starting.StartPart("DAG", number, "CLEAN"))
    yard.do(now + 1, "Bram", "lay", laying.Lay("C-12", number, qty="0.10 m"))
    late = yard.call("Bram", now + 2, stance="observed", happened_us=now + 1)
    perform("lay", late, laying.Lay("U-3", number, qty="0.10 m", extra=True))
    parts = (Component("LA-7", "40.0 g"), Component("LB-5", "10.0 g"))
    yard.do(now + 3, "Bram", "mix", Mix(parts, "CLEAN", temperature="21.0", mark=f"M-{n}"))
    Browser(yard, "Ines").put("X4", "RS")
    yard.do(now + 4, "Ines", "count_begin", CountBegin("RACK"))
    yard.do(now + 5, "Ines", "count_see", CountSee(CountSheet.objects.latest("pk").pk, "C-12", "18 m"))


def read(yard: Store, clock: Clock, n: str) -> None:
    """A log that was handed in and read."""
    file = SimpleUploadedFile(f"probe{n}.csv", csv_of(BEGIN, END, product), "text/csv")
    Browser(yard, "Odile").post("/logs/new/", {"probe": f"P-{n}", "measures": "product", "place": "F2", "file": file})
    jobs.run_due(lambda: clock.now)


def copied(row: Any, **changes: Any) -> Any:
    """A further row like this one."""
    values = {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields if not f.primary_key}
    return type(row).objects.create(**values | changes)


def more_master(yard: Store, n: int) -> None:
    """Another place, material, recipe, design with its plies, and customer."""
    copied(yard.yard.place["RACK"], code=f"RACK{n}", name=f"Rack {n}")
    copied(yard.yard.place["PX"], code=f"PX{n}", name=f"Peroxide cabinet {n}")
    copied(yard.yard.material["PP-T"], code=f"PP-T{n}")
    copied(Recipe.objects.get(code="LAM"), code=f"LAM{n}")
    copied(Customer.objects.order_by("pk")[0], name=f"Sailing school {n}")
    design = Design.objects.get(code="DAG")
    another = copied(design, code=f"DAG{n}")
    for ply in design.plies.all():
        copied(ply, design_id=another.pk)


def grow(yard: Store, clock: Clock) -> None:
    """Much more of everything."""
    for n in range(10):
        build(yard, clock, f"{200 + n}")
        read(yard, clock, str(n + 1))
        yard.expect(f"D-9{n}", "PP-T", 1, expected_pieces=1, expected_qty=10**6)
    for n in range(30):
        at = yard.at(-2, "10:00", n)
        yard.stock(f"N-{n}", "PP-T", 30_000_000, "CLEAN", at, lot=f"T26-1{n}")
        yard.stock(f"C-9{n}", "CT-204", 30_000_000, "RACK", at, lot=f"CT-9{n}")
        yard.stock(f"P-{n}", "MEKP", 100_000_000, "PX", at, "can", lot=f"X9{n}")
        yard.do(clock.now - 60 + n, "Ines", "move", moving.Move("C-13", "CLEAN" if n % 2 else "RACK"))
    day = Day(yard.yard, calls=10_000, lots={"TL": 0})
    for n in range(3):
        run(day, f"TIL-03{n}", cr=f"CR-1{n}")
    for n in range(5):
        more_master(yard, n)


def places(page: Page) -> tuple[str, ...]:
    """Where the frame leads, in order."""
    nav = re.search(r'<nav class="nav".*?</nav>', page.source, re.DOTALL)
    return tuple(re.findall(r'href="([^"]+)"', nav[0])) if nav else ()


def test_every_named_page_has_one_heading_a_title_and_the_frame_and_asks_no_more_of_a_larger_shop(busy: Store, clock: Clock) -> None:
    pages = addresses(busy)
    assert named() == set(pages), "give each named page an address, or say that it is none"
    browsers = {who: Browser(busy, who) for who in ("Ines", "Odile", "Marek", "Bram")}
    few: dict[str, int] = {}
    odd = []
    frames: dict[Browser, set[tuple[str, ...]]] = {}
    for name, path in pages.items():
        who = browsers[WHO.get(name, "Ines")]
        shown = who.get(path)
        if (shown.status, shown.headings) != (ANSWERS.get(name, 200), 1) or len(shown.title.split(" · ")[0]) < 3:
            odd.append((name, shown.status, shown.headings, shown.title))
        if name not in WITHOUT_FRAME:
            frames.setdefault(who, set()).add(places(shown))
        if name not in WITHOUT_ROWS:
            few[name] = who.queries(path)
    assert odd == []
    assert [len(found) for found in frames.values()] == [1] * len(browsers), "the same places to go, in one order, on every page"
    grow(busy, clock)
    more = {}
    for name in few:
        who = browsers[WHO.get(name, "Ines")]
        who.get(pages[name])  # the process reads new lots once
        many = who.queries(pages[name])
        if not 0 <= many - few[name] <= WERE_EMPTY.get(name, 0):
            more[name] = (few[name], many)
    assert more == {}
