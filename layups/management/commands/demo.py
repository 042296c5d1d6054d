"""`manage.py demo`: make the demo shop in an empty database."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.clock import now_us
from inventory.models import Act, Item
from layups.demo import history
from layups.demo.anchor import Anchor, this_week
from layups.demo.master import NotEmpty, build_master


class Command(BaseCommand):
    help = "Make the demo shop, Quillstrand Boatyard, with a year and a half of history, in an empty database."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--anchor", metavar="YYYY-MM-DD", help="A day of the week in which the history ends (this week).")
        parser.add_argument("--password", help="The password of everybody in the shop (a fresh one is made and shown once).")

    def handle(self, *args: Any, **options: Any) -> None:
        now = now_us()
        anchor = _anchor(options["anchor"], now)
        password = options["password"] or secrets.token_urlsafe(9)
        until = min(now, anchor.at(0, history.ENDS))
        try:
            yard = build_master(anchor.at(0, "12:00"), password, tack_from_start=False)
        except NotEmpty as error:
            raise CommandError(str(error)) from None
        self.stdout.write(f"{yard.site.name}: from {anchor.text(history.BEGINS)} to {anchor.text(0)}, recorded call by call.")
        calls = history.write(yard).script.run(until, self._tell)
        items, acts = Item.objects.filter(site=yard.site).count(), Act.objects.filter(site=yard.site).count()
        self.stdout.write(f"{calls} calls, {acts} records, {items} things with a label.")
        names = ", ".join(user.username for user in yard.user.values())
        self.stdout.write(
            f"Sign in as {names}; the password of each, shown this once: {password}" if not options["password"] else f"Sign in as {names}."
        )

    def _tell(self, done: int, of: int) -> None:
        self.stdout.write(f"  {done} of {of}")
        self.stdout.flush()


def _anchor(text: str | None, now: int) -> Anchor:
    """The week that was asked for. Raises CommandError for what is no day, and for a week that has not begun."""
    if not text:
        return this_week(now)
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise CommandError(f"“{text[:20]}” is not a day: write it as 2026-03-30 (year-month-day).") from None
    anchor = Anchor(Anchor(day).day(-day.weekday()))
    if anchor.at(0) > now:
        raise CommandError(f"The week of {text} has not begun: nothing is recorded before it happens.")
    return anchor
