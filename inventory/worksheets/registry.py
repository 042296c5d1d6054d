"""The table of worksheets. `@worksheet` adds a function: its parameter class is a frozen dataclass of texts, as people type them;
its answer is a `Sheet`. Pages and the interface for machines are made from both.

A worksheet is pure: it reads no clock and no database, and keeps nothing.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from inventory.core.quantities import exact, of, read
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say, strung
from inventory.core.temperature import parse_celsius

SECTIONS = (
    say("Tow, fabric, ply and roll"),
    say("Resin and hardener"),
    say("Cure and pots"),
    say("Prepreg life"),
    say("Laminate and infusion"),
    say("Incoming values"),
    say("More"),
)
"""The headings of the list, in their order."""
TOW, RESIN, CURE, PREPREG, LAMINATE, INCOMING, MORE = SECTIONS
MOST = 4096
"""Characters of a figure, unless it says another number: one that takes more may be handed in as a file."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One result. `value`: the number in `unit`, or a word; `text`: as a person reads it; `note`: its method or range; `also`: the
    same in other units."""

    name: str
    text: str
    value: float | int | str | bool | None = None
    unit: str = ""
    note: str = ""
    also: tuple[tuple[str, float], ...] = ()


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
    section: str = MORE


WORKSHEETS: dict[str, Worksheet] = {}


def worksheet(
    name: str, params: type, title: str, about: str, section: str = MORE
) -> Callable[[Callable[[Any], Sheet]], Callable[[Any], Sheet]]:
    """Put a function into the table. Raises ValueError for a name that is taken, or a section that is none."""

    def add(run: Callable[[Any], Sheet]) -> Callable[[Any], Sheet]:
        if name in WORKSHEETS:
            raise ValueError(f"there are two worksheets {name}")
        if section not in SECTIONS:
            raise ValueError(f"there is no section {section}")
        WORKSHEETS[name] = Worksheet(name, title, about, params, run, section)
        return run

    return add


def figure(
    label: str,
    dimension: str = "",
    usual: str = "",
    default: str | None = None,
    words: str = "",
    rows: int = 1,
    optional: bool = False,
    most: int = MOST,
) -> Any:
    """A parameter: its label, what it measures and in which unit a bare number counts, and an example that stands in the form. Without
    `default` it must be given; an empty default, or `optional`, means that it may be left out."""
    about = {"label": label, "dimension": dimension, "usual": usual, "words": words, "rows": rows, "optional": optional or default == ""}
    about["most"] = most
    return field(metadata=about) if default is None else field(default=default, metadata=about)


def number(params: Any, name: str) -> float:
    """A parameter in SI units. BadInput names the field."""
    about = next(f.metadata for f in dataclasses.fields(params) if f.name == name)
    return read(getattr(params, name), about["dimension"], about["usual"], name)


def exactly(params: Any, name: str) -> Fraction:
    """A parameter in SI units as a fraction. BadInput names the field."""
    about = next(f.metadata for f in dataclasses.fields(params) if f.name == name)
    return exact(getattr(params, name), about["dimension"], about["usual"], name)


def maybe(params: Any, name: str) -> Fraction | None:
    """The same for one that may be left out."""
    return exactly(params, name) if getattr(params, name).strip() else None


def needed(params: Any, name: str, why: str) -> Fraction:
    """The same for one that is needed for what was given besides. BadInput worksheet.needed says why."""
    if not getattr(params, name).strip():
        raise BadInput("worksheet.needed", why, name)
    return exactly(params, name)


def celsius(text: str, where: str) -> int:
    """Milli-°C; a bare number is °C. BadInput of `temperature`, at the field."""
    with told_at(where):
        return parse_celsius(text, "°C")


def measured(name: str, si: Fraction | float, dimension: str, units: tuple[str, ...], note: str = "", digits: int = 5) -> Figure:
    """A figure in the first of some units; the others stand beside it."""
    first, *others = [(unit, of(si, dimension, unit)) for unit in units]
    text = say("{first} {first_2}", first=plainly(first[1], digits), first_2=first[0]).strip()
    if others:
        text += say(
            " ({value})", value=strung(", ", (say("{value} {unit}", value=plainly(value, digits), unit=unit) for unit, value in others))
        )
    return Figure(name, text, first[1], first[0], note, tuple(others))


def plainly(value: float, digits: int = 5) -> str:
    """So many figures that count, written out without a power of ten where a person would."""
    if not value:
        return "0"
    if not 1e-6 <= abs(value) < 1e12:
        return f"{value:.{digits}g}".replace("-", "−")
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:,.{places}f}".replace(",", " ")
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-", "−")


def given(params: Any, name: str) -> float | None:
    """The same for one that may be left out."""
    return number(params, name) if getattr(params, name).strip() else None
