"""What stands on a label, in which order, and that it stays true after the thing has moved."""

from __future__ import annotations

import dataclasses
from datetime import date

import pytest

from inventory.core import codes
from inventory.core.compat import HAZARDS
from inventory.core.label_formats import COPIES_MOST, FORMATS, LABELS_MOST, checked, format_named, slots
from inventory.core.label_life import life_of
from inventory.core.label_words import DEFER, caution, storage
from inventory.core.labels import Field, Label, label
from inventory.core.limits import Limit, Reading
from inventory.core.reasons import BadInput
from inventory.core.spans import HOUR_US, end_of_day_us
from tests.core.label_things import ADDRESS, CODE, DAY_US, LOT, MONDAY, NOW, OPENED, OUT, STORAGE, THINGS, ZONE

pytestmark = pytest.mark.core


def made(name: str, **changes: object) -> Label:
    return label(dataclasses.replace(THINGS[name], **changes), ZONE, NOW, ADDRESS)  # type: ignore[arg-type]


def said(found: Label, role: str) -> list[str]:
    return [f.text for f in found.fields if f.role == role]


def test_rolls_and_parts_have_a_link_and_small_things_the_bare_code() -> None:
    assert {n for n in THINGS if made(n).symbology == "qr"} == {"roll", "part", "long"}
    assert made("roll").payload == f"https://yard.example/i/{CODE}"
    assert made("kit").payload == CODE
    assert made("place").payload == "F1"


def test_the_link_on_a_label_is_understood_by_any_box_that_takes_a_scan() -> None:
    scan = codes.normalise(made("part").payload)
    assert (scan.kind, scan.code, scan.link) == ("own", CODE, True)
    assert codes.normalise(made("kit").payload).code == CODE
    assert codes.normalise(made("place").payload).text == "F1"


def test_the_code_stands_in_plain_text_as_it_is_read_aloud() -> None:
    assert made("roll").code == codes.grouped(CODE)
    assert made("place").code == "F1"


def test_a_thing_without_a_name_goes_by_its_code() -> None:
    assert said(made("remnant"), "name") == [codes.grouped(CODE)]


def test_fields_stand_in_order_of_importance() -> None:
    roles = [f.role for f in made("roll").fields]
    assert roles == ["word", "name", "what", "lot", "life", "more", "store", "caution", "fact", "foot"]


def test_a_roll_whose_clock_runs_out_of_the_cold_says_what_is_left_and_as_of_when() -> None:
    found = made("roll")
    assert said(found, "life") == ["Storage life to 27 Jul 2026"]
    assert said(found, "more") == ["Out life: 114 h 10 of 120 h left, as of 30 Mar 2026 07:40"]
    assert not any("Use by" in f.text for f in found.fields), "no date alone says how long it lasts"


def test_the_end_of_a_clock_that_runs_now_never_stands_on_a_label() -> None:
    """Taken out, the out life ends on Saturday; put back an hour later, it does not. A label cannot know."""
    running = dataclasses.replace(OUT, ends_us=NOW + 5 * DAY_US)
    words = life_of([STORAGE, running], ZONE, NOW)
    assert words.head == "Storage life to 27 Jul 2026"
    assert not any("4 Apr" in w.full + w.short for w in words.more)


def test_what_only_has_dates_says_use_by_with_the_first_of_them() -> None:
    printed = Reading(LOT, Limit("printed date", "printed", "used"), False, ends_us=MONDAY + 30 * DAY_US)
    words = life_of([STORAGE, printed, OPENED], ZONE, NOW)
    assert words.head == words.short == "Use by 28 Apr 2026"
    assert [w.full for w in words.more] == ["Once opened: 3 months. Opened on ________"]


def test_an_end_within_a_day_has_its_clock() -> None:
    opened = Reading(LOT, Limit("opened", "opened", "used", limit_us=48 * HOUR_US), False, ends_us=NOW + 48 * HOUR_US)
    assert life_of([opened], ZONE, NOW).head == "Use by 1 Apr 2026 07:40"


