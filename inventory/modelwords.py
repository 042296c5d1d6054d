"""Names of models, fields and choices, and what their constraints say, in the reader's language, for the admin and for forms.

Models name their fields in plain English, once. Here those names become lazy, when the application is ready: so nothing has to be
marked, and migrations go on seeing the English.
"""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy, pgettext_lazy

from inventory.core.said import worded

ABOUT = {"CountLine.sheet": "of a count"}
"""What a field is about whose name English has for something else as well (a sheet of material)."""


def translate(config: AppConfig) -> None:
    for model in config.get_models():
        meta: Any = model._meta
        plural = str(meta.verbose_name_plural)  # where none is given it is a promise of the name and an s, which is no German
        meta.verbose_name, meta.verbose_name_plural = _lazy(meta.verbose_name), gettext_lazy(plural)
        for field in (*meta.local_fields, *meta.local_many_to_many):
            about = ABOUT.get(f"{model.__name__}.{field.name}", "")
            field.verbose_name, field.help_text = _lazy(field.verbose_name, about), _lazy(field.help_text)
            if field.choices:
                field.choices = [(value, worded(str(label))) for value, label in field.choices]
        for constraint in meta.constraints:
            constraint.violation_error_message = _lazy(constraint.violation_error_message)


def _lazy(text: str | Promise, about: str = "") -> str | Promise:
    if not text or not isinstance(text, str):
        return text
    return pgettext_lazy(about, text) if about else gettext_lazy(text)
