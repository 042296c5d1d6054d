"""No English is left on a page that somebody reads in another language.

Every message of the catalogue is put into letters that English has not (ｆｕｌｌ ｗｉｄｔｈ), its values stay as they are. Then every
page that a link leads to is looked at: what is still written in plain letters must be data (a code, a name, a unit), or it was never
said in a way that can be translated.
"""

from __future__ import annotations

import html
import re
import string
from collections.abc import Iterator

import pytest
from django.apps import apps
from django.db import models
from django.utils.translation import trans_real

from inventory import messages, readers
from inventory.models import Person

from .browsing import Browser, Clock
from .store import Store
from .test_accessible_browser import pages_of

pytestmark = [pytest.mark.slow, pytest.mark.once]

_KEPT = re.compile(r"(\{\w*\}|%\(\w+\)[sd]|%[sd%]|<[^>]*>|&\w+;)")
_WIDE = {ord(letter): ord(letter) + 0xFEE0 for letter in string.ascii_letters}
_WORD = re.compile(r"(?<![\w{-])[A-Za-z]{2,}(?![\w-]*\d)")
_ATTRIBUTE = re.compile(r'(?:aria-label|title|alt|placeholder|data-confirm[\w-]*|data-label|data-stop-word)="([^"]*)"')
_UNSEEN = re.compile(r"<(script|style|head|code|textarea|pre)\b.*?</\1>|<!--.*?-->", re.DOTALL)
SENTENCES = ("Finding", "Nonconformance", "Flag", "Act", "Leg")
"""Tables whose texts we wrote ourselves."""
TYPED = {
    "/receive/file/": "headings of a file, which are looked for in English",
    "/labels/": "a label's face has no wide letters, so its text is not read here",
    "/numbers/cure-chart/": "a cure recipe is written in its own words",
    "/receive/labels/new/": "the names of a pattern's pieces are typed as they stand",
    "/numbers/cure/": "kinetics are named by the words in which they are typed",
    "/floor/": "what is kept on the tablet is in the language of whoever opened it with a network",
}
"""Pages with words in them that are typed as they stand, and why."""
NAMES = {"selvedge", "english", "deutsch", "diluent", "filler", "temperature"}
"""Our own name, languages, which are named in their own words, and what examples of worksheets call their components and columns."""
UNITS = set("mm cm kg mg min Pa kPa MPa GPa mbar bar psi tex den dtex ml gal qt mol eq kJ cP mPa phr ppm mil pc lb oz yd ft km um".split())  # noqa: SIM905
UNITS |= {"xy", "yx", "EEW", "AHEW", "RH", "UTC"}


def wide(text: str) -> str:
    """The text in full-width letters; placeholders and markup stay."""
    return "".join(part if n % 2 else part.translate(_WIDE) for n, part in enumerate(_KEPT.split(text)))


class Wide(trans_real.DjangoTranslation):
    """German, as if every message in its catalogue were translated into wide letters."""

    def __init__(self) -> None:
        super().__init__("de")
        own = {key.text: (key.about, key.many) for key in messages.found()}
        self.known = {*own, *(many for _, many in own.values()), *(key for key, _ in self._catalog.items() if isinstance(key, str))}

    def gettext(self, message: str) -> str:
        text = message.rpartition("\x04")[2]  # before it stands what the message is about
        return wide(text) if text in self.known else message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)

    def pgettext(self, context: str, message: str) -> str:
        return self.gettext(message)


@pytest.fixture
def in_wide_letters(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    trans_real.translation("de")
    readers._known()
    readers.again.cache_clear()
    monkeypatch.setitem(trans_real._translations, "de", Wide())
    yield
    readers.again.cache_clear()


def data_words() -> set[str]:
    """Every word that stands in the shop's own tables: names, codes, reasons that people gave."""
    found: set[str] = set()
    for model in apps.get_models():
        fields = [f.name for f in model._meta.local_fields if isinstance(f, models.CharField | models.TextField)]
        if fields and model._meta.app_label in ("inventory", "layups") and model.__name__ not in SENTENCES:
            for row in model._default_manager.values_list(*fields):
                found.update(word.casefold() for text in row if text for word in _WORD.findall(text))
    return found


def left_in_english(page: str, data: set[str]) -> list[str]:
    """The pieces of text in which plain letters are left."""
    body = _UNSEEN.sub(" ", page)
    texts = [*_ATTRIBUTE.findall(body), *re.split(r"<[^>]*>", body)]
    found = []
    for text in texts:
        plain = html.unescape(text).strip()
        if any(word.casefold() not in data and word not in UNITS and not word.isupper() for word in _WORD.findall(plain)):
            found.append(plain)
    return found


def test_no_page_is_left_in_english(yard: Store, clock: Clock, in_wide_letters: None) -> None:
    Person.objects.update(language="de")
    data, said = data_words() | NAMES, {}
    for who in ("Odile", "Marek", "Ines", "Bram"):
        browser = Browser(yard, who)
        found: dict[tuple[str, ...], str] = {}
        pages_of(browser, found, [])
        for path in found.values():
            if path.split("?")[0] in TYPED:
                continue
            for text in left_in_english(browser.client.get(path, follow=True).content.decode(), data):
                said.setdefault(text, path)
    assert not said, "\n".join(f"{path}: {text}" for text, path in sorted(said.items(), key=lambda row: row[1]))
