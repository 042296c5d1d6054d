"""What a scan says: each trap of real scanners and real labels, in the order in which kinds are tried."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core import codes
from inventory.core.labelfacts import Amount
from inventory.core.patterns import pattern
from inventory.core.reading import LABELS, Reading, read
from inventory.core.reasons import BadInput

from .hostile import labels
from .labels import EOT, GS, GTIN, RS, YEAR, scanned

pytestmark = pytest.mark.core
ROLL = f"01{GTIN}11260302172703011027-031{GS}21R0007{GS}3112005000"
MILL = (
    f"[)>{RS}06{GS}17VD9999{GS}1PPW-200{GS}1TAB-77{GS}S0042{GS}7Q50.5MR"
    f"{GS}14D20270302{GS}16D20260302{GS}2E-18{GS}3E-40{GS}13Q2/5{GS}K2291{RS}{EOT}"
)


def codes_of(reading: Reading) -> list[str]:
    return [said.code for said in (*reading.notes, *reading.warnings)]


# --- GS1 ---------------------------------------------------------------------------------------------


def test_a_bought_roll_is_read_by_one_scan() -> None:
    reading = read("]d2" + ROLL, YEAR)
    facts = reading.facts
    assert reading.kind == "gs1" and reading.raw == "]d2" + ROLL and codes_of(reading) == []
    assert (facts.gtin, facts.lot, facts.serial) == (GTIN, "27-031", "R0007")
    assert (str(facts.made), str(facts.expires)) == ("2026-03-02", "2027-03-01")
    assert facts.amounts == (Amount("length", "50 m"),)


@pytest.mark.parametrize(
    ("ai", "value", "amount"),
    [
        ("3102", "001250", Amount("mass", "12.5 kg")),
        ("3110", "000050", Amount("length", "50 m")),
        ("3143", "063500", Amount("area", "63.5 m²")),
        ("3221", "001640", Amount("length", "164 ft")),
        ("3151", "000250", Amount("volume", "25 l")),
        ("30", "12", Amount("count", "12 pc")),
        ("8001", "12700005007611", Amount("length", "50 m")),
    ],
)
def test_every_measure_comes_with_its_unit_and_its_decimals(ai: str, value: str, amount: Amount) -> None:
    assert read(f"]d201{GTIN}{ai}{value}", YEAR).facts.amounts == (amount,)


def test_a_rolls_width_a_piece_of_a_set_an_order_and_storage_limits_are_read() -> None:
    assert read(f"]d201{GTIN}8001127000050076" + "11", YEAR).facts.width_um == 1_270_000
    assert read("]d28006095200000000040305", YEAR).facts.package == (3, 5)
    facts = read(f"]d200095200000000000011{'4331000500'}{GS}4333001800-{GS}400PO-7", YEAR).facts
    assert (facts.warmest_mc, facts.coldest_mc, facts.order) == (5_000, -18_000, "PO-7")


def test_day_00_is_the_last_day_of_its_month() -> None:
    day = read(f"]d201{GTIN}17260200", YEAR).facts.expires
    assert day is not None and str(day) == "2026-02" and str(day.last_day) == "2026-02-28"


def test_an_expiry_that_resolves_to_1977_is_shown_as_suspicious() -> None:
    reading = read(f"]d201{GTIN}17770301", YEAR)
    assert str(reading.facts.expires) == "1977-03-01"
    assert [w.code for w in reading.warnings] == ["label.odd_date"] and "1977-03-01" in reading.warnings[0].text


def test_an_expiry_before_the_making_is_told() -> None:
    assert "label.ends_before_made" in codes_of(read(f"]d201{GTIN}11270101" + "17260101", YEAR))


def test_a_separator_that_the_field_swallowed_is_told() -> None:
    """A wedge scanner sent it as Ctrl+], and the browser's field took nothing."""
    for tail in ("21X77", "17270301", "3112005000", "240PW-200"):
        reading = read(f"01{GTIN}10AB{tail}", YEAR)
        assert (reading.kind, reading.facts.lot) == ("gs1", f"AB{tail}")
        warning = next(w for w in reading.warnings if w.code == "label.swallowed")
        assert warning.numbers == {"field": "lot", "tail": tail}
    assert "label.swallowed" not in codes_of(read(f"01{GTIN}10AB-7", YEAR))
    assert "label.swallowed" not in codes_of(read(f"01{GTIN}10AB21X77{GS}21Y", YEAR)), "this scanner does send separators"


