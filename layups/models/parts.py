"""What was built: parts (an inventory item each, one to one), cure runs, inspections, defects, shipments.

A part's clocks and its material are folded in the inventory like any item's; what only a part has stands here."""

from __future__ import annotations

from django.db import models

from inventory.models import Act, Customer, Item, Location, Site

from .designs import Design


class Part(models.Model):
    """A part or an assembly. `number` is what is written on it (RUD-073)."""

    item = models.OneToOneField(Item, primary_key=True, on_delete=models.PROTECT, related_name="part")
    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="parts")
    number = models.CharField(max_length=40, unique=True)
    customer = models.ForeignKey(Customer, null=True, blank=True, on_delete=models.PROTECT, related_name="parts")
    planned_cure_us = models.BigIntegerField(null=True, blank=True)

    def __str__(self) -> str:
        return self.number


class CureRun(models.Model):
    """One load of an oven, autoclave, press or tent."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    number = models.CharField(max_length=40)
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "number"], name="cure_run_number_once")]


class Inspection(models.Model):
    """A test on a part with its readings and its verdict. Insert-only."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="inspections")
    kind = models.CharField(max_length=24, help_text="drop_test, hardness, tap_test, dimensions …")
    readings = models.TextField(help_text="As entered, separated by blanks.")
    result = models.CharField(max_length=40)
    limit = models.CharField(max_length=40, blank=True)
    passed = models.BooleanField()
    instrument = models.CharField(max_length=40, blank=True)
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="inspection")


class Defect(models.Model):
    """A defect found on a part. Insert-only; voiding its act withdraws it."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="defects")
    code = models.CharField(max_length=40)
    text = models.TextField(blank=True)
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="defect")


class Shipment(models.Model):
    """A part or an assembly that went to a customer. Insert-only."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="shipments")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="shipments")
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="shipment")
