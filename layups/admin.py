"""Designs and their schedules in the admin: master data of what is built. Parts and what was found on them are records."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from . import models as m


class Plies(admin.TabularInline):
    """The schedule: a line a ply or step. `qty` in the material's stock unit's base (µm, 0.01 mm², µg, pieces)."""

    model = m.Ply
    extra = 3
    autocomplete_fields = ("material", "alternates")


@admin.register(m.Design)
class DesignAdmin(admin.ModelAdmin):
    """A product's design. A part keeps the design it was begun with; retire one with `active`."""

    list_display = ("code", "name", "process", "kind", "active")
    search_fields = ("code", "name")
    inlines = (Plies,)
    actions = None

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
