"""What a bare number counts in where people type one: the unit that stands beside its field, which is theirs.

The rule stands here once. A field says its metric unit; who reads in US units sees what stands for it (`ownunits.INSTEAD`), and a bare
number of theirs gets that unit before a verb reads it. So what is kept as entered has its unit, and no verb knows who typed. A number
with a unit stands as it was typed, whoever types it. Interfaces for machines are metric and do not come through here.
"""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.core.ownunits import INSTEAD
from inventory.readers import system

TYPED = {
    "temperature": "°C", "warmest": "°C", "coldest": "°C", "line": "°C", "air_warmest": "°C", "reached": "°C",
    "gross": "kg", "diameter": "mm", "core_diameter": "mm",
}  # fmt: skip
"""Parameters of verbs in which a bare number is one of this unit."""


def own(unit: str) -> str:
    """The unit that stands beside a field, for whoever reads now."""
    return INSTEAD.get(unit, unit) if system() == "us" else unit


def said_in(text: str, unit: str) -> str:
    """A figure alone is in the unit that stands beside its field; `unit` is the metric one."""
    text = text.strip()
    return f"{text} {own(unit)}" if text[-1:].isdecimal() else text


class Measure(forms.CharField):
    """A figure as it is typed. `unit`: the metric unit of a bare one. The tag that draws a field shows `shown` beside it."""

    def __init__(self, *, unit: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.unit = unit

    @property
    def shown(self) -> str:
        return own(self.unit)

    def clean(self, value: Any) -> str:
        return said_in(super().clean(value), self.unit)
