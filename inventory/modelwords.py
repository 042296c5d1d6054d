"""Names of models, fields and choices in the reader's language, for the admin and for forms.

Models name their fields in plain English, once. Here those names become lazy, when the application is ready: so nothing has to be
marked, and migrations go on seeing the English.
"""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from inventory.core.said import worded


def translate(config: AppConfig) -> None:
    for model in config.get_models():
        meta: Any = model._meta
        meta.verbose_name, meta.verbose_name_plural = _lazy(meta.verbose_name), _lazy(meta.verbose_name_plural)
        for field in (*meta.local_fields, *meta.local_many_to_many):
            field.verbose_name, field.help_text = _lazy(field.verbose_name), _lazy(field.help_text)
            if field.choices:
                field.choices = [(value, worded(str(label))) for value, label in field.choices]


def _lazy(text: str | Promise) -> str | Promise:
    return gettext_lazy(text) if text and isinstance(text, str) else text
