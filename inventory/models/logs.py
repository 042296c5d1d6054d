"""Temperature logs of places and of deliveries, the probes that wrote them, and work that takes a while.

A log, its readings and a calibration are never changed. A log that turns out to be the wrong one is withdrawn by a row of its own,
and stays to be read.
"""

from __future__ import annotations

from django.db import models

from inventory.core.said import say

from .items import Delivery
from .people import Device, Person, Site
from .places import Location


class Probe(models.Model):
    """A logger's probe, as it is labelled. What it measures is copied into each of its logs."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="probes")
    name = models.CharField(max_length=60, help_text="As it stands on its label.")
    measures = models.CharField(
        max_length=8,
        choices=[("product", "the product, or its dummy load"), ("air", "the air")],
        help_text="A warm freezer is charged by a probe in the product; one in the air shows every defrost.",
    )
    place = models.ForeignKey(Location, null=True, blank=True, on_delete=models.PROTECT, related_name="probes")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="probe_name_once"),
            models.CheckConstraint(condition=models.Q(measures__in=["product", "air"]), name="probe_measures_something"),
        ]

    def __str__(self) -> str:
        return self.name


class Calibration(models.Model):
    """That a probe was calibrated, and until when that holds: both days belong to it. Insert-only."""

    probe = models.ForeignKey(Probe, on_delete=models.PROTECT, related_name="calibrations")
    done_on = models.DateField()
    due_on = models.DateField()
    reference = models.CharField(max_length=120, blank=True, help_text="The certificate.")
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    recorded_us = models.BigIntegerField(default=0)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(due_on__gte=models.F("done_on")), name="calibration_days_in_order")]

    def __str__(self) -> str:
        return f"{self.probe}: {self.done_on} to {self.due_on}"


class TemperatureLog(models.Model):
    """A logger's file as it was understood. `doc`: layout, notes, gaps and what was left out, as canonical text. The file itself is
    kept under `sha256`. Of a place or of a delivery. Insert-only."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    key = models.UUIDField()
    probe = models.ForeignKey(Probe, on_delete=models.PROTECT, related_name="logs")
    measures = models.CharField(max_length=8, choices=[("product", "product"), ("air", "air")])
    location = models.ForeignKey(Location, null=True, on_delete=models.PROTECT, related_name="logs")
    delivery = models.ForeignKey(Delivery, null=True, on_delete=models.PROTECT, related_name="logs")
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=160)
    first_us = models.BigIntegerField()
    last_us = models.BigIntegerField()
    readings = models.BigIntegerField()
    known_us = models.BigIntegerField(help_text="How much of its time its readings cover.")
    least_mc = models.BigIntegerField()
    most_mc = models.BigIntegerField()
    mean_mc = models.BigIntegerField(null=True)
    kinetic_mc = models.BigIntegerField(null=True)
    doc = models.TextField(default="{}")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_us = models.BigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "key"], name="log_once_per_key"),
            models.CheckConstraint(
                condition=models.Q(location__isnull=True, delivery__isnull=False) | models.Q(location__isnull=False, delivery__isnull=True),
                name="log_of_a_place_or_a_delivery",
            ),
            models.CheckConstraint(condition=models.Q(last_us__gte=models.F("first_us")), name="log_times_in_order"),
            models.CheckConstraint(condition=models.Q(most_mc__gte=models.F("least_mc")), name="log_temperatures_in_order"),
        ]
        indexes = [
            models.Index(fields=["location", "last_us"], name="log_of_place"),
            models.Index(fields=["probe", "last_us"], name="log_of_probe"),
        ]

    def __str__(self) -> str:
        return f"log {self.pk}, {self.name}"


class LogReadings(models.Model):
    """The readings of one log, pressed together (`core.logfacts.packed`); apart, so that lists do not read them. Insert-only."""

    log = models.OneToOneField(TemperatureLog, primary_key=True, on_delete=models.PROTECT, related_name="kept")
    packed = models.BinaryField()


class LogWithdrawal(models.Model):
    """That a log was the wrong one: it counts nowhere from then on, and stays to be read. Insert-only."""

    log = models.OneToOneField(TemperatureLog, primary_key=True, on_delete=models.PROTECT, related_name="withdrawn")
    reason = models.CharField(max_length=240)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at_us = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(condition=~models.Q(reason=""), name="withdrawal_has_a_reason")]


class JobState(models.TextChoices):
    WAITING = "waiting", say("waiting")
    RUNNING = "running", say("running")
    DONE = "done", say("done")
    FAILED = "failed", say("failed")
    CANCELLED = "cancelled", say("cancelled")


class Job(models.Model):
    """Work that takes a while. It is pushed along through the outbox, so one that dies with its process is begun again."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    key = models.UUIDField()
    kind = models.CharField(max_length=24)
    title = models.CharField(max_length=160)
    params = models.TextField(default="{}")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="jobs")
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="+")
    asked_us = models.BigIntegerField()
    state = models.CharField(max_length=10, choices=JobState.choices, default="waiting")
    done = models.BigIntegerField(default=0)
    total = models.BigIntegerField(default=0)
    started_us = models.BigIntegerField(null=True)
    ended_us = models.BigIntegerField(null=True)
    cancel_us = models.BigIntegerField(null=True)
    result = models.TextField(default="{}")
    error = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "key"], name="job_once_per_key"),
            models.CheckConstraint(condition=models.Q(state__in=JobState.values), name="job_state_known"),
            models.CheckConstraint(condition=models.Q(done__gte=0) & models.Q(total__gte=0), name="job_progress_not_negative"),
        ]
        indexes = [models.Index(fields=["site", "-id"], name="job_newest")]

    def __str__(self) -> str:
        return f"job {self.pk}: {self.title}"