def test_unknown_and_over_say_not_to_use_it() -> None:
    unknown = dataclasses.replace(OUT, over=True, missing="its earlier out time is unknown")
    assert life_of([STORAGE, unknown], ZONE, NOW).bad
    over = dataclasses.replace(STORAGE, over=True, ends_us=end_of_day_us(date(2026, 3, 26), ZONE))
    words = life_of([over, OUT], ZONE, NOW)
    assert words.bad and words.head == "Not for use: storage life over 26 Mar 2026"
    assert said(made("roll", readings=(over,)), "bad") == [words.head]


def test_a_thing_that_is_gone_says_so_and_nothing_of_its_life() -> None:
    found = made("roll", gone="scrapped")
    assert said(found, "bad") == ["Not for use: scrapped"]
    assert not said(found, "life") and not said(found, "more")


def test_a_pot_shows_its_stop_time_with_the_day_and_warns() -> None:
    found = made("pot")
    assert said(found, "stop") == ["Stop 08:05, 30 Mar 2026"]
    assert "heats itself" in said(found, "caution")[0]
    assert said(made("pot", stop_us=None), "bad") == ["Not for use: no stop time known"]


def test_every_hazard_has_words_of_its_own_and_defers_to_the_supplier() -> None:
    for hazard in HAZARDS:
        words = caution(hazard, "resin")
        assert words is not None
        assert words != caution("", "resin")
    assert caution("something new", "core") is not None, "what nobody knows is still told"
    assert caution("", "fabric") is None
    for name in ("can", "pot", "roll"):
        field = next(f for f in made(name).fields if f.role == "caution")
        assert field.text.endswith(DEFER.full) and field.short.endswith(DEFER.short) and field.needed


def test_peroxide_and_promoter_each_name_the_other() -> None:
    for hazard, other in (("peroxide", "promoter"), ("promoter", "peroxide")):
        words = caution(hazard, hazard)
        assert words is not None
        assert "never" in words.full.casefold() and other in words.full and other in words.short


def test_storage_says_between_which_temperatures() -> None:
    assert [storage(*band).full for band in ((-25_000, -18_000), (None, 25_000), (5_000, None)) if storage(*band)] == [  # type: ignore[union-attr]
        "Store at −25 °C to −18 °C",
        "Store at 25 °C or colder",
        "Store at 5 °C or warmer",
    ]
    assert storage(None, None) is None


def test_grids_stand_on_their_sheet_and_labels_do_not_overlap() -> None:
    for fmt in FORMATS.values():
        width, height = fmt.page
        corners = [fmt.corner(n) for n in range(fmt.per_page)]
        assert all(x >= 0 and y >= 0 and x + fmt.width <= width + 1e-9 and y + fmt.height <= height + 1e-9 for x, y in corners)
        for n, (x, y) in enumerate(corners):
            for p, q in corners[:n]:
                assert abs(x - p) >= fmt.width - 1e-9 or abs(y - q) >= fmt.height - 1e-9


def test_a_used_sheet_begins_at_its_first_free_place() -> None:
    fmt = format_named("sheet-8")
    assert slots(fmt, 3, 7) == [(0, 6), (0, 7), (1, 0)]


@pytest.mark.parametrize(("name", "start"), [("sheet-8", 0), ("sheet-8", 9), ("roll-50x25", 2), ("sheet-8", -1)])
def test_a_place_outside_the_sheet_is_told(name: str, start: int) -> None:
    with pytest.raises(BadInput) as caught:
        slots(format_named(name), 1, start)
    assert (caught.value.reason.code, caught.value.where) == ("label.start", "start")


@pytest.mark.parametrize(
    ("things", "copies", "code"),
    [(0, 1, "label.none"), (1, 0, "label.copies"), (1, COPIES_MOST + 1, "label.copies"), (LABELS_MOST, 2, "label.many")],
)
def test_too_many_or_none_is_told(things: int, copies: int, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        checked(things, copies)
    assert caught.value.reason.code == code


def test_an_unknown_format_names_those_that_there_are() -> None:
    with pytest.raises(BadInput, match="sheet-24"):
        format_named("a9")


def test_fields_without_text_are_not_there() -> None:
    assert all(isinstance(f, Field) and f.text for name in THINGS for f in made(name).fields)
