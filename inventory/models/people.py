"""Who: sites, people, their roles, sign-ins, devices and tokens.

A *person* is who did it; a *user* is a sign-in. They are apart so that a name can be erased from a person without
touching a record, and so that a badge can name a person who never signs in (R31).
"""

from __future__ import annotations

from django.contrib.auth.models import AbstractUser
from django.db import models

from inventory.core.said import say


class Site(models.Model):
    """A shop. Everything that happens belongs to one; its zone gives dates their meaning (R41)."""

    code = models.CharField(max_length=16, unique=True)
    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=64, default="UTC")

    def __str__(self) -> str:
        return self.name


class Language(models.TextChoices):
    """Each named in its own words, so that whoever reads it finds it."""

    BROWSER = "", say("as the browser says")
    ENGLISH = "en", "English"
    GERMAN = "de", "Deutsch"


class Units(models.TextChoices):
    METRIC = "metric", say("metric: metres, kilograms, °C")
    US = "us", say("US: yards, pounds, °F")


class Person(models.Model):
    """Somebody who does things at a site. `badge` is the code printed on the badge, stored hashed."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="people")
    name = models.CharField(max_length=120)
    badge_sha256 = models.CharField(max_length=64, null=True, blank=True, unique=True, editable=False)
    email = models.EmailField(blank=True, help_text="For the morning list; empty means no mail.")
    ended_us = models.BigIntegerField(null=True, blank=True)
    language = models.CharField(max_length=2, blank=True, default="", choices=Language.choices, help_text="Of the pages that they read.")
    units = models.CharField(max_length=6, default="metric", choices=Units.choices, help_text="In which pages show measures to them.")

    class Meta:
        verbose_name_plural = "people"
        constraints = [
            models.CheckConstraint(condition=models.Q(language__in=Language.values), name="person_language_known"),
            models.CheckConstraint(condition=models.Q(units__in=Units.values), name="person_units_known"),
        ]

    def __str__(self) -> str:
        return self.name


class RoleName(models.TextChoices):
    STOREKEEPER = "storekeeper", say("Storekeeper")
    BUILDER = "builder", say("Builder")
    QUALITY = "quality", say("Quality")
    OWNER = "owner", say("Owner")
    AUDITOR = "auditor", say("Auditor (reads everything, changes nothing)")


class Role(models.Model):
    """One role of one person; a person may hold several (domain §1)."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="roles")
    role = models.CharField(max_length=16, choices=RoleName.choices)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "role"], name="role_once"),
            models.CheckConstraint(condition=models.Q(role__in=RoleName.values), name="role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.person} is {self.role}"


class User(AbstractUser):
    """A sign-in. What it may do follows from its person's roles, looked up at every request."""

    person = models.OneToOneField(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="user")


class Device(models.Model):
    """Where a record was made: a browser, a tablet, a service, a command (R31)."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="devices")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=16, default="browser")
    seen_us = models.BigIntegerField(default=0, help_text="Last contact; a late scan is never dated before it.")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "name"], name="device_name_once_per_site")]

    def __str__(self) -> str:
        return self.name


class Token(models.Model):
    """A machine's key to the API: stored hashed, named, scoped, ending, revocable."""

    name = models.CharField(max_length=80)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="tokens")
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="tokens")
    sha256 = models.CharField(max_length=64, unique=True, editable=False)
    scopes = models.CharField(max_length=200, default="read", help_text="Space separated: read, write, replay.")
    created_us = models.BigIntegerField()
    until_us = models.BigIntegerField(null=True, blank=True)
    revoked_us = models.BigIntegerField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name
