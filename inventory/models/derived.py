"""What follows from the acts: states, edges, blocks, findings. Written only by `inventory.recording`, rebuildable at
any time to the same content. Flags and the outbox are work lists: they push jobs along and decide nothing."""

from __future__ import annotations

from django.db import models

from .items import Item
from .ledger import Act, Leg
from .people import Person, Site
from .places import Location


class ItemState(models.Model):
    """The fold of an item's legs. `doc` is the whole state as canonical text; the columns repeat what is searched for.

    `ends_us`: when the first of its limits is crossed if it stays where it is (also in the past). `due_us`: when
    somebody should next be told; a work list, left out of the comparison with a rebuild."""

    item = models.OneToOneField(Item, primary_key=True, on_delete=models.PROTECT, related_name="state")
    head = models.BigIntegerField(default=0)
    qty = models.BigIntegerField(default=0)
    overdrawn = models.BooleanField(default=False)
    location = models.ForeignKey(Location, null=True, on_delete=models.PROTECT, related_name="+")
    ceiling_mc = models.BigIntegerField(null=True)
    since_us = models.BigIntegerField(null=True)
    gone = models.CharField(max_length=10, default="", blank=True)
    back_us = models.BigIntegerField(null=True, help_text="Planned return to its home.")
    ends_us = models.BigIntegerField(null=True)
    governs = models.CharField(max_length=60, default="", blank=True)
    due_us = models.BigIntegerField(null=True)
    last = models.TextField(default="")
    doc = models.TextField(default="{}")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(qty__gte=0) | models.Q(overdrawn=True), name="state_not_below_zero_unless_overdrawn"),
        ]
        indexes = [
            models.Index(fields=["ends_us"], name="state_ends", condition=models.Q(ends_us__isnull=False)),
            models.Index(fields=["due_us"], name="state_due", condition=models.Q(due_us__isnull=False)),
            models.Index(fields=["location"], name="state_place", condition=~models.Q(qty=0)),
        ]


class Edge(models.Model):
    """Material that went from one item into another: how much, when, and the exposure that was handed over."""

    act = models.ForeignKey(Act, on_delete=models.PROTECT, related_name="edges")
    kind = models.CharField(max_length=16)
    src = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="edges_out", db_index=False)
    dst = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="edges_in", db_index=False)
    src_leg = models.ForeignKey(Leg, on_delete=models.PROTECT, related_name="+", db_index=False)
    dst_leg = models.ForeignKey(Leg, on_delete=models.PROTECT, related_name="+", db_index=False)
    happened_us = models.BigIntegerField()
    qty = models.BigIntegerField(help_text="In the source's unit.")
    got = models.BigIntegerField(null=True, help_text="In the destination's unit, where that is another.")
    grade = models.CharField(max_length=4, default="item")
    handed = models.TextField(default="[]")
    until_us = models.BigIntegerField(null=True, help_text="Taken out again (exchanged component).")
    void = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["act", "src", "dst"], name="edge_once_per_act"),
            models.CheckConstraint(condition=~models.Q(src=models.F("dst")), name="edge_not_to_itself"),
            models.CheckConstraint(condition=models.Q(qty__gte=0), name="edge_not_negative"),
        ]
        indexes = [
            # All that a walk asks of an edge, so that it need not read the rows.
            models.Index(fields=["src", "dst", "happened_us", "until_us", "kind"], name="edge_down", condition=models.Q(void=False)),
            models.Index(fields=["dst", "src", "happened_us", "until_us", "kind"], name="edge_up", condition=models.Q(void=False)),
        ]


class Block(models.Model):
    """Something that stops an item, and everything made from it, from being used. An arrival is blocked until quality
    releases it (R6), so the gate asks one question: is there an open block upstream? (R7)"""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="blocks")
    why = models.CharField(max_length=12, choices=[("incoming", "waiting for release"), ("quality", "held"), ("recall", "recalled")])
    text = models.CharField(max_length=240, blank=True)
    opened = models.ForeignKey(Act, on_delete=models.PROTECT, related_name="blocks_opened")
    from_us = models.BigIntegerField()
    closed = models.ForeignKey(Act, null=True, on_delete=models.PROTECT, related_name="blocks_closed")
    to_us = models.BigIntegerField(null=True)

    class Meta:
        indexes = [models.Index(fields=["item"], name="block_open", condition=models.Q(to_us__isnull=True))]
        constraints = [
            models.CheckConstraint(
                condition=(models.Q(closed__isnull=True) & models.Q(to_us__isnull=True))
                | (models.Q(closed__isnull=False) & models.Q(to_us__isnull=False)),
                name="block_closed_by_an_act",
            ),
            models.UniqueConstraint(fields=["item", "opened"], name="block_once_per_act"),
        ]


