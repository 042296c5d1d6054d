"""The labelled things: items and their codes, lots, deliveries, certificate values, attachments."""

from __future__ import annotations

from django.db import models

from inventory.core.said import say

from .materials import Customer, LifeSpec, Material, Supplier, Unit
from .people import Device, Person, Site


class ItemKind(models.TextChoices):
    LOT = "lot", say("lot")
    ROLL = "roll", say("roll")
    SPOOL = "spool", say("spool")
    DRUM = "drum", say("drum")
    CAN = "can", say("can")
    BOX = "box", say("box")
    SHEET = "sheet", say("sheet")
    KIT = "kit", say("kit")
    REMNANT = "remnant", say("remnant")
    MIX = "mix", say("mix")
    TANK = "tank", say("day tank")
    PART = "part", say("part")
    ASSEMBLY = "assembly", say("assembly")


class Delivery(models.Model):
    """A consignment that is expected or has arrived: one material of one supplier, on one order line (R38)."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="deliveries")
    number = models.CharField(max_length=40)
    order_number = models.CharField(max_length=40, blank=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="deliveries")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="deliveries")
    lot_number = models.CharField(max_length=60, blank=True)
    expected_qty = models.BigIntegerField(null=True, blank=True)
    expected_pieces = models.IntegerField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True)
    price = models.CharField(max_length=40, blank=True, help_text="As ordered, for example 412.00 EUR.")
    arrived_us = models.BigIntegerField(null=True, blank=True)
    cancelled_us = models.BigIntegerField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "deliveries"
        constraints = [models.UniqueConstraint(fields=["site", "number"], name="delivery_number_once_per_site")]

    def __str__(self) -> str:
        return self.number


class Item(models.Model):
    """One physical labelled thing that can carry material. What happened to it stands in its legs; what it is now, in
    its state. `mark` is the short name written on it (U-3); `code` is what a scanner reads."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="items")
    code = models.CharField(max_length=16)
    mark = models.CharField(max_length=40, blank=True)
    kind = models.CharField(max_length=10, choices=ItemKind.choices)
    material = models.ForeignKey(Material, null=True, blank=True, on_delete=models.PROTECT, related_name="items")
    unit = models.CharField(max_length=4, choices=Unit.choices)
    lot = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="pieces")
    delivery = models.ForeignKey(Delivery, null=True, blank=True, on_delete=models.PROTECT, related_name="items")
    owner = models.ForeignKey(Customer, null=True, blank=True, on_delete=models.PROTECT, related_name="owned")
    supplier_serial = models.CharField(max_length=60, blank=True)
    core_ug = models.BigIntegerField(null=True, blank=True, help_text="Core or can tare, in µg.")
    made_by = models.ForeignKey(Device, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    stub = models.BooleanField(default=False, help_text="Seen in a late scan before it was recorded.")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="item_code_once_per_site"),
            models.UniqueConstraint(fields=["site", "mark"], condition=~models.Q(mark=""), name="item_mark_once_per_site"),
            models.CheckConstraint(condition=models.Q(kind__in=ItemKind.values), name="item_kind_known"),
            models.CheckConstraint(condition=models.Q(unit__in=Unit.values), name="item_unit_known"),
        ]

    def __str__(self) -> str:
        return self.mark or self.code


class ItemCode(models.Model):
    """A further code that leads to an item: a lost label gets a new one, both lead to it. Insert-only."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=16)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="further_codes")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "code"], name="further_code_once_per_site")]


class Lot(models.Model):
    """What a supplier calls one batch. It is an item of kind lot, so that holds, release, certificates, extension and
    recall are one ledger and one walk; the facts of the batch stand here. Insert-only."""

    item = models.OneToOneField(Item, primary_key=True, on_delete=models.PROTECT, related_name="batch")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="lots")
    number = models.CharField(max_length=60)
    number_key = models.CharField(max_length=60, help_text="The number folded for comparison: case and blanks do not matter.")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="lots")
    made_us = models.BigIntegerField(null=True, blank=True)
    printed_us = models.BigIntegerField(null=True, blank=True, help_text="End of the printed last day, as an instant.")
    spec = models.ForeignKey(LifeSpec, null=True, blank=True, on_delete=models.PROTECT, related_name="lots")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["supplier", "material", "number_key"], name="lot_number_once")]

    def __str__(self) -> str:
        return self.number


class CertValue(models.Model):
    """A value that the papers state, as the text that was entered. Insert-only; a correction is a newer row."""

    lot = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, null=True, blank=True, on_delete=models.PROTECT, related_name="cert_values")
    name = models.CharField(max_length=60)
    value = models.CharField(max_length=40)
    act = models.ForeignKey("inventory.Act", on_delete=models.PROTECT, related_name="cert_values")


class Attachment(models.Model):
    """A file kept as evidence: named by its hash, its type sniffed from its bytes. Insert-only."""

    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=160)
    media_type = models.CharField(max_length=80)
    size = models.BigIntegerField()
    item = models.ForeignKey(Item, null=True, blank=True, on_delete=models.PROTECT, related_name="attachments")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    stored_us = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(size__gt=0), name="attachment_not_empty")]
