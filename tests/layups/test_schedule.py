"""The ply schedule, without a database."""

from __future__ import annotations

import random

import pytest

from layups.core.schedule import Filling, Line, Offer, choose, divide, is_filled, line_reasons, missing

pytestmark = pytest.mark.core
UD, TWILL, DRY, VE = 1, 2, 3, 9
PLIES = tuple(Line(n, "ply", "PP-U", UD, unit="um", qty=1_100_000) for n in range(1, 7))
RUDDER = (*PLIES, Line(7, "ply", "PP-T", TWILL, unit="um"), Line(8, "ply", "PP-T", TWILL, unit="um"))
KIT = Offer("K-31", UD, "UD prepreg (PP-U)")
DRY_TWILL = Offer("C-12", DRY, "dry twill (CT-204)")


def codes(reasons: object) -> list[str]:
    return [r.code for r in reasons]  # type: ignore[attr-defined]


def test_a_kit_fills_all_its_open_plies_and_a_roll_the_next_one() -> None:
    assert choose(KIT, RUDDER, [], all_of_it=True) == (1, 2, 3, 4, 5, 6)
    assert choose(KIT, RUDDER, [Filling(1)], all_of_it=True) == (2, 3, 4, 5, 6)
    assert choose(Offer("T-2", TWILL, "twill"), RUDDER, [Filling(7)], all_of_it=False) == (8,)


def test_a_wrong_material_is_refused_with_what_the_ply_needs() -> None:
    (reason,) = line_reasons(DRY_TWILL, "RUD-073", [7], RUDDER, [], extra=False)
    assert reason.code == "ply.wrong_material"
    assert reason.text == "C-12: dry twill (CT-204); ply 7 of RUD-073 needs PP-T, the design allows no alternate."


def test_an_alternate_of_the_design_is_right() -> None:
    line = Line(1, "ply", "CT-204", DRY, alternates=((TWILL, "PP-T"),))
    assert line_reasons(Offer("T-2", TWILL, "twill"), "DAG-041", [1], [line], [], extra=False) == []
    (reason,) = line_reasons(KIT, "DAG-041", [1], [line], [], extra=False)
    assert "the design allows PP-T instead" in reason.text


def test_a_filled_ply_takes_more_only_when_it_is_said_to_be_extra() -> None:
    filled = [Filling(7, 850_000)]
    offer = Offer("T-2", TWILL, "twill")
    assert codes(line_reasons(offer, "RUD-073", [7], RUDDER, filled, extra=False)) == ["ply.filled"]
    assert line_reasons(offer, "RUD-073", [7], RUDDER, filled, extra=True) == []


def test_all_reasons_are_told_at_once() -> None:
    found = line_reasons(DRY_TWILL, "RUD-073", [7, 99], RUDDER, [Filling(7)], extra=False)
    assert codes(found) == ["ply.wrong_material", "ply.filled", "ply.unknown"]


def test_what_nothing_in_the_schedule_takes_is_refused() -> None:
    assert codes(line_reasons(DRY_TWILL, "RUD-073", [], RUDDER, [], extra=False)) == ["ply.none_fits"]


def test_a_part_without_a_schedule_takes_what_is_laid() -> None:
    assert line_reasons(DRY_TWILL, "BOAT-1", [], [], [], extra=False) == []


def test_a_line_that_names_a_recipe_takes_only_a_mix_of_it() -> None:
    line = Line(6, "infusion", "VE", recipe=VE, qty=14_400)
    assert line_reasons(Offer("M-1", UD, "mix of VE", recipe=VE), "CAN-065", [6], [line], [], extra=False) == []
    assert codes(line_reasons(Offer("D-1", UD, "VE-I"), "CAN-065", [6], [line], [], extra=False)) == ["ply.wrong_material"]


def test_two_pots_fill_an_infusion_and_one_does_not() -> None:
    line = Line(6, "infusion", "VE", recipe=VE, qty=14_200)
    assert not is_filled(line, [Filling(6, 7_100)])
    assert is_filled(line, [Filling(6, 7_100), Filling(6, 7_100)])
    assert is_filled(line, [Filling(6, None)]), "all of a kit is all there is"


def test_a_ply_is_filled_by_one_scan_whatever_its_length() -> None:
    assert is_filled(PLIES[0], [Filling(1, 1)])
    assert not is_filled(PLIES[0], [])


def test_missing_lines_are_those_that_nothing_went_into() -> None:
    lines = (*RUDDER, Line(9, "bagging", "BAG", 40, box=True))
    assert [line.seq for line in missing(lines, [Filling(n) for n in (1, 2, 3, 4, 5, 6, 8)])] == [7]


@pytest.mark.parametrize("seed", range(50))
def test_shares_add_up_to_the_whole_exactly(seed: int) -> None:
    r = random.Random(seed)
    weights = [r.randrange(5) for _ in range(r.randrange(1, 9))]
    whole = r.randrange(10**12)
    shares = divide(whole, weights)
    assert sum(shares) == whole
    total = sum(weights) or len(weights)
    assert all(abs(share * total - whole * (w if sum(weights) else 1)) < total for share, w in zip(shares, weights, strict=True))
