"""What is held, expired or not released is seen in the picture of a trace: as words and a shape, in the name that is read out, in both
tables. Never by colour alone (WCAG 2.2, 1.4.1)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree

import pytest

from inventory.models import Block, Item, ItemState, Person
from inventory.pages import itemfacts
from inventory.templatetags import shapes
from inventory.verbs.holding import Hold
from layups.pages.against import CODES, against
from layups.reads.things import things_of
from tests.layups.test_traces import big_shop

from .browsing import Page
from .floor import Browser, Clock, Floor, clock, floor, made_floor
from .test_trace_pages import block, lot_of, queries

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]
SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Here:
    site: int
    zone: str
    now_us: int


@pytest.fixture
def vera(floor: Floor, clock: Clock) -> Browser:
    clock(0, "08:30")
    return Browser(floor, "Vera")


def boxes(page: Page) -> dict[str, ElementTree.Element]:
    """The boxes of the first picture by their first line."""
    picture = re.search(r'<g id="drawing-.*?</g></svg>', page.source.replace("\n", ""), re.DOTALL)
    assert picture is not None
    root = ElementTree.fromstring(f'<svg xmlns="{SVG[1:-1]}">{picture[0]}')
    found = [node for node in root.iter() if "data-box" in node.attrib]
    return {next(t.text or "" for t in node.iter(f"{SVG}text")): node for node in found}


def told(box: ElementTree.Element) -> tuple[str, str, bool]:
    """What is written of it, what is read out of it, and whether it has a shape."""
    return " ".join(t.text or "" for t in box.iter(f"{SVG}text")), box.attrib["aria-label"], "node-mark" in str(ElementTree.tostring(box))


def test_what_is_held_says_so_in_the_picture_in_its_name_and_in_both_tables(floor: Floor, vera: Browser) -> None:
    floor.do(floor.at(0, "08:20"), "Odile", "hold", Hold("U-4", "torn"))
    page = vera.get(f"/trace/{lot_of('U-4').code}/")
    drawn = boxes(page)
    held, free = told(drawn["U-4"]), told(drawn[lot_of("U-4").batch.number])
    assert held[0] == "U-4 held" and "Held." in held[1] and held[2]
    assert shapes.DRAWINGS[shapes.STATUS["held"][1]] in page.source
    assert "held" not in free[0] and "Held" not in free[1] and not free[2]
    lines = page.source.split('id="lines-forward"')[1].split("</details>")[0]
    table = page.source.split('id="table-forward"')[1].split("</table>")[0]
    chip = str(shapes.chip("held"))
    assert chip in lines and chip in table
    # what was made of it before has it in it, and is held with it (R7)
    assert told(drawn["K-31"])[0] == "K-31 held"


def test_a_lot_that_went_into_a_part_is_said_to_be_held_where_the_part_is_traced_back(floor: Floor, vera: Browser) -> None:
    block(lot_of("K-31"))
    page = vera.get(f"/trace/{floor.code('K-31')}/")
    table = page.source.split('id="table-back"')[1].split("</table>")[0]
    assert str(shapes.chip("held")) in table
    assert told(boxes(page)[lot_of("K-31").batch.number])[0].endswith(" held")


def test_a_box_of_several_says_of_how_many(floor: Floor, vera: Browser) -> None:
    lot, _ = big_shop(120)
    Person.objects.filter(name="Vera").update(site=lot.site_id)
    parts = list(Item.objects.filter(site=lot.site_id, kind="part").order_by("pk")[:3])
    made = Item.objects.filter(site=lot.site_id, kind="part")
    ItemState.objects.bulk_create(ItemState(item=part, head=1, qty=1) for part in made)
    for part in parts:
        block(part)
    page = vera.get(f"/trace/{lot.code}/")
    names = [told(box) for box in boxes(page).values()]
    assert [(text.split()[-2:], "3 held." in name, mark) for text, name, mark in names if "held" in text] == [(["3", "held"], True, True)]
    assert str(shapes.chip("held", 3)) in page.source


def test_a_trace_says_what_each_things_own_page_says(floor: Floor, clock: Clock) -> None:
    """Of everything in the shop that is not used up, now and when all of it is long past its end."""
    block(Item.objects.get(mark="C-12"))
    block(Item.objects.get(mark="T-2"))
    Block.objects.filter(item__mark="T-2").update(why="incoming")
    seen = set()
    for day in (0, 400):
        clock(day, "08:30")
        shop = Here(floor.site.pk, floor.zone, floor.at(day, "08:30"))
        things = things_of(list(Item.objects.filter(site=shop.site).values_list("pk", flat=True)))
        found = against(things.values(), shop)
        for pk, thing in things.items():
            piece = itemfacts.piece_of(Item.objects.get(pk=pk), shop)
            if piece is None or piece.state.gone or (thing.kind != "lot" and thing.where == "consumed"):
                continue
            said = set(itemfacts.statuses(piece, shop.now_us)) & (set(CODES) - ({"expired"} if thing.kind == "lot" else set()))
            assert set(found.get(pk, ())) == said, thing
        seen |= {code for codes in found.values() for code in codes}
    assert seen == set(CODES)


def test_what_is_held_costs_as_many_queries_of_two_hundred_as_of_three(floor: Floor, vera: Browser) -> None:
    counts = []
    for size in (3, 200):
        lot, _ = big_shop(size)
        block(lot)
        parts = Item.objects.filter(site=lot.site_id, kind="part")
        ItemState.objects.bulk_create(ItemState(item=part, head=1, qty=1) for part in parts)
        counts.append(queries(vera, floor, "/trace/{}/", lot))
    assert counts[0] == counts[1]
    assert Block.objects.filter(item__kind="lot").count() == 2
