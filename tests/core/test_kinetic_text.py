"""Rate laws as text: read as they were meant, and otherwise told what is wrong with them."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.cure_time import time_to
from inventory.core.kinetic_sets import INFUSION_WARM, SETS
from inventory.core.kinetic_text import EXAMPLES, VISCOSITY, Glass, law_of, scaled, set_of, viscosity_of
from inventory.core.kinetics import Arrhenius, FreeVolume, Kamal, Logistic, rate
from inventory.core.reasons import BadInput


@pytest.mark.parametrize("form", EXAMPLES)
def test_every_example_is_a_law_that_reacts(form: str) -> None:
    assert float(rate(law_of(form, EXAMPLES[form]), 350.0, 0.05)) > 0


@pytest.mark.parametrize("name", SETS)
def test_a_published_set_is_itself(name: str) -> None:
    text = json.dumps({"set": name.upper()})
    assert law_of("published", text) == SETS[name].law
    assert set_of("published", text) == name


def test_constants_are_read_into_their_own_places() -> None:
    text = json.dumps(
        {
            "n": 1.67, "m": 0.12, "k2": {"a": 681085, "e": 59291},
            "logistic": {"c": 47.7, "base": 0.77, "slope": 0.0016, "temperature": "C"},
        }
    )  # fmt: skip
    assert law_of("autocatalytic", text) == SETS["infusion"].law
    part = {"a": 7e18, "e": 137300, "b": 0.009, "expansion": 4.8e-4, "at_glass": 0.025, "tg0_c": -57, "tg1_c": 91, "lam": 0.36903}
    text = json.dumps({"n": 1.5361, "m": 0.39845, "k1": {"a": 35982, "e": 54960}, "k2": {"a": 3574.1, "e": 44289}, "free_volume": part})
    assert law_of("autocatalytic", text) == INFUSION_WARM.law
    assert law_of("nth order", '{"a": 3, "e": 4, "n": 2}') == Kamal(2.0, k1=Arrhenius(3, 4))


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(SETS)), st.floats(0.01, 100), st.floats(290, 450), st.floats(0.02, 0.95))
def test_a_factor_multiplies_the_whole_rate_everywhere(name: str, speed: float, temp: float, alpha: float) -> None:
    law = SETS[name].law
    assert float(rate(scaled(law, speed), temp, alpha)) == pytest.approx(speed * float(rate(law, temp, alpha)), rel=1e-9, abs=1e-300)


def test_a_law_twice_as_fast_takes_half_the_time() -> None:
    fast = law_of("published", '{"set": "room", "speed": 2}')
    assert float(time_to(fast, 298.15, 0.577)) == pytest.approx(float(time_to(SETS["room"].law, 298.15, 0.577)) / 2)


@pytest.mark.parametrize(
    ("form", "text", "word"),
    [
        ("published", "", "cannot be read"),
        ("published", "[1]", "braces"),
        ("published", '{"set": "none"}', "published sets"),
        ("published", '{"set": 5}', "published sets"),
        ("published", '{"set": "room", "speed": 0}', "speed"),
        ("published", '{"set": "room", "speed": "2"}', "speed"),
        ("published", '{"set": "room", "n": 2}', "“n” is not known"),
        ("nth order", '{"a": 1, "e": 2}', "“n” must be a number"),
        ("nth order", '{"a": NaN, "e": 2, "n": 1}', "“a” must be a number"),
        ("nth order", '{"a": true, "e": 2, "n": 1}', "“a” must be a number"),
        ("nth order", '{"a": 1e999, "e": 2, "n": 1}', "“a” must be a number"),
        ("nth order", '{"a": 1, "e": 2, "n": ' + "9" * 400 + "}", "“n” must be a number"),
        ("nth order", '{"a": 1, "e": -2, "n": 1}', "energy"),
        ("autocatalytic", '{"n": 1}', "no rate"),
        ("autocatalytic", '{"n": 1, "k1": 5}', "“k1” must be an object"),
        ("autocatalytic", '{"n": 1, "k1": {"a": 1}}', "“k1.e” must be a number"),
        ("autocatalytic", '{"n": 1, "k1": {"a": 1, "e": 2, "x": 3}}', "“k1.x” is not known"),
        ("autocatalytic", '{"n": 1, "k1": {"a": 1, "e": 2}, "logistic": {"c": 1, "base": 1, "slope": 1}}', "temperature"),
        ("two regimes", '{"b": 1}', "“k1” must be an object"),
        ("nth order", "[" * 100_000, "longer"),
        ("nth order", "[" * 1999, "cannot be read"),
        ("guess", "{}", "Choose one of"),
    ],
)  # fmt: skip
def test_what_is_no_law_is_told_in_words(form: str, text: str, word: str) -> None:
    with pytest.raises(BadInput) as caught:
        law_of(form, text)
    assert word in caught.value.reason.text


def test_a_viscosity_is_read_with_the_one_to_stop_at() -> None:
    law, stop = viscosity_of(VISCOSITY)
    assert (law.gel, law.b, stop) == (0.577, 1.0, 10)
    for text in ("", "{}", VISCOSITY.replace("10}", "0}"), VISCOSITY.replace("0.577", "1.5"), VISCOSITY.replace('"b"', '"c"')):
        with pytest.raises(BadInput):
            viscosity_of(text)


def test_the_glass_rises_with_cure_between_its_ends() -> None:
    """DiBenedetto in closed form: −57 to 91 °C with λ 0.36903 is −57 + 148·0.36903·0.5/(1 − 0.63097·0.5) halfway."""
    glass = Glass(-57_000, 91_000, 0.36903)
    assert (glass.at_mc(0), glass.at_mc(1)) == (-57_000, 91_000)
    assert glass.at_mc(0.5) == round(1000 * (-57 + 148 * 0.36903 * 0.5 / (1 - 0.63097 * 0.5)))
    assert (np.diff([glass.at_mc(a / 50) for a in range(51)]) > 0).all()


@pytest.mark.parametrize("make", [
    lambda: Glass(5, 5, 0.5), lambda: Glass(0, 9, 0.0), lambda: Glass(0, 9, math.nan), lambda: Glass(-300_000, 9, 0.5),
    lambda: Glass(0, 9_000, 0.5).at_mc(1.1), lambda: Glass(0, 9_000, 0.5).at_mc(math.nan),
])  # fmt: skip
def test_a_glass_that_cannot_be_is_refused(make: Any) -> None:
    with pytest.raises(BadInput):
        make()


def test_brakes_keep_their_kind() -> None:
    assert isinstance(scaled(SETS["infusion"].law, 2).brake, Logistic)  # type: ignore[attr-defined]
    assert isinstance(scaled(SETS["infusion warm"].law, 2).brake, FreeVolume)  # type: ignore[attr-defined]
