"""manage.py messages: bring the catalogues of translations up to the code, and make of them what is read at run time."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.apps import apps
from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory import messages
from inventory.catalogue import Catalogue, merged, mo_bytes, read_po, write_po

LANGUAGES = ("de",)
DOMAINS = {"django": messages.found, "djangojs": messages.in_scripts}
"""Files by what uses them: pages, and the scripts of pages."""


def folder(language: str) -> Path:
    return Path(apps.get_app_config("inventory").path) / "locale" / language / "LC_MESSAGES"


def current(language: str, domain: str) -> Catalogue:
    """The catalogue as it should stand: every message of the code, with what is translated."""
    path = folder(language) / f"{domain}.po"
    return merged(DOMAINS[domain](), read_po(path) if path.exists() else {})


class Command(BaseCommand):
    help = "Bring inventory/locale up to the code: new messages in, gone ones out, and the .mo files anew."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--strict", action="store_true", help="Exit 1 if anything is not translated.")

    def handle(self, *args: Any, **options: Any) -> None:
        open_ = 0
        for language in LANGUAGES:
            folder(language).mkdir(parents=True, exist_ok=True)
            for domain in DOMAINS:
                catalogue = current(language, domain)
                write_po(folder(language) / f"{domain}.po", catalogue, language)
                (folder(language) / f"{domain}.mo").write_bytes(mo_bytes(catalogue, language))
                missing = sum(not all(entry.said) for entry in catalogue.values())
                open_ += missing
                self.stdout.write(f"{language}, {domain}: {len(catalogue)} messages, {missing} not translated")
        if open_ and options["strict"]:
            raise CommandError(f"{open_} messages are not translated.")
