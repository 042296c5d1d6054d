"""Times, temperatures and shares of the admin, typed as people write them and kept in base units."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.core.durations import parse_duration
from inventory.core.numerals import number, plain
from inventory.core.reasons import BadInput
from inventory.core.spans import MINUTE_US, limit_text
from inventory.core.temperature import display_celsius, parse_celsius
from layups.core.rooms import rh_text


class Typed(forms.CharField):
    """A whole number in a base unit, typed as text; empty is None."""

    def __init__(self, read: Callable[[str], int], show: Callable[[int], str], **more: Any) -> None:
        super().__init__(required=False, max_length=24, widget=forms.TextInput(attrs={"size": 8}), **more)
        self.read, self.show = read, show

    def prepare_value(self, value: Any) -> Any:
        return self.show(value) if isinstance(value, int) else value

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return self.read(text)
        except BadInput as bad:
            raise ValidationError(bad.reason.text) from bad

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(initial != self.clean(data))
        except ValidationError:
            return True


def duration_field(label: str) -> Typed:
    return Typed(parse_duration, _exact, label=label, help_text="For example 24 h, or 30 min.")


def _exact(us: int) -> str:
    """To the last figure, so that saving what is shown changes nothing."""
    if us % MINUTE_US == 0:
        return limit_text(us)
    return f"{plain(Fraction(us, MINUTE_US), 8).rstrip('0')} min"


def celsius_field(label: str) -> Typed:
    return Typed(_celsius, display_celsius, label=label, help_text="In °C.")


def percent_field(label: str) -> Typed:
    return Typed(_ppm, rh_text, label=label, help_text="Relative humidity, for example 70 %.")


def _ppm(text: str) -> int:
    """Per cent as typed, in parts per million."""
    return round(number(text.removesuffix("RH").strip().removesuffix("%"), "humidity") * 10_000)


def _celsius(text: str) -> int:
    return parse_celsius(text, "°C" if text[-1:].isdigit() else None)
