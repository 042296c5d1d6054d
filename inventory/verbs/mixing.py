"""Mix: weighed components in the recipe's order, judged before the next pot is wasted; the window follows at once (R17–R20)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from inventory.core import mixing as judging
from inventory.core import potlife
from inventory.core.compat import Added, never_in_turn
from inventory.core.gel import judge_gel
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.spans import clock_text, duration
from inventory.core.temperature import parse_celsius
from inventory.core.units import display, parse
from inventory.core.vessel_text import stand_of
from inventory.models import Act, Item, Leg, Location, Outbox, Reading, Recipe
from inventory.reads import pots
from inventory.recipes import core_recipe, milli
from inventory.recording import Flow, Line, NewItem, Transaction

from .births import new_code
from .registry import BUILDER, QUALITY, STOREKEEPER, Call, Outcome, refuse, verb
from .resolve import ceiling_of, item_of, place_of

OUT = ("mix.ratio", "mix.over_cap", "mix.too_", "mix.temperature", "compat.")
"""A pot that is refused for what it is, or for the cold, is mended first: how long it would have lasted is no question, and a gel
cup of it no answer."""
RESINS = ("resin", "gelcoat")


@dataclass(frozen=True, slots=True)
class Component:
    """`item`: the pail, can, drum or day tank. `mass`: as weighed ("400.0 g"). `step`: the scale's step ("0.1 g"), if known."""

    item: str
    mass: str
    step: str = ""


@dataclass(frozen=True, slots=True)
class Mix:
    """`components` in the order in which they went in. `recipe`: its code; empty: found from resin and hardener. `temperature`
    at the bench ("21.0"); empty: the newest reading of `place`. `mark`: the pot's name (M-1). `minutes`: a stop time that a
    person sets from a gel cup, where nothing is known to estimate it from. `vessel` (cup, tray, film, or own for the shop's own
    h·S) with its `size` ("90 mm", "20 × 30 cm", "1 mm", "0.25 W/K"): how it stands, which kinetics ask for."""

    components: tuple[Component, ...]
    place: str
    recipe: str = ""
    temperature: str = ""
    mark: str = ""
    code: str = ""
    minutes: int | None = None
    vessel: str = ""
    size: str = ""


@dataclass(frozen=True, slots=True)
class Weighed:
    item: Item
    ug: int
    step_ug: int | None
    role: str


@verb("mix", Mix, (BUILDER, STOREKEEPER, QUALITY), say("Mix"))
def mix(call: Call, p: Mix) -> Outcome:
    place = place_of(call, p.place)
    items = [item_of(call, c.item) for c in p.components]
    if len({i.pk for i in items}) != len(items):
        raise BadInput("mix.twice", say("Each container is named once: add its masses up."), "components")
    danger = _together(items)
    try:
        recipe = _recipe(p.recipe, items)
    except BadInput:
        if danger is not None:  # whatever it was meant to be
            refuse(call, "mix", p, danger)
        raise
    weighed = [
        Weighed(i, parse(c.mass, "g", "ug"), parse(c.step, "g", "ug") if c.step else None, _role(recipe, i))
        for c, i in zip(p.components, items, strict=True)
    ]
    temp = _temperature(call, p, place)
    base, hardener = _sum(weighed, "resin"), _sum(weighed, "hardener")
    if not base or not hardener:
        raise BadInput(
            "mix.incomplete",
            say(
                "{recipe} needs {resin} and {hardener}: scan both.",
                recipe=recipe.name,
                resin=recipe.resin.code,
                hardener=recipe.hardener.code,
            ),
            "components",
        )
    total, dose = sum(w.ug for w in weighed), hardener * 1_000_000 // base
    system = pots.pot_system(call.who.site, recipe, call.at_us)
    batch = pots.Batch(total, temp, dose, stand_of(p.vessel, p.size), call.at_us)
    estimate = pots.estimate(system, batch)
    stop = call.at_us + p.minutes * 60_000_000 if p.minutes else estimate.window.stop_us if estimate.window else None
    claim = _claim(call, p, weighed, recipe, place, estimate, pots.body_of(system, batch, estimate), batch, stop)
    receipts = call.record([claim], "mix")
    stop = receipts[0].body.get("stop_us")  # of a repeat, the time that was told first: the pot got no younger
    return _outcome(call, p, recipe, weighed, estimate, stop, receipts, claim.new["mix"].code)


def may_meet(call: Call, p: Mix) -> None:
    """Refused, and logged, when what was scanned so far must never be in one pot: asked at the scan, before anybody weighs or pours."""
    danger = _together([item_of(call, c.item) for c in p.components])
    if danger is not None:
        refuse(call, "mix", p, danger)


def _together(items: list[Item]) -> Reason | None:
    """Do two of these meet without resin between them that never may (R35)? In the order in which they went in."""
    rows = [(i, i.material) for i in items]
    return never_in_turn(Added(str(i), m.hazard, m.kind in RESINS, m.sds_url) if m else Added(str(i)) for i, m in rows)


