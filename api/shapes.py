"""Serializers made from the verbs' parameter classes: they translate and hold no rule.

One dataclass gives one serializer, so the interface, its description and the pages can never disagree about a field.
"""

from __future__ import annotations

import dataclasses
import functools
import types
import typing
from typing import Any

from rest_framework import serializers

MAX_TEXT = 4096
MAX_ROWS = 2000


class StrictSerializer(serializers.Serializer[Any]):
    """Refuses fields that it does not know: a misspelt one must not be left out in silence."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, dict):
            unknown = sorted(set(data) - set(self.fields))
            if unknown:
                raise serializers.ValidationError({name: ["There is no such field."] for name in unknown[:20]})
        return super().to_internal_value(data)


class StrictInteger(serializers.IntegerField):
    """A whole number; neither true nor "12" nor 12.0, which a sender may have meant otherwise."""

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, bool) or not isinstance(data, int):
            self.fail("invalid")
        return int(super().to_internal_value(data))


class StrictText(serializers.CharField):
    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("invalid")
        return str(super().to_internal_value(data))


class StrictBoolean(serializers.BooleanField):
    def to_internal_value(self, data: Any) -> bool:
        if not isinstance(data, bool):
            self.fail("invalid", input=data)
        return data


@functools.cache
def serializer_of(params: type) -> type[StrictSerializer]:
    """The serializer class of a parameter dataclass."""
    hints = typing.get_type_hints(params)
    fields: dict[str, Any] = {}
    for f in dataclasses.fields(params):
        has_default = f.default is not dataclasses.MISSING or f.default_factory is not dataclasses.MISSING
        fields[f.name] = _field(hints[f.name], required=not has_default)
    return type(params.__name__, (StrictSerializer,), {**fields, "__doc__": params.__doc__, "__module__": params.__module__})


def _field(hint: Any, required: bool) -> serializers.Field[Any, Any, Any, Any]:
    optional = False
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        rest = [a for a in typing.get_args(hint) if a is not type(None)]
        optional, hint = True, rest[0]
    common: dict[str, Any] = {"required": required, **({"allow_null": True} if optional else {})}
    if typing.get_origin(hint) is tuple:
        inner = typing.get_args(hint)[0]
        if dataclasses.is_dataclass(inner):
            many: dict[str, Any] = {"many": True, "max_length": MAX_ROWS, **common}  # the list takes these, not its rows
            return serializer_of(typing.cast(type, inner))(**many)
        return serializers.ListField(child=_field(inner, True), max_length=MAX_ROWS, **common)
    if dataclasses.is_dataclass(hint):
        return serializer_of(typing.cast(type, hint))(**common)
    if hint is bool:
        return StrictBoolean(**common)
    if hint is int:
        return StrictInteger(min_value=-(2**53), max_value=2**53, **common)
    return StrictText(allow_blank=True, max_length=MAX_TEXT, trim_whitespace=False, **common)


def build(params: type, values: dict[str, Any]) -> Any:
    """The dataclass from validated values, nested ones included."""
    hints = typing.get_type_hints(params)
    return params(**{name: _build(hints[name], value) for name, value in values.items()})


def _build(hint: Any, value: Any) -> Any:
    if value is None:
        return None
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        hint = next(a for a in typing.get_args(hint) if a is not type(None))
    if typing.get_origin(hint) is tuple:
        inner = typing.get_args(hint)[0]
        return tuple(_build(inner, v) for v in value)
    if dataclasses.is_dataclass(hint):
        return build(typing.cast(type, hint), value)
    return value
