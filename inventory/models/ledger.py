"""What happened: acts and their legs, both append-only, and the log of refusals.

An *act* is one thing that happened (its header: who, when, why); a *leg* is what it did to one item. Triggers in the
database refuse every change to these tables (see `inventory.ledger_guard`). `body` is canonical JSON text: never a JSON
column, because PostgreSQL reorders keys, and a hash chain is to be laid over these bytes later.
"""

from __future__ import annotations

from django.db import models
from django.db.models.expressions import Func

from inventory.core.fold import Key

from .items import Item
from .people import Device, Person, Site, User
from .places import Location


class DatabaseMicros(Func):
    """The database's own clock in µs UTC. Stored beside every act; no rule reads it."""

    template = "(extract(epoch from clock_timestamp()) * 1000000)::bigint"
    output_field = models.BigIntegerField()

    def as_sqlite(self, compiler, connection, **extra):
        return "(CAST((julianday('now') - 2440587.5) * 86400000000.0 AS INTEGER))", []


class Act(models.Model):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    key = models.UUIDField(help_text="Given by the sender; the same key twice is the same act (R32).")
    fingerprint = models.CharField(max_length=64, help_text="SHA-256 of the canonical claim.")
    kind = models.CharField(max_length=16)
    stance = models.CharField(max_length=8, choices=[("intent", "wanted"), ("observed", "already happened")])
    happened_us = models.BigIntegerField()
    rank = models.IntegerField()
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="+")
    device_seq = models.BigIntegerField(default=0)
    claimed_us = models.BigIntegerField(null=True)
    recorded_us = models.BigIntegerField()
    stored_us = models.BigIntegerField(db_default=DatabaseMicros())
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    user = models.ForeignKey(User, null=True, on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=16)
    reason = models.TextField(blank=True)
    voids = models.OneToOneField("self", null=True, on_delete=models.PROTECT, related_name="voided_by")
    approves = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="approvals")
    canon = models.SmallIntegerField(default=1)
    body = models.TextField(default="{}")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "key"], name="act_key_once_per_site"),
            models.CheckConstraint(condition=models.Q(happened_us__lte=models.F("recorded_us")), name="act_not_in_the_future"),
            models.CheckConstraint(condition=~models.Q(kind="void") | ~models.Q(reason=""), name="void_has_a_reason"),
            models.CheckConstraint(
                condition=(models.Q(kind="void") & models.Q(voids__isnull=False)) | (~models.Q(kind="void") & models.Q(voids__isnull=True)),
                name="void_names_what_it_voids",
            ),
            models.CheckConstraint(condition=models.Q(stance__in=["intent", "observed"]), name="act_stance_known"),
        ]
        indexes = [models.Index(fields=["site", "-recorded_us"], name="act_recent")]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"

    @property
    def order(self) -> Key:
        """Its place in the order of what happened."""
        return (self.happened_us, self.rank, self.device_id, self.device_seq, self.key.hex)


class Leg(models.Model):
    act = models.ForeignKey(Act, on_delete=models.PROTECT, related_name="legs")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="legs")
    seq = models.BigIntegerField(help_text="This record's own number within its item, without gap.")
    delta = models.BigIntegerField(default=0)
    counted = models.BigIntegerField(null=True)
    location = models.ForeignKey(Location, null=True, on_delete=models.PROTECT, related_name="+")
    ceiling_mc = models.BigIntegerField(null=True, help_text="Upper end of the place's band, copied.")
    body = models.TextField(default="{}")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["act", "item"], name="leg_once_per_act_and_item"),
            models.UniqueConstraint(fields=["item", "seq"], name="leg_seq_once_per_item"),
            models.CheckConstraint(condition=models.Q(delta__gte=-(10**15)) & models.Q(delta__lte=10**15), name="leg_delta_sane"),
            models.CheckConstraint(condition=models.Q(counted__isnull=True) | models.Q(counted__gte=0), name="leg_count_not_negative"),
            models.CheckConstraint(condition=models.Q(seq__gt=0), name="leg_seq_from_one"),
        ]


class Refusal(models.Model):
    """An intention that was refused, with every reason. Nothing else was changed by it. Append-only."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    at_us = models.BigIntegerField()
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    device = models.ForeignKey(Device, null=True, on_delete=models.PROTECT, related_name="+")
    verb = models.CharField(max_length=24)
    body = models.TextField(default="{}")
    reasons = models.TextField()

    class Meta:
        indexes = [models.Index(fields=["site", "-at_us"], name="refusal_recent")]
