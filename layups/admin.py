"""Designs, their schedules and the rules that go with them in the admin: master data of what is built. Parts and what was
found on them are records."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.admin.options import InlineModelAdmin
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from . import curingadmin  # noqa: F401  registers the cure recipes
from . import models as m
from .adminfields import celsius_field, duration_field, percent_field, quantity_field, share_field, stock_field


class OwnLines(InlineModelAdmin):
    """Rows that may name a line of the design's schedule: only its own are offered, once it is saved."""

    def formfield_for_foreignkey(self, db_field: Any, request: HttpRequest, **more: Any) -> Any:
        if db_field.related_model is m.Ply:
            match = request.resolver_match
            design = match.kwargs.get("object_id") if match is not None else None
            known = str(design).isascii() and str(design).isdecimal() and len(str(design)) < 19
            more["queryset"] = m.Ply.objects.filter(design=int(str(design)) if known else 0).select_related("design")
        return super().formfield_for_foreignkey(db_field, request, **more)


class PlyForm(forms.ModelForm):
    """Area and loss as people write them."""

    net_cmm2 = stock_field(_("Net area"), "cmm2", _("Of the ply as it lies in one part."))
    loss_ppm = share_field(_("Loss"), _("In cutting it; empty: the design's."))

    class Meta:
        model = m.Ply
        fields = ("seq", "step", "label", "material", "recipe", "wets", "angle", "qty", "net_cmm2", "loss_ppm", "alternates")
        labels = {"wets": _("Wets the dry plies")}


class Plies(admin.TabularInline):
    """The schedule: a line a ply or step. `qty` in the material's stock unit's base (µm, 0.01 mm², µg, pieces)."""

    model = m.Ply
    form = PlyForm
    extra = 3
    autocomplete_fields = ("material", "alternates")


class Consumables(admin.TabularInline):
    """What one part uses up beside its schedule. `qty` as in the schedule."""

    model = m.Consumable
    extra = 2
    autocomplete_fields = ("material",)


class InfusionForm(forms.ModelForm):
    """Figures as people write them; what is not known is left empty."""

    length_um = quantity_field(_("Length"), "length", "m", 1_000_000)
    width_um = quantity_field(_("Width"), "length", "m", 1_000_000)
    permeability_e18 = quantity_field(_("Permeability"), "area", "m²", 10**18, _("Of the stack with its flow mesh, measured: 1e-10 m²."))
    scatter_ppm = share_field(_("± of the permeability"), _("Empty: as laboratories differ on a woven fabric."))
    porosity_ppm = share_field(_("Porosity"), _("100 % less the fibre by volume."))
    pressure_pa = quantity_field(_("Pressure difference"), "pressure", "mbar", 1)
    room_mc = celsius_field(_("Resin and tool, °C"))
    inlet_um = quantity_field(_("Radius of a point inlet"), "length", "mm", 1_000_000)
    starts_us = duration_field(_("The flow starts, after mixing"))
    fresh_upa_s = quantity_field(_("Viscosity at the start"), "viscosity", "mPa·s", 1_000_000, _("At that temperature."))
    doubles_us = duration_field(_("It doubles every"))
    stops_us = duration_field(_("The flow must stop, after mixing"))

    class Meta:
        model = m.Infusion
        fields = (
            "length_um", "width_um", "permeability_e18", "scatter_ppm", "porosity_ppm", "pressure_pa", "room_mc", "inlet_um", "runners",
            "starts_us", "fresh_upa_s", "doubles_us", "stops_us", "source",
        )  # fmt: skip


class Infusions(admin.StackedInline):
    model = m.Infusion
    form = InfusionForm
    extra = 1
    max_num = 1
    verbose_name_plural = _("infusion")


