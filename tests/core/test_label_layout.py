"""Nothing on a label overlaps, leaves it, or stands in the quiet zone; what is cut or left out is named; no date is cut."""

from __future__ import annotations

import dataclasses
import itertools

import pytest

from inventory.core.label_formats import FORMATS, Format
from inventory.core.label_layout import ASCENT, DOT, DOTS_LEAST, LINE, STYLES, Box, Layout, lay_out
from inventory.core.label_text import broken, fitted
from inventory.core.labels import Field, label
from inventory.core.reasons import BadInput
from inventory.printing.drawn import Drawn, draw
from inventory.printing.faces import face, measure_with, own_face, printable, shows
from tests.core.label_things import ADDRESS, NOW, THINGS, ZONE

pytestmark = pytest.mark.core
ALL = [(name, fmt) for name in THINGS for fmt in FORMATS.values()]
MEASURE = measure_with(face())


def drawn(name: str, fmt: Format) -> Drawn:
    return draw(label(THINGS[name], ZONE, NOW, ADDRESS), fmt)


def inside(box: Box, layout: Layout) -> bool:
    return box.x >= -1e-6 and box.y >= -1e-6 and box.x + box.width <= layout.width + 1e-6 and box.y + box.height <= layout.height + 1e-6


def apart(a: Box, b: Box) -> bool:
    return a.x + a.width <= b.x + 1e-6 or b.x + b.width <= a.x + 1e-6 or a.y + a.height <= b.y + 1e-6 or b.y + b.height <= a.y + 1e-6


def ink(layout: Layout) -> list[Box]:
    """The room of each line of text: from its ascent to its descent (a fifth of the em below the baseline)."""
    return [Box(t.x, t.y - 0.76 * t.size, MEASURE(t.text, t.size, t.bold), 0.98 * t.size) for t in layout.texts]


@pytest.mark.parametrize(("name", "fmt"), ALL, ids=lambda v: v if isinstance(v, str) else v.name)
def test_everything_stands_apart_and_on_the_label(name: str, fmt: Format) -> None:
    layout = drawn(name, fmt).layout
    quiet, lines = layout.kept_white, ink(layout)
    assert inside(quiet, layout)
    for box in [*lines, *layout.boxes]:
        assert inside(box, layout), (box, layout.texts)
        assert apart(box, quiet), "nothing stands in the quiet zone"
    for a, b in itertools.combinations(lines, 2):
        assert apart(a, b), (a, b)


@pytest.mark.parametrize(("name", "fmt"), ALL, ids=lambda v: v if isinstance(v, str) else v.name)
def test_modules_are_whole_dots_and_at_least_three_of_them(name: str, fmt: Format) -> None:
    module = drawn(name, fmt).layout.symbol[2]
    assert module / DOT == round(module / DOT) >= DOTS_LEAST
    assert all(t.size >= min(STYLES[t.role].least, 1.8) - 1e-9 for t in drawn(name, fmt).layout.texts if t.role != "code")


def test_the_quiet_zones_are_those_of_the_standards() -> None:
    """4 modules around a QR code (ISO/IEC 18004), 1 around a DataMatrix (ISO/IEC 16022); from memory."""
    for name, wide in (("roll", 4), ("kit", 1)):
        layout = drawn(name, FORMATS["roll-50x25"]).layout
        x, y, module, _ = layout.symbol
        assert (x - layout.kept_white.x) / module == pytest.approx(wide) == (y - layout.kept_white.y) / module
        assert layout.kept_white.width == pytest.approx((layout.modules + 2 * wide) * module)


@pytest.mark.parametrize(("name", "fmt"), ALL, ids=lambda v: v if isinstance(v, str) else v.name)
def test_what_is_needed_stands_on_every_size_and_no_date_is_cut(name: str, fmt: Format) -> None:
    found = drawn(name, fmt)
    there = {t.role for t in found.layout.texts}
    assert {f.role for f in found.label.fields if f.needed} <= there
    assert not set(found.layout.cut) & {"life", "more", "bad", "stop", "code"}
    assert found.layout.texts[0].text.replace("-", "") == found.label.code.replace("-", "")


