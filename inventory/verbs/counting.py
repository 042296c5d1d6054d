"""Count, adjust, scrap, use otherwise, reserve, relabel: what happens to stock besides being built in."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core import counting as ways
from inventory.core.counting import Counted
from inventory.core.reasons import BadInput, Reason, ended, told_at
from inventory.core.said import say, strung
from inventory.core.units import display, parse
from inventory.models import Act, Item, ItemCode, ItemState
from inventory.properties import props_of
from inventory.recording import Line, Transaction

from .births import new_code
from .jobs import for_job
from .registry import BUILDER, OWNER, QUALITY, STOREKEEPER, Call, Outcome, verb
from .resolve import amount, item_of


@dataclass(frozen=True, slots=True)
class Count:
    """What is really there: `quantity` as measured ("18.06 m"), or `gross` mass with `core` (tare), or `diameter` with
    `core_diameter`. `claim`: a short roll becomes a claim to the supplier."""

    item: str
    quantity: str = ""
    gross: str = ""
    core: str = ""
    diameter: str = ""
    core_diameter: str = ""
    claim: bool = False


@verb("count", Count, (STOREKEEPER, BUILDER, QUALITY, OWNER), say("Count"))
def count(call: Call, p: Count) -> Outcome:
    item = item_of(call, p.item)
    found = counted_of(item, p)
    book = ItemState.objects.get(pk=item.pk).qty
    difference = found.value - book
    line = Line(item.pk, counted=found.value, body={"how": found.how})
    claim = call.claim("count", [line], p, body={"how": found.how, "claim": p.claim, "book": book}, reason=call.reason or found.how)
    receipts = call.record([claim], "count")
    text = say(
        "{item}: {found_value}; {differs}.",
        item=item,
        found_value=display(found.value, item.unit),
        differs=differs(item, difference, found.how),
    )
    data = {"counted": found.value, "difference": difference, "nominal": found.nominal, "how": found.how}
    return Outcome(text, receipts, data)


def differs(item: Item, difference: int, how: str) -> str:
    """ "−0.34 m, count by weight", or that it agrees."""
    return (
        say("{which}{difference}, {how}", which="+" if difference > 0 else "−", difference=display(abs(difference), item.unit), how=how)
        if difference
        else say("agrees with the book")
    )


def counted_of(item: Item, p: Count) -> Counted:
    """What was counted, in the thing's own unit (R4). BadInput names the field that cannot be read."""
    props = props_of(item.material, item.unit)
    given = [bool(p.quantity), bool(p.gross), bool(p.diameter)]
    if sum(given) != 1:
        raise BadInput(
            "count.one_way", say("Count in one way: a quantity, or a gross mass with its core, or a diameter with its core."), "quantity"
        )
    if p.quantity:
        return ways.by_measure(amount_or_zero(item, p.quantity), item.unit)
    if p.gross:
        core = _typed(p.core, "kg", "ug", "core", allow_zero=True) if p.core else item.core_ug
        if core is None:
            raise BadInput("count.no_core", say("The mass of the core or can is not known: weigh an empty one and enter it."), "core")
        found = ways.by_weight(_typed(p.gross, "kg", "ug", "gross"), core, props)
    else:
        if not p.core_diameter:
            raise BadInput("count.no_core", say("Give the diameter of the core as well."), "core_diameter")
        thickness = item.material.thickness_um if item.material else None
        found = ways.by_diameter(
            _typed(p.diameter, "mm", "um", "diameter"), _typed(p.core_diameter, "mm", "um", "core_diameter"), thickness
        )
    if isinstance(found, Reason):
        raise BadInput(found.code, found.text, "gross" if p.gross else "diameter", **found.numbers)
    if found.base != item.unit:
        raise BadInput("count.other_unit", say("{item} is kept in another unit: count it directly.", item=item), "quantity")
    return found


def _typed(text: str, unit: str, base: str, where: str, **more: bool) -> int:
    with told_at(where):
        return parse(text, unit, base, **more)


def amount_or_zero(item: Item, text: str) -> int:
    from inventory.core.units import to_stock

    with told_at("quantity"):
        return to_stock(text, None, props_of(item.material, item.unit), allow_zero=True).value


@dataclass(frozen=True, slots=True)
class Adjust:
    """A correction of the book by `change` ("-0.50 m"), for a `reason` that is not a count."""

    item: str
    change: str
    reason: str


@verb("adjust", Adjust, (STOREKEEPER, QUALITY, OWNER), say("Correct the book"))
def adjust(call: Call, p: Adjust) -> Outcome:
    item = item_of(call, p.item)
    if not p.reason.strip():
        raise BadInput("reason.missing", say("Say why the book is corrected."), "reason")
    from inventory.core.units import to_stock

    with told_at("change"):
        change = to_stock(p.change, None, props_of(item.material, item.unit), allow_negative=True).value
    receipts = call.record([call.claim("adjust", [Line(item.pk, delta=change)], p, reason=p.reason.strip())], "adjust")
    return Outcome(say("{item}: book corrected by {change}.", item=item, change=p.change), receipts)


