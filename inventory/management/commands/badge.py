"""manage.py badge: make a new badge for somebody. Its code is shown once, and as a picture if wanted, and stored hashed."""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.core import codes
from inventory.models import Person
from inventory.pages.signing import badge_digest
from inventory.printing.symbols import Matrix, matrix

QUIET = 4  # modules of white on each side of a QR code: ISO/IEC 18004


class Command(BaseCommand):
    help = "Make a new badge for a person: a code to print. A badge that the person had before says nothing from then on."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("person")
        parser.add_argument("--svg", metavar="FILE", help="Also draw it as a QR code, to print and to carry.")

    def handle(self, *args: Any, **options: Any) -> None:
        people = list(Person.objects.filter(name=options["person"], ended_us__isnull=True))
        if len(people) != 1:
            raise CommandError(f"There is not exactly one person named {options['person']}: look under Admin, People.")
        person, code = people[0], codes.make(secrets.token_bytes(16), "person")
        if options["svg"]:
            # Before the old badge ends: a badge that could not be drawn is nobody's.
            try:
                Path(options["svg"]).write_text(drawn(matrix("qr", code)), encoding="utf-8")
            except OSError as error:
                raise CommandError(f"{options['svg']} cannot be written: {error.strerror}. Nothing was changed.") from error
        Person.objects.filter(pk=person.pk).update(badge_sha256=badge_digest(code))
        self.stdout.write(code)
        self.stderr.write("Print it as a QR code, or type it: it is not shown again.")


def drawn(rows: Matrix) -> str:
    """The symbol with its quiet zone, black on white, 30 mm wide, as SVG 1.1."""
    size = len(rows) + 2 * QUIET
    dark = "".join(f"M{x + QUIET} {y + QUIET}h1v1h-1z" for y, row in enumerate(rows) for x, on in enumerate(row) if on)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="30mm" viewBox="0 0 {size} {size}" shape-rendering="crispEdges">'
    return f'{head}<path fill="#fff" d="M0 0h{size}v{size}H0z"/><path d="{dark}"/></svg>\n'
