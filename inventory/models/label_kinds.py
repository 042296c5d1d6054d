"""How labels of suppliers are known, told once: by the article number, the supplier's part number, or the way they are built."""

from __future__ import annotations

from django.db import models

from inventory.core.said import say

from .materials import Material, Supplier
from .people import Person


class KnownBy(models.TextChoices):
    GTIN = "gtin", say("article number (GTIN)")
    PART = "part", say("supplier's part number")
    PATTERN = "pattern", say("the way it is built")


class SupplierLabel(models.Model):
    """A supplier's labels of this kind are of this material. Never deleted: what no longer holds is ended, so that an old receipt can
    be understood. `means` tells what a supplier's identifiers mean where they differ ("T=serial; 9D=made DDMMYY")."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="label_kinds")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="label_kinds")
    known_by = models.CharField(max_length=8, choices=KnownBy.choices)
    value = models.CharField(max_length=200)
    means = models.CharField(max_length=200, blank=True)
    told_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    told_us = models.BigIntegerField()
    ended_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    ended_us = models.BigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["supplier", "known_by", "value"], condition=models.Q(ended_us__isnull=True), name="supplier_label_once"
            ),
            models.CheckConstraint(condition=models.Q(known_by__in=KnownBy.values) & ~models.Q(value=""), name="supplier_label_known"),
            models.CheckConstraint(
                condition=models.Q(ended_us__isnull=True, ended_by__isnull=True) | models.Q(ended_us__isnull=False, ended_by__isnull=False),
                name="supplier_label_ended_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.supplier}: {self.value}"