def test_ordinary_things_are_cut_nowhere() -> None:
    cut = {(n, f.name): drawn(n, f).layout.cut for n, f in ALL if n not in ("long", "one word", "scripts")}
    assert {k: v for k, v in cut.items() if v} == {}


def test_what_had_no_room_is_named_the_least_important_first() -> None:
    small, large = (drawn("roll", FORMATS[n]).layout for n in ("roll-50x25", "roll-100x50"))
    assert large.left_out == () and "store" in small.left_out and "caution" not in small.left_out


def test_a_larger_label_has_larger_letters() -> None:
    sizes = {f.name: next(t.size for t in drawn("part", f).layout.texts if t.role == "name") for f in FORMATS.values()}
    assert sizes["roll-100x50"] > sizes["roll-70x35"] > sizes["roll-50x25"]


def test_an_address_that_makes_the_symbol_too_fine_is_told() -> None:
    long = label(THINGS["roll"], ZONE, NOW, "https://" + "a-very-long-name." * 30 + "example")
    with pytest.raises(BadInput) as caught:
        draw(long, FORMATS["roll-50x25"])
    assert caught.value.reason.code == "label.too_small"


def test_what_cannot_fit_is_told_rather_than_printed_half() -> None:
    full = label(dataclasses.replace(THINGS["roll"], readings=THINGS["roll"].readings * 40), ZONE, NOW, ADDRESS)
    with pytest.raises(BadInput, match="larger"):
        lay_out(full, 22, 12, 29, MEASURE)


def test_half_a_date_is_never_printed() -> None:
    whole = label(THINGS["kit"], ZONE, NOW, ADDRESS)
    for role in ("life", "more", "stop", "bad"):
        wide = dataclasses.replace(whole, fields=(Field(role, "W" * 70, needed=True),))
        with pytest.raises(BadInput, match="larger"):
            lay_out(wide, 50, 25, 14, MEASURE)


def test_text_shrinks_before_it_is_broken_and_is_cut_last() -> None:
    def wide(text: str, size: float, bold: bool) -> float:
        return len(text) * size

    assert fitted("abcd", 4, 1, 1, 0.5, False, wide) == (1, ("abcd",), False)
    size, lines, cut = fitted("abcde", 4, 1, 1, 0.5, False, wide)
    assert 0.7 <= size < 1 and lines == ("abcde",) and not cut
    assert fitted("abcd efgh", 4, 2, 1, 1, False, wide) == (1, ("abcd", "efgh"), False)
    assert fitted("abcd efgh ijkl", 4, 2, 1, 1, False, wide) == (1, ("abcd", "efg…"), True)
    assert fitted("a bcdefghijk", 4, 2, 1, 1, False, wide)[1:] == (("a bc", "def…"), True)
    assert broken("abcdefghij", 4, 1, False, wide) == ["abcd", "efgh", "ij"]
    assert broken("", 4, 1, False, wide) == [""]


def test_lines_lie_a_line_apart() -> None:
    assert LINE > ASCENT + 0.22, "ascent and descent of two lines never meet"


def test_the_face_that_is_always_there_shows_all_of_western_europe() -> None:
    latin = "".join(chr(c) for c in [*range(0x20, 0x7F), *range(0xA1, 0x100)] if c != 0xAD)
    assert [ch for ch in latin + "–—‘’“”…−€•≤" if not shows(own_face(), ch)] == []


def test_what_a_face_does_not_have_is_shown_as_such_and_named() -> None:
    assert printable("Žőr Ж 3", own_face()) == ("Žor ? 3", "őЖ")
    assert printable("100 µm ±2 °C", own_face()) == ("100 µm ±2 °C", "")
    assert printable("a\u202eb\x07c\td\ne", own_face()) == ("abc d e", ""), "what is invisible may not turn a line round"
    found = draw(label(THINGS["scripts"], ZONE, NOW, ADDRESS), FORMATS["roll-100x50"], own_face())
    assert {"έ", "Ж", "你", "好"} <= set(found.lost)
    assert any("?" in t.text for t in found.layout.texts if t.role == "name")