def _recipe(code: str, items: list[Item]) -> Recipe:
    """The recipe named, or the only one that has this resin and this hardener."""
    rows = Recipe.objects.select_related("resin", "hardener")
    if code:
        row = rows.filter(code__iexact=code.strip()[:24]).first()
        if row is None:
            raise BadInput("recipe.unknown", say("There is no recipe “{code}”.", code=code.strip()[:40]), "recipe")
        return row
    materials = {i.material_id for i in items}
    found = list(rows.filter(resin__in=materials, hardener__in=materials))
    if len(found) != 1:
        names = strung(", ", (str(i.material or i) for i in items))
        raise BadInput("recipe.not_found", say("No single recipe has {names}: choose one, or scan the right cans.", names=names), "recipe")
    return found[0]


def _role(recipe: Recipe, item: Item) -> str:
    if item.material_id == recipe.resin_id:
        return "resin"
    if item.material_id == recipe.hardener_id:
        return "hardener"
    return item.material.code if item.material else str(item)


def _sum(weighed: list[Weighed], role: str) -> int:
    return sum(w.ug for w in weighed if w.role == role)


def _temperature(call: Call, p: Mix, place: Location) -> int | None:
    return degrees(p.temperature) if p.temperature else pots.bench_mc(place, call.at_us)


def degrees(text: str) -> int:
    """A temperature as typed into a field that is headed °C; a unit that is typed along is heeded."""
    text = text.strip()
    return parse_celsius(text, "°C" if text[-1:].isdigit() else None)


