"""What a design takes beside its schedule, and how it is infused: what demand and fill time are computed from."""

from __future__ import annotations

from django.db import models

from inventory.models import Material

from .designs import Design


class Consumable(models.Model):
    """What one part uses up of a material that does not stay in it: peel ply, film, tape. `qty` in the material's stock unit."""

    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="consumables")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    qty = models.BigIntegerField()
    note = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["design", "material__code"]
        constraints = [
            models.UniqueConstraint(fields=["design", "material"], name="consumable_once_per_design"),
            models.CheckConstraint(
                condition=models.Q(qty__gt=0), name="consumable_above_zero", violation_error_message="Say how much one part uses."
            ),
        ]

    def __str__(self) -> str:
        return f"{self.design.code} {self.material.code}"


_NUMBERS = ("length_um", "width_um", "permeability_e18", "pressure_pa", "inlet_um", "fresh_upa_s", "doubles_us")


def _empty_or_above_zero() -> models.Q:
    found = models.Q()
    for name in _NUMBERS:
        found &= models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__gt": 0})
    return found


class Infusion(models.Model):
    """How the panel is infused. Lengths in µm, permeability in 1e-18 m² (100 000 000 is 1e-10 m²), shares in millionths, pressure in
    Pa, temperature in milli-°C, viscosity in µPa·s; times after mixing. What is missing is named, and nothing is put in its place."""

    design = models.OneToOneField(Design, on_delete=models.PROTECT, related_name="infusion")
    length_um = models.BigIntegerField(null=True, blank=True)
    width_um = models.BigIntegerField(null=True, blank=True)
    permeability_e18 = models.BigIntegerField(null=True, blank=True)
    scatter_ppm = models.BigIntegerField(null=True, blank=True)
    porosity_ppm = models.BigIntegerField(null=True, blank=True)
    pressure_pa = models.BigIntegerField(null=True, blank=True)
    room_mc = models.BigIntegerField(null=True, blank=True)
    inlet_um = models.BigIntegerField(null=True, blank=True)
    runners = models.IntegerField(null=True, blank=True)
    starts_us = models.BigIntegerField(null=True, blank=True)
    fresh_upa_s = models.BigIntegerField(null=True, blank=True)
    doubles_us = models.BigIntegerField(null=True, blank=True)
    stops_us = models.BigIntegerField(null=True, blank=True)
    source = models.CharField(max_length=200, blank=True, help_text="How permeability and porosity were measured, and when.")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=_empty_or_above_zero(),
                name="infusion_above_zero",
                violation_error_message="Lengths, permeability and pressure are above zero, or empty.",
            ),
            models.CheckConstraint(
                condition=(models.Q(porosity_ppm__isnull=True) | models.Q(porosity_ppm__gt=0, porosity_ppm__lt=1_000_000))
                & (models.Q(scatter_ppm__isnull=True) | models.Q(scatter_ppm__gte=0, scatter_ppm__lt=1_000_000)),
                name="infusion_shares",
                violation_error_message="Porosity lies between 0 and 100 per cent, scatter from 0 to below 100 per cent.",
            ),
            models.CheckConstraint(
                condition=(models.Q(runners__isnull=True) | models.Q(runners__gte=2, runners__lte=50))
                & (models.Q(starts_us__isnull=True) | models.Q(starts_us__gte=0)),
                name="infusion_runners_and_start",
                violation_error_message="Several runners are 2 to 50; the flow starts after mixing.",
            ),
            models.CheckConstraint(
                condition=models.Q(stops_us__isnull=True)
                | (models.Q(stops_us__gt=0) & (models.Q(starts_us__isnull=True) | models.Q(stops_us__gt=models.F("starts_us")))),
                name="infusion_stops_after_its_start",
                violation_error_message="The flow must stop after it starts.",
            ),
        ]

    def __str__(self) -> str:
        return self.design.code
