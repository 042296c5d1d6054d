"""Labels against outside oracles: symbols written and read back with zxing-cpp, element strings read by biip."""

from __future__ import annotations

import random

import pytest
from biip import ParseConfig, ParseError
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from biip.gs1_messages import GS1Message

from inventory.core import gs1
from inventory.core.gs1 import Broken
from inventory.core.gs1_table import TABLE, check_digit, needs_separator
from inventory.core.labeldates import full_year
from inventory.core.labelfacts import Gathering
from inventory.core.reading import read

from .labels import GS, GTIN, YEAR, bracketed, gtin, rolled, scanned

pytestmark = pytest.mark.core


def test_the_table_of_identifiers_is_that_of_the_oracle() -> None:
    """All 541 of biip 5.2.0: the same identifiers, and each with or without a separator."""
    theirs = {ai: GS1ApplicationIdentifier.extract(ai) for ai in TABLE}
    assert len(theirs) == 541
    assert {ai: found.ai for ai, found in theirs.items()} == {ai: ai for ai in TABLE}
    assert {ai for ai, found in theirs.items() if found.separator_required} == {ai for ai in TABLE if needs_separator(ai)}


@pytest.mark.parametrize("kind", ["DataMatrix", "QRCode", "Code128"])
def test_labels_written_by_another_library_are_read_with_the_same_fields(kind: str) -> None:
    chance = random.Random(4_601)
    done = 0
    while done < 60:
        pairs = rolled(chance)
        length = sum(len(ai) + len(text) + 1 for ai, text in pairs)
        if length > (44 if kind == "Code128" else 200):
            continue
        symbol = scanned(bracketed(pairs), kind)
        reading = read(symbol.symbology_identifier + symbol.bytes.decode(), YEAR)
        assert reading.kind == "gs1", (pairs, reading.reason)
        assert [(mark.id, mark.value) for mark in reading.marks] == pairs
        assert [warning.code for warning in reading.warnings if warning.code == "label.together"] == []
        done += 1


def test_what_the_reader_of_symbols_shows_for_people_is_read_too() -> None:
    """Its default text is the bracketed form."""
    symbol = scanned(f"(01){GTIN}(17)261231(10)AB-7")
    assert symbol.text == f"(01){GTIN}(17)261231(10)AB-7"
    reading = read(symbol.text, YEAR)
    assert (reading.kind, reading.facts.lot, str(reading.facts.expires)) == ("gs1", "AB-7", "2026-12-31")
    assert [note.code for note in reading.notes] == ["label.as_printed"]


def theirs(text: str) -> list[tuple[str, str, object]] | None:
    try:
        found = GS1Message.parse(text, config=ParseConfig(separator_chars=(GS,)))
    except ParseError:
        return None
    return [(e.ai.ai, e.value, e.date) for e in found.element_strings]


def test_a_second_reader_finds_the_same_elements_and_the_same_days() -> None:
    """biip 5.2.0; it takes the century from the clock of the machine, so only years that are the same for both are asked."""
    chance, days = random.Random(4_602), 0
    for _ in range(400):
        pairs = rolled(chance)
        text = "".join(ai + value + (GS if needs_separator(ai) else "") for ai, value in pairs)
        reading, found = read("]d2" + text, YEAR), theirs(text)
        assert found is not None and [(ai, value) for ai, value, _ in found] == [(m.id, m.value) for m in reading.marks]
        for ai, _, day in found:
            ours = {"11": reading.facts.made, "17": reading.facts.expires, "15": reading.facts.best_before}.get(ai)
            if ours is not None:
                days += 1
                assert ours.last_day == day
    assert days > 80


def test_what_the_second_reader_refuses_we_refuse() -> None:
    """Labels with one character changed, left out or put in twice: where biip finds no element string, neither do we."""
    chance, refused = random.Random(4_603), 0
    for _ in range(1_500):
        text = "".join(ai + value + (GS if needs_separator(ai) else "") for ai, value in rolled(chance))
        at = chance.randrange(len(text))
        text = text[:at] + chance.choice(("", text[at] * 2, chance.choice("0129AZ~\x00" + GS))) + text[at + 1 :]
        if theirs(text) is None:
            refused += 1
            with pytest.raises(Broken):
                gs1.elements(text, YEAR)
    assert refused > 200