class Exemption(models.Model):
    """An item that quality released from a block above it, with evidence: the walk upwards stops here (R7)."""

    block = models.ForeignKey(Block, on_delete=models.PROTECT, related_name="exemptions")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="exemptions")
    act = models.ForeignKey(Act, on_delete=models.PROTECT, related_name="exemptions")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["block", "item"], name="exemption_once")]


class Extension(models.Model):
    """A named limit, moved after a retest: asked for by one person, approved by another; the old end stays (R14). Where the
    approving record is void it moves nothing, and the same end, also on the same asking, may be extended again."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="extensions")
    limit = models.CharField(max_length=40)
    old_us = models.BigIntegerField()
    until_us = models.BigIntegerField()
    evidence = models.CharField(max_length=200)
    asked = models.ForeignKey(Act, on_delete=models.PROTECT, related_name="+")
    approved = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="+")
    asked_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    approved_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    from_us = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(asked_by=models.F("approved_by")), name="extension_needs_a_second_person"),
            models.CheckConstraint(condition=models.Q(until_us__gt=models.F("old_us")), name="extension_extends"),
        ]


class Nonconformance(models.Model):
    """One cause, however many records it touches: an item and the limit or rule that it broke (R13)."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    cause = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="nonconformances")
    code = models.CharField(max_length=60)
    text = models.TextField(blank=True)
    opened_us = models.BigIntegerField()
    closed_us = models.BigIntegerField(null=True)
    closed_by = models.CharField(max_length=40, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["cause", "code"], name="nonconformance_once_per_cause")]


class Finding(models.Model):
    """One record that broke a rule when judged with all that is known now. Never deleted: closed by a later record when
    the rule turns out not to have been broken, or by a disposition."""

    leg = models.ForeignKey(Leg, on_delete=models.PROTECT, related_name="findings")
    code = models.CharField(max_length=60)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="findings")
    nonconformance = models.ForeignKey(Nonconformance, on_delete=models.PROTECT, related_name="findings")
    at_us = models.BigIntegerField()
    text = models.TextField()
    numbers = models.TextField(default="{}")
    opened_us = models.BigIntegerField()
    closed_us = models.BigIntegerField(null=True)
    closed_by = models.CharField(max_length=40, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["leg", "code"], name="finding_once_per_record_and_rule")]
        indexes = [models.Index(fields=["item"], name="finding_open", condition=models.Q(closed_us__isnull=True))]


class Disposition(models.Model):
    """What quality decided about a nonconforming item; use-as-is and repair name the outside approval (R44). Insert-only."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="dispositions")
    nonconformance = models.ForeignKey(Nonconformance, null=True, on_delete=models.PROTECT, related_name="dispositions")
    meaning = models.CharField(max_length=24)
    reference = models.CharField(max_length=120, blank=True)
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="disposition")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(meaning__in=["use_as_is", "repair"]) | ~models.Q(reference=""),
                name="use_as_is_needs_a_reference",
            )
        ]


class Flag(models.Model):
    """Something that somebody should look at, dated by the instant that was computed, not by when the sweep ran."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    subject = models.CharField(max_length=60)
    code = models.CharField(max_length=40)
    role = models.CharField(max_length=16)
    text = models.TextField()
    at_us = models.BigIntegerField()
    raised_us = models.BigIntegerField()
    withdrawn_us = models.BigIntegerField(null=True)
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="flags")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "subject", "code", "at_us"], name="flag_once_per_crossing")]
        indexes = [models.Index(fields=["site", "role"], name="flag_open", condition=models.Q(withdrawn_us__isnull=True))]


class Notice(models.Model):
    """That a person was told of a flag: once."""

    flag = models.ForeignKey(Flag, on_delete=models.PROTECT, related_name="notices")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    sent_us = models.BigIntegerField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["flag", "person"], name="notice_once")]


class Outbox(models.Model):
    """What a job must still do. A job pushes rows along; losing a job loses nothing."""

    topic = models.CharField(max_length=24)
    ref = models.BigIntegerField()
    due_us = models.BigIntegerField()
    tries = models.IntegerField(default=0)
    done_us = models.BigIntegerField(null=True)
    error = models.TextField(blank=True)

    class Meta:
        indexes = [models.Index(fields=["due_us"], name="outbox_open", condition=models.Q(done_us__isnull=True))]
        constraints = [models.UniqueConstraint(fields=["topic", "ref"], name="outbox_once")]


class PotCurve(models.Model):
    """The pot-life picture of one mix, drawn by a task. Nothing decides by it: the stop time stands in the act."""

    item = models.OneToOneField(Item, primary_key=True, on_delete=models.PROTECT, related_name="pot_curve")
    points = models.TextField()
    drawn_us = models.BigIntegerField()
