"""Designs, their schedules and the rules that go with them in the admin: master data of what is built. Parts and what was
found on them are records."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.admin.options import InlineModelAdmin
from django.http import HttpRequest

from . import models as m
from .adminfields import celsius_field, duration_field, percent_field


class OwnLines(InlineModelAdmin):
    """Rows that may name a line of the design's schedule: only its own are offered, once it is saved."""

    def formfield_for_foreignkey(self, db_field: Any, request: HttpRequest, **more: Any) -> Any:
        if db_field.related_model is m.Ply:
            match = request.resolver_match
            design = match.kwargs.get("object_id") if match is not None else None
            known = str(design).isascii() and str(design).isdecimal() and len(str(design)) < 19
            more["queryset"] = m.Ply.objects.filter(design=int(str(design)) if known else 0).select_related("design")
        return super().formfield_for_foreignkey(db_field, request, **more)


class Plies(admin.TabularInline):
    """The schedule: a line a ply or step. `qty` in the material's stock unit's base (µm, 0.01 mm², µg, pieces)."""

    model = m.Ply
    extra = 3
    autocomplete_fields = ("material", "alternates")


class TighterForm(forms.ModelForm):
    """The figure in the unit of the limit: months, a time, or a count."""

    limit_us = duration_field("Time")

    class Meta:
        model = m.TighterLimit
        fields = ("customer", "design", "material", "limit", "months", "limit_us", "limit_n", "source")
        labels = {"limit_n": "Count"}


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

    least_us = duration_field("At least")
    most_us = duration_field("At most")

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

    low_mc = celsius_field("At least, °C")
    high_mc = celsius_field("At most, °C")
    rh_low_ppm = percent_field("At least, % RH")
    rh_high_ppm = percent_field("At most, % RH")

    class Meta:
        model = m.RoomLimit
        fields = ("line", "low_mc", "high_mc", "rh_low_ppm", "rh_high_ppm")


class Rooms(OwnLines, admin.TabularInline):
    """What the room must be like while something is laid."""

    model = m.RoomLimit
    form = RoomForm
    extra = 1
    verbose_name_plural = "room limits"


@admin.register(m.Design)
class DesignAdmin(admin.ModelAdmin):
    """A product's design. A part keeps the design it was begun with; retire one with `active`."""

    list_display = ("code", "name", "process", "kind", "active")
    search_fields = ("code", "name")
    inlines = (Plies, Windows, Rooms)
    actions = None

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