BWIP = [
    (f"(01){GTIN}(10)AB(21)X7", True),
    ("(01)09520000000003(10)AB", False),
    ("(21)7", False),
    ("(10)AB", False),
    (f"(02){GTIN}", False),
    (f"(00)095200000000000011(02){GTIN}(37)5", True),
    (f"(01){GTIN}(37)5", False),
    (f"(01){GTIN}(02){GTIN}(37)1", False),
    (f"(01){GTIN}(17)260230", False),
    (f"(01){GTIN}(17)260200", True),
    (f"(01){GTIN}(17)261301", False),
    (f"(01){GTIN}(7003)2603310800", True),
    (f"(01){GTIN}(7003)2603002400", False),
    (f"(01){GTIN}(7003)2603312400", False),
    (f"(01){GTIN}(8008)26033108", True),
    (f"(01){GTIN}(8008)260331086", False),
    (f"(01){GTIN}(3103)12345", False),
    (f"(01){GTIN}(3103)012345(3102)001234", False),
    (f"(01){GTIN}(3112)010050(3142)001270", True),
    ("(3112)010050", False),
    ("(8006)095200000000040305", True),
    ("(8006)095200000000040503", False),
    ("(8006)095200000000040005", False),
    (f"(01){GTIN}(8001)12700050007601", True),
    (f"(01){GTIN}(8001)12700005007611", True),
    (f"(01){GTIN}(8001)12700005007651", False),
    (f"(01){GTIN}(10)A~B", False),
    (f"(01){GTIN}(10)" + "A" * 21, False),
    (f"(01){GTIN}(10)" + "A" * 20, True),
    (f"(01){GTIN}(240)PN 7", False),
    ("(00)095200000000000011(4331)000500(4333)001800-", True),
    ("(00)095200000000000011(4331)000500(4330)004100", False),
    (f"(01){GTIN}(422)208(400)PO-7", True),
]
"""What bwip-js 4.11.4 (its gs1datamatrix, with the table of the GS1 General Specifications that it brings) takes and refuses."""


@pytest.mark.parametrize(("label", "sound"), BWIP)
def test_what_the_writer_of_labels_refuses_is_refused_or_told_and_what_it_takes_is_read(label: str, sound: bool) -> None:
    reading = read(label, YEAR)
    told = reading.kind != "gs1" or [w for w in (*reading.warnings, *reading.notes) if w.code in ("label.together", "label.part_of")]
    assert bool(told) is not sound, (reading.kind, reading.reason, reading.notes)


def test_check_digits_are_those_of_the_oracle() -> None:
    from biip.checksums import gs1_standard_check_digit

    chance = random.Random(4_604)
    for _ in range(300):
        digits = "".join(chance.choice("0123456789") for _ in range(chance.choice((7, 11, 12, 13, 17))))
        assert check_digit(digits) == str(gs1_standard_check_digit(digits))
    assert gtin(chance)[1:4] == "952"


def test_the_century_is_that_of_the_general_specifications() -> None:
    """Their rule: 51 to 99 more than the year is the century before, 50 to 99 less the one after (section 7.12, from memory)."""
    for year in (2026, 2050, 2075, 2000, 1999):
        for two in range(100):
            ahead = two - year % 100
            century = year // 100 + (-1 if 51 <= ahead <= 99 else 1 if -99 <= ahead <= -50 else 0)
            assert full_year(two, year) == century * 100 + two
            assert -50 < full_year(two, year) - year <= 50


def test_gathering_says_each_element_once() -> None:
    into = Gathering()
    gs1.gather(gs1.elements(f"01{GTIN}10AB{GS}21X", YEAR), YEAR, into)
    assert into.facts().lot == "AB" and len(into.marks) == 3
