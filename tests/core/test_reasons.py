"""Why something is refused: what of it is for machines stays the same for everybody."""

from __future__ import annotations

import pytest

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import Told, say

pytestmark = pytest.mark.core


def test_numbers_of_a_reason_are_plain_text_that_no_reader_gets_in_another_language_or_unit() -> None:
    said = say("{size} mm", size="7")
    given: dict[str, int | str | None] = {"size": said, "n": 3, "none": None, "place": "RACK"}
    for reason in (Reason("a.code", said, given), BadInput("a.code", said, "field", **given).reason):
        assert reason.numbers == {"size": "7 mm", "n": 3, "none": None, "place": "RACK"}
        assert [type(value) for value in reason.numbers.values()] == [str, int, type(None), str]
        assert isinstance(reason.text, Told), "the sentence is read as its reader reads"
    assert isinstance(given["size"], Told), "what was handed over is not changed"
