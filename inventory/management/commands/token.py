"""manage.py token: make, list and revoke keys for machines. A key is shown once and stored hashed."""

from __future__ import annotations

import hashlib
import secrets
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.clock import now_us
from inventory.models import Device, Person, Token

SCOPES = {"read", "write", "replay"}
DAY_US = 86_400_000_000


class Command(BaseCommand):
    help = "Make, list and revoke tokens for the interface for machines."

    def add_arguments(self, parser: CommandParser) -> None:
        ways = parser.add_subparsers(dest="way", required=True)
        make = ways.add_parser("create")
        make.add_argument("name")
        make.add_argument("--person", required=True, help="Whom its records name.")
        make.add_argument("--scopes", default="read", help="Comma separated: read, write, replay.")
        make.add_argument("--days", type=int, default=365)
        ways.add_parser("list")
        revoke = ways.add_parser("revoke")
        revoke.add_argument("name")

    def handle(self, *args: Any, **options: Any) -> None:
        getattr(self, options["way"])(options)

    def create(self, options: dict[str, Any]) -> None:
        scopes = set(options["scopes"].replace(",", " ").split())
        if not scopes or scopes - SCOPES:
            raise CommandError(f"Scopes are {', '.join(sorted(SCOPES))}.")
        people = list(Person.objects.filter(name=options["person"], ended_us__isnull=True))
        if len(people) != 1:
            raise CommandError(f"There is not exactly one person named {options['person']}.")
        person, at = people[0], now_us()
        device, _ = Device.objects.get_or_create(site=person.site, name=options["name"][:80], defaults={"kind": "service"})
        secret = "sv_" + secrets.token_urlsafe(32)
        Token.objects.create(
            name=options["name"][:80],
            person=person,
            device=device,
            sha256=hashlib.sha256(secret.encode()).hexdigest(),
            scopes=" ".join(sorted(scopes)),
            created_us=at,
            until_us=at + options["days"] * DAY_US,
        )
        self.stdout.write(secret)
        self.stderr.write("Keep it: it is not shown again.")

    def list(self, options: dict[str, Any]) -> None:
        for token in Token.objects.select_related("person").order_by("pk"):
            state = "revoked" if token.revoked_us else "live"
            self.stdout.write(f"{token.name}: {token.person.name}, {token.scopes}, {state}")

    def revoke(self, options: dict[str, Any]) -> None:
        count = Token.objects.filter(name=options["name"], revoked_us__isnull=True).update(revoked_us=now_us())
        if not count:
            raise CommandError(f"There is no live token named {options['name']}.")
        self.stdout.write(f"{count} revoked.")
