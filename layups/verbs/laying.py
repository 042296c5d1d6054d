"""Material goes into a part: one scan, one answer (R21), one record for all the parts and plies it fills (R23)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import BadInput, Reason
from inventory.core.units import display
from inventory.models import Item, ItemState, Recipe, Site
from inventory.recording import Claim, Flow, Line, Transaction
from inventory.verbs import repeats
from inventory.verbs.lots import thing_of
from inventory.verbs.registry import BUILDER, OWNER, QUALITY, Call, Outcome, verb
from layups.core import schedule
from layups.core.schedule import Filling, Offer
from layups.reads import schedules
from layups.reads.lives import lives_of

from . import amounts, checks
from .finding import MADE, Made, made_of, plies_text, words

BUILDERS = (BUILDER, QUALITY, OWNER)


@dataclass(frozen=True, slots=True)
class Into:
    """A further part that the same pot, kit or roll goes into. `qty` as typed; `plies` empty: the same as the schedule says."""

    part: str
    qty: str = ""
    plies: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Lay:
    """`item`: roll, kit, pot, sheet, or a lot of what is followed by lot. `part`: its number or code. `plies`: numbers of lines
    of its schedule; empty: all that a kit is for, else the next open one. `step`: a step by name instead. `qty`: as typed;
    empty: what the schedule says, all of a kit, what is left of a pot. `also`: further parts. `dry`: the bag was looked at and is
    dry. `extra`: more goes into a line that is filled."""

    item: str
    part: str
    plies: tuple[int, ...] = ()
    step: str = ""
    qty: str = ""
    also: tuple[Into, ...] = ()
    dry: bool | None = None
    extra: bool = False


@dataclass(frozen=True, slots=True)
class Target:
    """One part that something goes into: the lines it fills there, and how much it gets (in the item's unit)."""

    made: Made
    lines: tuple[schedule.Line, ...]
    asked: tuple[int, ...]
    free: bool  # its schedule does not say what goes in here
    step: str
    qty: int = 0

    def chosen(self) -> list[schedule.Line]:
        return [line for line in self.lines if line.seq in self.asked]


@verb("lay", Lay, BUILDERS, "Lay into a part")
def lay(call: Call, p: Lay) -> Outcome:
    item = thing_of(call, p.item)
    if item.kind in MADE:
        raise BadInput("lay.not_material", f"{item} is a {item.get_kind_display()}: build it in as a component instead.", "item")
    again = repeats.again(call, p, "lay", "lay")
    if again is not None:  # what was laid has changed what a scan would fill now
        return _told(call, item, again)
    recipe = schedules.recipes_of([item.pk]).get(item.pk) if item.kind == "mix" else None
    targets = _targets(call, p, item, schedules.offer_of(item, recipe))
    state = ItemState.objects.filter(pk=item.pk).first()
    targets = _with_amounts(item, state.qty if state else 0, targets, p, call.stance == "intent")
    claims = [*_opening(call, p, item), *_claims(call, p, item, recipe, targets)]
    return _told(call, item, call.record(claims, "lay"))


def _targets(call: Call, p: Lay, item: Item, offer: Offer) -> list[Target]:
    wanted = [Into(p.part, p.qty, p.plies), *p.also]
    made = [made_of(call, into.part) for into in wanted]
    if len({m.id for m in made}) < len(made):
        raise BadInput("lay.part_twice", "One of the parts is named twice: give each one once.", "also")
    lines = schedules.lines_of(m.part.design_id for m in made)
    laid = schedules.laid_into(m.id for m in made)
    plan = checks.kit_plan(item)[1]
    step = words(p.step, "step", 40)
    return [
        _target(item, offer, m, lines.get(m.part.design_id, ()), schedules.fillings(laid.get(m.id, ())), into.plies or p.plies, plan, step)
        for m, into in zip(made, wanted, strict=True)
    ]


def _target(
    item: Item,
    offer: Offer,
    made: Made,
    lines: tuple[schedule.Line, ...],
    there: list[Filling],
    plies: tuple[int, ...],
    plan: tuple[int, ...],
    step: str,
) -> Target:
    """Which lines: those that were said, those of the step, those that the kit was cut for, else what the schedule needs."""
    asked = tuple(dict.fromkeys(plies))
    if not asked and step:
        named = [line for line in lines if step.casefold() in (line.step.casefold(), line.label.casefold())]
        asked = schedule.choose(offer, named, there, item.kind == "kit") or tuple(line.seq for line in named[:1])
    if not asked and not step:
        open_ones = {line.seq for line in lines if schedule.fits(offer, line)}
        asked = tuple(seq for seq in plan if seq in open_ones)
        asked = asked or schedule.choose(offer, lines, there, item.kind == "kit")
    grade = item.material.grade if item.material is not None else "item"
    return Target(made, lines, asked, not lines or (grade != "item" and not asked), step)


def _with_amounts(item: Item, left: int, targets: list[Target], p: Lay, intent: bool) -> list[Target]:
    typed = [p.qty, *(into.qty for into in p.also)]
    laid = schedules.laid_into(t.made.id for t in targets)
    there = [schedules.fillings(laid.get(t.made.id, ())) for t in targets]
    try:
        found = amounts.amounts(item, left, typed, [t.chosen() for t in targets], there)
    except BadInput as bad:
        fitting = any(_offered(item, t) for t in targets)
        if bad.reason.code != "quantity.missing" or fitting or not intent:
            raise
        found = [0] * len(targets)  # it will be refused for what it is; how much does not matter
    return [Target(t.made, t.lines, t.asked, t.free, t.step, qty) for t, qty in zip(targets, found, strict=True)]


def _offered(item: Item, target: Target) -> bool:
    """Could it go in at all, were the quantity known?"""
    wanted = {m for line in target.chosen() for m in (line.material, line.resin, *(i for i, _ in line.alternates))}
    return target.free or item.material_id in wanted or item.kind == "mix"


def _opening(call: Call, p: Lay, item: Item) -> list[Claim]:
    """ "The bag is dry" opens it, in the same record."""
    if not p.dry:
        return []
    tx = Transaction(call.who, call.now_us, False)
    tx.load([item.pk], lock=False)
    if item.pk not in tx.entries or not checks.bag_unasked(tx, item.pk):
        return []
    return [call.claim("open", [Line(item.pk, body={"dry": True})], p, part="open")]


def _claims(call: Call, p: Lay, item: Item, recipe: Recipe | None, targets: Sequence[Target]) -> list[Claim]:
    """One act for all parts. What already happened is one act a part, so that each is marked with what *it* broke."""
    if call.stance == "intent":
        return [_claim(call, p, item, recipe, targets, "", {})]
    rest = [t.made.part.number for t in targets[1:]]
    return [
        _claim(call, p, item, recipe, [t], "" if i == 0 else rest[i - 1], {} if i else repeats.parts(rest)) for i, t in enumerate(targets)
    ]


def _claim(call: Call, p: Lay, item: Item, recipe: Recipe | None, targets: Sequence[Target], part: str, more: dict[str, Any]) -> Claim:
    grade = "lot" if item.kind == "lot" else item.material.grade if item.material is not None else "item"
    lines = [Line(item.pk, delta=-sum(t.qty for t in targets) if item.kind != "lot" else 0)]
    lines += [Line(t.made.id, body=_leg_body(item, t)) for t in targets]
    flows = tuple(Flow(item.pk, t.made.id, t.qty, grade=grade) for t in targets)
    into = [[t.made.part.number, list(t.asked), t.qty] for t in targets]
    body = {"item": str(item), "into": into, "step": targets[0].step, "plies": list(targets[0].asked), "part": targets[0].made.part.number}
    planned = [t.made.part.planned_cure_us for t in targets if t.made.part.planned_cure_us is not None]
    asked = _Questions(item, recipe, tuple(targets), p.dry, p.extra, call.stance == "intent")
    return call.claim(
        "lay", lines, p, part=part, flows=flows, body=body | more, planned={"cure": max(planned)} if planned else {}, checks=(asked,)
    )


def _leg_body(item: Item, t: Target) -> dict[str, Any]:
    body: dict[str, Any] = {"fills": amounts.fills(item, t.qty, t.lines, t.asked)} if t.asked else {}
    return body | ({"step": t.step} if t.step else {})


@dataclass(frozen=True, slots=True)
class _Questions:
    """Everything that is asked of one scan, under the lock."""

    item: Item
    recipe: Recipe | None
    targets: tuple[Target, ...]
    dry: bool | None
    extra: bool
    intent: bool

    def __call__(self, tx: Transaction) -> Iterator[Reason]:
        yield from checks.piece_reasons(self.item)
        yield from checks.bag_reasons(tx, self.item, self.dry, self.intent)
        laid = schedules.laid_into(t.made.id for t in self.targets)
        offer = schedules.offer_of(self.item, self.recipe)
        for t in self.targets:
            if not t.free:
                there = schedules.fillings(laid.get(t.made.id, ()))
                yield from schedule.line_reasons(offer, t.made.part.number, t.asked, t.lines, there, self.extra)
            yield from checks.ready_reasons(tx, t.made)
            yield from checks.owner_reasons(self.item, t.made)
            yield from checks.job_reasons(tx, self.item, t.made)
            yield from checks.pairing(self.item, self.recipe, t.made)
            yield from checks.room_reasons(tx, self.recipe, t.made)
            yield from checks.too_short(tx, self.item.pk, t.made, t.made.part.planned_cure_us)


def _told(call: Call, item: Item, receipts: list[Any]) -> Outcome:
    """What was done, as the record has it: a repeat says the same."""
    into = [row for r in receipts for row in r.body.get("into", ())]
    state = ItemState.objects.get(pk=item.pk)
    places = [f"{plies_text(plies)} of {number}" if plies else str(number) for number, plies, _ in into]
    text = f"{item} is in {', '.join(places)}." if places else f"{item} is recorded."
    total = sum(qty for _, _, qty in into)
    if total:
        text = f"{display(total, item.unit)} of {text}"
    lives = lives_of(Site.objects.get(pk=call.who.site), [item.pk], call.now_us)[item.pk]
    data = {
        "item": item.code,
        "parts": [{"part": number, "plies": plies, "qty": qty} for number, plies, qty in into],
        "unit": item.unit,
        "left": state.qty,
        "left_text": display(state.qty, item.unit),
        "lives": [life.to_json() for life in lives],
    }
    return Outcome(text, receipts, data)
