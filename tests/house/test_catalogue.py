"""The catalogues of translations: every message of the code is in them, nothing else, and what is read at run time is made of them."""

from __future__ import annotations

import re

import pytest

from inventory import messages
from inventory.catalogue import Key, mo_bytes, read_po
from inventory.core.said import say, say_n
from inventory.core.unsaid import Known
from inventory.management.commands.messages import DOMAINS, LANGUAGES, folder

pytestmark = pytest.mark.once

BOOKS = [(language, domain) for language in LANGUAGES for domain in DOMAINS]
_HOLE = re.compile(r"\{\w+\}|%\(\w+\)[sd]|%[sd]")
_TAG = re.compile(r"</?\w+")


@pytest.mark.parametrize(("language", "domain"), BOOKS)
def test_the_catalogue_holds_every_message_of_the_code_and_no_other(language: str, domain: str) -> None:
    known, said = read_po(folder(language) / f"{domain}.po"), DOMAINS[domain]()
    assert said, "messages are found"
    assert [key.text for key in said if key not in known] == [], "run manage.py messages, and translate what is new"
    assert [key.text for key in known if key not in said] == [], "run manage.py messages: these are no longer said"


@pytest.mark.parametrize(("language", "domain"), BOOKS)
def test_what_is_read_at_run_time_is_made_of_the_catalogue(language: str, domain: str) -> None:
    book = read_po(folder(language) / f"{domain}.po")
    assert (folder(language) / f"{domain}.mo").read_bytes() == mo_bytes(book, language), "run manage.py messages"


@pytest.mark.parametrize(("language", "domain"), BOOKS)
def test_a_translation_has_the_figures_the_markup_and_the_ends_of_its_message(language: str, domain: str) -> None:
    wrong = []
    for key, entry in read_po(folder(language) / f"{domain}.po").items():
        for text, said in zip((key.text, key.many), entry.said, strict=False):
            if said and (
                set(_HOLE.findall(text)) != set(_HOLE.findall(said))
                or sorted(_TAG.findall(text)) != sorted(_TAG.findall(said))
                or (text[:1] == " ", text[-1:] == " ") != (said[:1] == " ", said[-1:] == " ")
            ):
                wrong.append((text, said))
    assert wrong == []


def test_a_message_is_found_wherever_it_is_said() -> None:
    source = 'a = say("One {x}", x=1)\nb = say_n("{n} roll", "{n} rolls", 2)\nc = say_as("verb", "open")\nlog.info("not said")'
    assert set(messages.in_python(source)) == {Key("One {x}"), Key("{n} roll", "", "{n} rolls"), Key("open", "verb")}
    template = '{% load i18n %}{% translate "Name" %}{% table _("Lots") c r %}{% blocktranslate %}of {{ n }}{% endblocktranslate %}'
    assert set(messages.in_template(template)) == {Key("Name"), Key("Lots"), Key("of %(n)s")}


def test_a_stored_sentence_is_known_by_its_template() -> None:
    known = Known(["{label} is over: {used} of {allowed} used.", "out life", "{x} is {y}."])
    text = say("{label} is over: {used} of {allowed} used.", label="out life", used="114 h 10", allowed="72 h")
    found = known.find(str.__str__(text))
    assert found is not None and found == text
    assert found.template == "{label} is over: {used} of {allowed} used."  # type: ignore[attr-defined]
    assert type(found.values["label"]).__name__ == "Said"  # type: ignore[attr-defined]
    assert known.find("what somebody typed") is None


def test_what_is_said_stays_itself_through_what_is_done_with_it() -> None:
    text = say("{left} left", left=say_n("{n} piece", "{n} pieces", 3))
    assert [str.__str__(t) for t in (text, text + ".", "(" + text, text.strip(), text[:1].upper() + text[1:])] == [
        "3 pieces left", "3 pieces left.", "(3 pieces left", "3 pieces left", "3 pieces left",
    ]  # fmt: skip
    assert all(type(t) is not str for t in (text, text + ".", "(" + text, text.strip(), text[1:]))


@pytest.mark.parametrize(("language", "domain"), BOOKS)
def test_every_message_is_translated(language: str, domain: str) -> None:
    book = read_po(folder(language) / f"{domain}.po")
    assert [key.text for key, entry in book.items() if not all(entry.said)] == []
