"""Scan codes. Oracle for the check character: ISO/IEC 7064 in `python-stdnum`."""

from __future__ import annotations

from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from inventory.core import codes
from inventory.core.codes import ALPHABET, LETTER, grouped, is_code, make, normalise

pytestmark = pytest.mark.core
entropies = st.binary(min_size=16, max_size=32)
CODE = make(bytes(range(16)))


@given(st.text(alphabet=ALPHABET, min_size=1, max_size=40))
def test_the_check_character_is_that_of_the_standard_over_our_alphabet(payload: str) -> None:
    assert codes.check_character(payload) == mod_37_36.calc_check_digit(payload, alphabet=ALPHABET)


def test_the_alphabet_has_no_look_alikes_and_no_vowels() -> None:
    assert len(ALPHABET) == len(set(ALPHABET)) == 28
    assert not set(ALPHABET) & set("0O1ILUAE")


@given(entropies, st.sampled_from(sorted(LETTER)))
def test_a_new_code_says_what_it_is_on_and_is_read_back(entropy: bytes, on: codes.On) -> None:
    code = make(entropy, on)
    scan = normalise(code)
    assert len(code) == 10 and code[0] == LETTER[on] and is_code(code)
    assert (scan.kind, scan.code, scan.on, scan.link, scan.reason) == ("own", code, on, False, None)
    assert mod_37_36.is_valid(code, alphabet=ALPHABET)


def test_different_bytes_give_different_codes_and_too_few_are_refused() -> None:
    assert len({make(n.to_bytes(16, "big")) for n in range(2_000)}) == 2_000
    with pytest.raises(ValueError, match="16 random bytes"):
        make(b"\x00" * 15)


def test_every_character_of_the_alphabet_comes_up_in_every_place() -> None:
    made = [make(sha256(str(n).encode()).digest()) for n in range(1, 3_000)]
    assert all({code[place] for code in made} == set(ALPHABET) for place in range(1, 10))


@given(entropies, st.integers(0, 9), st.sampled_from(ALPHABET))
def test_any_one_wrong_character_is_found(entropy: bytes, place: int, other: str) -> None:
    code = make(entropy)
    wrong = code[:place] + other + code[place + 1 :]
    assert is_code(wrong) == (wrong == code)
    if wrong != code and wrong[0] in LETTER.values():
        scan = normalise(wrong)
        assert (scan.kind, scan.code, scan.on) == ("damaged", None, None)
        assert scan.reason and scan.reason.code == "code.damaged" and "read it again" in scan.reason.text


def test_nearly_every_swap_of_neighbours_is_found() -> None:
    swaps = missed = 0
    for n in range(500):
        code = make(sha256(str(n).encode()).digest())
        for place in range(1, 9):
            swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
            swaps += swapped != code
            missed += swapped != code and is_code(swapped)
    assert missed / swaps < 0.01


@pytest.mark.parametrize(
    "typed",
    [CODE.lower(), grouped(CODE), f"  {CODE}\r\n", f"]Q1{CODE}", f"]d2{grouped(CODE)}", " ".join(CODE), CODE[:5] + "\u2013" + CODE[5:]],
)
def test_a_code_is_read_however_it_is_typed_or_sent(typed: str) -> None:
    scan = normalise(typed)
    assert (scan.kind, scan.code, scan.raw) == ("own", CODE, typed)


@pytest.mark.parametrize(
    "link",
    [
        f"https://yard.example/i/{CODE}",
        f"HTTP://YARD.EXAMPLE:8000/I/{CODE}/",
        f"https://yard.example/shop/i/{CODE.lower()}?from=label#top",
        f"/i/{grouped(CODE)}",
        f"]Q1https://yard.example/i/{CODE}\n",
    ],
)
def test_our_link_leads_to_the_code_whatever_the_host(link: str) -> None:
    scan = normalise(link)
    assert (scan.kind, scan.code, scan.on, scan.link) == ("own", CODE, "item", True)


