"""Quantities of the admin, typed as people write them and kept in whole numbers of a base unit."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.functional import Promise
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy

from inventory import readers
from inventory.core.durations import parse_duration
from inventory.core.numerals import number, plain
from inventory.core.quantities import UNITS, read
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.spans import MINUTE_US, limit_text
from inventory.core.temperature import display_celsius, parse_celsius
from inventory.core.units import display, parse, usual_unit
from layups.core.rooms import rh_text

Words = str | Promise
"""Labels and help are lazy: a form is made once and read in several languages."""


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
            raise ValidationError(readers.shown(bad.reason.text)) from bad

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(initial != self.clean(data))
        except ValidationError:
            return True


def duration_field(label: Words) -> Typed:
    return Typed(parse_duration, _exact, label=label, help_text=gettext_lazy("For example 24 h, or 30 min."))


def _exact(us: int) -> str:
    """To the last figure, so that saving what is shown changes nothing."""
    if us % MINUTE_US == 0:
        return limit_text(us)
    return f"{plain(Fraction(us, MINUTE_US), 8).rstrip('0')} min"


def celsius_field(label: Words) -> Typed:
    return Typed(_celsius, display_celsius, label=label, help_text=gettext_lazy("In °C."))


def _bare(usual: str, more: Words) -> Words:
    """Which unit is meant where none is typed, and what else there is to say."""
    if not usual:
        return more
    example = format_lazy(gettext_lazy("A bare number is in {unit}."), unit=usual)
    return format_lazy("{example} {more}", example=example, more=more) if more else example


def quantity_field(label: Words, dimension: str, usual: str, per_si: int, more: Words = "") -> Typed:
    """A physical quantity; a bare number counts in `usual`. Kept as so many whole units (`per_si`) to one of SI."""
    factor = UNITS[dimension][usual]

    def whole(text: str) -> int:
        value = round(read(text, dimension, usual, "") * per_si)
        if abs(value) >= 2**63:
            raise BadInput("quantity.too_big", say("That is more than can be kept: check the unit."))
        return value

    def shown(value: int) -> str:
        return f"{value / per_si / factor:.12g} {usual}".strip()

    return Typed(whole, shown, label=label, help_text=_bare(usual, more))


def stock_field(label: Words, base: str, more: Words = "") -> Typed:
    """An amount in a base unit of the shelf: an area, a mass."""

    def shown(value: int) -> str:
        return display(value, base, exact=True)

    return Typed(
        lambda text: parse(text, usual_unit(base), base, allow_zero=True),
        shown,
        label=label,
        help_text=_bare(usual_unit(base), more),
    )


def share_field(label: Words, more: Words = "") -> Typed:
    """A share in per cent, kept in millionths."""
    return quantity_field(label, "share", "%", 1_000_000, more)


def percent_field(label: Words) -> Typed:
    return Typed(_ppm, rh_text, label=label, help_text=gettext_lazy("Relative humidity, for example 70 %."))


def _ppm(text: str) -> int:
    """Per cent as typed, in parts per million."""
    return round(number(text.removesuffix("RH").strip().removesuffix("%"), "humidity") * 10_000)


def _celsius(text: str) -> int:
    return parse_celsius(text, "°C" if text[-1:].isdigit() else None)
