"""Cure recipes in the admin: typed a stage a line, and kept by version."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.db.models import Max
from django.http import HttpRequest
from django.utils.translation import gettext_lazy

from layups.core import cure_recipe

from . import models as m

EXAMPLE = "room 20 °C\nramp 1 to 3 °C/min over 5 min\ndwell 180 −0/+5 °C for 120 −0/+30 min\ncool at most 2 °C/min to 70 °C"
HELP = gettext_lazy(
    "A stage a line, in the order in which they come. Low and high limits are apart: 180 −0/+5 °C is from 180 to 185 °C. "
    "“room” says how warm the hall is, for when heating began; “gap” how long a thermocouple may go unread."
)


class CureRecipeForm(forms.ModelForm):
    """The version is counted; what is typed is read before it is kept."""

    class Meta:
        model = m.CureRecipe
        fields = ("code", "name", "text", "source")
        help_texts = {"text": HELP}
        widgets = {"text": forms.Textarea(attrs={"rows": 8, "cols": 80, "placeholder": EXAMPLE})}

    def clean_code(self) -> str:
        code = self.cleaned_data["code"].strip()
        known = m.CureRecipe.objects.filter(code__iexact=code).first()
        return known.code if known is not None else code


@admin.register(m.CureRecipe)
class CureRecipes(admin.ModelAdmin):
    """A recipe never changes: add it again under its code, and let the designs name the new version."""

    form = CureRecipeForm
    list_display = ("code", "version", "name", "stages", "source")
    search_fields = ("code", "name")
    readonly_fields = ("version",)
    actions = None

    def get_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        return ("code", "name", "text", "source") if obj is None else ("code", "version", "name", "text", "stages", "source")

    @admin.display(description=gettext_lazy("is read as"))
    def stages(self, row: m.CureRecipe) -> str:
        return "; ".join(cure_recipe.write(row.recipe).splitlines())

    def save_model(self, request: HttpRequest, obj: m.CureRecipe, form: Any, change: bool) -> None:
        if not change:
            obj.version = (m.CureRecipe.objects.filter(code=obj.code).aggregate(last=Max("version"))["last"] or 0) + 1
        super().save_model(request, obj, form, change)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
