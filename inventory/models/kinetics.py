"""How fast a system reacts, as it was entered: one version of its kinetics (R18).

Insert-only: a change is a new version, and a pot's record names the version that it was computed with. Figures are whole numbers of base
units; the law's own constants are text (`core/kinetic_text`), because they are real numbers of many magnitudes.
"""

from __future__ import annotations

from django.db import models

from inventory.core.kinetic_text import EXAMPLES, VISCOSITY
from inventory.core.said import say

from .materials import Material, Recipe, _above


class GelBy(models.TextChoices):
    CONVERSION = "conversion", say("at a conversion")
    VISCOSITY = "viscosity", say("when it is too thick to work, or at a conversion if sooner")
    SHEET = "sheet", say("when the recipe's data sheet says (the law's rate is fitted to it)")


_Q = models.Q


class Kinetics(models.Model):
    """One version of the kinetics of one recipe, or of one material that comes mixed (a prepreg or a film)."""

    recipe = models.ForeignKey(Recipe, null=True, blank=True, on_delete=models.PROTECT, related_name="kinetics")
    material = models.ForeignKey(
        Material,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="kinetics",
        help_text="A prepreg or a film adhesive; for what is mixed here, name the recipe.",
    )
    version = models.IntegerField()
    name = models.CharField(max_length=120, help_text="What they are, for example: fitted to our own calorimetry, lot 7.")
    source = models.CharField(max_length=200, help_text="Where the constants are from.")
    form = models.CharField(max_length=16, choices=[(form, form) for form in EXAMPLES], verbose_name="form of the law")
    constants = models.TextField(help_text="In braces, J/mol and 1/s. " + "; ".join(f"{form}: {text}" for form, text in EXAMPLES.items()))
    seed_ppm = models.BigIntegerField(
        default=0, verbose_name="conversion it starts from, ppm", help_text="0, unless the law needs one to start: 100 is 0.0001."
    )
    low_mc = models.BigIntegerField(null=True, blank=True, verbose_name="fitted from, m°C", help_text="Empty: the source does not say.")
    high_mc = models.BigIntegerField(null=True, blank=True, verbose_name="fitted to, m°C")
    strict = models.BooleanField(
        default=False,
        verbose_name="refuse outside this range",
        help_text="Otherwise the answer is given with a caution.",
    )
    heat_j_kg = models.BigIntegerField(
        null=True,
        blank=True,
        verbose_name="heat of reaction, J per kg of mixed resin",
        help_text="Empty: not known, and then no temperature of a pot is told.",
    )
    heat_capacity = models.BigIntegerField(
        null=True, blank=True, verbose_name="specific heat, J/(kg K)", help_text="Empty: 1800, as is usual for unfilled epoxy."
    )
    gel_by = models.CharField(max_length=10, choices=GelBy.choices, default=GelBy.CONVERSION, verbose_name="it gels")
    gel_ppm = models.BigIntegerField(verbose_name="conversion at gel, ppm", help_text="For example 577000.")
    viscosity = models.TextField(blank=True, help_text=f"Only for “too thick to work”: {VISCOSITY}")
    tg0_mc = models.BigIntegerField(null=True, blank=True, verbose_name="glass temperature uncured, m°C", help_text="Empty: not known.")
    tg1_mc = models.BigIntegerField(null=True, blank=True, verbose_name="glass temperature fully cured, m°C")
    lambda_ppm = models.BigIntegerField(null=True, blank=True, verbose_name="λ of DiBenedetto, ppm")
    smokes_mc = models.BigIntegerField(null=True, blank=True, verbose_name="may smoke from, m°C", help_text="Empty: 150000.")
    boils_mc = models.BigIntegerField(null=True, blank=True, verbose_name="something in it boils at, m°C")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        verbose_name_plural = "kinetics"
        constraints = [
            models.CheckConstraint(
                condition=_Q(recipe__isnull=False, material__isnull=True) | _Q(recipe__isnull=True, material__isnull=False),
                name="kinetics_of_one_thing",
            ),
            models.UniqueConstraint(fields=["recipe", "version"], name="kinetics_version_once"),
            models.UniqueConstraint(fields=["material", "version"], name="kinetics_material_version_once"),
            models.CheckConstraint(condition=_Q(form__in=list(EXAMPLES)), name="kinetics_form_known"),
            models.CheckConstraint(condition=~_Q(name="") & ~_Q(source=""), name="kinetics_have_a_source"),
            models.CheckConstraint(
                condition=_Q(low_mc__isnull=True, high_mc__isnull=True)
                | _Q(low_mc__isnull=False, high_mc__isnull=False, low_mc__lte=models.F("high_mc")),
                name="kinetics_range_in_order",
            ),
            models.CheckConstraint(condition=_Q(heat_j_kg__isnull=True) | _above("heat_j_kg"), name="kinetics_heat_above_zero"),
            models.CheckConstraint(condition=_Q(heat_capacity__isnull=True) | _above("heat_capacity"), name="kinetics_capacity_above_zero"),
            models.CheckConstraint(condition=_Q(gel_by__in=GelBy.values), name="kinetics_gel_known"),
            models.CheckConstraint(condition=~_Q(gel_by="viscosity") | ~_Q(viscosity=""), name="kinetics_viscosity_given"),
            models.CheckConstraint(
                condition=_Q(seed_ppm__gte=0) & _Q(seed_ppm__lt=models.F("gel_ppm")) & _Q(gel_ppm__lt=1_000_000),
                name="kinetics_gel_after_the_start",
            ),
            models.CheckConstraint(
                condition=_Q(tg0_mc__isnull=True, tg1_mc__isnull=True, lambda_ppm__isnull=True)
                | (_Q(tg0_mc__isnull=False, tg1_mc__isnull=False) & _Q(tg0_mc__lt=models.F("tg1_mc")) & _above("lambda_ppm")),
                name="kinetics_glass_whole",
            ),
        ]

    def __str__(self) -> str:
        owner = self.recipe or self.material
        return f"{owner.code if owner else '?'} v{self.version}"
