"""Quantities of the admin, typed as people write them and kept in whole numbers of a base unit."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.core.durations import parse_duration
from inventory.core.numerals import number, plain
from inventory.core.quantities import UNITS, read
from inventory.core.reasons import BadInput
from inventory.core.spans import MINUTE_US, limit_text
from inventory.core.temperature import display_celsius, parse_celsius
from inventory.core.units import display, parse, usual_unit
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


def quantity_field(label: str, dimension: str, usual: str, per_si: int, more: str = "") -> Typed:
    """A physical quantity; a bare number counts in `usual`. Kept as so many whole units (`per_si`) to one of SI."""
    factor = UNITS[dimension][usual]
    example = f"A bare number is in {usual}." if usual else ""

    def whole(text: str) -> int:
        value = round(read(text, dimension, usual, "") * per_si)
        if abs(value) >= 2**63:
            raise BadInput("quantity.too_big", "That is more than can be kept: check the unit.")
        return value

    def shown(value: int) -> str:
        return f"{value / per_si / factor:.12g} {usual}".strip()

    return Typed(whole, shown, label=label, help_text=" ".join(filter(None, (example, more))))


def stock_field(label: str, base: str, more: str = "") -> Typed:
    """An amount in a base unit of the shelf: an area, a mass."""

    def shown(value: int) -> str:
        return display(value, base, exact=True)

    return Typed(
        lambda text: parse(text, usual_unit(base), base, allow_zero=True),
        shown,
        label=label,
        help_text=" ".join(filter(None, (f"A bare number is in {usual_unit(base)}.", more))),
    )


def share_field(label: str, more: str = "") -> Typed:
    """A share in per cent, kept in millionths."""
    return quantity_field(label, "share", "%", 1_000_000, more)


def percent_field(label: str) -> Typed:
    return Typed(_ppm, rh_text, label=label, help_text="Relative humidity, for example 70 %.")


def _ppm(text: str) -> int:
    """Per cent as typed, in parts per million."""
    return round(number(text.removesuffix("RH").strip().removesuffix("%"), "humidity") * 10_000)


def _celsius(text: str) -> int:
    return parse_celsius(text, "°C" if text[-1:].isdigit() else None)
