"""Places that are counted: what was seen there, by whom and when."""

from __future__ import annotations

from django.db import models

from .items import Item
from .ledger import Act
from .people import Person, Site
from .places import Location


class CountSheet(models.Model):
    """A place is being counted, or was. A working paper while it is under way, kept ever after: what it found is written by acts, which
    are the truth; the sheet says who counted, when, and what was not found. `rev` rises with every change of its lines, so that nobody
    confirms what they have not seen."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="counts")
    begun_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    begun_us = models.BigIntegerField()
    rev = models.IntegerField(default=0)
    ended_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    ended_us = models.BigIntegerField(null=True)
    dropped = models.BooleanField(default=False, help_text="Left off: nothing of it was written.")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["location"], condition=models.Q(ended_us__isnull=True), name="one_count_at_a_place"),
            models.CheckConstraint(
                condition=models.Q(ended_us__isnull=True, ended_by__isnull=True) | models.Q(ended_us__isnull=False, ended_by__isnull=False),
                name="count_ended_by_somebody",
            ),
            models.CheckConstraint(condition=models.Q(dropped=False) | models.Q(ended_us__isnull=False), name="count_left_off_is_over"),
        ]
        indexes = [models.Index(fields=["location", "-ended_us"], name="count_latest")]

    def __str__(self) -> str:
        return f"count {self.pk}"


class CountLine(models.Model):
    """One thing on a count: seen there, or (without `seen_us`) not found when it ended. `booked`, `book` and `gone` are what the book had
    at that moment. `counted` waits for the end, which writes it as of `measured_us`. `asks`: somebody has to decide; a later record of
    the thing answers that, or a word (`settled`)."""

    sheet = models.ForeignKey(CountSheet, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    seen_us = models.BigIntegerField(null=True)
    seen_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    booked = models.ForeignKey(Location, null=True, on_delete=models.PROTECT, related_name="+")
    book = models.BigIntegerField(default=0)
    gone = models.CharField(max_length=10, default="", blank=True)
    counted = models.BigIntegerField(null=True)
    measured_us = models.BigIntegerField(null=True)
    how = models.CharField(max_length=40, default="", blank=True)
    typed = models.CharField(max_length=200, default="", blank=True, help_text="The figures as they were typed.")
    reason = models.CharField(max_length=200, default="", blank=True)
    struck = models.BooleanField(default=False, help_text="Taken off the sheet again while it was under way.")
    act = models.ForeignKey(Act, null=True, on_delete=models.PROTECT, related_name="+")
    asks = models.BooleanField(default=False)
    settled_us = models.BigIntegerField(null=True)
    settled_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    settled = models.CharField(max_length=200, default="", blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["sheet", "item"], name="count_line_once"),
            models.CheckConstraint(
                condition=models.Q(counted__isnull=True, measured_us__isnull=True)
                | models.Q(counted__isnull=False, counted__gte=0, measured_us__isnull=False),
                name="count_line_counted_at_an_instant",
            ),
            models.CheckConstraint(
                condition=models.Q(seen_us__isnull=True, seen_by__isnull=True) | models.Q(seen_us__isnull=False, seen_by__isnull=False),
                name="count_line_seen_by_somebody",
            ),
            models.CheckConstraint(
                condition=models.Q(settled_us__isnull=True, settled_by__isnull=True)
                | (models.Q(settled_us__isnull=False, settled_by__isnull=False) & ~models.Q(settled="")),
                name="count_line_settled_by_a_word",
            ),
        ]
        indexes = [models.Index(fields=["item"], name="count_asks", condition=models.Q(asks=True, settled_us__isnull=True))]


class CountTold(models.Model):
    """A change of a sheet that was told, by its sender's key: told twice it counts once (R32), and its amount keeps the instant at which it
    was measured. `said`: the hash of what was told. Insert-only."""

    sheet = models.ForeignKey(CountSheet, on_delete=models.PROTECT, related_name="+")
    key = models.UUIDField()
    said = models.CharField(max_length=64)

    class Meta:
        verbose_name, verbose_name_plural = "change of a count", "changes of counts"
        constraints = [models.UniqueConstraint(fields=["sheet", "key"], name="count_told_once")]
