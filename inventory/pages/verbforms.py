"""A form for any verb, made from its parameter class: every verb has a page of its own, also before it has a better one.

Text fields take what a scanner or a person says, exactly as the interface for machines does; the verb itself reads it.
"""

from __future__ import annotations

import dataclasses
import re
import typing
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from inventory.core.reasons import BadInput
from inventory.core.said import say, strung, worded
from inventory.core.spans import local
from inventory.verbs.registry import Verb

from .measures import TYPED, Measure

_YES_NO = (("", say("not looked")), ("yes", say("yes")), ("no", say("no")))
_EPOCH_S = 1_000_000
_ABOUT = {"line": "a temperature", "core": "of a roll", "CutParts.run": "a length"}
"""What a field is about whose name English has for something else as well; by its name, or by class and name."""
_LOOSE = re.compile(r"(?:[\s,;]+|^)(?:and|or)$|^(?:with|at|from|to|into|in|for|over)$")
"""A word that leads on to the next field: it says nothing where it ends a hint."""


def form_class(verb: Verb) -> type[forms.Form]:
    """A Django form with one field for each parameter; tuples of nested rows are one row a line, values separated by “;”."""
    hints = typing.get_type_hints(verb.params)
    words = field_words(verb.params)
    fields: dict[str, Any] = {}
    for f in dataclasses.fields(verb.params):
        required = f.default is dataclasses.MISSING and f.default_factory is dataclasses.MISSING
        label = worded(label_of(f.name), about(verb.params, f.name))
        unit = "kg" if f.name == "core" and "gross" in hints else TYPED.get(f.name, "")
        fields[f.name] = _field(f.name, hints[f.name], required, words.get(f.name, ""), label, unit)
    return type(f"{verb.params.__name__}Form", (forms.Form,), fields)


def field_words(params: type) -> dict[str, str]:
    """What the parameter class's own description says of each field: the words after `name`: or `name`."""
    doc = " ".join((params.__doc__ or "").split())
    words: dict[str, str] = {}
    for f in dataclasses.fields(params):
        mark = f"`{f.name}`"
        at = doc.find(mark)
        if at >= 0:
            hint = doc[at + len(mark) :].lstrip(" :").split(". `")[0].split("`")[0].strip(" ;,").rstrip(".")[:200]
            while hint != (hint := _LOOSE.sub("", hint).strip(" ;,.:")):
                pass
            words[f.name] = hint
    return words


def label_of(name: str) -> str:
    return name.removesuffix("_us").replace("_", " ").capitalize()


def about(params: type, name: str) -> str:
    """What tells the label of this field from the same word for something else; mostly nothing."""
    return _ABOUT.get(f"{params.__name__}.{name}", _ABOUT.get(name, ""))


def _field(name: str, hint: Any, required: bool, words: str, label: str, unit: str = "") -> forms.Field:
    words = worded(words) if words else ""
    common: dict[str, Any] = {"required": required, "label": label, "help_text": words}
    kinds = [a for a in typing.get_args(hint) if a is not type(None)] if type(None) in typing.get_args(hint) else [hint]
    kind = kinds[0]
    if typing.get_origin(kind) is tuple:
        rows = say("one a line") + (
            say(", values in the order {columns}, separated by ;", columns=_columns(kind))
            if dataclasses.is_dataclass(typing.get_args(kind)[0])
            else ""
        )
        common["help_text"] = say("{words} ({rows})", words=words, rows=rows).strip()
        return forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), max_length=100_000, **common)
    if kind is bool and hint is bool:
        return forms.BooleanField(**{**common, "required": False})
    if kind is bool:
        return forms.ChoiceField(choices=_YES_NO, **{**common, "required": False})
    if kind is int and name.endswith("_us"):
        return forms.DateTimeField(widget=forms.DateTimeInput(attrs={"type": "datetime-local"}), **common)
    if kind is int:
        return forms.IntegerField(min_value=-(2**53), max_value=2**53, **common)
    if name in ("reason", "text", "note", "evidence"):
        return forms.CharField(widget=forms.Textarea(attrs={"rows": 2}), max_length=4096, **common)
    if unit:
        return Measure(unit=unit, max_length=4096, **common)
    return forms.CharField(max_length=4096, **common)


