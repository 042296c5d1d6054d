"""The first person of an empty shop."""

import secrets
from pathlib import Path

from django.db import transaction

from inventory.models import Person, Role, RoleName, Site, User

NAME = "owner"


@transaction.atomic
def create_owner() -> str:
    """Make a shop with one owner who may sign in and keep the master data; returns the password, which is kept nowhere."""
    password = secrets.token_urlsafe(12)
    site = Site.objects.create(code="SHOP", name="New shop", zone=zone_of_this_machine())
    person = Person.objects.create(site=site, name="Owner")
    Role.objects.create(person=person, role=RoleName.OWNER)
    user = User(username=NAME, person=person, is_staff=True, is_superuser=True)
    user.set_password(password)
    user.save()
    return password


def zone_of_this_machine() -> str:
    """The zone name that /etc/localtime points to; UTC when that says nothing."""
    try:
        target = Path("/etc/localtime").resolve().as_posix()
    except OSError:
        return "UTC"
    name = target.partition("zoneinfo/")[2]
    return "UTC" if not name or name in ("Etc/UTC", "Universal", "Zulu") else name
