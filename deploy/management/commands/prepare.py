"""`manage.py prepare`: migrate, check, gather static files, and fill an empty database."""

import io
import json
import secrets
import sys
from typing import Any

from django.core.management import CommandError, call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, connection, transaction

from deploy import checks, owner

DEMO = "QUILL"  # the code of the demo's site


class Command(BaseCommand):
    """Speaks to a person on standard error; the last line of standard output is a JSON report for deploy/start."""

    help = "Bring the database up to date, check its guards, and fill it when it is empty."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """`--empty`: one owner instead of the demo shop."""
        parser.add_argument("--empty", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        """Migrate, check, fill, report."""
        self._migrate()
        self.check(databases=["default"])
        checks.require_a_guarded_ledger()
        call_command("collectstatic", interactive=False, verbosity=0, stdout=io.StringIO())
        password = self._fill(empty=options["empty"])
        self.stdout.write(json.dumps(self._report(password)))

    def _say(self, text: str) -> None:
        sys.stderr.write(f"  {text}\n")

    def _migrate(self) -> None:
        try:
            connection.ensure_connection()
            count = checks.unapplied(connection)
        except OperationalError as error:
            raise CommandError(f"the database cannot be opened: {str(error).strip()}") from None
        if count:
            self._say(f"applying {count} migrations")
        # Also when there are none: migrate puts the guards of the records in place.
        call_command("migrate", interactive=False, verbosity=0, skip_checks=True)

    def _fill(self, empty: bool) -> str:
        """Fill a database without a shop; returns the password when one was made."""
        from inventory.models import Site

        if Site.objects.exists():
            return ""
        if empty:
            return owner.create_owner()
        self._say("loading the demo shop (a minute or so)")
        password = secrets.token_urlsafe(9)
        # Whole or not at all: a loading that is killed leaves an empty database, and the next start begins again.
        with transaction.atomic():
            call_command("demo", password=password, stdout=sys.stderr)
        return password

    def _report(self, password: str) -> dict[str, Any]:
        from inventory.models import Site, User

        users = User.objects.filter(is_active=True, person__isnull=False).select_related("person").prefetch_related("person__roles")
        people = [
            (user.username, ", ".join(sorted(role.role for role in user.person.roles.all())))
            for user in users.order_by("pk")[:12]
            if user.person
        ]
        # The story writes records: it belongs into the demo shop and nowhere else.
        demo = list(Site.objects.values_list("code", flat=True)[:2]) == [DEMO]
        return {
            "sign_ins": people,
            "password": password,
            "password_of": "each of them" if demo else owner.NAME,
            "demo": demo,
        }
