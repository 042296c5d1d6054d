"""What a part should be made of: a design and its schedule of plies and steps."""

from __future__ import annotations

from django.db import models

from inventory.models import Material


class Design(models.Model):
    """One version of a product's design. `cure_min_mc` is the temperature below which an aborted run counts as not
    started (R11); hardness and drop-test limits are what an inspection is judged by. Times in µs, temperatures in m°C."""

    code = models.CharField(max_length=24, unique=True)
    name = models.CharField(max_length=120)
    process = models.CharField(max_length=24, help_text="prepreg, wet layup, infusion, winding, press, assembly …")
    kind = models.CharField(max_length=10, default="part", choices=[("part", "part"), ("assembly", "assembly")])
    cure_min_mc = models.BigIntegerField(default=40_000)
    drop_limit_pa = models.BigIntegerField(null=True, blank=True, help_text="Largest pressure rise in the drop test, in Pa.")
    hardness_min = models.CharField(max_length=10, blank=True)
    active = models.BooleanField(default=True)

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Ply(models.Model):
    """One line of the schedule: a ply, or a step that takes material (gelcoat, core, bond line, infusion, repair).
    `qty` is the amount per part in the material's stock unit; alternates are what the design allows instead (R22)."""

    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="plies")
    seq = models.IntegerField()
    step = models.CharField(max_length=16, default="ply")
    label = models.CharField(max_length=80, blank=True)
    material = models.ForeignKey(Material, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    recipe = models.ForeignKey("inventory.Recipe", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    angle = models.IntegerField(null=True, blank=True, help_text="Degrees from the part's reference direction.")
    qty = models.BigIntegerField(null=True, blank=True)
    alternates = models.ManyToManyField(Material, blank=True, related_name="+")

    class Meta:
        verbose_name_plural = "plies"
        ordering = ["design", "seq"]
        constraints = [
            models.UniqueConstraint(fields=["design", "seq"], name="ply_seq_once"),
            models.CheckConstraint(
                condition=models.Q(angle__isnull=True) | models.Q(angle__gte=-90, angle__lte=90), name="ply_angle_in_range"
            ),
            models.CheckConstraint(
                condition=models.Q(material__isnull=False) | models.Q(recipe__isnull=False), name="ply_names_a_material_or_a_recipe"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.design.code} {self.seq}"
