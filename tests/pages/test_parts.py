"""Verdict, life, lists, tables and history: what they say, in which order."""

from __future__ import annotations

import re

import pytest

from inventory.core.limits import Limit, Reading, Source
from inventory.core.reasons import Reason
from inventory.core.spans import HOUR_US, MINUTE_US
from inventory.templatetags import lives, tables
from tests.pages.parts import NOW, render, tags_of, text_of

# --- verdict ---------------------------------------------------------------------------------------


def test_a_refusal_says_no_and_lists_every_reason_with_its_figures() -> None:
    reasons = [
        Reason("life.over", "Tack life over: 114 h 10 of 72 h."),
        Reason("gate.held", "Waiting for quality."),
        Reason("thaw.short", "8 h of thaw."),
    ]
    html = render('{% verdict reasons title="U-3" %}', reasons=reasons)
    assert 'role="alert"' in html
    assert html.count("<li") == 3
    assert [code for _, a in tags_of(html) if (code := a.get("data-code"))] == ["life.over", "gate.held", "thaw.short"]
    assert text_of(html).startswith("No U-3")
    assert '<b class="fig">114 h 10</b>' in html


def test_no_reason_means_yes() -> None:
    html = render('{% verdict reasons yes="58 h 49 left" %}', reasons=[])
    assert text_of(html) == "Yes 58 h 49 left"
    assert 'role="status"' in html


def test_a_reason_that_nobody_may_override_says_so() -> None:
    assert "Nobody may override this." in text_of(render("{% verdict reasons %}", reasons=[Reason("mix.overdose", "15.0 %", cap=True)]))
    assert "Nobody" not in text_of(render("{% verdict reasons %}", reasons=[Reason("mix.ratio", "23.0")]))


def test_what_already_happened_is_stored_and_not_called_a_no() -> None:
    html = render('{% verdict reasons tone="kept" %}', reasons=["55 min of 12 h"])
    assert text_of(html) == "Stored 55 min of 12 h"


# --- life ------------------------------------------------------------------------------------------


def _reading(clock: str, over: bool = False, **more: object) -> Reading:
    return Reading(Source(1, "lot", 1), Limit("out life", clock, "cure", limit_us=120 * HOUR_US), over, **more)  # type: ignore[arg-type]


def test_a_life_is_said_in_words_first() -> None:
    used = 114 * HOUR_US + 10 * MINUTE_US
    html = render("{% lifeline r %}", r=_reading("above", used=used, allowed=120 * HOUR_US, ends_us=NOW + 120 * HOUR_US - used))
    assert (
        text_of(html) == "5 h 50 of out life left used 114 h 10 of 120 h · ends 13:30 if it stays where it is · judged at the start of cure"
    )
    assert html.index("5 h 50") < html.index("lifeline-bar")
    assert 'class="bar-left" width="4"' in html


def test_a_life_that_is_over_says_since_when() -> None:
    html = render("{% lifeline r %}", r=_reading("above", True, used=130 * HOUR_US, allowed=120 * HOUR_US, ends_us=NOW - 10 * HOUR_US))
    assert text_of(html).startswith("out life over since Sun 29 Mar 21:40")
    assert 'class="bar-left" width="0"' in html


def test_a_printed_date_is_said_as_its_last_day_without_a_bar() -> None:
    midnight = NOW - 7 * HOUR_US - 40 * MINUTE_US + 48 * HOUR_US
    assert text_of(render("{% lifeline r %}", r=_reading("printed", ends_us=midnight))).startswith("out life: through Tue 31 Mar")
    assert "lifeline-bar" not in render("{% lifeline r %}", r=_reading("printed", ends_us=midnight))


def test_a_life_that_nobody_knows_says_what_is_missing() -> None:
    html = render("{% lifeline r %}", r=_reading("above", True, missing="its earlier out time is unknown"))
    assert text_of(html) == "out life: not known its earlier out time is unknown"


def test_the_bar_never_looks_empty_while_anything_is_left_nor_full_beyond_the_limit() -> None:
    def filled(used: int) -> int | None:
        return lives.face(_reading("above", used=used, allowed=120 * HOUR_US)).filled

    assert filled(120 * HOUR_US - 1) == 1
    assert filled(0) == 100
    assert filled(-5 * HOUR_US) == 100


@pytest.mark.parametrize("clock", ["cycles", "heats", "fraction", "moisture", "opened", "received", "calendar"])
def test_every_clock_has_words(clock: str) -> None:
    assert "out life" in text_of(render("{% lifeline r %}", r=_reading(clock, used=1, allowed=3)))


# --- lists, tables, history -------------------------------------------------------------------------


def test_the_most_urgent_sentence_comes_first_and_equals_keep_their_order() -> None:
    rows = [{"urgency": u, "text": t} for u, t in (("note", "a"), ("today", "b"), ("now", "c"), ("today", "d"))]
    html = render("{% sentences rows %}", rows=rows)
    assert re.findall(r"<p>(\w)</p>", html) == ["c", "b", "d", "a"]


def test_a_voided_record_is_struck_and_stays_readable() -> None:
    movements = [{"when_us": NOW, "verb": "counted", "text": "18.06 m", "person": "Ines", "void": "by Odile: wrong core weight"}]
    html = render("{% timeline movements %}", movements=movements)
    assert "<s>" in html
    assert "18.06 m" in text_of(html)
    assert "void by Odile: wrong core weight" in text_of(html)


def test_a_late_record_shows_when_it_happened_and_when_it_was_recorded() -> None:
    movements = [{"when_us": NOW - 24 * HOUR_US, "verb": "used", "text": "", "person": "Bram", "recorded_us": NOW}]
    shown = text_of(render("{% timeline movements %}", movements=movements))
    assert shown == "Sun 29 Mar 07:40 used Bram · recorded Mon 30 Mar 07:40"


def test_a_table_names_its_columns_again_in_each_cell_for_the_fold() -> None:
    html = render(
        "{% table 'Rolls' columns rows %}", columns=[tables.Column("Roll"), tables.Column("On hand", num=True)], rows=[["C-12", "18.40 m"]]
    )
    assert '<th role="rowheader" scope="row" class="">C-12</th>' in html
    assert 'data-label="On hand">18.40 m</td>' in html


def test_a_row_of_the_wrong_length_is_an_error_and_not_a_shifted_table() -> None:
    with pytest.raises(ValueError, match="1 cells for 2 columns"):
        tables.table("x", [tables.Column("a"), tables.Column("b")], [["only"]])