class CuredPlyForm(forms.ModelForm):
    """Stiffness, expansion and thickness with their units, as a data sheet prints them."""

    e1_pa = quantity_field(_("E1, along the fibres or a yarn"), "pressure", "GPa", 1, _("Of a mat or a core: its E."))
    e2_pa = quantity_field(_("E2, across"), "pressure", "GPa", 1, _("Of a fabric: along its other yarn."))
    g12_pa = quantity_field(_("G12, in-plane shear"), "pressure", "GPa", 1)
    nu12_ppm = quantity_field(_("ν12"), "number", "", 1_000_000)
    alpha1_e12 = quantity_field(_("α1, expansion along"), "expansion", "ppm/K", 10**12)
    alpha2_e12 = quantity_field(_("α2, across"), "expansion", "ppm/K", 10**12)
    cured_nm = quantity_field(
        _("Cured ply thickness"), "length", "mm", 10**9, _("Empty: by geometry, from areal weight, fibre density and volume.")
    )
    fibre_mg_cm3 = quantity_field(_("Fibre density"), "density", "g/cm³", 1)
    resin_mg_cm3 = quantity_field(_("Density of the cured resin"), "density", "g/cm³", 1)
    fibre_volume_ppm = share_field(_("Fibre by volume"), _("What is aimed at; or…"))
    resin_weight_ppm = share_field(_("Resin by weight"), _("…what is aimed at, or what a prepreg brings."))

    class Meta:
        model = m.CuredPly
        fields = (
            "material", "source", "e1_pa", "e2_pa", "g12_pa", "nu12_ppm", "alpha1_e12", "alpha2_e12", "cured_nm", "fibre_mg_cm3",
            "resin_mg_cm3", "fibre_volume_ppm", "resin_weight_ppm",
        )  # fmt: skip


@admin.register(m.CuredPly)
class CuredPlies(admin.ModelAdmin):
    """What a data sheet says of a material once it is cured. Every figure may be missing; nothing is put in its place."""

    form = CuredPlyForm
    list_display = ("material", "source")
    list_select_related = ("material",)
    search_fields = ("material__code", "material__name")
    autocomplete_fields = ("material",)
    actions = None


class TighterForm(forms.ModelForm):
    """The figure in the unit of the limit: months, a time, or a count."""

    limit_us = duration_field(_("Time"))

    class Meta:
        model = m.TighterLimit
        fields = ("customer", "design", "material", "limit", "months", "limit_us", "limit_n", "source")
        labels = {"limit_n": pgettext_lazy("a number", "Count")}


@admin.register(m.TighterLimit)
class TighterLimits(admin.ModelAdmin):
    """What a customer or a design tightens; taken away again when it no longer holds. Records keep what they were judged by."""

    form = TighterForm
    list_display = ("material", "limit", "customer", "design", "months", "limit_us", "limit_n", "source")
    list_select_related = ("material", "customer", "design")
    search_fields = ("material__code", "limit", "customer__name", "design__code")
    autocomplete_fields = ("customer", "design", "material")
    actions = None


class WindowForm(forms.ModelForm):
    """Times as people write them."""

    least_us = duration_field(_("At least"))
    most_us = duration_field(_("At most"))

    class Meta:
        model = m.Window
        fields = ("name", "first_line", "first_step", "then_line", "then_step", "least_us", "most_us", "remedy", "again")


class Windows(OwnLines, admin.StackedInline):
    """How long after one thing the next may come. Lines can be chosen once the schedule is saved."""

    model = m.Window
    form = WindowForm
    extra = 1


class RoomForm(forms.ModelForm):
    """Temperatures in °C, humidity in per cent."""

    low_mc = celsius_field(_("At least, °C"))
    high_mc = celsius_field(_("At most, °C"))
    rh_low_ppm = percent_field(_("At least, % RH"))
    rh_high_ppm = percent_field(_("At most, % RH"))

    class Meta:
        model = m.RoomLimit
        fields = ("line", "low_mc", "high_mc", "rh_low_ppm", "rh_high_ppm")


class Rooms(OwnLines, admin.TabularInline):
    """What the room must be like while something is laid."""

    model = m.RoomLimit
    form = RoomForm
    extra = 1
    verbose_name_plural = _("room limits")


class DesignForm(forms.ModelForm):
    """Losses in per cent, resin by weight."""

    loss_ppm = share_field(_("Loss in cutting"), _("Of what comes off the roll, all plies alike."))
    resin_waste_ppm = share_field(_("Resin lost"), _("In cups, rollers and lines, of what is mixed."))
    resin_extra_ug = stock_field(_("Resin beside the fabric"), "ug", _("What core and corners of one part take."))

    class Meta:
        model = m.Design
        fields = (
            "code", "name", "process", "kind", "cure_min_mc", "drop_limit_pa", "hardness_min", "cure_recipe", "active", "loss_ppm",
            "resin_waste_ppm", "resin_extra_ug",
        )  # fmt: skip


@admin.register(m.Design)
class DesignAdmin(admin.ModelAdmin):
    """A product's design. A part keeps the design it was begun with; retire one with `active`."""

    list_display = ("code", "name", "process", "kind", "cure_recipe", "active")
    list_select_related = ("cure_recipe",)
    search_fields = ("code", "name")
    autocomplete_fields = ("cure_recipe",)
    form = DesignForm
    inlines = (Plies, Consumables, Infusions, Windows, Rooms)
    actions = None

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
