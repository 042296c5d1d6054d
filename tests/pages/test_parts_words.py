"""The small words of a page: status, quantity, time, and the figures in a sentence."""

from __future__ import annotations

import re

import pytest
from django.utils.safestring import SafeString, mark_safe

from inventory.core.spans import HOUR_US, MINUTE_US
from inventory.templatetags import shapes, words
from tests.pages.parts import NOW, ZONE, render, text_of

# --- words -----------------------------------------------------------------------------------------


def test_a_status_is_a_word_and_a_shape() -> None:
    html = render('{% status "held" note="Odile 10:00" %}')
    assert "held" in text_of(html)
    assert "Odile 10:00" in text_of(html)
    assert "<svg" in html
    assert 'aria-hidden="true"' in html


def test_statuses_that_may_stand_side_by_side_for_stock_have_shapes_of_their_own() -> None:
    stock = ["fit", "unreleased", "held", "expired", "ending", "thawing", "gone", "frozen", "out", "overdue", "unknown"]
    assert len({shapes.STATUS[code][1] for code in stock}) == len(stock)


def test_every_status_and_urgency_names_a_shape_that_is_drawn_and_a_tone_that_is_styled() -> None:
    for _, drawing, tone in [*shapes.STATUS.values(), *shapes.URGENCY.values(), *shapes.MESSAGE.values()]:
        assert drawing in shapes.DRAWINGS
        assert tone in ("fit", "stop", "soon", "cold", "quiet")


def test_a_status_that_is_not_in_the_table_shows_itself() -> None:
    assert "melted" in text_of(render('{% status "melted" %}'))


def test_no_word_for_the_screen_says_catalyst() -> None:
    assert not [word for word, *_ in [*shapes.STATUS.values(), *shapes.URGENCY.values()] if "catalyst" in str(word).lower()]


def test_quantities_and_durations_are_said_in_the_units_of_the_trade() -> None:
    assert text_of(render('{% qty 41500000 "um" %}')) == "41.50 m"
    assert text_of(render("{% duration us %}", us=114 * HOUR_US + 10 * MINUTE_US)) == "114 h 10"


def test_what_is_not_known_is_said_and_is_not_zero() -> None:
    for source in ('{% qty nothing "um" %}', "{% duration nothing %}", "{% instant nothing %}", "{% age nothing %}"):
        assert text_of(render(source, nothing=None)) == "not known"


def test_a_negative_span_is_said_as_over() -> None:
    assert text_of(render("{% duration us %}", us=-41 * HOUR_US)) == "over by 41 h 00"


# --- instants --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("style", "shown"),
    [
        ("", "Mon 30 Mar 07:40"),
        ("near", "07:40"),
        ("clock", "07:40"),
        ("day", "Mon 30 Mar"),
        ("last", "Mon 30 Mar"),
        ("iso", "2026-03-30 07:40:00"),
    ],
)
def test_an_instant_is_shown_in_the_sites_zone(style: str, shown: str) -> None:
    assert text_of(render("{% instant us style %}", us=NOW, style=style)) == shown


def test_an_instant_carries_its_iso_form_with_the_offset() -> None:
    assert 'datetime="2026-03-30T07:40:00+02:00"' in render("{% instant us %}", us=NOW)


def test_friday_afternoon_before_the_clock_change_stands_at_its_own_offset() -> None:
    friday = NOW - 62 * HOUR_US - 10 * MINUTE_US
    html = render('{% instant us "near" %}', us=friday)
    assert text_of(html) == "Fri 27 Mar 16:30"
    assert "+01:00" in html


def test_another_year_is_written_out() -> None:
    assert text_of(render("{% instant us %}", us=NOW - 100 * 24 * HOUR_US)).startswith("Sat 20 Dec 2025")


def test_a_life_that_ends_at_midnight_is_good_through_the_day_before() -> None:
    midnight = NOW - 7 * HOUR_US - 40 * MINUTE_US + 48 * HOUR_US  # 1 April 00:00 in Copenhagen
    assert text_of(render('{% instant us "last" %}', us=midnight)) == "Tue 31 Mar"


def test_the_hour_that_comes_twice_says_which_one_it_is() -> None:
    twice = 1_792_888_200_000_000  # 25 October 2026, 00:30 UTC: 02:30 for the first time
    first, second = (text_of(render("{% instant us %}", us=us)) for us in (twice, twice + HOUR_US))
    assert first == "Sun 25 Oct 02:30 UTC+2"
    assert second == "Sun 25 Oct 02:30 UTC+1"


@pytest.mark.parametrize("zone", [None, "", "Europe/Atlantis", "../etc/passwd", 7])
def test_a_page_without_a_usable_zone_shows_utc_and_says_so(zone: object) -> None:
    assert text_of(words.instant(NOW, zone, NOW)) == "Mon 30 Mar 05:40 UTC"


@pytest.mark.parametrize("us", [10**20, -(10**20), 10**30])
def test_an_instant_outside_the_calendar_is_no_error_page(us: int) -> None:
    assert text_of(words.instant(us, ZONE, NOW)) == "no date"


# --- figures in sentences --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "figures"),
    [
        ("Tack life is over since Sat 28 Mar 12:30: 114 h 10 of 72 h used.", ["Sat 28 Mar 12:30", "114 h 10", "72 h"]),
        ("T-4 is shut: 1 h 50 of 12 h, from 18:30; T-2 offered.", ["1 h 50", "12 h", "18:30"]),
        ("23.0 per 100, limits 24.0–26.0, add 8.0 g hardener.", ["23.0 per 100", "24.0–26.0", "8.0 g"]),
        ("Areal mass 0.204 of CT-204 on F1, lot T26-031, D-118.", ["0.204"]),
        ("2 000 g of PE-8 at 17.2 °C, 0.70 % of MEKP.", ["2 000 g", "17.2 °C", "0.70 %"]),
        ("Adjusted by −0.34 m, resin 45.1.", ["−0.34 m", "45.1"]),
        ("due 1 Apr; made 15 Dec 2025", ["1 Apr", "15 Dec 2025"]),
        ("carbon 2×2 twill, 200 tex, cut to 900×600 mm", ["200", "900", "600 mm"]),
        ("areal mass (limits 572–632 g/m²), EEW 180 g/mol, 80 kg/m³", ["572–632 g/m²", "180 g/mol", "80 kg/m³"]),
        ("No figure at all.", []),
    ],
)
def test_figures_stand_out_and_codes_do_not(sentence: str, figures: list[str]) -> None:
    html = words.emphasise(sentence)
    assert re.findall(r'<b class="fig">([^<]*)</b>', html) == figures
    assert text_of(html) == sentence


def test_a_long_hostile_sentence_is_marked_up_in_linear_time() -> None:
    for nasty in ("1" * 60_000, "1." * 30_000, "A-" * 30_000, "12 h " * 10_000, "1 000" * 12_000):
        assert words.emphasise(nasty)


def test_safe_markup_is_not_marked_up_again() -> None:
    ready = mark_safe('<b data-x="3">3</b>')
    assert words.emphasise(ready) == ready


def test_parts_made_in_python_are_safe_text() -> None:
    for part in (shapes.chip("fit"), words.qty(1, "pc"), words.instant(NOW, ZONE), words.code_link("U-3"), words.emphasise("a")):
        assert isinstance(part, SafeString)
