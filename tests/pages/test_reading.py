"""Everybody reads in their own language and units; what is stored stays as it was."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from inventory import readers
from inventory.core.said import Said, read_out, say
from inventory.core.temperature import display_celsius
from inventory.core.units import display, display_apart
from inventory.core.vessel_text import Stand
from inventory.models import Item, Person, Refusal
from layups.core.cure import Dwell
from layups.core.cure_recipe import stage_text

from .browsing import Browser, Clock
from .store import Store

pytestmark = [pytest.mark.django_db, pytest.mark.once]


def test_measures_are_said_in_the_units_of_who_reads() -> None:
    length, area, mass = display(11_860_000, "um"), display(54_000_000, "cmm2"), display(400_000_000, "ug")
    sentence = say("{left} left at {heat}", left=length, heat=display_celsius(-18_000))
    assert (length, area, mass, sentence) == ("11.86 m", "0.54 m²", "400.0 g", "11.86 m left at −18 °C")
    with readers.reading("en", "us"):
        assert [read_out(text) for text in (length, area, mass)] == ["12.97 yd", "5.81 ft²", "14.11 oz"]
        assert read_out(sentence) == "12.97 yd left at −0.4 °F"
        assert read_out(display(250_000, "um", unit="mm")) == "9.84 in"
        assert len({read_out(text) for text in display_apart("um", 11_860_000, 11_860_001)}) == 2, "two amounts never look the same"
    assert read_out(sentence) == "11.86 m left at −18 °C"


def test_a_stored_sentence_is_said_in_the_units_of_who_reads() -> None:
    stored = "Not enough on C-12: 12.00 m wanted, 11.86 m left."
    assert readers.shown(stored) == stored
    with readers.reading("en", "us"):
        assert readers.shown(stored) == "Not enough on C-12: 13.12 yd wanted, 12.97 yd left."
        assert readers.shown("what somebody typed, 3 m") == "what somebody typed, 3 m"


def test_each_person_sets_how_they_read(bram: Browser) -> None:
    page = bram.get("/mine/")
    assert page.status == 200 and 'href="/mine/"' in page.source
    answer = bram.client.post("/mine/", {"language": "de", "units": "us"})
    assert answer.status_code == 302
    person = Person.objects.get(name="Bram")
    assert (person.language, person.units) == ("de", "us")
    assert '<html lang="de"' in bram.client.get("/").content.decode()
    assert bram.client.post("/mine/", {"language": "xx", "units": "stone"}).status_code == 422


def test_the_pages_of_the_shelf_show_us_units(yard: Store, bram: Browser) -> None:
    roll = Item.objects.get(code=yard.code("C-12"))
    path = reverse("item", args=[roll.code])
    metric = bram.client.get(path).content.decode()
    Person.objects.filter(name="Bram").update(units="us")
    shown = bram.client.get(path).content.decode()
    left = display(roll.state.qty, roll.unit)
    assert left in metric and left not in shown
    assert display(roll.state.qty, roll.unit, "us") in shown
    stock = bram.client.get("/stock/").content.decode()
    assert " yd" in stock and "°F" in bram.client.get("/places/").content.decode()


def test_who_badges_in_is_the_one_who_reads(yard: Store, clock: Clock, bram: Browser) -> None:
    Person.objects.filter(name="Odile").update(language="de")
    session = bram.client.session
    session["badge_person"] = Person.objects.get(name="Odile").pk
    session.save()
    bram.client.cookies["sessionid"] = str(session.session_key)
    assert '<html lang="de"' in bram.client.get("/").content.decode()


def test_nobodys_language_is_left_behind(bram: Browser, odile: Browser) -> None:
    Person.objects.filter(name="Odile").update(language="de", units="us")
    assert '<html lang="de"' in odile.client.get("/").content.decode()
    assert '<html lang="en"' in bram.client.get("/").content.decode()
    assert odile.client.get("/api/items/").status_code == 200
    assert (readers.language(), readers.system()) == ("en", "metric")


def test_what_is_refused_is_stored_in_english_whoever_reads(yard: Store, bram: Browser) -> None:
    Person.objects.filter(name="Bram").update(language="de", units="us")
    bram.client.post("/do/move/", {"item": "C-12", "place": "NOWHERE", "key": "0b9a3b6e-7f0c-4f5e-9a53-6c6e2f3f1d10"})
    for reasons in Refusal.objects.values_list("reasons", flat=True):
        assert all(reason[1] == str.__str__(reason[1]) for reason in json.loads(reasons))
    assert isinstance(say("One word"), Said)


def test_figures_of_a_sentence_follow_who_reads_and_words_of_people_do_not() -> None:
    dwell, ramp = stage_text(Dwell("hold", 180_000, 185_000, 3_600_000_000)), say("rise {rise} °C/min", rise="3")
    cup, note = str(Stand("cup", 90_000)), say("dried: {note}", note="4 h at 80 °C")
    assert "180 to 185 °C" in dwell and str.__str__(cup) == "cup, 90 mm across"
    with readers.reading("en", "us"):
        assert "356 to 365 °F" in read_out(dwell) and read_out(ramp) == "rise 5.4 °F/min"
        assert read_out(cup) == "cup, 3.543 in across" and read_out(note) == "dried: 4 h at 80 °C"
        assert readers.shown("cup, 90 mm across") == "cup, 3.543 in across", "also where it was stored"
    with readers.reading("de", "us"):
        assert "°F" in read_out(dwell) and "°C" not in read_out(dwell)
    assert "°C" in read_out(dwell)
