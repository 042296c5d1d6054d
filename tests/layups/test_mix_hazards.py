"""A promoter and a peroxide meet only in resin: asked of a mix in the order in which its components went in (R35)."""

from __future__ import annotations

import pytest

from inventory.models import Act, Finding, Recipe, RecipeAdditive, Refusal
from inventory.verbs.mixing import Component, Mix

from .day import KG, Day, codes, new_day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    """A polyester that takes a promoter, with its recipe."""
    day = new_day()
    day.receive("PE-8", "PE-L", 50 * KG, "RS", kind="drum")
    day.receive("CB-2", "CO-6", KG, "AC", kind="can")
    day.receive("X4", "MEKP", 5 * KG, "PX", kind="can", printed=day.at("12:00", 200))
    recipe = Recipe.objects.get(code="PE")
    RecipeAdditive.objects.create(recipe=recipe, material=day.yard.material["CO-6"], max_ppm=10_000)
    return day


PARTS = {"PE-8": "2000 g", "CB-2": "4.0 g", "X4": "30.0 g"}


def mix(*order: str, recipe: str = "PE") -> Mix:
    return Mix(tuple(Component(mark, PARTS[mark]) for mark in order), "BAY1", recipe, "21.0", "M-1")


def test_each_is_stirred_into_the_resin_on_its_own(day: Day) -> None:
    day.do(day.at("09:00"), "mix", mix("PE-8", "CB-2", "X4"))
    assert day.qty("M-1") == 2_034 * 10**6


@pytest.mark.parametrize("order", [("CB-2", "X4", "PE-8"), ("X4", "CB-2", "PE-8")], ids=lambda order: " ".join(order))
def test_before_the_resin_they_never_meet_and_nobody_may_override_it(day: Day, order: tuple[str, ...]) -> None:
    reasons = day.refused(day.at("09:00"), "mix", mix(*order))
    assert codes(reasons) == ["compat.never_together", "mix.order"] and [r.cap for r in reasons if r.code.startswith("compat.")] == [True]


def test_what_was_done_is_stored_with_its_finding(day: Day) -> None:
    told = day.do(day.at("09:30"), "mix", mix("CB-2", "X4", "PE-8"), happened=day.at("09:00"))
    assert "compat.never_together" in codes(told.reasons) and day.qty("M-1") > 0
    assert Finding.objects.filter(code__startswith="compat.never_together", item__mark="M-1", closed_us=None).count() == 1


def test_it_is_refused_also_where_no_recipe_has_both_and_the_refusal_is_kept(day: Day) -> None:
    before = Act.objects.count()
    assert codes(day.refused(day.at("09:00"), "mix", mix("X4", "CB-2", recipe=""))) == ["compat.never_together"]
    assert Refusal.objects.get().verb == "mix" and Act.objects.count() == before
    assert day.bad(day.at("09:00"), "mix", mix("X4", recipe="")) == "recipe.not_found"