@dataclass(frozen=True, slots=True)
class Scrap:
    """`quantity` as typed; empty means all that is left. `cause`: offcut, expired, damaged, pot leftover …"""

    item: str
    cause: str
    quantity: str = ""


@verb("scrap", Scrap, (STOREKEEPER, BUILDER, QUALITY, OWNER), say("Scrap"))
def scrap(call: Call, p: Scrap) -> Outcome:
    item = item_of(call, p.item)
    if not p.cause.strip():
        raise BadInput("reason.missing", say("Say why it is scrapped: offcut, expired, damaged, left over in the pot …"), "cause")
    quantity = amount(item, p.quantity) if p.quantity else _all_of(call, item)
    body = {"stays": True} if item.kind == "tank" else {}  # a tank that is emptied is filled again
    receipts = call.record([call.claim("scrap", [Line(item.pk, delta=-quantity, body=body)], p, reason=p.cause.strip())], "scrap")
    caution = say(" It may be hot: leave it in an open container, outside, away from anything that burns.") if item.kind == "mix" else ""
    return Outcome(
        say(
            "{quantity} of {item} scrapped: {cause}{caution}",
            quantity=display(quantity, item.unit),
            item=item,
            cause=ended(p.cause),
            caution=caution,
        ),
        receipts,
    )


def _all_of(call: Call, item: Item) -> int:
    before = Act.objects.filter(site=call.who.site, key=call.key).first()
    if before is not None:  # a repeat: what was left then
        return -before.legs.get(item=item).delta
    left = ItemState.objects.get(pk=item.pk).qty
    if left <= 0:
        raise BadInput("stock.empty", say("Nothing is left of {item}.", item=item), "quantity")
    return left


PURPOSES = ("panel", "training", "sample", "test", "other")


@dataclass(frozen=True, slots=True)
class UseOtherwise:
    """Used, but not for a part: a test panel, training, a retained sample. `purpose`: panel, training, sample, test, other."""

    item: str
    quantity: str
    purpose: str
    note: str = ""


@verb("use", UseOtherwise, (STOREKEEPER, BUILDER, QUALITY, OWNER), say("Use otherwise"))
def use_otherwise(call: Call, p: UseOtherwise) -> Outcome:
    item = item_of(call, p.item)
    if p.purpose not in PURPOSES:
        raise BadInput("use.purpose", say("Say what for: {purposes}.", purposes=strung(", ", PURPOSES)), "purpose")
    quantity = amount(item, p.quantity)
    body = {"purpose": p.purpose, "note": p.note}
    receipts = call.record([call.claim("use", [Line(item.pk, delta=-quantity)], p, body=body)], "use")
    return Outcome(
        say("{quantity} of {item} used for: {purpose}.", quantity=display(quantity, item.unit), item=item, purpose=p.purpose), receipts
    )


@dataclass(frozen=True, slots=True)
class Reserve:
    """Keep `item` for `job` (a part's number or any name); an empty job frees it (R38)."""

    item: str
    job: str = ""


@verb("reserve", Reserve, (STOREKEEPER, QUALITY, OWNER), say("Reserve for a job"), observable=False)
def reserve(call: Call, p: Reserve) -> Outcome:
    item = item_of(call, p.item)
    line = Line(item.pk, body={"job": p.job.strip()})
    receipts = call.record([call.claim("reserve", [line], p, checks=for_job(call, item, p.job))], "reserve")
    return Outcome(
        say("{item} is kept for {job}.", item=item, job=p.job) if p.job.strip() else say("{item} is free again.", item=item), receipts
    )


@dataclass(frozen=True, slots=True)
class Relabel:
    """A lost label gets a new one; the old code and the new one both lead to the thing."""

    item: str
    code: str = ""


@verb("relabel", Relabel, (STOREKEEPER, BUILDER, QUALITY, OWNER), say("Give a new label"), observable=False)
def relabel(call: Call, p: Relabel) -> Outcome:
    item = item_of(call, p.item)
    code = new_code(call, "label", p.code)

    def free(tx: Transaction) -> list[Reason]:
        taken = (
            Item.objects.filter(site=call.who.site, code=code).exists() or ItemCode.objects.filter(site=call.who.site, code=code).exists()
        )
        return [Reason("code.taken", say("This label is already on something: take a fresh one."), {"code": code})] if taken else []

    def keep(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        ItemCode.objects.create(site_id=call.who.site, code=code, item=item)

    claim = call.claim("relabel", [Line(item.pk)], p, body={"code": code}, checks=(free,), effects=(keep,))
    receipts = call.record([claim], "relabel")
    return Outcome(say("{item} has a new label.", item=item), receipts, {"code": code})
