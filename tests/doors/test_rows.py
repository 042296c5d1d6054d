"""Rows in the form of a verb that has no page of its own yet: one a line, values parted by “;”."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from inventory.core.reasons import BadInput
from inventory.models import Act
from inventory.pages.verbforms import params_of
from inventory.verbs.registry import VERBS
from layups.verbs.laying import Into, Lay
from tests.api.conftest import set_clock
from tests.ledger.bench import clock

from .doors import Pages, bench

__all__ = ["set_clock"]

SAID = {"delivery": "D-118", "material": "GB-600", "lots": "G7; 100 m"}


@pytest.mark.django_db
@pytest.mark.parametrize("verb", ["receive", "open_stock"])
def test_rows_that_have_rows_of_their_own_are_not_guessed_from_one_line(verb: str, set_clock: Callable[[int], None]) -> None:
    set_clock(clock("08:00"))
    answer = Pages(bench(), set_clock).browser("Ines").post(f"/do/{verb}/", SAID)
    assert answer.status_code == 422 and "form.rows_in_rows" in answer.content.decode()
    assert not Act.objects.exists()


def test_whole_numbers_in_a_line_are_read_as_numbers() -> None:
    said = {"item": "K-1", "part": "REP-1", "dry": "", "also": "REP-2; 1 m; 3 4\nREP-3"}
    assert params_of(VERBS["lay"], said, "Europe/Copenhagen") == Lay("K-1", "REP-1", also=(Into("REP-2", "1 m", (3, 4)), Into("REP-3")))
    with pytest.raises(BadInput) as bad:
        params_of(VERBS["lay"], said | {"also": "REP-2; 1 m; three"}, "Europe/Copenhagen")
    assert bad.value.reason.code == "form.row" and "Line 1" in str(bad.value.reason.text)
