"""The admin: for master data. Records stand in it to be read; nothing there can be added, changed or deleted, and what must
never change once it is in use (limits, specifications, storage classes, required values) can only be added.

The database guards the records by itself; this only keeps the buttons away.
"""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest
from django.utils.translation import gettext, gettext_lazy

from inventory import kinetics, readers
from inventory.core import codes
from inventory.core.reasons import BadInput
from inventory.pages.signing import badge_digest

from . import models as m

admin.site.site_header = gettext_lazy("Selvedge: master data")
admin.site.site_title = "Selvedge"
admin.site.index_title = gettext_lazy("What is set up once, and the records to be read")


class Master(admin.ModelAdmin):
    """May be added and changed; deleted only while nothing points at it (the database says so)."""

    show_full_result_count = False
    actions = None


class AddOnly(Master):
    """A row never changes: a change is a new row."""

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class Record(admin.ModelAdmin):
    """To be read. The records' own page is better for that; this one shows every column."""

    actions = None
    show_full_result_count = False
    list_per_page = 50

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return bool(request.user.is_active and request.user.is_staff)


class RolesInline(admin.TabularInline):
    model = m.Role
    extra = 1


class LimitsInline(admin.TabularInline):
    """Limits are given with the version that they belong to, and stay."""

    model = m.LifeLimit
    extra = 3

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class CertLimitsInline(admin.TabularInline):
    model = m.CertLimit
    extra = 1


class AdditivesInline(admin.TabularInline):
    model = m.RecipeAdditive
    extra = 1


@admin.register(m.User)
class Users(UserAdmin):
    """A sign-in, and whose it is."""

    actions = None
    list_display = ("username", "person", "is_active", "is_staff")
    fieldsets = (*(UserAdmin.fieldsets or ()), (gettext_lazy("Who this is"), {"fields": ("person",)}))
    add_fieldsets = (*UserAdmin.add_fieldsets, (gettext_lazy("Who this is"), {"fields": ("person",)}))


class PersonForm(forms.ModelForm):
    """A person, and the badge that names them: kept hashed, so it can be set but not shown."""

    badge = forms.CharField(
        required=False, max_length=200, label=gettext_lazy("Badge"), help_text=gettext_lazy("Scan the badge. Empty: leave it as it is.")
    )

    class Meta:
        model = m.Person
        fields = ("site", "name", "email", "language", "units", "ended_us")

    def clean_badge(self) -> str:
        text = self.cleaned_data["badge"].strip()
        if not text:
            return ""
        scan = codes.normalise(text)
        if scan.code is None or scan.on != "person":
            raise forms.ValidationError(gettext("This is not one of our badges: scan it again."))
        digest = badge_digest(scan.code)
        if m.Person.objects.filter(badge_sha256=digest).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError(gettext("This badge is somebody else's."))
        return digest


@admin.register(m.Person)
class People(Master):
    form = PersonForm
    fields = ("site", "name", "email", "language", "units", "ended_us", "badge")
    list_display = ("name", "site", "email", "ended_us")
    list_filter = ("site",)
    search_fields = ("name",)
    inlines = (RolesInline,)

    def save_model(self, request: HttpRequest, obj: m.Person, form: Any, change: bool) -> None:
        if form.cleaned_data.get("badge"):
            obj.badge_sha256 = form.cleaned_data["badge"]
        super().save_model(request, obj, form, change)


@admin.register(m.Material)
class Materials(Master):
    list_display = ("code", "name", "kind", "unit", "supplier", "hazard", "reorder_at")
    list_filter = ("kind", "hazard")
    search_fields = ("code", "name")
    inlines = (CertLimitsInline,)


@admin.register(m.LifeSpec)
class LifeSpecs(AddOnly):
    list_display = ("material", "version", "note")
    list_select_related = ("material",)
    inlines = (LimitsInline,)


@admin.register(m.LifeLimit)
class LifeLimits(AddOnly):
    list_display = ("spec", "name", "clock", "checkpoint", "months", "limit_us", "limit_n")
    list_select_related = ("spec__material",)


@admin.register(m.StorageClass)
class StorageClasses(AddOnly):
    list_display = ("name", "low_mc", "high_mc", "site")


@admin.register(m.Location)
class Locations(Master):
    """A place's temperature band never changes: retire the place and make another."""

    list_display = ("code", "name", "kind", "storage", "accepts", "refuses", "max_ug", "count_days", "retired_us")
    list_filter = ("kind",)
    search_fields = ("code", "name")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        return ("site", "storage") if obj is not None else ()

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class KineticsForm(forms.ModelForm):
    """What the core says of the figures is told at the field where it belongs. The version counts itself."""

    class Meta:
        model = m.Kinetics
        exclude = ("version",)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors:
            try:
                kinetics.check(m.Kinetics(version=0, **cleaned))
            except BadInput as bad:
                self.add_error(bad.where if bad.where in self.fields else None, readers.shown(bad.reason.text))
        return cleaned


@admin.register(m.Recipe)
class Recipes(Master):
    list_display = ("code", "name", "kind", "resin", "hardener", "low_ppm", "target_ppm", "high_ppm")
    search_fields = ("code", "name")
    inlines = (AdditivesInline,)


@admin.register(m.Kinetics)
class KineticsAdmin(AddOnly):
    """How fast a system reacts. A version never changes, since pots name it: enter a new one, and the next pot takes it."""

    form = KineticsForm
    list_display = ("__str__", "name", "source", "low_mc", "high_mc", "heat_j_kg", "gel_by")
    list_select_related = ("recipe", "material")
    autocomplete_fields = ("recipe", "material")

    def save_model(self, request: HttpRequest, obj: m.Kinetics, form: Any, change: bool) -> None:
        obj.version = kinetics.next_version(obj)
        super().save_model(request, obj, form, change)


@admin.register(m.Device)
class Devices(Master):
    list_display = ("name", "kind", "site")
    list_filter = ("kind",)


@admin.register(m.Probe)
class Probes(Master):
    list_display = ("name", "measures", "place", "site")
    list_filter = ("measures",)


@admin.register(m.Calibration)
class Calibrations(AddOnly):
    list_display = ("probe", "done_on", "due_on", "reference")
    fields = ("probe", "done_on", "due_on", "reference")


@admin.register(m.Site)
class Sites(Master):
    list_display = ("code", "name", "zone")


@admin.register(m.Supplier, m.Customer)
class Named(Master):
    search_fields = ("name",)


@admin.register(m.Token)
class Tokens(Record):
    """A token is made by the command that shows it once; here it can be seen who has one."""

    list_display = ("name", "person", "device", "scopes", "until_us", "revoked_us")


@admin.register(m.Act)
class Acts(Record):
    list_display = ("id", "kind", "stance", "person", "device", "happened_us", "recorded_us")
    list_filter = ("kind", "stance")
    list_select_related = ("person", "device")


@admin.register(m.Leg)
class Legs(Record):
    list_display = ("id", "act", "item", "seq", "delta", "counted", "location")
    list_select_related = ("act", "item", "location")


RECORDS = (
    m.Attachment, m.Block, m.CertValue, m.CountLine, m.CountSheet,
    m.Delivery, m.Disposition, m.Edge, m.Exemption, m.Extension, m.Finding, m.Flag, m.Item,
    m.ItemCode, m.ItemState, m.Job, m.Lot, m.Nonconformance, m.Notice, m.Outbox, m.PotCurve, m.Reading, m.Refusal, m.SupplierLabel,
    m.TemperatureLog,
)  # fmt: skip
for _model in RECORDS:
    admin.site.register(_model, Record)
