"""Records, newest first, with filters and a cursor; one record in full; what was refused, with every reason."""

from __future__ import annotations

import re

import pytest

from inventory.models import Act
from inventory.verbs import counting, moving

from .browsing import Browser, Clock
from .store import PASSWORD, Store


@pytest.mark.parametrize("who", ["Ines", "Bram", "Odile", "Marek", "Vera"])
@pytest.mark.parametrize("path", ["/records/", "/refused/", "/records/1/"])
def test_everybody_reads_the_records(yard: Store, clock: Clock, path: str, who: str) -> None:
    page = Browser(yard, who).get(path.replace("/1/", f"/{Act.objects.earliest('pk').pk}/"))
    assert page.status == 200 and page.headings == 1


def test_records_filter_by_thing_kind_person_and_what_broke_a_rule(yard: Store, clock: Clock, vera: Browser) -> None:
    late = {"stance": "observed", "happened_us": clock.now - 60_000_000, "reason": "told late"}
    yard.do(clock.now, "Bram", "use", counting.UseOtherwise("PEEL-1", "50 m", "panel"), **late)
    bram = yard.yard.person["Bram"].pk
    found = vera.get("/records/?item=U-3").text
    assert found.count("Moved") == 2 and "C-12" not in found  # the choice of kinds names it once more
    assert "Opened FA-9-1" in vera.get("/records/?kind=open").text
    late_ones = vera.get(f"/records/?person={bram}&marked=late").text
    assert "PEEL-1" in late_ones and "U-3" not in late_ones, "U-3 was moved as it happened"
    broke = vera.get("/records/?marked=broke").text
    assert "PEEL-1" in broke and "told afterwards" in broke and "“told late”" in broke
    assert "No record like this" in vera.get("/records/?marked=void").text
    assert "has this label or mark" in vera.get("/records/?item=nothing").text
    assert vera.get("/records/?kind=nonsense").status == 422


def test_the_cursor_walks_through_all_records_once(yard: Store, clock: Clock, vera: Browser) -> None:
    for n in range(60):
        yard.do(clock.now + n, "Ines", "move", moving.Move("C-12", "CLEAN" if n % 2 else "BAY1"))
    seen: list[str] = []
    path = "/records/"
    for _ in range(10):
        page = vera.get(path)
        seen += re.findall(r'href="/records/(\d+)/"', page.source)
        more = re.search(r'rel="next" href="([^"]+)"', page.source)
        if more is None:
            break
        path = "/records/" + more[1].replace("&amp;", "&")
    numbers = [int(n) for n in dict.fromkeys(seen)]
    assert numbers == sorted(numbers, reverse=True) and len(numbers) == Act.objects.count()


@pytest.mark.parametrize("before", ["x", "-1", "1e9", "9" * 30, "٣"])
def test_a_cursor_that_is_no_number_is_left_out(vera: Browser, before: str) -> None:
    assert vera.get(f"/records/?before={before}").status == 200


def test_one_record_tells_who_when_from_where_and_its_exact_text(yard: Store, clock: Clock, vera: Browser) -> None:
    yard.do(clock.now, "Ines", "count", counting.Count("C-12", "18.06 m"))
    act = Act.objects.latest("pk")
    page = vera.get(f"/records/{act.pk}/")
    for fact in (
        "Ines",
        "storekeeper",
        "demo",
        "2026-03-30 07:40:00",
        "18.06 m counted, the book had 18.40 m",
        str(act.key),
        act.fingerprint,
    ):
        assert fact in page.text, fact
    assert "Void it" not in page.text
    assert vera.get("/records/999999/").status == 404


def test_quality_voids_a_record_from_its_page_once_with_a_reason(yard: Store, clock: Clock, odile: Browser) -> None:
    yard.do(clock.now, "Ines", "count", counting.Count("C-12", "18.06 m"))
    act = Act.objects.latest("pk")
    page = odile.get(f"/records/{act.pk}/")
    way = next(link for link in page.links() if link.startswith("/do/void/"))
    assert f'value="{act.pk}"' in odile.get(way).source
    form = {"record": str(act.pk), "reason": "wrong core weight", "password": PASSWORD, "next": f"/records/{act.pk}/"}
    done = odile.post("/do/void/", form)
    assert "void" in done.text and "wrong core weight" in done.text and "Void it" not in done.text
    again = odile.post("/do/void/", form)
    assert again.status == 409 and again.reasons == ["void.already"]


def test_refusals_are_kept_with_what_was_wanted_and_every_reason(yard: Store, ines: Browser, vera: Browser) -> None:
    ines.put("X4", "RS")
    ines.post(f"/i/{yard.code('C-12')}/cut/", {"taken": "99 m"})
    text = vera.get("/refused/").text
    assert text.index("Cut a kit") < text.index("Put away, take out or bring back")
    assert "Not enough on C-12: 99.00 m wanted, 18.40 m left" in text and "Ines" in text and "taken: 99 m" in text


@pytest.mark.parametrize("path", ["/records/", "/refused/"])
def test_the_pages_ask_as_much_for_fifty_rows_as_for_a_few(yard: Store, clock: Clock, ines: Browser, path: str) -> None:
    ines.put("X4", "RS")
    few = ines.queries(path)
    for n in range(40):
        yard.do(clock.now + n, "Ines", "move", moving.Move("C-12", "CLEAN" if n % 2 else "BAY1"))
    for _ in range(20):
        ines.put("X4", "RS")
    assert ines.queries(path) == few