@pytest.mark.parametrize("tail", [CODE[:-1], CODE + "2", "S", "%00"])
def test_our_link_with_a_broken_code_says_read_it_again(tail: str) -> None:
    scan = normalise(f"https://yard.example/i/{tail}")
    assert (scan.kind, scan.code, scan.link) == ("damaged", None, True)
    assert scan.reason and "read it again" in scan.reason.text


def test_a_broken_code_in_a_link_is_repeated_in_short_and_only_blamed_on_look_alikes_when_there_are_any() -> None:
    reason = normalise("/i/" + "S2" * 20).reason
    assert reason and reason.code == "code.damaged" and reason.numbers["given"] == "S2" * 12


@pytest.mark.parametrize("text", ["https://yard.example/i/", "https://yard.example/x/ABC", f"https:///i/{CODE} x", "ftp://h/i/" + CODE])
def test_another_link_is_plain_text(text: str) -> None:
    assert normalise(text).kind == "plain"


def test_a_look_alike_letter_is_told_apart_from_another_mistake() -> None:
    for letter in "0O1ILUoil":
        scan = normalise(CODE[:4] + letter + CODE[5:])
        assert scan.kind == "damaged" and scan.reason and scan.reason.code == "code.look_alike"
    assert normalise("S" + "0O" + CODE[3:]).kind == "damaged"
    assert normalise(f"/i/{CODE[:4]}O{CODE[5:]}").reason.code == "code.look_alike"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "text",
    ["U-3", "C-12", "GB-600 G7", "B001012100", "S0O1" + CODE[4:], "SOLVENT 20L", "T26-031", CODE[:9], "M" + CODE[1:], CODE + "22", "Ω≈ç"],
)
def test_marks_and_strangers_labels_are_plain_text(text: str) -> None:
    scan = normalise(text)
    assert (scan.kind, scan.text, scan.code, scan.reason) == ("plain", text, None, None)


def test_marks_compare_without_regard_to_case_and_kind_of_dash() -> None:
    assert normalise(" u\u20113 ").mark == normalise("U-3").mark == normalise("U\u22123").mark == "u-3"


def test_the_field_separator_is_kept_and_shown() -> None:
    scan = normalise("\x1d10AB\x1d21X\x1d")
    assert (scan.kind, scan.raw, scan.text) == ("plain", "\x1d10AB\x1d21X\x1d", "␝10AB␝21X␝")


def test_control_characters_are_shown_and_never_dropped() -> None:
    assert normalise("\x00A\x1b[31m\tB\x7f\x85\u2028C\ud800\u200b").text == "␀A␛[31m B\ufffd C\ufffd\ufffd"


@pytest.mark.parametrize("text", ["", " ", "\r\n", "\t"])
def test_nothing_is_read_as_nothing(text: str) -> None:
    scan = normalise(text)
    assert scan.kind == "empty" and scan.reason and scan.reason.code == "scan.empty"


def test_a_very_long_text_is_refused_at_the_limit_and_not_before() -> None:
    assert normalise("A" * 4096).kind == "plain"
    scan = normalise("A" * 4097)
    assert scan.kind == "too_long" and scan.raw == "A" * 4097 and scan.text == "A" * 80
    assert scan.reason and scan.reason.numbers == {"length": 4097, "limit": 4096}


@given(st.text() | st.text(alphabet=ALPHABET + "0O1ILU- ", min_size=9, max_size=12))
def test_any_text_has_one_meaning_and_is_kept(text: str) -> None:
    scan = normalise(text)
    assert scan == normalise(text) and scan.raw == text
    assert (scan.kind == "own") == (scan.code is not None) == (scan.on is not None)
    assert (scan.reason is None) == (scan.kind in ("own", "plain"))
    assert scan.code is None or (is_code(scan.code) and normalise(scan.code).code == scan.code)
    assert scan.text.isprintable() and "\n" not in scan.text and scan.mark == scan.mark.strip()
