"""Where: storage classes, places and what was measured in them.

A storage class is a temperature band and its rows never change: a movement copies the band's upper end, so an old
record keeps its meaning. A place's class never changes either; retire the place and make another.
"""

from __future__ import annotations

from django.db import models

from inventory.core.said import say

from .people import Site


class StorageClass(models.Model):
    """A temperature band in milli-degrees Celsius. No upper end means unknown, which counts as the hottest."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="storage_classes")
    name = models.CharField(max_length=60)
    low_mc = models.BigIntegerField(null=True, blank=True)
    high_mc = models.BigIntegerField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "storage classes"
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="storage_class_name_once"),
            models.CheckConstraint(
                condition=models.Q(low_mc__isnull=True) | models.Q(high_mc__isnull=True) | models.Q(low_mc__lte=models.F("high_mc")),
                name="storage_class_band_in_order",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class LocationKind(models.TextChoices):
    FREEZER = "freezer", say("Freezer")
    FRIDGE = "fridge", say("Fridge")
    STORE = "store", say("Store or cabinet")
    RACK = "rack", say("Rack")
    BAY = "bay", say("Work bay")
    OVEN = "oven", say("Oven, press or tent")
    QUARANTINE = "quarantine", say("Quarantine")
    CUSTOMER = "customer", say("Out of the shop")


class Location(models.Model):
    """A place that can hold material, with what it accepts and refuses (R35)."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="locations")
    code = models.CharField(max_length=24)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=16, choices=LocationKind.choices)
    storage = models.ForeignKey(StorageClass, on_delete=models.PROTECT, related_name="locations")
    accepts = models.CharField(max_length=120, blank=True, help_text="Hazard groups, space separated; empty: any.")
    refuses = models.CharField(max_length=120, blank=True, help_text="Hazard groups never taken, space separated.")
    max_ug = models.BigIntegerField(null=True, blank=True, help_text="Quantity limit, in µg.")
    min_mix_mc = models.BigIntegerField(null=True, blank=True)
    count_days = models.IntegerField(
        "count every", null=True, blank=True, help_text="So many days after the last count it is on the morning list; empty: never."
    )
    retired_us = models.BigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="location_code_once_per_site"),
            models.CheckConstraint(condition=models.Q(max_ug__isnull=True) | models.Q(max_ug__gt=0), name="location_limit_positive"),
            models.CheckConstraint(
                condition=models.Q(count_days__isnull=True) | models.Q(count_days__gt=0, count_days__lte=3650),
                name="location_count_interval",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Reading(models.Model):
    """A room's condition as measured: temperature in milli-°C, relative humidity in parts per million. Insert-only."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="readings")
    at_us = models.BigIntegerField()
    temp_mc = models.BigIntegerField()
    rh_ppm = models.BigIntegerField(null=True, blank=True)
    recorded_us = models.BigIntegerField()
    source = models.CharField(max_length=80, blank=True)

    class Meta:
        indexes = [models.Index(fields=["location", "-at_us"], name="reading_latest")]
        constraints = [models.CheckConstraint(condition=models.Q(temp_mc__gte=-273_150), name="reading_above_absolute_zero")]
