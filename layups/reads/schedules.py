"""Schedules as they stand: the lines of a design, and what was laid into them."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.models import Edge, Item, Leg, Material, Recipe
from layups.core.pairing import Stuff
from layups.core.schedule import Filling, Line, Offer
from layups.models import Ply


@dataclass(frozen=True, slots=True)
class Laid:
    """Something that went into a part: `fills` are the lines it filled, each with its quantity in the line's unit (None:
    not measured so). `qty` is in the source's unit."""

    part: int
    source: int
    act: int
    happened_us: int
    qty: int
    grade: str
    fills: tuple[tuple[int, int | None], ...]
    step: str


def lines_of(designs: Iterable[int]) -> dict[int, tuple[Line, ...]]:
    """The schedule of each design, in two queries."""
    out: dict[int, list[Line]] = defaultdict(list)
    rows = Ply.objects.filter(design__in=set(designs)).select_related("material", "recipe__resin").prefetch_related("alternates")
    for ply in rows.order_by("design_id", "seq"):
        out[ply.design_id].append(_line(ply))
    return {design: tuple(lines) for design, lines in out.items()}


def _line(ply: Ply) -> Line:
    material, recipe = ply.material, ply.recipe
    return Line(
        seq=ply.seq,
        step=ply.step,
        wants=f"a mix of {recipe.code}" if recipe else material.code if material else "",
        material=ply.material_id,
        recipe=ply.recipe_id,
        resin=recipe.resin_id if recipe else None,
        alternates=tuple((m.pk, m.code) for m in sorted(ply.alternates.all(), key=lambda m: m.code)),
        qty=ply.qty,
        unit="ug" if recipe else material.unit if material else "",
        label=ply.label,
        angle=ply.angle,
        box=material is not None and material.grade == "box",
    )


def resins_of(design: int) -> list[Stuff]:
    """The resins that a schedule will bring, for compatibility."""
    found = []
    for ply in Ply.objects.filter(design=design).select_related("material", "recipe__resin"):
        material = ply.recipe.resin if ply.recipe else ply.material
        if material is not None and material.family:
            found.append(stuff_of(material))
    return list(dict.fromkeys(found))


def laid_into(parts: Iterable[int]) -> dict[int, list[Laid]]:
    """What went into each part and still counts, oldest first, in one query."""
    out: dict[int, list[Laid]] = defaultdict(list)
    rows = Edge.objects.filter(dst__in=set(parts), kind="lay", void=False).order_by("happened_us", "pk")
    for dst, src, act, at, qty, grade, body in rows.values_list(
        "dst_id", "src_id", "act_id", "happened_us", "qty", "grade", "dst_leg__body"
    ):
        said = json.loads(body)
        fills = tuple((int(seq), None if q is None else int(q)) for seq, q in said.get("fills", ()))
        out[dst].append(Laid(dst, src, act, at, qty, grade, fills, said.get("step", "")))
    return out


def fillings(laid: Iterable[Laid]) -> list[Filling]:
    return [Filling(seq, qty) for one in laid for seq, qty in one.fills]


def stuff_of(material: Material) -> Stuff:
    return Stuff(material.code, material.kind, material.family, material.suits)


def recipes_of(mixes: Iterable[int]) -> dict[int, Recipe]:
    """The recipe that each mix was made by, in two queries."""
    said: dict[int, object] = {}
    for item, body in Leg.objects.filter(item__in=set(mixes), act__kind="mix", delta__gt=0).values_list("item_id", "act__body"):
        said.setdefault(item, json.loads(body).get("recipe"))
    rows = Recipe.objects.select_related("resin").filter(code__in=[r for r in said.values() if isinstance(r, str)])
    by_code = {r.code: r for r in rows}
    return {item: by_code[code] for item, code in said.items() if isinstance(code, str) and code in by_code}


def offer_of(item: Item, recipe: Recipe | None) -> Offer:
    """An item as the schedule sees it."""
    if recipe is not None:
        return Offer(str(item), item.material_id or recipe.resin_id, f"a mix of {recipe.code}", recipe.pk)
    material = item.material
    return Offer(str(item), item.material_id, f"{material.name} ({material.code})" if material else "nobody knows what it is")


def stuff_in(parts: Iterable[int]) -> dict[int, list[Stuff]]:
    """What lies in each part, as compatibility sees it, in at most three queries."""
    rows = list(
        Edge.objects.filter(dst__in=set(parts), kind="lay", void=False).select_related("src__material").order_by("happened_us", "pk")
    )
    mixes = recipes_of(r.src_id for r in rows if r.src.kind == "mix")
    out: dict[int, list[Stuff]] = defaultdict(list)
    for row in rows:
        recipe = mixes.get(row.src_id)
        material = recipe.resin if recipe else row.src.material
        if material is not None:
            out[row.dst_id].append(stuff_of(material))
    return out
