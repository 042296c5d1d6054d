"""Kinetics as they are kept: of one thing, by version, never changed, and read as the core takes them."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from inventory.core.kinetic_sets import SETS
from inventory.core.reasons import BadInput
from inventory.kinetics import check, fitted_for, next_version
from inventory.models import Kinetics, Material, Recipe
from layups.demo.master import Yard, build_master
from tests.ledger.bench import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return build_master(MONDAY)


def given(yard: Yard, **changes: Any) -> Kinetics:
    values: dict[str, Any] = {
        "recipe": yard.recipe["LAM"], "version": 1, "name": "own", "source": "our calorimetry", "form": "nth order",
        "constants": '{"a": 200000, "e": 60000, "n": 1.5}', "gel_ppm": 600_000, "heat_j_kg": 400_000,
    }  # fmt: skip
    return Kinetics(**(values | changes))


def test_the_infusion_epoxy_and_the_prepreg_have_kinetics_and_the_hand_layup_epoxy_has_none(yard: Yard) -> None:
    infusion = fitted_for(recipe=yard.recipe["INF"])
    assert infusion is not None and infusion.fit.law == SETS["room"].law and infusion.anchored
    assert infusion.fit.heat_j_kg == 450_000 and infusion.glass is None and infusion.version == 1
    prepreg = fitted_for(material=yard.material["PP-U"])
    assert prepreg is not None and prepreg.glass is not None and not prepreg.anchored
    assert prepreg.glass.at_mc(1) == 135_000 and prepreg.fit.temps_mc is None and prepreg.fit.heat_j_kg is None
    assert fitted_for(recipe=yard.recipe["LAM"]) is None and fitted_for(material=yard.material["FA-B"]) is None
    assert all("published shape" in row.name and "not this product" in row.note for row in Kinetics.objects.all())


def test_the_newest_version_is_what_everything_asks(yard: Yard, django_assert_num_queries: Any) -> None:
    first = given(yard)
    first.save()
    assert next_version(first) == 2
    given(yard, version=2, heat_j_kg=None, low_mc=15_000, high_mc=40_000).save()
    with django_assert_num_queries(1):
        found = fitted_for(recipe=yard.recipe["LAM"])
    assert found is not None and (found.version, found.fit.heat_j_kg, found.fit.temps_mc) == (2, None, (15_000, 40_000))


def test_a_version_is_never_changed_and_there_is_one_of_each(yard: Yard) -> None:
    row = Kinetics.objects.filter(recipe=yard.recipe["INF"]).get()
    for change in (lambda: Kinetics.objects.update(heat_j_kg=1), lambda: row.delete(), lambda: given(yard, recipe=row.recipe).save()):
        with pytest.raises(IntegrityError), transaction.atomic():
            change()


@pytest.mark.parametrize(
    ("changes", "where", "code"),
    [
        ({"recipe": None}, "recipe", "kinetics.owner"),
        ({"material": "PP-U"}, "recipe", "kinetics.owner"),
        ({"recipe": None, "material": "LAM-A"}, "material", "kinetics.owner"),
        ({"recipe": "PE"}, "recipe", "kinetics.peroxide"),
        ({"recipe": None, "material": "PP-U", "gel_by": "sheet"}, "gel_by", "kinetics.no_sheet"),
        ({"low_mc": 20_000}, "high_mc", "kinetics.range"),
        ({"low_mc": 20_001, "high_mc": 20_000}, "low_mc", "kinetics.constants"),
        ({"tg0_mc": 5}, "tg0_mc", "kinetics.glass"),
        ({"tg0_mc": 5, "tg1_mc": 4, "lambda_ppm": 5}, "tg1_mc", "kinetics.glass"),
        ({"heat_j_kg": 9_000_000}, "heat_j_kg", "kinetics.constants"),
        ({"constants": "{"}, "constants", "kinetics.text"),
        ({"gel_by": "viscosity"}, "viscosity", "kinetics.text"),
        ({"gel_ppm": 995_000}, "gel_ppm", "kinetics.conversion"),
        ({"form": "autocatalytic", "constants": '{"n": 1, "m": 1, "k2": {"a": 1, "e": 2}}'}, "seed_ppm", "kinetics.needs_seed"),
    ],
)
def test_what_cannot_be_is_told_at_its_field(yard: Yard, changes: dict[str, Any], where: str, code: str) -> None:
    rows: dict[str, Any] = {"recipe": yard.recipe, "material": yard.material}
    changes = {key: rows[key][value] if key in rows and value else value for key, value in changes.items()}
    with pytest.raises(BadInput) as caught:
        check(given(yard, **changes))
    assert (caught.value.where, caught.value.reason.code) == (where, code)


def test_either_a_recipe_or_a_material_is_asked_for(yard: Yard) -> None:
    with pytest.raises(TypeError):
        fitted_for()
    with pytest.raises(TypeError):
        fitted_for(recipe=Recipe(), material=Material())
