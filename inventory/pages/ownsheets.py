"""Tables and charts in the units of whoever reads: a column or an axis that names its unit is turned with all its figures, or not at all.

A name ends in its unit: "Temperature, °C", "°C". The unit is looked for at the end of the name as it is read, in any language.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from inventory.core.ownunits import INSTEAD, number_of, text_of, turned
from inventory.core.said import read_out
from inventory.readers import system
from inventory.worksheets.registry import Chart, Series


def unit_of(name: str) -> str:
    """The unit in which a column's or an axis' figures are read otherwise; empty where everybody reads the same."""
    if system() != "us":
        return ""
    unit = read_out(name).rpartition(", ")[2]
    return unit if unit in INSTEAD else ""


def named(name: str, unit: str) -> str:
    """The name with the reader's unit at its end."""
    return read_out(name).removesuffix(unit) + INSTEAD[unit] if unit else name


def table(columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> tuple[list[str], list[list[Any]]]:
    """Headings and cells. A column with a cell that is neither a figure nor empty stays as it is."""
    heads, cells = list(columns), [list(row) for row in rows]
    for n, name in enumerate(columns):
        unit = unit_of(name)
        if not unit or not all(_is_figure(row[n]) for row in rows):
            continue
        heads[n] = named(name, unit)
        for row in cells:
            row[n] = _figure(row[n], unit)
    return heads, cells


def chart(found: Chart) -> Chart:
    """Both axes. The angle of a polar chart has no unit that is read otherwise; its radius has its unit in the name as well."""
    x, y = unit_of(found.x), unit_of(found.y)
    if not x and not y:
        return found
    series = tuple(Series(s.name, tuple((_number(a, x), _number(b, y)) for a, b in s.points)) for s in found.series)
    return replace(found, x=named(found.x, x), y=named(found.y, y), series=series)


def _is_figure(cell: Any) -> bool:
    return not isinstance(cell, bool) and (isinstance(cell, (int, float)) or not cell or number_of(str.__str__(cell)) is not None)


def _figure(cell: Any, unit: str) -> Any:
    if isinstance(cell, (int, float)):
        return float(turned(float(cell), unit))
    number = number_of(str.__str__(cell)) if cell else None
    return cell if number is None else text_of(number, unit)


def _number(value: float, unit: str) -> float:
    return float(turned(value, unit)) if unit else value
