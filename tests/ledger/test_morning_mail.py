"""The morning mail is written in the language and the units of the person it goes to, whoever raised what stands in it, and when."""

from __future__ import annotations

import re

import pytest
from django.core import mail
from django.core.mail import EmailMessage
from django.utils import translation

from inventory import outbox
from inventory.flags import raise_flag
from inventory.models import Notice, Outbox, Person
from inventory.sweeps import sweep
from tests.pages.morning import morning
from tests.pages.store import Store

pytestmark = pytest.mark.django_db
MORNING = "06:00"
ENGLISH = re.compile(r"\b(was|is|the|has|been|come|ends|over|usable|reorder|needs?|thing|should|due|Mon|Tue|Wed|Mar|May|Oct|Dec)\b")
"""Words that no German sentence has, of those that the sweeps say."""


@pytest.fixture
def store() -> Store:
    return morning()


def sent(store: Store, language: str, units: str = "metric") -> EmailMessage:
    """The mail that Ines gets who reads so; the worker that sends it reads English."""
    Person.objects.filter(name="Ines").update(email="ines@yard.example", language=language, units=units)
    Notice.objects.all().delete()
    Outbox.objects.all().delete()
    mail.outbox.clear()
    at = store.at(0, MORNING)
    sweep(store.site, at)
    outbox.queue_morning(store.site, at)
    with translation.override("en"):
        outbox.drain(at)
    (found,) = mail.outbox
    return found


def test_it_is_in_the_language_of_whom_it_goes_to(store: Store) -> None:
    raise_flag(store.site.pk, "material:0", "test.low", "storekeeper", "CT-204: 12.00 m usable, reorder at 20.00 m.", 1, 1)
    english, german = sent(store, "en"), sent(store, "de")
    count = english.body.count("\n- ")
    assert count > 1 and german.body.count("\n- ") == count, "the same list"
    assert english.subject.endswith(f": {count} things need you") and german.subject.endswith(f": {count} Punkte zu erledigen")
    assert english.body.startswith("Good morning, Ines.") and german.body.startswith("Guten Morgen, Ines.")
    assert "- New: " in english.body and "- Neu: " in german.body
    assert "CT-204: 12.00 m verwendbar, nachbestellen bei 20.00 m." in german.body
    assert ENGLISH.search(german.body) is None, ENGLISH.search(german.body)
    assert len(ENGLISH.findall(english.body)) > count


def test_it_is_in_their_units(store: Store) -> None:
    raise_flag(store.site.pk, "material:0", "test.low", "storekeeper", "CT-204: 12.00 m usable, reorder at 20.00 m.", 1, 1)
    assert "13.12 yd" in sent(store, "en", "us").body, "12 m are 13.12 yd (a yard is 0.9144 m exactly: the international yard of 1959)"


def test_who_has_chosen_no_language_gets_english(store: Store) -> None:
    with translation.override("de"):  # as whoever made the mail be sent may read
        assert sent(store, "").body.startswith("Good morning, Ines.")


def test_one_thing_is_told_in_the_singular_and_a_name_is_no_markup(store: Store) -> None:
    at = store.at(0, MORNING)
    person = Person(name="Ines & Söhne", site=store.site)
    flag = next(iter(outbox.Flag.objects.all()), None) or outbox.Flag(pk=1, text="R <1>: Auslagerzeit.", at_us=at)
    flag.text = "R <1> & 2: count it."
    with translation.override("de"):
        subject, text = outbox.morning_words(person, [flag], set(), "2026-03-30")
    assert subject.endswith(": 1 Punkt zu erledigen") and "Ines & Söhne" in text and "R <1> & 2" in text
