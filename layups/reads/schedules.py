"""Schedules as they stand: the lines of a design, and what was laid into them. Every scan into a part asks both, so they are
read in one statement each, without the object layer."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection

from inventory import lineage
from inventory.core.said import say
from inventory.models import Item, Leg, Material, Recipe
from layups.core.pairing import Stuff
from layups.core.schedule import Filling, Line, Offer

_LINES = """SELECT p.design_id, p.seq, p.step, p.label, p.angle, p.qty,
    m.id, m.code, m.unit, m.grade, m.kind, m.family, m.suits, r.id, r.code, x.id, x.code, x.kind, x.family, x.suits, a.id, a.code
FROM layups_ply p LEFT JOIN inventory_material m ON m.id = p.material_id
    LEFT JOIN inventory_recipe r ON r.id = p.recipe_id LEFT JOIN inventory_material x ON x.id = r.resin_id
    LEFT JOIN layups_ply_alternates o ON o.ply_id = p.id LEFT JOIN inventory_material a ON a.id = o.material_id
WHERE p.design_id IN ({ids}) ORDER BY p.design_id, p.seq, a.code"""
_LAID = """SELECT e.dst_id, e.src_id, e.act_id, e.happened_us, e.qty, e.grade, l.body, i.kind, m.code, m.kind, m.family, m.suits
FROM inventory_edge e JOIN inventory_leg l ON l.id = e.dst_leg_id JOIN inventory_item i ON i.id = e.src_id
    LEFT JOIN inventory_material m ON m.id = i.material_id
WHERE e.dst_id IN ({ids}) AND e.kind = 'lay' AND NOT e.void ORDER BY e.happened_us, e.id"""


@dataclass(frozen=True, slots=True)
class Schedule:
    """The lines of a design, and the resins that they will bring, for compatibility."""

    lines: tuple[Line, ...] = ()
    resins: tuple[Stuff, ...] = ()


NOTHING = Schedule()


@dataclass(frozen=True, slots=True)
class Laid:
    """Something that went into a part: `fills` are the lines it filled, each with its quantity in the line's unit (None:
    not measured so). `qty` is in the source's unit. `recipe`: its code, for a mix."""

    part: int
    source: int
    act: int
    happened_us: int
    qty: int
    grade: str
    fills: tuple[tuple[int, int | None], ...]
    step: str
    recipe: str
    stuff: Stuff | None


def _rows(query: str, ids: Iterable[int]) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(query.format(ids=lineage.ids_given()), [lineage.id_list(sorted(set(ids)))])
        rows: list[Any] = cursor.fetchall()
    return rows


def schedules_of(designs: Iterable[int]) -> dict[int, Schedule]:
    """The schedule of each design that has one, in one query."""
    lines: dict[int, dict[int, Line]] = defaultdict(dict)
    resins: dict[int, dict[Stuff, None]] = defaultdict(dict)
    alternates: dict[tuple[int, int], list[tuple[int, str]]] = defaultdict(list)
    for row in _rows(_LINES, designs):
        design, seq = row[:2]
        if row[20] is not None:
            alternates[(design, seq)].append((row[20], row[21]))
        lines[design][seq] = _line(row, tuple(alternates[(design, seq)]))
        for code, kind, family, suits in ((row[7], *row[10:13]), row[16:20]):
            if family:
                resins[design][Stuff(code, kind, family, suits)] = None
    return {design: Schedule(tuple(found.values()), tuple(resins[design])) for design, found in lines.items()}


def _line(row: Sequence[Any], alternates: tuple[tuple[int, str], ...]) -> Line:
    _, seq, step, label, angle, qty, material, code, unit, grade = row[:10]
    recipe, recipe_code, resin = row[13:16]
    return Line(
        seq=seq,
        step=step,
        wants=say("a mix of {recipe_code}", recipe_code=recipe_code) if recipe is not None else code or "",
        material=material,
        recipe=recipe,
        resin=resin,
        alternates=alternates,
        qty=qty,
        unit="ug" if recipe is not None else unit or "",
        label=label,
        angle=angle,
        box=grade == "box",
    )


def lines_of(designs: Iterable[int]) -> dict[int, tuple[Line, ...]]:
    """The lines of each design that has any."""
    return {design: schedule.lines for design, schedule in schedules_of(designs).items()}


def laid_into(parts: Iterable[int]) -> dict[int, list[Laid]]:
    """What went into each part and still counts, oldest first, in one query."""
    out: dict[int, list[Laid]] = defaultdict(list)
    for part, src, act, at, qty, grade, body, kind, code, material_kind, family, suits in _rows(_LAID, parts):
        said = json.loads(body)
        fills = tuple((int(seq), None if q is None else int(q)) for seq, q in said.get("fills", ()))
        stuff = Stuff(code, material_kind, family, suits) if code is not None and kind != "mix" else None
        out[part].append(Laid(part, src, act, at, qty, grade, fills, said.get("step", ""), said.get("mix", ""), stuff))
    return dict(out)


def fillings(laid: Iterable[Laid]) -> list[Filling]:
    return [Filling(seq, qty) for one in laid for seq, qty in one.fills]


def stuff_of(material: Material) -> Stuff:
    return Stuff(material.code, material.kind, material.family, material.suits)


def stuff_in(laid: Iterable[Laid]) -> list[Stuff]:
    """What lies in a part, as compatibility sees it; a query more where pots went in."""
    laid = list(laid)
    codes = {one.recipe for one in laid if one.recipe}
    resins = {r.code: stuff_of(r.resin) for r in Recipe.objects.filter(code__in=codes).select_related("resin")} if codes else {}
    found = [resins.get(one.recipe) if one.recipe else one.stuff for one in laid]
    return [stuff for stuff in found if stuff is not None]


def recipes_of(mixes: Iterable[int]) -> dict[int, Recipe]:
    """The recipe that each mix was made by, in two queries."""
    said: dict[int, str] = {}
    legs = Leg.objects.filter(item__in=set(mixes), act__kind="mix", delta__gt=0, act__voided_by__isnull=True)
    for item, body in legs.values_list("item_id", "act__body"):
        said.setdefault(item, str(json.loads(body).get("recipe", "")))
    by_code = {r.code: r for r in Recipe.objects.select_related("resin").filter(code__in=set(said.values()))}
    return {item: by_code[code] for item, code in said.items() if code in by_code}


def offer_of(item: Item, recipe: Recipe | None) -> Offer:
    """An item as the schedule sees it."""
    if recipe is not None:
        return Offer(str(item), item.material_id or recipe.resin_id, say("a mix of {recipe}", recipe=recipe.code), recipe.pk)
    material = item.material
    return Offer(
        str(item),
        item.material_id,
        say("{material} ({material_2})", material=material.name, material_2=material.code) if material else say("nobody knows what it is"),
    )