def test_what_real_scanners_lose_is_taken_with_a_note() -> None:
    assert codes_of(read(f"]d2{GS}{ROLL}", YEAR)) == ["label.leading_separator"]
    assert codes_of(read(ROLL, YEAR)) == ["label.no_symbology"]
    assert codes_of(read(f"]d2{ROLL}{GS}", YEAR)) == []
    assert codes_of(read(f"  ]C1{ROLL}\r\n", YEAR)) == []
    for raw in (f"]d2{GS}{ROLL}", ROLL, f"]d2{ROLL}{GS}", ROLL.encode()):
        assert read(raw, YEAR).facts == read("]d2" + ROLL, YEAR).facts


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        ("]d20109520000000003", "gs1.check_digit"),
        (f"]d201{GTIN}17261301", "gs1.value"),
        (f"01{GTIN}17261301", "gs1.value"),
        (f"]d201{GTIN}10{'A' * 21}", "gs1.form"),
        (f"]d201{GTIN}10A\x00B", "gs1.form"),
        (f"]d201{GTIN}10\u0410B", "gs1.form"),
        ("]d2HELLO", "gs1.unknown"),
        ("]d2" + GS, "gs1.empty"),
        (f"]d201{GTIN}10A{GS}10B", "gs1.twice"),
        ("(01)09520000000003(10)A", "gs1.check_digit"),
        (f"https://a.example/01/{GTIN}/10/%41%00", "gs1.form"),
        ("https://a.example/01/09520000000003", "gs1.check_digit"),
        ("[)>\x1e06", "envelope.no_separators"),
        ("[)>\x1e99\x1dX", "envelope.format"),
        (f"[)>{RS}06{GS}14D20260230{RS}{EOT}", "di.date"),
        (f"[)>{RS}06{GS}7QmanyMR{RS}{EOT}", "di.quantity"),
        (f"[)>{RS}06{GS}13Q6/5{RS}{EOT}", "di.package"),
        (f"[)>{RS}06{GS}2E-400{RS}{EOT}", "di.temperature"),
        (f"[)>{RS}06{GS}lower{RS}{EOT}", "envelope.field"),
    ],
)
def test_a_label_that_is_not_built_as_it_says_is_broken_and_nothing_of_it_is_taken(raw: str, code: str) -> None:
    reading = read(raw, YEAR)
    assert (reading.kind, reading.reason and reading.reason.code) == ("broken", code)
    assert reading.marks == () and reading.facts.lot == ""


# --- links --------------------------------------------------------------------------------------------


def test_a_link_says_the_same_whatever_its_host_and_order() -> None:
    for link in (
        f"https://id.example/01/{GTIN}/10/AB%2F7/21/X?17=270301&3102=001250",
        f"http://mill.example/some/path/01/{GTIN}/10/AB%2F7/21/X?3102=001250;17=270301&utm=1#top",
        f"https://mill.example/01/{GTIN[1:]}/10/AB%2F7/21/X?17=270301&3102=001250",
    ):
        reading = read(link, YEAR)
        assert reading.kind == "link", link
        assert (reading.facts.gtin, reading.facts.lot, reading.facts.serial, str(reading.facts.expires)) == (
            GTIN,
            "AB/7",
            "X",
            "2027-03-01",
        )


def test_another_address_and_a_wrong_order_of_its_parts_are_plain_text() -> None:
    for link in (
        "https://mill.example/products/7",
        f"https://mill.example/01/{GTIN}/21/X/10/A",
        f"ftp://mill.example/01/{GTIN}",
        "https:///01/1",
    ):
        assert read(link, YEAR).kind == "plain", link


def test_a_link_agrees_with_a_second_reader() -> None:
    """biip 5.2.0."""
    from biip.gs1_digital_link_uris import GS1DigitalLinkURI

    link = f"https://id.example/01/{GTIN}/10/AB%2F7/21/X?17=270301"
    theirs = [(e.ai.ai, e.value) for e in GS1DigitalLinkURI.parse(link).element_strings]
    assert theirs == [(mark.id, mark.value) for mark in read(link, YEAR).marks]


