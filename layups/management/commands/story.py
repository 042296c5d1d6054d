"""`manage.py story`: the main job as it happens, in the demo shop. Run again, it shows the same records and adds none."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inventory.clock import now_us
from inventory.core.reasons import BadInput, Refused
from layups.demo.story import NoShop, tell


class Command(BaseCommand):
    help = "Perform and print the main job in the demo shop: a roll received, released, cut, built in, and traced."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            for line in tell(now_us()):
                self.stdout.write(line)
        except NoShop as error:
            raise CommandError(str(error)) from None
        except (Refused, BadInput) as error:
            raise CommandError(f"the shop has changed too much to tell the story: {error}") from None
