"""What a data sheet says of a material as a cured ply, or of a core: what a laminate's stiffness, thickness and resin are computed from."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models

from inventory import readers
from inventory.core.reasons import BadInput
from inventory.models import Material
from layups.core.stiffness import Elastic, Sheet

_POSITIVE = ("e1_pa", "e2_pa", "g12_pa", "cured_nm", "fibre_mg_cm3", "resin_mg_cm3")
_SHARES = ("fibre_volume_ppm", "resin_weight_ppm")


def _empty_or_above_zero() -> models.Q:
    found = models.Q()
    for name in _POSITIVE:
        found &= models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__gt": 0})
    return found


def _empty_or_a_share() -> models.Q:
    found = models.Q()
    for name in _SHARES:
        found &= models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__gt": 0, f"{name}__lt": 1_000_000})
    return found


class CuredPly(models.Model):
    """Each figure may be missing; what is missing is named where it is needed, and nothing is put in its place. Stiffness in Pa,
    Poisson's ratio and shares in millionths, expansion in 1e-12 per kelvin, thickness in nm, densities in mg/cm³."""

    material = models.OneToOneField(Material, on_delete=models.PROTECT, related_name="cured")
    source = models.CharField(max_length=200, help_text="Where the figures are from: the supplier's data sheet and its date, own tests.")
    e1_pa = models.BigIntegerField(null=True, blank=True)
    e2_pa = models.BigIntegerField(null=True, blank=True)
    g12_pa = models.BigIntegerField(null=True, blank=True)
    nu12_ppm = models.BigIntegerField(null=True, blank=True)
    alpha1_e12 = models.BigIntegerField(null=True, blank=True)
    alpha2_e12 = models.BigIntegerField(null=True, blank=True)
    cured_nm = models.BigIntegerField(null=True, blank=True)
    fibre_mg_cm3 = models.BigIntegerField(null=True, blank=True)
    resin_mg_cm3 = models.BigIntegerField(null=True, blank=True)
    fibre_volume_ppm = models.BigIntegerField(null=True, blank=True)
    resin_weight_ppm = models.BigIntegerField(null=True, blank=True)

    class Meta:
        verbose_name = "cured ply"
        verbose_name_plural = "cured plies"
        ordering = ["material__code"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(source=""),
                name="cured_ply_has_a_source",
                violation_error_message="Say where the figures are from: a data sheet and its date, or own tests.",
            ),
            models.CheckConstraint(
                condition=_empty_or_above_zero(),
                name="cured_ply_above_zero",
                violation_error_message="Stiffness, thickness and densities are above zero, or empty.",
            ),
            models.CheckConstraint(
                condition=_empty_or_a_share(),
                name="cured_ply_shares",
                violation_error_message="Fibre and resin are shares between 0 and 100 per cent, or empty.",
            ),
            models.CheckConstraint(
                condition=models.Q(fibre_volume_ppm__isnull=True) | models.Q(resin_weight_ppm__isnull=True),
                name="cured_ply_one_share",
                violation_error_message="Give the fibre by volume or the resin by weight: each follows from the other and the densities.",
            ),
        ]

    def __str__(self) -> str:
        return self.material.code

    def clean(self) -> None:
        """Figures that no ply can have are told at once."""
        try:
            if self.e1_pa and self.nu12_ppm is not None:
                Elastic(self.e1_pa, self.e2_pa or self.e1_pa, self.g12_pa or self.e1_pa, self.nu12_ppm / 1e6)
            if self.cured_nm:
                Sheet(Elastic(1e9, 1e9, 1e9, 0), self.cured_nm / 1e9, 0)
        except BadInput as bad:
            raise ValidationError(readers.shown(bad.reason.text)) from bad
