"""Who may do what on the screens of parts, quality and traces: the auditor reads everything and changes nothing, a builder
decides nothing even by typing the address, and nobody who has not signed in sees anything."""

from __future__ import annotations

import pytest
from django.test import Client

from inventory.models import Act, ItemState, Person, Refusal, Site
from layups.models import Part
from layups.pages.decide import DECISIONS
from layups.pages.deeds import DEEDS

from .floor import Browser, Clock, Floor, clock, floor, made_floor, signed

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]

READ = (
    "/parts/", "/parts/?which=all", "/parts/?q=RUD&design=RUD", "/parts/start/", "/parts/lay-many/", "/parts/RUD-073/", "/quality/",
    "/trace/", "/trace/T-2/", "/trace/FA-9/", "/trace/recall/T-2/", "/defects/", "/defects/?design=RUD&defect=x&months=18",
)  # fmt: skip


def untouched() -> tuple[object, ...]:
    return Act.objects.count(), sorted(ItemState.objects.values_list("pk", "qty", "doc")), Part.objects.count()


@pytest.mark.parametrize("path", READ)
@pytest.mark.parametrize("who", ["Vera", "Bram", "Odile", "Ines", "Marek"])
def test_every_page_is_readable_with_one_heading_for_everybody(floor: Floor, clock: Clock, who: str, path: str) -> None:
    page = Browser(floor, who).get(path)
    assert (page.status, page.headings) == (200, 1)


@pytest.mark.parametrize("path", [*READ, "/parts/RUD-073/bag/", "/quality/release/", "/trace/recall/T-2/list.csv"])
def test_who_has_not_signed_in_is_asked_to(floor: Floor, clock: Clock, path: str) -> None:
    response = Client().get(path)
    assert response.status_code == 302 and response.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("slug", sorted(DEEDS))
def test_an_auditor_may_look_at_each_form_of_a_part_and_send_none(floor: Floor, clock: Clock, slug: str) -> None:
    vera = Browser(floor, "Vera")
    page = vera.get(f"/parts/RUD-073/{slug}/")
    assert (page.status, page.headings) == (200, 1) and "This is for:" in page.text
    before, refused = untouched(), Refusal.objects.count()
    values = {
        "readings": "4", "place": "OV2", "run": "CR-1", "reached": "34", "step": "demoulded", "kind": "tap_test", "passed": "yes",
        "defect": "void", "other": "DAG-041", "when": "2026-04-30T08:00", "design": "ROD", "length": "1 m", "pieces": "9-01",
        "customer": "P-03",
    }  # fmt: skip
    sent = vera.post(f"/parts/RUD-073/{slug}/", values)
    assert sent.status == 403 and sent.reasons == ["role.not_allowed"]
    assert untouched() == before and Refusal.objects.count() == refused + 1


def test_an_auditor_scans_nothing_in_and_sees_no_box_for_it(floor: Floor, clock: Clock) -> None:
    vera = Browser(floor, "Vera")
    page = vera.get("/parts/RUD-073/")
    assert "Scan what goes in" not in page.text and "Bag" not in page.text and "Hold" not in page.text
    before = untouched()
    assert vera.post("/parts/RUD-073/", {"code": floor.code("T-2")}).reasons == ["role.not_allowed"]
    assert vera.post("/parts/lay-many/", {"code": floor.code("T-2"), "part": [floor.code("RUD-073")]}).reasons == ["role.not_allowed"]
    assert vera.post("/parts/start/", {"design": "RUD", "number": "RUD-999", "place": "CLEAN"}).reasons == ["role.not_allowed"]
    assert vera.post("/defects/", {"parts": "RUD-073", "defect": "void"}).reasons == ["role.not_allowed"]
    assert vera.post("/parts/RUD-073/undo/", {"record": "1"}).reasons == ["role.not_allowed"]
    assert untouched() == before


VALUES = {
    "items": "U-3", "delivery": "", "item": "U-3", "evidence": "a test", "reason": "because", "scope": "all", "record": "1", "months": "3",
    "value": "24.1", "meaning": "scrap", "out_time": "1 h", "place": "F1", "from_us": "2026-03-29T08:00", "to_us": "2026-03-29T09:00",
    "warmest": "-3",
}  # fmt: skip


@pytest.mark.parametrize("who", ["Bram", "Vera"])
@pytest.mark.parametrize("slug", sorted(DECISIONS))
def test_who_may_not_decide_is_refused_at_the_address_itself(floor: Floor, clock: Clock, slug: str, who: str) -> None:
    """With the right password of their own, and whether or not what they sent could be read."""
    browser = Browser(floor, who)
    form = browser.get(f"/quality/{slug}/")
    assert form.status == 403 and form.reasons == ["role.not_allowed"] and 'type="password"' not in form.source
    before, refused = untouched(), Refusal.objects.count()
    page = signed(browser, f"/quality/{slug}/", VALUES)
    assert page.status == 403 and page.reasons == ["role.not_allowed"]
    assert untouched() == before and Refusal.objects.count() == refused + 1


def test_a_builder_holds_nothing_by_the_recall_page(floor: Floor, clock: Clock) -> None:
    bram = Browser(floor, "Bram")
    assert "Recall and hold" not in bram.get("/trace/recall/T-2/").text
    before = untouched()
    code = floor.code("T-2")
    assert signed(bram, f"/trace/recall/{code}/", {"reason": "mine"}).reasons == ["role.not_allowed"]
    assert untouched() == before


def test_quality_is_offered_its_decisions_and_nobody_else_is(floor: Floor, clock: Clock) -> None:
    for who, offered in (("Odile", True), ("Bram", False), ("Ines", False), ("Vera", False)):
        page = Browser(floor, who).get("/parts/RUD-073/")
        assert ("Hold RUD-073" in page.text) is offered, who


def test_a_part_of_another_shop_is_not_there(floor: Floor, clock: Clock) -> None:
    """Things never change shops, so the person does."""
    other = Site.objects.create(code="OTHER", name="Another yard", zone="Europe/Copenhagen")
    Person.objects.filter(name="Odile").update(site=other)
    odile = Browser(floor, "Odile")
    assert odile.get("/parts/RUD-073/").status == 404
    assert "RUD-073" not in odile.get("/parts/").text
    assert odile.get("/trace/RUD-073/").status == 404
    assert odile.get("/trace/recall/T-2/").status == 404
