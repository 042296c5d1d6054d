"""Which labels were printed."""

from __future__ import annotations

from django.db import models

from .items import Item
from .people import Device, Person, Site
from .places import Location


class LabelPrint(models.Model):
    """That a label was printed: of what, by whom, where, in which format, how often, and what stood on it. Insert-only.

    It is no act: it changes nothing about the thing, and no state is folded from it. The first row of a thing is its label,
    each further one a reprint; which is which follows from the order, so that it cannot be wrong. `key` is that of the print,
    which may be of several things."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    key = models.UUIDField(help_text="Given by the sender; the same key twice is the same print (R32).")
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="labels")
    location = models.ForeignKey(Location, null=True, on_delete=models.PROTECT, related_name="labels")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="+")
    at_us = models.BigIntegerField()
    format = models.CharField(max_length=24)
    form = models.CharField(max_length=8, choices=[("pdf", "PDF"), ("zpl", "printer commands")])
    copies = models.IntegerField()
    reason = models.CharField(max_length=200, blank=True)
    text = models.TextField(help_text="What stood on it, a line a field.")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["key", "item"], name="label_once_per_print_and_item"),
            models.UniqueConstraint(fields=["key", "location"], name="label_once_per_print_and_place"),
            models.CheckConstraint(
                condition=models.Q(item__isnull=True, location__isnull=False) | models.Q(item__isnull=False, location__isnull=True),
                name="label_of_one_thing",
            ),
            models.CheckConstraint(condition=models.Q(copies__gt=0), name="label_copies_positive"),
        ]
