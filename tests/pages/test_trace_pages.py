"""Traces and recall lists as pages: found by whatever is typed, drawn with a table that says the same, folded when large."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from inventory.models import Act, Block, Item, Person
from layups.core.bundles import MOST
from layups.tracing import Drawing, draw_back, draw_forward, trace_back, trace_forward
from tests.layups.test_traces import big_shop

from .browsing import Page
from .floor import Browser, Clock, Floor, clock, floor, made_floor

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]


@pytest.fixture
def vera(floor: Floor, clock: Clock) -> Browser:
    clock(0, "08:30")
    return Browser(floor, "Vera")


def lot_of(mark: str) -> Item:
    lot = Item.objects.get(mark=mark).lot
    assert lot is not None
    return lot


@pytest.mark.parametrize("typed", ["K-31", "k-31", " K-31 ", "label", "lot number"])
def test_anything_that_names_a_thing_finds_its_trace(floor: Floor, vera: Browser, typed: str) -> None:
    text = {"label": floor.code("K-31"), "lot number": lot_of("U-4").batch.number}.get(typed, typed)
    page = vera.get(f"/trace/?q={text}")
    assert page.status == 200 and page.title.startswith("Trace of")
    assert ("Where lot" in page.text) is (typed == "lot number")


def test_a_kit_leads_back_to_its_lot_with_amount_and_time(floor: Floor, vera: Browser) -> None:
    page = vera.get(f"/trace/{floor.code('K-31')}/")
    assert "What is in K-31" in page.text and "1 lot of 1 material" in page.text
    assert "PP-U U26-02 Kestrow Prepreg" in page.text and "through" in page.text.lower()
    assert "6.60 m" in page.text and "Fri 27 Mar 14:00" in page.text


def test_nothing_typed_is_a_box_and_nothing_found_says_what_was_read(floor: Floor, vera: Browser) -> None:
    assert "Scan or type a lot, a roll, a pot, a part" in vera.get("/trace/").text
    page = vera.get("/trace/?q=Unheard-of")
    assert page.status == 404 and "“Unheard-of” was read" in page.text and page.headings == 1
    alike = vera.get("/trace/?q=FA-9-")
    assert alike.status == 404 and "FA-9-1" in alike.text and "FA-9-2" in alike.text


def test_the_picture_has_a_link_for_every_thing_and_the_table_a_row(floor: Floor, vera: Browser) -> None:
    lot = lot_of("U-4")
    page = vera.get(f"/trace/{lot.code}/")
    picture = re.search(r"<svg.*?</svg>", page.source.split("<figure")[1], re.DOTALL)
    assert picture is not None
    root = ElementTree.fromstring(picture[0])
    svg = "{http://www.w3.org/2000/svg}"
    links = {a.attrib["href"] for a in root.iter(f"{svg}a")}
    found = trace_forward(lot.pk).found
    assert links == {f"/trace/{lot.code}/", *(f"/trace/{f.thing.code}/" for f in found)}
    assert all(a.attrib["aria-label"] for a in root.iter(f"{svg}a"))
    table = page.source.split("</figure>")[1]
    assert [f.thing.name for f in found if f.thing.name not in table] == []


def test_files_are_offered_in_both_directions_for_machines(floor: Floor, vera: Browser) -> None:
    page = vera.get(f"/trace/{floor.code('U-4')}/")
    files = [link for link in page.links() if link.startswith("/api/items/")]
    assert len(files) == 4
    for link in files:
        response = vera.client.get(link)
        assert response.status_code == 200 and response.headers["Content-Type"].startswith(("text/csv", "application/json"))


def test_a_large_trace_is_folded_in_the_picture_and_whole_in_the_table(floor: Floor, vera: Browser) -> None:
    lot, part = big_shop(120)
    forward = trace_forward(lot.pk)
    assert len(forward.found) == 241
    folded = draw_forward(forward)
    assert len(folded.boxes) <= MOST < len(draw_forward(forward, whole=True).boxes)
    assert folded.folded == 240
    assert [box.count for box in folded.boxes] == [1, 1, 120, 120]
    assert draw_back(trace_back(part.pk)).folded == 0


def test_a_folded_picture_loses_no_thing_and_no_way() -> None:
    lot, part = big_shop(120)
    trace = trace_forward(lot.pk)
    whole = draw_forward(trace, whole=True)
    things = {t.id for box in whole.boxes for t in box.things}
    for drawing in (draw_forward(trace), draw_forward(trace, steps=[part.code, part.code])):
        seen = [t.id for box in drawing.boxes for t in box.things]
        assert len(seen) == len(set(seen)) and set(seen) == things
        assert ways(drawing) == ways(whole)


def ways(drawing: Drawing) -> set[tuple[int, int]]:
    """Pairs of layers that are linked: what merging within a layer keeps."""
    layer = {box.number: box.layer for box in drawing.boxes}
    return {(layer[w.src], layer[w.dst]) for w in drawing.wires}


def test_a_box_of_several_opens_step_by_step_and_folds_again(floor: Floor, vera: Browser) -> None:
    lot, _ = big_shop(120)
    Person.objects.filter(name="Vera").update(site=lot.site_id)
    path = f"/trace/{lot.code}/"
    first = vera.get(path)
    group = [link for link in first.links() if "open=" in link][-1]
    opened = vera.get(path + group)
    assert "Opened: 120 ×" in opened.text and "fold it again" in opened.text
    runs = re.findall(r'aria-label="24 × [^"]*"', opened.source)
    assert len(runs) == 5 and all("Opens." in run for run in runs)
    again = vera.get(path + [link for link in opened.links() if link.count("open=") == 2][-1])
    assert len(re.findall("data-box=", again.source)) == 3 + 4 + 24
    assert 'class="sheet ' in again.source and 'class="sheet ' not in first.source, "what is too large for paper is cut into sheets"
    back = next(link for link in again.links() if "fold" not in link and link.count("open=") == 1 and "#" not in link)
    assert len(re.findall("data-box=", vera.get(path + back).source)) == len(re.findall("data-box=", opened.source))
    assert "Opened:" not in vera.get(f"{path}?open=nothing&open=%00").text


def test_the_lines_of_the_picture_stand_in_a_table_too(floor: Floor, vera: Browser) -> None:
    page = vera.get(f"/trace/{lot_of('U-4').code}/")
    lines = page.source.split('id="lines-forward"')[1].split("</details>")[0]
    assert lines.count('<tr role="row">') - 1 == len(re.findall("data-ends=", page.source.split('id="drawing-forward"')[1]))
    assert "U-4" in lines and "K-31" in lines and "6.60 m" in lines


def test_a_typed_trace_keeps_what_else_its_address_asks(floor: Floor, vera: Browser) -> None:
    lot = lot_of("U-4")
    for query in ("whole=1&forward=1", "open=a&open=b"):
        response = vera.client.get(f"/trace/?q={lot.batch.number}&{query}")
        assert (response.status_code, response.headers["Location"]) == (302, f"/trace/{lot.code}/?{query}")
    assert vera.client.get(f"/trace/?q={lot.batch.number}").headers["Location"] == f"/trace/{lot.code}/"


def test_pagers_are_landmarks_named_by_their_tables(floor: Floor, vera: Browser) -> None:
    """Landmarks of one role on one page have names of their own (WAI-ARIA Authoring Practices, Landmark Regions)."""
    lot, _ = big_shop(220)
    Person.objects.filter(name="Vera").update(site=lot.site_id)
    source = vera.get(f"/trace/{lot.code}/?whole=1").source
    names = re.findall(r'<nav class="pager" aria-label="([^"]+)"', source)
    captions = re.findall(r"<caption[^>]*>(.*?)</caption>", source, re.DOTALL)
    assert len(names) == 2 == len(set(names))
    assert all(name.startswith("Pages: ") and name.removeprefix("Pages: ") in " ".join(captions) for name in names)


def test_the_table_of_a_large_trace_comes_in_pages_with_addresses(floor: Floor, vera: Browser) -> None:
    lot, _ = big_shop(220)
    Person.objects.filter(name="Vera").update(site=lot.site_id)
    first, third, beyond = (vera.get(f"/trace/{lot.code}/{query}") for query in ("", "?forward=3", "?forward=99999"))
    assert "1 to 200 of 441 rows" in first.text and "Further rows" in first.text and "Earlier rows" not in first.text
    assert "401 to 441 of 441 rows" in third.text and "Further rows" not in third.text
    assert beyond.text == third.text


# --- recall -------------------------------------------------------------------------------------------


def test_the_recall_of_a_lot_lists_what_is_where_and_one_action_holds_it(floor: Floor, clock: Clock) -> None:
    clock(0, "08:30")
    odile = Browser(floor, "Odile")
    lot = lot_of("C-12")
    path = f"/trace/recall/{lot.code}/"
    before = odile.get(path)
    assert "Not contained:" in before.text and [name for name, *_ in bars(before)] == ["Contained"]
    empty = odile.post(path, {"password": "copper-kettle-41"})
    assert empty.status == 422 and "Reason" in empty.text
    wrong = odile.post(path, {"reason": "wrong sizing", "password": "no"})
    assert wrong.status == 403 and wrong.reasons == ["password.wrong"]
    done = odile.post(path, {"reason": "wrong sizing", "password": "copper-kettle-41"})
    assert done.status == 200 and "Contained:" in done.text and "Recalled by Odile" in done.text
    assert "Recall and hold" not in done.text, "it is held already"
    (contained, existing, of), (settled, _, none) = bars(done)
    assert (contained, settled) == ("Contained", "Settled") and existing == of > 0 and none == 0
    assert "wrong sizing" in Browser(floor, "Bram").get(f"/i/{floor.code('C-13')}/").text


def bars(page: Page) -> list[tuple[str, int, int]]:
    """The bars of a recall: name, of how many, how many."""
    found = re.findall(r'<span>([^<]*)</span><progress max="(\d+)" value="(\d+)">', page.source)
    return [(name, int(most), int(n)) for name, most, n in found]


def test_what_is_held_by_itself_counts_as_contained_before_the_lot_is(floor: Floor, clock: Clock) -> None:
    clock(0, "08:30")
    odile = Browser(floor, "Odile")
    lot = lot_of("C-12")
    path = f"/trace/recall/{lot.code}/"
    ((_, existing, held),) = bars(odile.get(path))
    block(Item.objects.get(mark="C-12"))
    assert bars(odile.get(path)) == [("Contained", existing, held + 1)]


def block(thing: Item) -> None:
    act = Act.objects.filter(site=thing.site).order_by("pk").first()
    assert act is not None
    Block.objects.create(site=thing.site, item=thing, why="quality", text="frayed", opened=act, from_us=act.recorded_us)


def test_a_recall_page_is_found_by_mark_and_by_lot_number(floor: Floor, vera: Browser) -> None:
    lot = lot_of("C-12")
    assert vera.get(f"/trace/recall/{lot.batch.number}/").path == f"/trace/recall/{lot.code}/"
    assert vera.get("/trace/recall/C-12/").path == f"/trace/recall/{floor.code('C-12')}/"


@pytest.mark.parametrize("path", ["/trace/{}/", "/trace/recall/{}/"])
def test_a_trace_page_asks_as_many_queries_for_three_parts_as_for_two_hundred(floor: Floor, vera: Browser, path: str) -> None:
    counts = []
    for size in (3, 200):
        lot, _ = big_shop(size)
        counts.append(queries(vera, floor, path, lot))
    assert counts[0] == counts[1]


def queries(vera: Browser, floor: Floor, path: str, lot: Item) -> int:
    """The shop of `big_shop` is a site of its own; Vera looks at it as somebody who works there."""
    Person.objects.filter(name="Vera").update(site=lot.site_id)
    return vera.queries(path.format(lot.code))
