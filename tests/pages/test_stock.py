"""Stock by material and by place: what is usable, what to fetch and why not the older one, and the list for the fire service."""

from __future__ import annotations

import csv
import io

import pytest

from inventory.models import Material
from inventory.verbs import counting, mixing, moving
from layups.demo.anchor import DAY_US

from .browsing import Browser, Clock
from .store import Store

PAGES = ("/stock/", "/stock/?show=all", "/stock/PP-T/", "/places/", "/places/CLEAN/", "/peroxides/")


def rows(browser: Browser, path: str) -> list[list[str]]:
    """A downloaded table."""
    return list(csv.reader(io.StringIO(browser.get(path).source.removeprefix("\ufeff"))))


@pytest.mark.parametrize("who", ["Ines", "Bram", "Odile", "Marek", "Vera"])
@pytest.mark.parametrize("path", PAGES)
def test_everybody_reads_the_stock_with_one_heading_a_page(yard: Store, clock: Clock, path: str, who: str) -> None:
    page = Browser(yard, who).get(path)
    assert page.status == 200 and page.headings == 1


def test_usable_stock_leaves_out_what_is_over_bad_or_somebody_elses(ines: Browser) -> None:
    found = {row[0]: row for row in rows(ines, "/stock/?format=csv&show=all")}
    assert found["PP-U"][3:7] == ["33", "0", "0", "41.5"], "U-4 is usable, U-3 is over its tack life"
    assert found["GB-600"][3] == "99.6", "bad metres are not usable"
    assert found["CU-300"][3] == "0" and found["CU-300"][7] == "50", "CO-1 is a customer's"
    assert found["PEEL-85"][8:] == ["100", "2026-04-01", "Ordered"]
    assert found["PP-T"][3:5] == ["124.6", "100"], "T-4 and T-6 still thaw"


def test_the_table_filters_by_name_and_kind_and_says_when_nothing_fits(ines: Browser) -> None:
    assert "PP-U" in ines.get("/stock/?q=prepreg").text and "CT-204" not in ines.get("/stock/?q=prepreg").text
    assert "LAM-B" in ines.get("/stock/?kind=hardener").text and "LAM-A" not in ines.get("/stock/?kind=hardener").text
    assert "No material like this" in ines.get("/stock/?q=nothing+like+it").text


def test_a_file_for_a_spreadsheet_starts_no_formula(yard: Store, ines: Browser) -> None:
    Material.objects.filter(code="CT-204").update(name="=HYPERLINK(1)", code="+CT")
    found = rows(ines, "/stock/?format=csv")
    assert ["'+CT", "'=HYPERLINK(1)"] in [row[:2] for row in found]
    response = ines.client.get("/stock/?format=csv")
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Content-Disposition"].startswith("attachment")


def test_a_material_says_what_to_fetch_first_and_why_an_older_roll_is_passed_over(yard: Store, ines: Browser) -> None:
    page = ines.get("/stock/PP-T/?amount=30+m&one_piece=on")
    assert "T-2 has 24.60 m; 30.00 m needed" in page.text
    assert "T-4 may be opened from Mon 30 Mar 18:30" in page.text
    assert "Fetch first" not in page.text and "Nothing of it may be used now" in page.text
    assert "Fetch first: T-2, 24.60 m, in Clean room" in ines.get("/stock/PP-T/").text


def test_an_amount_that_cannot_be_read_is_said_at_its_field(ines: Browser) -> None:
    page = ines.get("/stock/PP-T/?amount=a+lot")
    assert page.status == 200 and "field-error" in page.source
    assert ines.get("/stock/NOTHING/").status == 404


def test_a_place_lists_what_stands_there_with_its_state_and_last_day(yard: Store, clock: Clock, ines: Browser) -> None:
    text = ines.get("/places/CLEAN/").text
    assert "U-3 PP-U 41.50 m expired overdue" in text
    assert "FK-12 FA-B 0.80 m²" in text and "Mon 30 Mar" in text
    assert ines.get("/places/NOWHERE/").status == 404


def test_a_place_says_what_is_in_it_and_what_should_not_be_there(yard: Store, clock: Clock, ines: Browser) -> None:
    page = ines.get("/places/PX/")
    assert "2 things stand in Peroxide cabinet, all fit for use." in page.text and "What should not be here" not in page.text
    late = {"stance": "observed", "happened_us": clock.now - 60_000_000}
    yard.do(clock.now, "Ines", "move", moving.Move("CB-2", "PX"), **late)
    yard.do(clock.now + 1, "Ines", "measure", mixing.Measure("PX", "31.0"))
    clock(0, "07:45")
    page = ines.get("/places/PX/")
    assert "What should not be here" in page.text and page.source.count('data-code="place.never_together"') == 3
    assert "CB-2:" in page.text and "X4:" in page.text, "neither may stand beside the other"
    assert "Peroxide cabinet was 31 °C at the last reading, warmer than its band." in page.text
    assert "What should not be here" not in ines.get("/places/CLEAN/").text, "what is out to be worked with may be too warm there"


def test_the_fire_list_names_every_place_for_peroxides_with_mass_against_limit(yard: Store, clock: Clock, ines: Browser) -> None:
    text = ines.get("/peroxides/").text
    assert "PX Peroxide cabinet 6.50 kg 25.00 kg 2 X4 , X5" in text.replace("X4,", "X4 ,")
    assert "BK Outdoor bunker 0.00 kg 60.00 kg" in text
    yard.do(clock.now, "Ines", "scrap", counting.Scrap("X4", "expired"))
    assert "in all: 5.00 kg" in ines.get("/peroxides/").text
    assert rows(ines, "/peroxides/?format=csv")[1] == ["X5", "MEKP", "5.00 kg", "PX"]


@pytest.mark.parametrize("path", PAGES)
def test_the_pages_ask_as_much_for_thirty_pieces_as_for_three(yard: Store, clock: Clock, ines: Browser, path: str) -> None:
    ines.get(path)
    few = ines.queries(path)
    for n in range(30):
        yard.stock(f"N-{n}", "PP-T", 30_000_000, "CLEAN", yard.at(-2, "10:00", n), lot=f"T26-1{n}")
        yard.stock(f"P-{n}", "MEKP", 100_000_000, "PX", yard.at(-2, "11:00", n), "can", lot=f"X9{n}", printed_us=clock.now + 99 * DAY_US)
    ines.get(path)  # the process reads the new lots once
    assert ines.queries(path) == few