# --- envelopes and identifiers ------------------------------------------------------------------------


def test_a_mills_label_gives_everything_that_receiving_asks_for() -> None:
    reading = read(MILL, YEAR)
    facts = reading.facts
    assert (reading.kind, codes_of(reading)) == ("envelope", [])
    assert (facts.part, facts.lot, facts.serial, facts.order, facts.supplier) == ("PW-200", "AB-77", "0042", "2291", "D9999")
    assert (str(facts.made), str(facts.expires), facts.package) == ("2026-03-02", "2027-03-02", (2, 5))
    assert (facts.warmest_mc, facts.coldest_mc, facts.amounts) == (-18_000, -40_000, (Amount("length", "50.5 m"),))


def test_an_envelope_is_read_from_a_symbol_that_another_library_made() -> None:
    symbol = scanned(MILL, gs1=False)
    assert read(symbol.symbology_identifier.encode() + symbol.bytes, YEAR).facts == read(MILL, YEAR).facts


def test_an_envelope_without_its_record_separator_or_its_end_is_read_with_a_note() -> None:
    assert codes_of(read(MILL.replace(EOT, ""), YEAR)) == ["label.no_end"]
    assert codes_of(read(MILL.replace(RS, "").replace(EOT, ""), YEAR)) == ["label.no_record_separator", "label.no_end"]
    assert codes_of(read(MILL.replace(RS, ""), YEAR)) == ["label.no_record_separator", "label.no_end"]
    assert read(MILL.replace(RS, ""), YEAR).facts == read(MILL, YEAR).facts


def test_formats_05_and_12_and_several_parts_are_read() -> None:
    assert read(f"[)>{RS}05{GS}01{GTIN}{GS}10AB-77{RS}{EOT}", YEAR).facts.lot == "AB-77"
    text = read(f"[)>{RS}12{GS}MFR D9999{GS}PNR PW-200{GS}SER 42{GS}ZZZ 1{RS}{EOT}", YEAR)
    assert (text.facts.part, text.facts.serial, text.marks[-1].name) == ("PW-200", "42", "")
    two = read(f"[)>{RS}06{GS}1TAB-77{RS}05{GS}01{GTIN}{RS}{EOT}", YEAR).facts
    assert (two.lot, two.gtin) == ("AB-77", GTIN)


@pytest.mark.parametrize(
    ("di", "made", "expires"),
    [("15D02032027", "", "2027-03-02"), ("17D02032026", "2026-03-02", ""), ("16D20260302", "2026-03-02", "")],
)
def test_dates_of_both_orders_are_told_apart_by_their_identifier(di: str, made: str, expires: str) -> None:
    """15D and 17D are day, month, year (MH10.8.2 of 2016, category 4)."""
    facts = read(di, YEAR).facts
    assert (str(facts.made or ""), str(facts.expires or "")) == (made, expires)


def test_a_quantity_without_a_unit_stays_without_one_unless_the_label_gives_it_beside() -> None:
    assert read("Q100", YEAR, bare=True).facts.amounts == (Amount("plain", "100"),)
    assert read(f"[)>{RS}06{GS}Q100{GS}3QMR{RS}{EOT}", YEAR).facts.amounts == (Amount("length", "100 m"),)
    assert read(f"[)>{RS}06{GS}7Q100ZZ{RS}{EOT}", YEAR).facts.amounts == (Amount("plain", "100"),)


def test_what_a_label_says_twice_and_differently_is_not_taken() -> None:
    reading = read(f"[)>{RS}06{GS}1TA1{GS}TB2{RS}{EOT}", YEAR)
    assert reading.facts.lot == "" and codes_of(reading) == ["label.said_twice"]


def test_single_identifiers_count_alone_and_single_letters_only_where_labels_are_expected() -> None:
    assert read("1TAB-77", YEAR).facts.lot == "AB-77" and read("14D20270302", YEAR).kind == "identifiers"
    assert read("T27-031", YEAR).kind == "plain" and read("T27-031", YEAR, bare=True).facts.lot == "27-031"
    assert codes_of(read("T27-031", YEAR, bare=True)) == ["label.single"]
    for word in ("PREPREG", "T-2", "SOLVENT", "Q", "QUARTER", "K-31", "9D2026", "P 7", "S1"):
        assert read(word, YEAR, bare=True).kind == "plain", word


