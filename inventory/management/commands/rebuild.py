"""manage.py rebuild: refold every item from its records and report differences (there are never any)."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.clock import now_us
from inventory.models import Site
from inventory.recording.rebuild import rebuild


class Command(BaseCommand):
    help = "Refold every item from its records and compare with what is stored. Exit 1 on any difference."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--repair", action="store_true", help="Store what the records say where it differs.")

    def handle(self, *args: Any, **options: Any) -> None:
        bad = 0
        for site in Site.objects.order_by("code"):
            report = rebuild(site, now_us(), options["repair"])
            bad += len(report.differences)
            for line in report.differences[:200]:
                self.stdout.write(line)
            self.stdout.write(f"{site.code}: {report.items} items, {report.edges} edges refolded, {len(report.differences)} differences")
        if bad:
            raise CommandError(f"{bad} differences between the records and what is stored.")
