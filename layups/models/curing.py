"""How a part is to be cured, and what the charts of its runs said."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models

from inventory import readers
from inventory.core.reasons import BadInput
from inventory.models import Act
from layups.core import cure_recipe

from .parts import CureRun, Part


class CureRecipe(models.Model):
    """One version of a cure recipe, a stage a line (`layups.core.cure_recipe`). Insert-only: a change is a new version, which a design
    names once it is to count. What a chart was judged by is copied into its record."""

    code = models.CharField(max_length=24, help_text="What people call it: OVEN-120.")
    version = models.IntegerField()
    name = models.CharField(max_length=120)
    text = models.TextField("stages")
    source = models.CharField(max_length=120, blank=True, help_text="Where that is written: data sheet, process specification.")

    class Meta:
        ordering = ["code", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["code", "version"], name="cure_recipe_version_once"),
            models.CheckConstraint(condition=models.Q(version__gt=0), name="cure_recipe_version_above_zero"),
            models.CheckConstraint(condition=~models.Q(code="") & ~models.Q(text=""), name="cure_recipe_has_a_code_and_stages"),
        ]

    def __str__(self) -> str:
        return f"{self.code} v{self.version}"

    def clean(self) -> None:
        try:
            cure_recipe.read(self.text)
        except BadInput as bad:
            raise ValidationError({"text": readers.shown(bad.reason.text)}) from bad

    @property
    def recipe(self) -> cure_recipe.CureRecipe:
        return cure_recipe.read(self.text)


class CureChart(models.Model):
    """What the chart of a run said of one part. Insert-only; the record's leg keeps the whole verdict, the record the file."""

    act = models.ForeignKey(Act, on_delete=models.PROTECT, related_name="charts")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="charts")
    run = models.ForeignKey(CureRun, null=True, blank=True, on_delete=models.PROTECT, related_name="charts")
    recipe = models.ForeignKey(CureRecipe, on_delete=models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=12, choices=[("passes", "passes"), ("fails", "fails"), ("cannot tell", "cannot tell")])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["act", "part"], name="cure_chart_once_per_record_and_part"),
            models.CheckConstraint(condition=models.Q(verdict__in=["passes", "fails", "cannot tell"]), name="cure_chart_verdict_known"),
        ]
