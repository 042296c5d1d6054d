"""German as a shop speaks it: one word for each thing, two words where English has one for two, and nothing said past the catalogue.

The glossary is the trade's usual German, from memory (no source): whoever changes a term changes it here, and everywhere.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps

from inventory import messages
from inventory.catalogue import Key, read_po
from inventory.management.commands.messages import DOMAINS, folder

pytestmark = pytest.mark.once

GLOSSARY = {
    "lot": ("Charge", r"\bLos(es)?\b(?!$)|\bLose\b|\bPartie\b"),
    "roll": ("Rolle", r"\bCoil\b"),
    "can": ("Kanister", r"\bDosen?\b"),
    "kit": ("Zuschnitt", r"\bKits?\b"),
    "pot": ("Ansatz", r"\b(der|dieser|einen?) Topf\b"),
    "pot life": ("Topfzeit", r"\bTopflebens\w*"),
    "out life": ("Auslagerzeit", r"\bOut.?[Tt]ime\b|\bAußenzeit\b"),
    "resin": ("Harz", r"\bResin\b"),
    "hardener": ("Härter", r"\bHärtemittel\b"),
    "ply": ("Lage", r"\bPlies\b"),
    "recipe": ("Rezeptur", r"\bRezept(e|en|s)?\b"),
    "version": ("Version", r"\bFassung\b"),
    "tray": ("Schale", r"\bTabletts?\b(?= ?\d|,)"),
    "thing": ("Stück", r"\bDing(e|en|s)?\b|\bGegenst[aä]nd"),
    "disposition": ("Entscheidung", r"\bEntscheid(e|s)?\b"),
    "fibre fraction by volume": ("Faservolumengehalt", r"\bFaservolumenanteil\b"),
    "permeability": ("Permeabilität", r"\bDurchlässigkeit\b"),
    "glass temperature": ("Glasübergangstemperatur", r"\bGlastemperatur|\bGlasübergang\b"),
    "bagged": ("im Vakuumsack", r"[Ee]in(ge|zu)?tüte"),
    "The bag is clear of it.": ("Der Beutel liegt darüber.", r"\bSack(s|es)?\b"),
    "Core or can": ("Hülse oder Kanister", r"\bRollenkern\w*"),
    "the logger's file": ("die Datei des Datenloggers", r"\bLogger(s|datei|uhr)?\b"),
}
"""English as it is said, German for it, and what is no longer said for the same. A resin's dose is „Dosis“, a storage bag „Beutel“, a
vacuum bag „Vakuumsack“, the core of a roll „Hülse“, that of a sandwich „Kern“."""

TWO = {
    ("a page", "Open"): ("Open", "opens a page, not a roll's bag"),
    ("a number", "Count"): ("Count", "how many, not the deed"),
    ("how long", "For"): ("For", "a duration, not a purpose"),
    ("a source", "From"): ("From", "where a figure is from, not when something began"),
    ("a customer", "To"): ("To", "to whom, not until when"),
    ("a recipe", "none"): ("none", "das Härteprogramm, die Kinetik"),
    ("a temperature", "Line"): ("Line", "a limit, not a row of the schedule"),
    ("a length", "Run"): ("Run", "what is cut into pieces, not an oven's run"),
    ("of a roll", "Core"): ("Core", "the tube, not the sandwich's"),
    ("of a count", "sheet"): ("sheet", "of paper, not of material"),
}
"""A word with what it is about, the same word for something else, and what tells them apart."""

RAISED = {"BadInput": 1, "Reason": 1, "ValidationError": 0}
"""What carries a sentence to a person, and at which place."""


def book() -> dict[Key, tuple[str, ...]]:
    return {key: entry.said for domain in DOMAINS for key, entry in read_po(folder("de") / f"{domain}.po").items()}


@pytest.mark.parametrize("word", GLOSSARY)
def test_a_thing_has_one_german_word(word: str) -> None:
    german, other = GLOSSARY[word]
    said = book()
    assert said[Key(word)] == (german,)
    assert [text for texts in said.values() for text in texts if re.search(other, text)] == []


def test_what_english_calls_the_same_german_tells_apart() -> None:
    said, found = book(), messages.found()
    for (about, text), (plain, why) in TWO.items():
        assert Key(text, about) in found and Key(plain) in found, (about, text)
        assert said[Key(text, about)] != said[Key(plain)], f"{text}: {why}"


def test_a_hint_does_not_end_in_a_word_that_leads_on() -> None:
    """The hint of a field is what its description says up to the next field."""
    from inventory.pages.verbforms import field_words
    from inventory.verbs.registry import VERBS

    hints = [hint for verb in VERBS.values() for hint in field_words(verb.params).values()]
    assert len(hints) > 100
    assert [hint for hint in hints if re.search(r"(^|\s)(and|or)$", hint)] == []


def unmarked(source: str) -> Iterator[tuple[int, str]]:
    """Sentences that reach a person without having been said so that they can be translated."""
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else node.func.attr if isinstance(node.func, ast.Attribute) else ""
        if name in RAISED and len(node.args) > RAISED[name]:
            text = node.args[RAISED[name]]
            plain = isinstance(text, ast.Constant) and isinstance(text.value, str) and " " in text.value
            if plain or isinstance(text, ast.JoinedStr):
                yield node.lineno, ast.unparse(text)


def test_what_is_refused_is_refused_in_the_readers_language() -> None:
    found = []
    for app in messages.APPS:
        root = Path(apps.get_app_config(app).path)
        for path in root.rglob("*.py"):
            if not messages._left_out(path, root):
                found += [f"{app}/{path.relative_to(root)}:{line}: {text}" for line, text in unmarked(path.read_text(encoding="utf-8"))]
    assert found == []
    assert len(list(unmarked('BadInput("a", "It is wrong.")\nReason("a", f"No {x}")\nBadInput("b", say("Right."))'))) == 2
