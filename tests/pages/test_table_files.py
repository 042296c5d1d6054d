"""Every table of a page as a file: the same rows, as text, with nothing that a spreadsheet would run."""

from __future__ import annotations

import csv
import io

import pytest
import python_calamine

from inventory.models import Material, Person
from inventory.templatetags.tables import Column, collecting, plain, table
from inventory.templatetags.words import qty

from .browsing import Browser, Clock
from .store import Store


def as_csv(browser: Browser, path: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(browser.get(path).source.removeprefix("\ufeff"))))


def as_workbook(browser: Browser, path: str) -> list[list[object]]:
    response = browser.client.get(path)
    assert response.headers["Content-Type"].endswith("spreadsheetml.sheet")
    return python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(response.content)).get_sheet_by_index(0).to_python()


@pytest.mark.parametrize("path", ["/stock/", "/places/", "/places/CLEAN/", "/records/", "/peroxides/", "/parts/", "/refusals/"])
def test_each_table_of_a_page_is_had_as_both_files_with_the_same_rows(yard: Store, clock: Clock, path: str) -> None:
    odile = Browser(yard, "Odile")
    page = odile.get(path)
    links = [link for link in page.links() if "&file=" in link]
    assert len(links) == 2 * page.source.count('<table class="cloth"')
    for csv_link, xlsx_link in zip(links[::2], links[1::2], strict=True):
        rows = as_csv(odile, path + csv_link)
        assert len(rows) > 1 and all(len(row) == len(rows[0]) for row in rows)
        book = as_workbook(odile, path + xlsx_link)
        assert [str(cell) for cell in book[0]] == rows[0] and len(book) == len(rows)


def test_a_filter_of_the_page_holds_for_its_file(yard: Store, clock: Clock) -> None:
    ines = Browser(yard, "Ines")
    link = next(link for link in ines.get("/stock/?kind=hardener").links() if "file=csv" in link)
    assert {row[0] for row in as_csv(ines, "/stock/" + link)[1:]} >= {"LAM-B"}
    assert all("CT-204" not in row for row in as_csv(ines, "/stock/" + link))


def test_nothing_in_a_file_starts_a_formula(yard: Store, clock: Clock) -> None:
    Material.objects.filter(code="CT-204").update(name="=HYPERLINK(1)")
    ines = Browser(yard, "Ines")
    assert [row[1] for row in as_csv(ines, "/stock/?q=CT-204&file=csv&table=1")[1:]] == ["'=HYPERLINK(1)"]
    assert as_workbook(ines, "/stock/?q=CT-204&file=xlsx&table=1")[1][1] == "=HYPERLINK(1)", "a text, which is never computed"


@pytest.mark.parametrize("asked", ["file=csv&table=9", "file=csv&table=0", "file=csv&table=x", "file=exe&table=1", "file=csv&table=²"])
def test_a_table_that_the_page_does_not_have_is_answered_by_the_page(yard: Store, clock: Clock, asked: str) -> None:
    page = Browser(yard, "Ines").get(f"/stock/?{asked}")
    assert page.status == 200 and page.headings == 1


def test_cells_lose_their_markup_and_keep_their_words() -> None:
    with collecting() as seen:
        table("Rolls", [Column("What"), Column("Left", num=True)], [["<b>A & B</b>", qty(41_500_000, "um")], [None, ""]])
    assert seen[0].rows == (("<b>A & B</b>", "41.50 m"), ("", "")), "a text that looks like markup is a text"
    assert plain(7) == "7"
    with collecting() as none:
        pass
    assert not none


def test_a_table_of_a_page_is_in_the_readers_language_and_a_file_for_machines_is_not(yard: Store, clock: Clock) -> None:
    Person.objects.filter(name="Ines").update(language="de", units="us")
    ines = Browser(yard, "Ines")
    rows = as_csv(ines, "/stock/?q=CT-204&file=csv&table=1")
    assert rows[0][:3] == ["Material", "Name", "Jetzt verwendbar"] and rows[1][2].endswith(" yd")
    assert [str(cell) for cell in as_workbook(ines, "/stock/?q=CT-204&file=xlsx&table=1")[0]] == rows[0]
    plain = as_csv(ines, "/stock/?q=CT-204&format=csv")
    assert plain[0][0].isascii() and "verwendbar" not in " ".join(plain[0]) and not any(cell.endswith(" yd") for cell in plain[1])
