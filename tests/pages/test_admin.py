"""The admin keeps master data; records and what must never change have no button there, and no address that changes them."""

from __future__ import annotations

import hashlib

import pytest
from django.contrib import admin
from django.test import Client
from django.urls import reverse

from inventory import admin as ours
from inventory.models import Kinetics, LifeSpec, Location, Person, Recipe, StorageClass
from layups.demo.yard import badge_code

from .morning import morning
from .store import Store

pytestmark = pytest.mark.django_db
ADD_ONLY = ("lifespec", "lifelimit", "storageclass", "kinetics")


@pytest.fixture
def store() -> Store:
    return morning()


@pytest.fixture
def marek(store: Store) -> Client:
    return store.browser("Marek")


def records() -> list[str]:
    return [model._meta.model_name or "" for model, site in admin.site._registry.items() if isinstance(site, ours.Record)]


def test_every_record_can_be_read_and_none_added_changed_or_deleted(store: Store, marek: Client) -> None:
    assert len(records()) > 20
    for name in records():
        assert marek.get(reverse(f"admin:inventory_{name}_changelist")).status_code == 200, name
        assert marek.get(reverse(f"admin:inventory_{name}_add")).status_code == 403, name
        model = next(model for model in admin.site._registry if model._meta.model_name == name and model._meta.app_label == "inventory")
        row = model._default_manager.first()
        if row is None:
            continue
        assert marek.post(reverse(f"admin:inventory_{name}_delete", args=[row.pk]), {"post": "yes"}).status_code == 403, name
        assert marek.post(reverse(f"admin:inventory_{name}_change", args=[row.pk]), {}).status_code == 403, name
        assert model._default_manager.filter(pk=row.pk).exists()


def test_limits_specifications_and_storage_classes_are_only_added_to(store: Store, marek: Client) -> None:
    for name, row in (("lifespec", LifeSpec.objects.first()), ("storageclass", StorageClass.objects.first())):
        assert row is not None
        assert marek.get(reverse(f"admin:inventory_{name}_add")).status_code == 200
        assert marek.post(reverse(f"admin:inventory_{name}_change", args=[row.pk]), {"note": "x"}).status_code == 403
        assert marek.post(reverse(f"admin:inventory_{name}_delete", args=[row.pk]), {"post": "yes"}).status_code == 403


def test_a_place_keeps_its_band_and_is_retired_not_deleted(store: Store, marek: Client) -> None:
    place = Location.objects.get(code="F1")
    page = marek.get(reverse("admin:inventory_location_change", args=[place.pk])).content.decode()
    assert 'name="storage"' not in page and 'name="retired_us"' in page
    assert marek.post(reverse("admin:inventory_location_delete", args=[place.pk]), {"post": "yes"}).status_code == 403


def test_the_owner_gives_a_person_a_badge_by_scanning_it(store: Store, marek: Client) -> None:
    tove = Person.objects.get(name="Tove")
    new = badge_code("a new badge")
    form = {"site": store.site.pk, "name": "Tove", "email": "", "units": "metric", "ended_us": "", "badge": new.lower()}
    inlines = {"roles-TOTAL_FORMS": "0", "roles-INITIAL_FORMS": "0"}
    address = reverse("admin:inventory_person_change", args=[tove.pk])
    assert marek.post(address, form | inlines).status_code == 302
    tove.refresh_from_db()
    assert tove.badge_sha256 == hashlib.sha256(new.encode()).hexdigest()
    taken = marek.post(address, form | inlines | {"badge": badge_code("Ines")})
    assert "somebody else" in taken.content.decode()


def test_people_without_the_owners_sign_in_do_not_get_into_the_admin(store: Store) -> None:
    for who in ("Ines", "Odile", "Vera"):
        assert store.browser(who).get("/admin/", follow=False).status_code == 302


def test_kinetics_are_entered_as_a_new_version_and_a_slip_is_told_at_its_field(store: Store, marek: Client) -> None:
    recipe = Recipe.objects.get(code="INF")
    form = {
        "recipe": str(recipe.pk), "material": "", "name": "own", "source": "our calorimetry", "form": "nth order", "seed_ppm": "0",
        "constants": '{"a": 1, "e": "much", "n": 1}', "gel_by": "conversion", "gel_ppm": "600000", "heat_j_kg": "400000",
    }  # fmt: skip
    address = reverse("admin:inventory_kinetics_add")
    page = marek.get(address).content.decode()
    assert "Empty: the source does not say." in page and 'name="version"' not in page
    wrong = marek.post(address, form)
    assert wrong.status_code == 200 and "“e” must be a number" in wrong.content.decode()
    assert marek.post(address, form | {"recipe": "", "material": ""}).status_code == 200
    assert marek.post(address, form | {"constants": '{"a": 200000, "e": 60000, "n": 1.5}'}).status_code == 302
    row = Kinetics.objects.get(recipe=recipe, name="own")
    assert row.version == 2
    assert marek.post(reverse("admin:inventory_kinetics_change", args=[row.pk]), form).status_code == 403
    assert marek.post(reverse("admin:inventory_kinetics_delete", args=[row.pk]), {"post": "yes"}).status_code == 403
