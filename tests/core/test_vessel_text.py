"""How a pot stands, as it is typed: read in any usual unit, or told what to type."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.pot_vessel import Resin
from inventory.core.reasons import BadInput
from inventory.core.vessel_text import Stand, stand_from, stand_of, usual_cup

RESIN = Resin()


@pytest.mark.parametrize(
    ("kind", "size", "kept", "words"),
    [
        ("cup", "90", 90_000, "cup, 90 mm across"),
        (" Cup ", "9 cm", 90_000, "cup, 90 mm across"),
        ("cup", "3.5 in", 88_900, "cup, 88.9 mm across"),
        ("tray", "20 × 30 cm", 6_000_000, "tray, 600 cm²"),
        ("tray", "20x30", 6_000_000, "tray, 600 cm²"),
        ("tray", "200 mm x 300 mm", 6_000_000, "tray, 600 cm²"),
        ("tray", "0.06 m²", 6_000_000, "tray, 600 cm²"),
        ("tray", "600", 6_000_000, "tray, 600 cm²"),
        ("film", "0.5 mm", 500, "film, 0.5 mm thick"),
        ("own", "0.25 W/K", 250, "own heat loss, 0.25 W/K"),
        ("own", "250 mW/K", 250, "own heat loss, 0.25 W/K"),
        ("own", "0", 0, "own heat loss, 0 W/K"),
    ],
)
def test_sizes_are_read_in_the_units_people_use(kind: str, size: str, kept: int, words: str) -> None:
    stand = stand_of(kind, size)
    assert stand is not None and stand.size == kept and str(stand) == words
    assert stand_from(json.loads(json.dumps(stand.to_doc()))) == stand


def test_nothing_typed_is_nothing_said() -> None:
    assert stand_of("", " ") is None
    assert stand_from(None) is stand_from({}) is stand_from({"kind": "cup"}) is stand_from({"kind": "cup", "um": "9"}) is None


@pytest.mark.parametrize(
    ("kind", "size", "where"),
    [
        ("bucket", "9 cm", "vessel"), ("", "9 cm", "vessel"), ("cup", "", "size"), ("cup", "9 kg", "size"), ("cup", "-9", "size"),
        ("cup", "0", "size"), ("cup", "99 m", "size"), ("cup", "1e9", "size"), ("cup", "9" * 400, "size"), ("tray", "20 × kg", "size"),
        ("tray", "0 × 30", "size"), ("film", "1 m", "size"), ("own", "much", "size"), ("own", "9999999 W/K", "size"),
        ("own", "1,234", "size"), ("own", "...", "size"), ("tray", "1.2.3 x 4", "size"),
    ],
)  # fmt: skip
def test_what_is_no_vessel_is_told_at_its_field(kind: str, size: str, where: str) -> None:
    with pytest.raises(BadInput) as caught:
        stand_of(kind, size)
    assert caught.value.where == where


def test_each_kind_loses_heat_by_its_own_surface() -> None:
    """Closed forms: hS/(m·cp) with h = 10 W/(m² K), 1 800 J/(kg K) and 1 150 kg/m³."""
    mass = 0.5
    cup = math.pi * 0.09 * (mass / 1150 / (math.pi / 4 * 0.09**2)) + math.pi / 4 * 0.09**2
    areas = {Stand("cup", 90_000): cup, Stand("tray", 6_000_000): 0.06, Stand("film", 1000): mass / 1150 / 0.001}
    for stand, area in areas.items():
        assert stand.pot("p", mass, 21_000, RESIN).loss(RESIN) == pytest.approx(10 * area / (mass * 1800))
    assert Stand("own", 250).pot("p", mass, 21_000, RESIN).loss(RESIN) == pytest.approx(0.25 / (mass * 1800))


@given(st.floats(0.001, 100))
def test_the_usual_cup_is_as_tall_as_it_is_wide(mass: float) -> None:
    """Its wetted wall is then four times its base."""
    base = usual_cup(mass, RESIN).area_m2 / 5
    assert base * math.sqrt(4 * base / math.pi) * 1150 == pytest.approx(mass)