def test_an_article_number_alone_is_known_by_its_check_digit() -> None:
    assert read(GTIN[1:], YEAR).facts.gtin == GTIN
    assert read("9520000000005", YEAR).kind == "plain"
    assert read("]E0" + GTIN[1:], YEAR).kind == "gtin"


# --- suppliers' own patterns -----------------------------------------------------------------------------

OWN = pattern("GF{lot}/{serial}*E{expires:DDMMYY}Q{quantity:m}")


def test_a_suppliers_own_label_is_read_by_the_pattern_that_was_told_once() -> None:
    reading = read("GF27-031/R7*E020327Q50.5", YEAR, [OWN])
    facts = reading.facts
    assert (reading.kind, reading.pattern) == ("pattern", OWN)
    assert (facts.lot, facts.serial, str(facts.expires), facts.amounts) == ("27-031", "R7", "2027-03-02", (Amount("length", "50.5 m"),))
    for other in ("GF27-031/R7*E310227Q50", "GF/R7*E020327Q50", "GF27-031/R7*E020327Q1,234", "gf27-031/R7*E020327Q50", "GF27-031/R7"):
        assert read(other, YEAR, [OWN]).kind == "plain", other


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("", "pattern.form"),
        ("LOT\x1d{lot}", "pattern.form"),
        ("LOT", "pattern.nothing"),
        ("LOT{skip}", "pattern.nothing"),
        ("L{lot}", "pattern.too_open"),
        ("LOT{lot}{serial}", "pattern.run_on"),
        ("LOT{batch}", "pattern.name"),
        ("LOT{lot", "pattern.braces"),
        ("EX{expires}", "pattern.date"),
        ("EX{expires:MMDD}", "pattern.date"),
        ("QT{quantity:bags}", "pattern.unit"),
        ("LT{lot:0}", "pattern.length"),
    ],
)
def test_a_pattern_that_could_mean_two_things_is_refused(said: str, code: str) -> None:
    with pytest.raises(BadInput) as bad:
        pattern(said)
    assert bad.value.reason.code == code


def test_a_pattern_is_matched_in_one_walk_however_long_the_text() -> None:
    slow = pattern("AA{lot}A{serial}A{order}AB")
    began = time.perf_counter()
    assert read("A" * 4_096, YEAR, [slow]).kind == "plain"
    assert time.perf_counter() - began < 0.5


# --- the order, and anything at all --------------------------------------------------------------------


def test_our_own_code_comes_first_and_a_damaged_one_last() -> None:
    code = codes.make(bytes(range(16)))
    assert read(code, YEAR, [pattern("S{lot:7}" + code[8:])]).kind == "own"
    damaged = code[:-1] + ("2" if code[-1] != "2" else "3")
    assert read(damaged, YEAR).kind == "damaged"
    assert read(damaged, YEAR, [pattern(code[:4] + "{lot}")]).kind == "pattern", "a stranger's label may look like ours"


def test_ten_thousand_hostile_labels_are_each_answered_and_never_raise() -> None:
    kinds: dict[str, int] = {}
    began = time.perf_counter()
    for raw in labels(10_000):
        reading = read(raw, YEAR, [OWN], bare=True)
        kinds[reading.kind] = kinds.get(reading.kind, 0) + 1
        assert reading.raw == raw and reading.text.isprintable() and "\n" not in reading.text
        assert (reading.kind in LABELS) or reading.marks == ()
        assert reading.kind in ("plain", "own", *LABELS) or (reading.reason is not None and reading.reason.text)
        for mark in reading.marks:
            assert mark.value.isprintable() and mark.value.isascii(), (raw, mark)
    assert time.perf_counter() - began < 30
    assert kinds["plain"] > 1_000 and kinds["broken"] > 1_000 and kinds["too_long"] > 100


@given(st.text(max_size=80), st.booleans())
def test_any_text_has_one_answer(text: str, bare: bool) -> None:
    assert read(text, YEAR, bare=bare) == read(text, YEAR, bare=bare)


@given(st.binary(max_size=80))
def test_any_bytes_have_an_answer(raw: bytes) -> None:
    assert read(raw, YEAR).text.isprintable()