def _claim(
    call: Call,
    p: Mix,
    weighed: list[Weighed],
    recipe: Recipe,
    place: Location,
    estimate: potlife.Estimate,
    window: dict[str, Any],
    batch: pots.Batch,
    stop: int | None,
) -> Any:
    """`window`: what the record keeps of the estimate."""
    base, hardener = _sum(weighed, "resin"), _sum(weighed, "hardener")
    new = {"mix": NewItem(new_code(call, "mix", p.code), "mix", "ug", p.mark.strip())}
    body = {"stop_us": stop} if stop is not None else {}
    lines = [Line(w.item.pk, delta=-w.ug) for w in weighed]
    lines.append(Line("mix", delta=batch.mass_ug, location=place.pk, ceiling=ceiling_of(place), body=body))
    flows = tuple(Flow(w.item.pk, "mix", w.ug, w.ug) for w in weighed)

    def right(tx: Transaction) -> list[Reason]:
        steps = [w.step_ug for w in weighed if w.role == "hardener"]
        roles = [w.role for w in weighed]
        reasons = judging.judge_mix(core_recipe(recipe, place), base, hardener, batch.temp_mc, steps[0], added=roles, where=place.name)
        reasons += _foreign(recipe, weighed, base)
        danger = _together([w.item for w in weighed])
        if danger is not None:  # what was done is stored all the same (R34)
            reasons.append(replace(danger, cap=call.stance == "intent"))
        if stop is None and estimate.missing is not None and not any(r.code.startswith(OUT) for r in reasons):
            reasons.append(estimate.missing)
        return reasons

    def draw(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Outbox.objects.get_or_create(topic="pot_curve", ref=names["mix"], defaults={"due_us": call.now_us})

    said: dict[str, Any] = {
        "recipe": recipe.code,
        "ratio_ppm": batch.dose_ppm,
        "temp_mc": batch.temp_mc,
        "masses": [[w.item.pk, w.ug] for w in weighed],
    }
    if batch.stand is not None:
        said["vessel"] = batch.stand.to_doc()
    return call.claim("mix", lines, p, flows=flows, new=new, body=said | window | body, checks=(right,), effects=(draw,))


def _foreign(recipe: Recipe, weighed: list[Weighed], base: int) -> list[Reason]:
    """What the recipe does not know, and additives over their limit."""
    allowed = {a.material_id: a.max_ppm for a in recipe.additives.all()}
    reasons = []
    for w in weighed:
        if w.role in ("resin", "hardener"):
            continue
        if w.item.material_id not in allowed:
            text = say("{recipe} has no {role}: leave it out, or ask quality for another recipe.", recipe=recipe.name, role=w.role)
            reasons.append(Reason("mix.foreign", text, {"item": w.item.pk}))
        elif w.ug * 1_000_000 > allowed[w.item.material_id or 0] * base:
            most = allowed[w.item.material_id or 0]
            text = say(
                "{role}: {ug} % of the resin, at most {most} %.", role=w.role, ug=f"{w.ug * 100 / base:.1f}", most=f"{most / 10000:.1f}"
            )
            reasons.append(Reason("mix.additive_high", text, {"item": w.item.pk, "max_ppm": most}))
    return reasons


def _outcome(
    call: Call, p: Mix, recipe: Recipe, weighed: list[Weighed], estimate: potlife.Estimate, stop: int | None, receipts: Any, code: str
) -> Outcome:
    total, zone = sum(w.ug for w in weighed), call.who.zone
    ratio = judging.ratio_text(core_recipe(recipe), _sum(weighed, "resin"), _sum(weighed, "hardener"))
    text = say("{mark}: {total}, {ratio}.", mark=p.mark or say("Mix"), total=display(total, "ug"), ratio=ratio)
    data: dict[str, Any] = {"items": {"mix": code}, "ratio": ratio, "stop_us": stop, "mass_ug": total, "cautions": []}
    if estimate.window is not None:
        w = estimate.window
        data |= {"low_us": w.low_us, "high_us": w.high_us, "method": w.method, "cautions": [c.text for c in w.cautions]}
        text += say(" Estimate {low} to {high}.", low=duration(w.low_us), high=duration(w.high_us))
    if stop is not None:
        text += say(" Stop by {stop}.", stop=clock_text(stop, zone))
    return Outcome(text, receipts, data)


@dataclass(frozen=True, slots=True)
class GelSeen:
    """A pot was seen to gel (now, or when it happened)."""

    item: str


@verb("gel", GelSeen, (BUILDER, STOREKEEPER, QUALITY), say("The pot has gelled"))
def gel_seen(call: Call, p: GelSeen) -> Outcome:
    pot = item_of(call, p.item, ("mix",))
    made = Leg.objects.select_related("act").get(item=pot, act__kind="mix")
    import json

    body = json.loads(made.act.body)
    observed = call.at_us - made.act.happened_us
    window = potlife.Window(body["low_us"], body["high_us"], body.get("stop_us"), body["method"]) if "low_us" in body else None
    gel = judge_gel(window, observed)
    facts = {
        "observed_us": observed,
        "word": gel.word,
        "ratio_ppm": gel.ratio_ppm,
        "recipe": body.get("recipe"),
        "temp_mc": body.get("temp_mc"),
    }

    def tell(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        if gel.far and gel.reason is not None:
            from inventory.flags import raise_flag

            raise_flag(tx.who.site, f"item:{pot.pk}", "gel.far", "quality", f"{pot}: {gel.reason.text}", call.at_us, call.now_us, pot.pk)

    line = Line(pot.pk, body={})
    receipts = call.record([call.claim("gel", [line], p, body=facts, effects=(tell,))], "gel")
    return Outcome(
        say("{pot} gelled after {observed}: {gel_word}.", pot=pot, observed=duration(observed), gel_word=gel.word), receipts, facts
    )


@dataclass(frozen=True, slots=True)
class SetWindow:
    """A person sets a pot's stop time, from a gel cup or the pot itself. Shortening is anybody's; only quality lengthens."""

    item: str
    minutes_from_mixing: int
    reason: str


@verb("window", SetWindow, (BUILDER, QUALITY), say("Set a pot's stop time"), observable=False)
def set_window(call: Call, p: SetWindow) -> Outcome:
    pot = item_of(call, p.item, ("mix",))
    if p.minutes_from_mixing <= 0 or not p.reason.strip():
        raise BadInput("window.form", say("Give minutes from mixing above zero, and the reason."), "minutes_from_mixing")
    made = Leg.objects.select_related("act").get(item=pot, act__kind="mix")
    stop = made.act.happened_us + p.minutes_from_mixing * 60_000_000

    def only_shorter(tx: Transaction) -> list[Reason]:
        now = tx.state(pot.pk).stop
        if now is None or stop <= now or tx.who.role == QUALITY:
            return []
        return [Reason("window.longer", say("Only quality makes a pot's time longer."), {"stop_us": now, "wanted_us": stop})]

    line = Line(pot.pk, body={"stop_us": stop})
    receipts = call.record([call.claim("window", [line], p, reason=p.reason.strip(), checks=(only_shorter,))], "window")
    return Outcome(say("{pot}: stop by {stop}.", pot=pot, stop=clock_text(stop, call.who.zone)), receipts, {"stop_us": stop})


@dataclass(frozen=True, slots=True)
class Measure:
    """The condition of a room: `temperature` ("17.2"), relative humidity in per cent if measured ("45")."""

    place: str
    temperature: str
    humidity: str = ""
    source: str = ""


@verb("measure", Measure, (STOREKEEPER, BUILDER, QUALITY), say("Record a room's temperature"))
def measure(call: Call, p: Measure) -> Outcome:
    place = place_of(call, p.place)
    temp = degrees(p.temperature)
    rh = _milli_percent(p.humidity) if p.humidity.strip() else None
    known = Reading.objects.filter(location=place, at_us=call.at_us, temp_mc=temp, rh_ppm=rh).first()
    if known is None:
        Reading.objects.create(
            location=place, at_us=call.at_us, temp_mc=temp, rh_ppm=rh, recorded_us=call.now_us, source=p.source.strip()[:80]
        )
    return Outcome(say("{place}: {celsius}.", place=place.name, celsius=judging.celsius(temp)), [], {"temp_mc": temp, "rh_ppm": rh})


def _milli_percent(text: str) -> int:
    try:
        value = milli(text.strip().removesuffix("%").strip()) * 10
    except ValueError:
        value = -1
    if not 0 <= value <= 1_000_000:
        raise BadInput("humidity.form", say("Give relative humidity in per cent, from 0 to 100."), "humidity")
    return value
