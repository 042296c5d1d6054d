"""From rows to what stands on a label: things in the order in which they were asked for, a number of queries that does not grow
with them. What only the app above knows of a thing (a part's design) it says through `provider`."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence

from inventory.core.label_life import moment
from inventory.core.labels import MADE, Thing
from inventory.core.places import hazard_words
from inventory.core.said import say, strung
from inventory.core.temperature import display_celsius
from inventory.core.units import display
from inventory.models import Act, Edge, Item, ItemState, Location, Recipe
from inventory.reads import stock
from inventory.reads.stock import Piece

Facts = tuple[tuple[str, str], ...]
Provider = Callable[[Sequence[int]], Mapping[int, Facts]]
PROVIDERS: list[Provider] = []
_RELATED = ("item__material", "item__owner", "item__lot__batch__supplier", "item__delivery", "location__storage")
CUT = ("kit", "remnant")


def provider(function: Provider) -> Provider:
    """Enter a function that knows more of some items: ids → facts."""
    PROVIDERS.append(function)
    return function


def things_of(items: Iterable[Item], places: Iterable[Location], zone: str, now_us: int) -> dict[str, Thing]:
    """Every thing by its code."""
    wanted = list(items)
    ids = [i.pk for i in wanted]
    states = ItemState.objects.filter(pk__in=ids).select_related(*_RELATED)
    pieces = {p.item.pk: p for p in stock.pieces(states, zone, now_us)} if ids else {}
    more = _more(wanted, zone)
    out = {i.code: _thing(i, pieces.get(i.pk), more.get(i.pk, ()), zone, now_us) for i in wanted}
    return out | {p.code: _place(p) for p in places}


def _more(items: Sequence[Item], zone: str) -> dict[int, Facts]:
    """What belongs to its kind alone: the job of a kit, the recipe of a pot, the design of a part."""
    found: dict[int, Facts] = {}
    if cut := [i.pk for i in items if i.kind in CUT]:
        found |= {item: _job(body) for item, _, body in _births(cut, "cut")}
    if pots := [i.pk for i in items if i.kind == "mix"]:
        found |= _recipes(pots, zone)
    if made := [i.pk for i in items if i.kind in MADE]:
        for ask in PROVIDERS:
            found |= ask(made)
    return found


def _births(items: Sequence[int], kind: str) -> list[tuple[int, Act, dict[str, object]]]:
    edges = Edge.objects.filter(dst__in=items, kind=kind, void=False).select_related("act").order_by("pk")
    return [(e.dst_id, e.act, json.loads(e.act.body)) for e in edges]


def _job(body: Mapping[str, object]) -> Facts:
    plies = body.get("plies")
    said = [str(body.get("job") or "")]
    said += [say("plies {map}", map=strung(" ", map(str, plies)))] if isinstance(plies, list) and plies else []
    text = strung(", ", (s for s in said if s))
    return ((say("For"), text),) if text else ()


def _recipes(pots: Sequence[int], zone: str) -> dict[int, Facts]:
    born = _births(pots, "mix")
    codes = {item: str(body.get("recipe", "")) for item, _, body in born}
    names = dict(Recipe.objects.filter(code__in=set(codes.values())).values_list("code", "name"))
    return {
        item: (
            (say("Recipe"), say("{codes} {names}", codes=codes[item], names=names.get(codes[item], "")).strip()),
            (say("Mixed"), moment(act.happened_us, zone)),
        )
        for item, act, _ in born
    }


def _thing(item: Item, p: Piece | None, more: Facts, zone: str, now_us: int) -> Thing:
    """`p` None: a label that a late scan has named, and whose birth is not recorded yet."""
    word = "pot" if item.kind == "mix" else item.get_kind_display()
    if p is None:
        return Thing(item.kind, word, item.code, item.mark, facts=(("", say("Not recorded yet")),))
    item, m = p.item, p.item.material
    batch = getattr(item.lot, "batch", None)
    left = ((say("When printed"), display(p.state.qty, item.unit)),) if item.kind in CUT and p.state.qty > 0 and not p.state.gone else ()
    pot = item.kind == "mix"
    return Thing(
        kind=item.kind,
        word=word,
        code=item.code,
        name=item.mark,
        material=m.code if m else "",
        material_name=m.name if m else "",
        material_kind=m.kind if m else "",
        hazard=m.hazard if m else "",
        family=m.family if m else "",
        lot=batch.number if batch is not None else "",
        supplier=str(batch.supplier) if batch is not None else "",
        owner=str(item.owner) if item.owner else "",
        low_mc=m.min_store_mc if m else None,
        high_mc=m.max_store_mc if m else None,
        gone=p.state.gone,
        readings=p.readings if not pot else (),
        stop_us=p.state.stop if pot else None,
        facts=(*more, *left),
    )


def _place(p: Location) -> Thing:
    low, high = p.storage.low_mc, p.storage.high_mc
    band = say("{low} to {high}", low=display_celsius(low), high=display_celsius(high)) if low is not None and high is not None else ""
    band = band or (say("up to {high}", high=display_celsius(high)) if high is not None else "")
    takes, never = hazard_words(p.accepts.split()), hazard_words(p.refuses.split())
    retired = say("no longer in use") if p.retired_us is not None else ""
    facts = (
        ("", band),
        (say("Takes"), takes),
        (say("Never"), never),
        (say("At most"), display(p.max_ug, "ug") if p.max_ug else ""),
        ("", retired),
    )
    return Thing("place", "place", p.code, p.code if p.name == p.code else say("{code} {name}", code=p.code, name=p.name), facts=facts)
