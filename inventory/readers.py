"""Who reads now: the language that Django has active, and the units of the person for whom this page is made.

Only pages, mails and labels have a reader. The interface for machines, records and commands say what is written: English, metric.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

from django.utils import translation
from django.utils.safestring import mark_safe
from django.utils.translation import gettext, ngettext, pgettext
from django.utils.translation.trans_real import DjangoTranslation
from django.utils.translation.trans_real import translation as catalogue

from inventory.core import lives, said, spans, temperature, units
from inventory.core.ownunits import in_us_units
from inventory.core.said import CANONICAL, Joined, Measured, Reader, Told, first_up, read_out
from inventory.core.unsaid import Known
from inventory.models import Person

LANGUAGES = ("en", "de")
SYSTEMS = ("metric", "us")
_SYSTEM: ContextVar[str] = ContextVar("units", default="metric")


class _Now:
    """Reads in Django's active language and in the units that are set."""

    @property
    def system(self) -> str:
        return _SYSTEM.get()

    def word(self, template: str, about: str) -> str:
        if not template:
            return ""
        return pgettext(about, template) if about else gettext(template)

    def plural(self, one: str, many: str, n: int) -> str:
        return ngettext(one, many, n)

    def figures(self, template: str, values: dict[str, Any]) -> tuple[str, dict[str, Any]]:
        return in_us_units(template, values) if self.system == "us" else (template, values)


_NOW = _Now()


def language() -> str:
    """The active language by its two letters."""
    return (translation.get_language() or "en")[:2]


def system() -> str:
    return _SYSTEM.get()


def who() -> Reader:
    return CANONICAL if language() == "en" and system() == "metric" else _NOW


def canonical() -> bool:
    """Whoever reads now reads what is written."""
    return who() is CANONICAL


def listen() -> None:
    """Called once, when the application is ready."""
    said.listen(who, mark_safe)


def chosen(language_: str, system_: str) -> None:
    """From here to the end of the request this is how it is read. An empty language is the browser's."""
    if language_ in LANGUAGES:
        translation.activate(language_)
    _SYSTEM.set(system_ if system_ in SYSTEMS else "metric")


@contextmanager
def reading(language_: str, system_: str = "metric") -> Iterator[None]:
    """While it lasts, somebody reads so."""
    token = _SYSTEM.set(system_ if system_ in SYSTEMS else "metric")
    try:
        with translation.override(language_ if language_ in LANGUAGES else "en"):
            yield
    finally:
        _SYSTEM.reset(token)


def keep(person: int, language_: str, system_: str) -> None:
    """How somebody reads, from the next page on. It is no record: it changes nothing that is shown but its words."""
    Person.objects.filter(pk=person).update(language=language_, units=system_)


@lru_cache(maxsize=8)
def script_words(language_: str) -> dict[str, str]:
    """What scripts say, by its English; empty for English."""
    if language_ == "en":
        return {}
    words = DjangoTranslation(language_, domain="djangojs", localedirs=[str(Path(__file__).parent / "locale")])._catalog  # type: ignore[attr-defined]
    return {key: said_ for key, said_ in words.items() if key and isinstance(key, str) and key != said_}


# --- what was stored as text ------------------------------------------------------------------------

_QUANTITY = re.compile(r"([−-]?\d+(?:\.\d+)?) (m|mm|µm|m²|cm²|mm²|kg|g|mg|µg|°C)")
_BASE = {"m": "um", "mm": "um", "µm": "um", "m²": "cmm2", "cm²": "cmm2", "mm²": "cmm2", "kg": "ug", "g": "ug", "mg": "ug", "µg": "ug"}
_MOMENT = re.compile(
    rf"(?P<weekday>{'|'.join(map(str, spans.DAYS))}) (?P<number>\d{{1,2}}) (?P<month>{'|'.join(map(str, spans.MONTHS))})"
    r"(?: (?P<clock>\d\d:\d\d))?"
)
"""A day as `spans.day_name` says it, and an instant as `spans.day_text` does."""
_SENTENCE = re.compile(r"(?<=[.!?]) (?=\S)")


@lru_cache(maxsize=1)
def _known() -> Known:
    templates = [key for key, _ in catalogue("de")._catalog.items() if isinstance(key, str) and "\x04" not in key]  # type: ignore[attr-defined]
    return Known(templates, _figure)


def _figure(text: str) -> Told | None:
    """A value that is no sentence: a measure, a day, or a name of ours that begins a sentence."""
    return _quantity(text) or _moment(text) or _name(text)


def _moment(text: str) -> Told | None:
    found = _MOMENT.fullmatch(text)
    if not found:
        return None
    weekday, month = spans.DAYS[spans.DAYS.index(found["weekday"])], spans.MONTHS[spans.MONTHS.index(found["month"])]
    day = spans.day_words(weekday, int(found["number"]), month)
    return spans.at_clock(day, found["clock"]) if found["clock"] else day  # type: ignore[return-value]


def _name(text: str) -> Told | None:
    """A limit by its short name, or with the capital of a sentence's first word."""
    said = lives.spoken(text)
    if isinstance(said, Told):
        return said
    small = text[:1].lower() + text[1:]
    found = lives.LONG.get(small) if small != text else None
    return first_up(found) if found is not None else None  # type: ignore[return-value]


def _quantity(text: str) -> Told | None:
    found = _QUANTITY.fullmatch(text)
    if not found:
        return None
    number = found[1].replace("−", "-")
    if found[2] == "°C":
        mc = temperature.parse_celsius(number, "°C")
        return Measured(text, partial(_degrees, mc))
    value = units.parse(number, found[2], _BASE[found[2]], allow_zero=True, allow_negative=True)
    return Measured(text, partial(_amount, value, _BASE[found[2]]))


def _degrees(mc: int, system_: str) -> str:
    return str.__str__(temperature.display_celsius(mc, system_))


def _amount(value: int, base: str, system_: str) -> str:
    return str.__str__(units.display(value, base, "us" if system_ == "us" else "metric"))


@lru_cache(maxsize=4096)
def again(text: str) -> str:
    """A sentence that was stored as text, as a `Told` if it is one of ours: its template is found again by what stands between its
    values. Several sentences are looked at one by one; what nobody here wrote stays as it is."""
    found = _known().find(text)
    if found is not None or " " not in text:
        return found or text
    parts = _SENTENCE.split(text)
    if len(parts) < 2:
        return text
    each = [_known().find(part) for part in parts]
    if not any(each):
        return text
    laid: list[str] = []
    for part, told in zip(parts, each, strict=True):
        laid += [" "] * bool(laid) + [told or part]
    return Joined(tuple(laid))


def shown(text: object) -> str:
    """As whoever reads now is to see it, also where it is a sentence that was stored."""
    if isinstance(text, Told):
        return text.to(who())
    plain = text if isinstance(text, str) else str(text)
    if isinstance(plain, Told):
        return plain.to(who())
    reader = who()
    return plain if reader is CANONICAL else read_out(again(plain), reader)
