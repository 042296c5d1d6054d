"""Life limits that a customer or a design tightens for what goes into their parts (R8)."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models

from inventory import readers
from inventory.core.said import say
from inventory.core.tighter import applies
from inventory.models import Customer, LifeLimit, Material

from .designs import Design


def _above_zero(name: str) -> models.Q:
    return models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__gt": 0})


def _only(name: str) -> models.Q:
    return models.Q(**{f"{other}__isnull": other != name for other in ("months", "limit_us", "limit_n")})


class TighterLimit(models.Model):
    """A named limit of a material lasts no longer than this in parts for this customer, of this design, or both. `months` for
    a calendar, `limit_us` (µs) for hours, `limit_n` for a count. What it says is copied into the records that it judges, so a
    change here speaks of what is still to come; the specification's own limit counts wherever it is the tighter."""

    customer = models.ForeignKey(Customer, null=True, blank=True, on_delete=models.PROTECT, related_name="tighter_limits")
    design = models.ForeignKey(Design, null=True, blank=True, on_delete=models.PROTECT, related_name="tighter_limits")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="tighter_limits")
    limit = models.CharField(max_length=40, help_text="The limit's name in the material's specification, for example: tack life.")
    months = models.IntegerField(null=True, blank=True)
    limit_us = models.BigIntegerField(null=True, blank=True)
    limit_n = models.IntegerField(null=True, blank=True)
    source = models.CharField(max_length=120, blank=True, help_text="Where that is written: order, drawing, process specification.")

    class Meta:
        ordering = ["material", "limit", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(customer__isnull=False) | models.Q(design__isnull=False),
                name="tighter_limit_says_for_whom",
                violation_error_message="Say for which customer, for which design, or both.",
            ),
            models.CheckConstraint(condition=~models.Q(limit=""), name="tighter_limit_names_a_limit"),
            models.CheckConstraint(
                condition=_only("months") | _only("limit_us") | _only("limit_n"),
                name="tighter_limit_states_one_figure",
                violation_error_message="Give one figure: months, a time, or a count.",
            ),
            models.CheckConstraint(
                condition=_above_zero("months") & _above_zero("limit_us") & _above_zero("limit_n"),
                name="tighter_limit_above_zero",
                violation_error_message="The figure is above zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.material.code} {self.limit}, {self.whose}"

    @property
    def whose(self) -> str:
        """Who tightens it, in words."""
        design = f"design {self.design.code}" if self.design is not None else ""
        if self.customer is None:
            return design
        return f"{self.customer.name} for {design}" if design else self.customer.name

    def clean(self) -> None:
        """It names a limit of the specification in force, in its unit, and is tighter."""
        if self.material_id is None:
            return
        limits = LifeLimit.objects.filter(spec__material=self.material_id).order_by("-spec__version", "name")
        newest = [limit for limit in limits if limit.spec_id == limits[0].spec_id]
        own = next((limit for limit in newest if limit.name.casefold() == self.limit.strip().casefold()), None)
        if own is None:
            names = ", ".join(limit.name for limit in newest)
            its = say("Its limits: {names}.", names=names) if names else say("It has none.")
            text = say("{material} has no limit of that name. {its}", material=self.material.code, its=its)
            raise ValidationError({"limit": readers.shown(text)})
        if not applies(own.clock, self.months, self.limit_us, self.limit_n):
            text = say("“{limit}” counts {clock}: give the figure in its unit.", limit=own.name, clock=own.get_clock_display())
            raise ValidationError(readers.shown(text))
        pairs = ((self.months, own.months), (self.limit_us, own.limit_us), (self.limit_n, own.limit_n))
        if any(mine is not None and theirs is not None and mine >= theirs for mine, theirs in pairs):
            text = say("That is no tighter than the specification's own “{limit}”: a limit is never loosened.", limit=own.name)
            raise ValidationError(readers.shown(text))
        self.limit = own.name