def _columns(kind: Any) -> str:
    return strung(", ", (worded(f.name) for f in dataclasses.fields(typing.get_args(kind)[0])))


def params_of(verb: Verb, cleaned: dict[str, Any], zone: str) -> Any:
    """The parameter object from a form's cleaned values. BadInput names a line that cannot be read."""
    hints = typing.get_type_hints(verb.params)
    values: dict[str, Any] = {}
    for f in dataclasses.fields(verb.params):
        value = _value(hints[f.name], cleaned.get(f.name), f.name, zone)
        if value is not None or type(None) in typing.get_args(hints[f.name]):
            values[f.name] = value
    return verb.params(**values)


def _value(hint: Any, raw: Any, name: str, zone: str) -> Any:
    optional = type(None) in typing.get_args(hint)
    kind = next(a for a in typing.get_args(hint) if a is not type(None)) if optional else hint
    if typing.get_origin(kind) is tuple:
        return _rows(typing.get_args(kind)[0], raw or "", name)
    if kind is bool:
        return {"yes": True, "no": False, "": None}.get(raw, raw) if isinstance(raw, str) else bool(raw)
    if isinstance(raw, datetime):
        return instant_of(raw, zone)
    if raw in (None, ""):
        return None if optional else ("" if kind is str else None)
    return raw


def instant_of(moment: datetime, zone: str) -> int:
    """A local time as typed → µs UTC. BadInput for one that the clock change skipped or gave twice."""
    naive = moment.replace(tzinfo=None)
    first, second = (naive.replace(tzinfo=ZoneInfo(zone), fold=fold) for fold in (0, 1))
    at, other = int(first.timestamp()) * _EPOCH_S, int(second.timestamp()) * _EPOCH_S
    if at != other:
        known = local(at, zone).replace(tzinfo=None) == naive.replace(microsecond=0)
        why = say("comes twice that night") if known else say("does not exist that night")
        raise BadInput(
            "time.clock_change",
            say("{naive} {why}, the clocks change: give a time before or after.", naive=f"{naive:%Y-%m-%d %H:%M}", why=why),
            "time",
        )
    return at


def _rows(kind: Any, raw: str, name: str) -> tuple[Any, ...]:
    lines = [line.strip() for line in raw.splitlines() if line.strip()]
    if not dataclasses.is_dataclass(kind):
        try:
            return tuple(kind(part) for line in lines for part in ([line] if kind is str else line.replace(",", " ").split()))
        except ValueError:
            raise BadInput("form.row", say("“{name}” takes whole numbers, one a line.", name=name), name) from None
    columns = dataclasses.fields(kind)
    hints = typing.get_type_hints(kind)
    out = []
    for number, line in enumerate(lines, 1):
        parts = [part.strip() for part in line.split(";")]
        if len(parts) > len(columns):
            raise BadInput("form.row", say("Line {number} of “{name}” has too many values.", number=number, name=name), name)
        try:
            cells = {c.name: _cell(hints[c.name], part, name, number) for c, part in zip(columns, parts, strict=False) if part}
            out.append(typing.cast(Any, kind)(**cells))
        except TypeError:
            raise BadInput(
                "form.row",
                say("Line {number} of “{name}” lacks a value: give {columns}.", number=number, name=name, columns=_columns(tuple[kind])),
                name,
            ) from None
    return tuple(out)


def _cell(hint: Any, text: str, name: str, number: int) -> Any:
    """One value of a line: words as they are, whole numbers parted by blanks. What has rows of its own has a page of its own."""
    if hint is str:
        return text
    inner = typing.get_args(hint)[0] if typing.get_origin(hint) is tuple else None
    if inner is not int:
        raise BadInput(
            "form.rows_in_rows", say("“{name}” has more to say than a line can hold: use the page made for it.", name=name), name
        )
    try:
        return tuple(int(part) for part in text.split())
    except ValueError:
        raise BadInput(
            "form.row", say("Line {number} of “{name}” takes whole numbers there, parted by blanks.", number=number, name=name), name
        ) from None
