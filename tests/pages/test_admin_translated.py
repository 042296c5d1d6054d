"""The admin is in the language of whoever reads it: its own words are Django's translations, ours are in our catalogue.

As in `test_translated`, every message is put into wide letters; what is left in plain ones on a page of the admin was never said in a
way that can be translated. Then what it answers to wrong input, in German.
"""

from __future__ import annotations

import logging
import re

import pytest
from django.contrib import admin
from django.contrib.auth.models import Group
from django.test import Client
from django.urls import reverse

from inventory.admin import Record
from inventory.models import LifeLimit, Person, User
from layups.models import Design

from .browsing import Page
from .morning import morning
from .store import Store
from .test_translated import data_words, in_wide_letters, left_in_english

pytestmark = pytest.mark.django_db
__all__ = ["in_wide_letters"]
OTHERS = {"selvedge", "search", "v1"}
"""Our own name, and the alternative text of the admin's magnifying glass, which its template does not translate."""

DJANGOS = re.compile(r"(› )?\w+ object \(\w+\)|\d+ results \(|True|False")
"""What the admin calls a row without a name of its own, its plurals, which wide letters do not reach, and its pictures of yes and no."""


@pytest.fixture
def store() -> Store:
    return morning()


@pytest.fixture
def marek(store: Store) -> Client:
    Person.objects.update(language="de")
    return store.browser("Marek")


def answer(client: Client, name: str, form: dict[str, object]) -> str:
    response = client.post(reverse(f"admin:{name}_add"), form)
    assert response.status_code == 200, "it was taken"
    return Page(200, response.content.decode(), name).text


@pytest.mark.slow
@pytest.mark.once
def test_no_page_of_the_admin_is_left_in_english(
    store: Store, marek: Client, in_wide_letters: None, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.ERROR)
    data = data_words() | OTHERS
    said: dict[str, str] = {}
    seen = 0
    for model, site in admin.site._registry.items():
        if model in (Group, User) or isinstance(site, Record):
            continue  # Django's pages, with the names of its permissions, which are rows; and records, which are read elsewhere
        name = f"{model._meta.app_label}_{model._meta.model_name}"
        for path in (reverse(f"admin:{name}_changelist"), reverse(f"admin:{name}_add")):
            response = marek.get(path)
            if response.status_code == 200:
                seen += 1
                for text in left_in_english(response.content.decode(), data):
                    if not DJANGOS.fullmatch(text):
                        said.setdefault(text, path)
    assert seen > 30
    assert not said, "\n".join(f"{path}: {text}" for text, path in said.items())


def test_its_headings_are_german(store: Store, marek: Client) -> None:
    page = marek.get("/admin/").content.decode()
    for word in (
        "Selvedge: Stammdaten",
        "Bestand und Material",
        "Bauteile und Laminate",
        "Haltbarkeitsgrenzen",
        "Konstruktionen",
        "Vorgänge",
    ):
        assert word in page, word
    assert "Life limits" not in page and "Acts" not in page
    assert "Wer das ist" in marek.get(reverse("admin:inventory_user_add")).content.decode()


def test_what_is_wrong_is_said_in_german(store: Store, marek: Client) -> None:
    person = {"site": store.site.pk, "name": "N", "units": "metric", "badge": "QQQ", "roles-TOTAL_FORMS": "0", "roles-INITIAL_FORMS": "0"}
    assert "Das ist keiner unserer Ausweise: noch einmal scannen." in answer(marek, "inventory_person", person)
    limit = LifeLimit.objects.filter(clock="above", limit_us__isnull=False).select_related("spec__material").first()
    assert limit is not None
    tighter = {"material": limit.spec.material_id, "limit": limit.name, "limit_us": "10000 h", "source": "x"}
    assert "Angeben, für welchen Kunden, für welche Konstruktion oder beides." in answer(marek, "layups_tighterlimit", tighter)
    tighter["design"] = Design.objects.first().pk  # type: ignore[union-attr]
    assert f"Das ist nicht enger als „{limit.name}“ in der Spezifikation" in answer(marek, "layups_tighterlimit", tighter)
    assert "hat keine Frist dieses Namens. Vorhandene Fristen: " in answer(marek, "layups_tighterlimit", tighter | {"limit": "none such"})
    assert "ist keine lesbare Zahl" in answer(marek, "layups_tighterlimit", tighter | {"limit_us": "long"})


def test_an_english_reader_has_english(store: Store) -> None:
    Person.objects.update(language="en")
    page = store.browser("Marek").get("/admin/").content.decode()
    assert "Selvedge: master data" in page and "Life limits" in page
