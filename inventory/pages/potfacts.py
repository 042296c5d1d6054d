"""A mixed pot: what is in it, its estimate with the cautions that belong to it, and how much time is left."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from inventory.core import potlife
from inventory.core.mixing import celsius, ratio_text
from inventory.core.said import say
from inventory.core.spans import duration
from inventory.core.vessel_text import stand_from
from inventory.models import Act, Edge, Item, ItemState, PotCurve, Recipe
from inventory.recipes import core_recipe, core_system

from .door import Shop


@dataclass(frozen=True, slots=True)
class Pot:
    """`stop_us` None: nobody could tell, which a mix never has on its own."""

    stop_us: int | None
    mixed_us: int
    window: str
    method: str
    ratio: str
    temperature: str
    cautions: tuple[str, ...]
    ready_us: int | None
    stands: str
    gels: tuple[int, ...]
    curve: tuple[tuple[str, str], ...]


def pot(item: Item, shop: Shop) -> Pot | None:
    act = Act.objects.filter(kind="mix", legs__item=item, voided_by__isnull=True).filter(edges__dst=item).distinct().first()
    if act is None:
        return None
    body = json.loads(act.body)
    recipe = Recipe.objects.select_related("resin", "hardener").filter(code=body.get("recipe", "")).first()
    edges = list(Edge.objects.filter(act=act, dst=item).select_related("src__material").order_by("pk"))
    stand = stand_from(body.get("vessel"))
    stop = json.loads(ItemState.objects.values_list("doc", flat=True).get(pk=item.pk)).get("stop")
    return Pot(
        stop_us=stop,
        mixed_us=act.happened_us,
        window=window_words(body),
        method=body.get("method", ""),
        ratio=_ratio(recipe, edges),
        temperature=celsius(body["temp_mc"]) if body.get("temp_mc") is not None else "",
        cautions=_cautions(recipe, body, edges),
        ready_us=act.happened_us + body["ready_us"] if body.get("ready_us") else None,
        stands=str(stand) if stand is not None else "",
        gels=tuple(body.get("gels", ())),
        curve=_curve(item),
    )


def window_words(body: dict[str, Any]) -> str:
    """ "34 min to 35 min": the range of an estimate, or nothing when a person set the time."""
    if "low_us" not in body:
        return ""
    low, high = duration(body["low_us"]), duration(body["high_us"])
    return low if low == high else say("{low} to {high}", low=low, high=high)


def _ratio(recipe: Recipe | None, edges: list[Edge]) -> str:
    if recipe is None:
        return ""
    base = sum(e.qty for e in edges if e.src.material_id == recipe.resin_id)
    hardener = sum(e.qty for e in edges if e.src.material_id == recipe.hardener_id)
    return ratio_text(core_recipe(recipe), base, hardener) if base and hardener else ""


def _cautions(recipe: Recipe | None, body: dict[str, Any], edges: list[Edge]) -> tuple[str, ...]:
    """What the estimate itself warns of, as its record has it. Records from before they were kept are asked of the recipe."""
    if "cautions" in body:
        return tuple(body["cautions"])
    if recipe is None or body.get("temp_mc") is None:
        return ()
    batch = potlife.Batch(sum(e.qty for e in edges), body["temp_mc"], body.get("ratio_ppm"))
    window = potlife.pot_window(core_system(recipe), batch).window
    return tuple(c.text for c in window.cautions) if window is not None else ()


def _curve(item: Item) -> tuple[tuple[str, str], ...]:
    """The window at other temperatures, where a job has drawn it."""
    row = PotCurve.objects.filter(item=item).first()
    points = json.loads(row.points) if row is not None else []
    return tuple(
        (celsius(at), say("{low} to {high}", low=duration(low), high=duration(high))) for at, low, high in points if at % 2000 == 0
    )
