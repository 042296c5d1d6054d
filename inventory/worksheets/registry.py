"""The table of worksheets. `@worksheet` adds a function: its parameter class is a frozen dataclass of texts, as people type them;
its answer is a `Sheet`. Pages and the interface for machines are made from both.

A worksheet is pure: it reads no clock and no database, and keeps nothing.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from inventory.core.quantities import read


@dataclass(frozen=True, slots=True)
class Figure:
    """One result. `value`: the number in `unit`, or a word; `text`: as a person reads it; `note`: its method or range."""

    name: str
    text: str
    value: float | int | str | bool | None = None
    unit: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of texts and numbers under their columns."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str | float | int, ...], ...]


@dataclass(frozen=True, slots=True)
class Series:
    """Points (x, y), or (degrees, radius) of a polar chart."""

    name: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """`kind`: "line" or "polar". `says`: what one sees in it, in a sentence, for who cannot."""

    title: str
    kind: str
    x: str
    y: str
    series: tuple[Series, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """The answer: a sentence, figures, what has to be minded, and what to look at."""

    headline: str
    figures: tuple[Figure, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    charts: tuple[Chart, ...] = ()


@dataclass(frozen=True, slots=True)
class Worksheet:
    """One row of the table: `params` has a text for each figure, `run` gives the sheet or raises BadInput."""

    name: str
    title: str
    about: str
    params: type
    run: Callable[[Any], Sheet]


WORKSHEETS: dict[str, Worksheet] = {}


def worksheet(name: str, params: type, title: str, about: str) -> Callable[[Callable[[Any], Sheet]], Callable[[Any], Sheet]]:
    """Put a function into the table. Raises ValueError for a name that is taken."""

    def add(run: Callable[[Any], Sheet]) -> Callable[[Any], Sheet]:
        if name in WORKSHEETS:
            raise ValueError(f"there are two worksheets {name}")
        WORKSHEETS[name] = Worksheet(name, title, about, params, run)
        return run

    return add


def figure(label: str, dimension: str = "", usual: str = "", default: str | None = None, words: str = "", rows: int = 1) -> Any:
    """A parameter: its label, what it measures and in which unit a bare number counts, and an example that stands in the form. Without
    `default` it must be given; an empty default means that it may be left out."""
    about = {"label": label, "dimension": dimension, "usual": usual, "words": words, "rows": rows}
    return field(metadata=about) if default is None else field(default=default, metadata=about)


def number(params: Any, name: str) -> float:
    """A parameter in SI units. BadInput names the field."""
    about = next(f.metadata for f in dataclasses.fields(params) if f.name == name)
    return read(getattr(params, name), about["dimension"], about["usual"], name)


def given(params: Any, name: str) -> float | None:
    """The same for one that may be left out."""
    return number(params, name) if getattr(params, name).strip() else None
