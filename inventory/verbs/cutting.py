"""Cut a kit, a remnant or a piece off a roll; pour from a drum into a day tank. What is not kept is waste, by quantity."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from inventory.core import rollmap
from inventory.core.compat import never_into
from inventory.core.cutting import Cut, shares
from inventory.core.reasons import BadInput, Reason, told_at
from inventory.core.said import say
from inventory.core.units import display, parse
from inventory.models import Item, Leg, Location
from inventory.recording import Flow, Line, NewItem, Transaction

from .births import new_code
from .jobs import for_job
from .registry import BUILDER, OWNER, QUALITY, STOREKEEPER, Call, Outcome, refuse, verb
from .resolve import amount, ceiling_of, item_of, place_of

ROLLS = ("roll", "spool", "sheet", "remnant", "box")


@dataclass(frozen=True, slots=True)
class Remnant:
    """A piece that goes back to stock: `length` × `width` as typed ("0.90 m"). `mark` and `code` as on its label, if any."""

    length: str
    width: str
    mark: str = ""
    code: str = ""


@dataclass(frozen=True, slots=True)
class CutKit:
    """`item`: the roll. `taken`: length off the roll ("6.20 m"). `net`: area of the plies ("5.94 m²"; empty: all of the cut).
    `mark`: the kit's name (K-40). `job`: the part it is for, and `plies` its plies. `place`: where the kit lies (empty: where
    the roll is). `remnants`: what is kept of the rest. `dry`: the bag was looked at and is dry."""

    item: str
    taken: str
    net: str = ""
    mark: str = ""
    code: str = ""
    job: str = ""
    plies: tuple[int, ...] = ()
    place: str = ""
    remnants: tuple[Remnant, ...] = ()


@verb("cut_kit", CutKit, (STOREKEEPER, BUILDER, QUALITY, OWNER), say("Cut a kit"))
def cut_kit(call: Call, p: CutKit) -> Outcome:
    roll = item_of(call, p.item, ROLLS)
    if roll.unit != "um":
        raise BadInput(
            "cut.not_a_length", say("{roll} is not kept by length: use it directly instead of cutting a kit.", roll=roll), "item"
        )
    taken = amount(roll, p.taken, "taken")
    width = roll.material.usable_width_um or roll.material.width_um if roll.material else None
    with told_at("net"):
        net = parse(p.net, None, "cmm2") if p.net else None
    nets = [net] if net is not None else [taken * (width or 0) // 10**4 - sum(_area(r) for r in p.remnants)]
    sizes = [(parse(r.length, None, "um"), parse(r.width, None, "um")) for r in p.remnants]
    cut = shares(taken, width, nets, sizes)
    if isinstance(cut, Reason):
        raise BadInput(cut.code, cut.text, "net", **cut.numbers)
    place = place_of(call, p.place) if p.place else None
    return _record_cut(call, p, roll, cut, place)


def _area(r: Remnant) -> int:
    return parse(r.length, None, "um") * parse(r.width, None, "um") // 10**4


def _record_cut(call: Call, p: CutKit, roll: Item, cut: Cut, place: Location | None) -> Outcome:
    new, lines, flows = {}, [Line(roll.pk, delta=-cut.taken_um)], []
    where = _where(call, roll, place)
    for name, kind, mark, code, share in [
        ("kit", "kit", p.mark, p.code, cut.kits[0]),
        *((f"remnant{i}", "remnant", r.mark, r.code, s) for i, (r, s) in enumerate(zip(p.remnants, cut.remnants, strict=True))),
    ]:
        lot = roll.lot_id or roll.pk
        new[name] = NewItem(new_code(call, name, code), kind, "cmm2", mark.strip(), roll.material_id, lot, owner=roll.owner_id)
        lines.append(Line(name, delta=share.area_cmm2, **where))
        flows.append(Flow(roll.pk, name, share.length_um, share.area_cmm2))
    body = {"job": p.job, "plies": list(p.plies), "waste_um": cut.waste.length_um, "waste_cmm2": cut.waste.area_cmm2}
    checks = (_one_piece(roll, cut.taken_um), *for_job(call, roll, p.job))
    claim = call.claim("cut", lines, p, flows=tuple(flows), new=new, body=body, checks=checks)
    receipts = call.record([claim], "cut_kit")
    waste = say("{area} ({waste_permille} %)", area=display(cut.waste.area_cmm2, "cmm2"), waste_permille=f"{cut.waste_permille / 10:.1f}")
    text = say(
        "{taken} cut from {roll}: kit {area}, waste {waste}.",
        taken=display(cut.taken_um, "um"),
        roll=roll,
        area=display(cut.kits[0].area_cmm2, "cmm2"),
        waste=waste,
    )
    data = {"items": {n: i.code for n, i in new.items()}, "waste_cmm2": cut.waste.area_cmm2, "waste_permille": cut.waste_permille}
    return Outcome(text, receipts, data)


def _where(call: Call, item: Item, place: Location | None) -> dict[str, Any]:
    """A new piece lies where it is put, else where it was cut: where the roll was then, as far as that is known."""
    if place is not None:
        return {"location": place.pk, "ceiling": ceiling_of(place)}
    put = Leg.objects.filter(Q(location__isnull=False) | Q(ceiling_mc__isnull=False), item=item, act__happened_us__lte=call.at_us)
    live = put.filter(act__voided_by__isnull=True).exclude(act__kind__in=("void", "expose"))
    last = live.order_by(*(f"act__{name}" for name in ("happened_us", "rank", "device", "device_seq", "key"))).last()
    return {"location": last.location_id, "ceiling": last.ceiling_mc} if last is not None else {}


def _one_piece(roll: Item, taken: int) -> Callable[[Transaction], list[Reason]]:
    """A cut comes off the outer end and must be clear of splices and bad metres; else say where the clear piece lies (R37)."""

    def check(tx: Transaction) -> list[Reason]:
        state = tx.state(roll.pk)
        marks = tuple(rollmap.Mark(a, b, kind) for a, b, kind in state.marks)
        if not marks or state.qty < taken:
            return []
        at = rollmap.find_piece(state.qty, marks, taken)
        if isinstance(at, Reason):
            return [Reason(at.code, say("{roll}: {text}", roll=roll, text=at.text), at.numbers)]
        if at == 0:
            return []
        text = say(
            "{roll}: the first {at} are not clear; a clear piece begins there. Cut off the outer {at} first.",
            roll=roll,
            at=display(at, "um"),
        )
        return [Reason("roll.not_at_the_end", text, {"from_um": at, "wanted_um": taken})]

    return check


@dataclass(frozen=True, slots=True)
class CutOff:
    """A length cut off a roll as a piece of its own ("30.00 m" in one piece, or an outer end that is not clear, kept as a
    remnant). `flawed`: it may hold bad metres and splices; they go with it."""

    item: str
    taken: str
    mark: str = ""
    code: str = ""
    place: str = ""
    flawed: bool = False


@verb("cut_off", CutOff, (STOREKEEPER, BUILDER, QUALITY, OWNER), say("Cut a length off"))
def cut_off(call: Call, p: CutOff) -> Outcome:
    roll = item_of(call, p.item, ROLLS)
    taken = amount(roll, p.taken, "taken")
    place = place_of(call, p.place) if p.place else None
    marks = rollmap.within(_marks(roll), 0, taken) if p.flawed and roll.unit == "um" else ()
    new = {
        "piece": NewItem(
            new_code(call, "piece", p.code), "remnant", roll.unit, p.mark.strip(), roll.material_id, roll.lot_id, owner=roll.owner_id
        )
    }
    body = {"marks": [list(m) for m in marks]} if marks else {}
    lines = [Line(roll.pk, delta=-taken), Line("piece", delta=taken, body=body, **_where(call, roll, place))]
    checks = () if p.flawed else (_one_piece(roll, taken),)
    claim = call.claim("cut", lines, p, flows=(Flow(roll.pk, "piece", taken),), new=new, checks=checks)
    receipts = call.record([claim], "cut_off")
    text = say("{taken} cut off {roll}.", taken=display(taken, roll.unit), roll=roll)
    return Outcome(text, receipts, {"items": {"piece": new["piece"].code}})


def _marks(roll: Item) -> rollmap.Marks:
    import json

    from inventory.models import ItemState

    doc = ItemState.objects.filter(pk=roll.pk).values_list("doc", flat=True).first()
    return tuple(rollmap.Mark(a, b, kind) for a, b, kind in json.loads(doc or "{}").get("marks", ()))


@dataclass(frozen=True, slots=True)
class Pour:
    """From `item` (drum, can) into `into` (day tank, bath): lots mix there and a later draw carries each with its share (R42).
    Never the other way round: what has been poured out does not go back."""

    item: str
    into: str
    quantity: str


@verb("pour", Pour, (STOREKEEPER, BUILDER), say("Top up a day tank"))
def pour(call: Call, p: Pour) -> Outcome:
    source, tank = item_of(call, p.item, ("drum", "can")), item_of(call, p.into)
    a, b = source.material, tank.material
    danger = never_into(str(a), a.hazard, str(b), b.hazard, a.sds_url or b.sds_url) if a and b else None
    if danger is not None:
        refuse(call, "pour", p, danger)
    if tank.kind != "tank":
        raise BadInput(
            "pour.not_a_tank",
            say(
                "{tank} is a {get_kind_display}: liquids never go back; pour only into a day tank.",
                tank=tank,
                get_kind_display=tank.get_kind_display(),
            ),
            "into",
        )
    quantity = amount(source, p.quantity)

    def same_material(tx: Transaction) -> list[Reason]:
        if tank.material_id in (None, source.material_id):
            return []
        return [
            Reason(
                "pour.other_material",
                say("{tank} holds {material}: {material_2} does not go in.", tank=tank, material=tank.material, material_2=source.material),
                {"item": tank.pk},
            )
        ]

    lines = [Line(source.pk, delta=-quantity), Line(tank.pk, delta=quantity)]
    claim = call.claim("pour", lines, p, flows=(Flow(source.pk, tank.pk, quantity),), checks=(same_material,))
    receipts = call.record([claim], "pour")
    return Outcome(
        say("{quantity} poured from {source} into {tank}.", quantity=display(quantity, "ug"), source=source, tank=tank), receipts
    )


@dataclass(frozen=True, slots=True)
class NewTank:
    """A day tank, pump or bath that holds `material`, at `place`."""

    mark: str
    material: str
    place: str
    code: str = ""


@verb("new_tank", NewTank, (STOREKEEPER, OWNER), say("Set up a day tank"), observable=False)
def new_tank(call: Call, p: NewTank) -> Outcome:
    from .resolve import material_of

    material, place = material_of(p.material), place_of(call, p.place)
    if material.unit != "ug":
        raise BadInput("tank.not_a_liquid", say("{material} is not kept by mass: a day tank holds liquids.", material=material), "material")
    new = {"tank": NewItem(new_code(call, "tank", p.code), "tank", "ug", p.mark.strip(), material.pk)}
    line = Line("tank", location=place.pk, ceiling=ceiling_of(place))
    receipts = call.record([call.claim("start", [line], p, new=new)], "new_tank")
    return Outcome(
        say("Day tank {mark} stands in {place}.", mark=p.mark, place=place.name), receipts, {"items": {"tank": new["tank"].code}}
    )
