"""Material goes into a part: one scan, one answer (R21), one record for all the parts and plies it fills (R23)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.tighter import Tighter
from inventory.core.units import display
from inventory.models import Act, Item, ItemState, Recipe
from inventory.recording import Claim, Flow, Line, Receipt, Transaction
from inventory.verbs import repeats
from inventory.verbs.lots import thing_of
from inventory.verbs.registry import BUILDER, OWNER, QUALITY, Call, Outcome, verb
from layups.core import schedule
from layups.core.rooms import Band
from layups.core.schedule import Offer
from layups.core.windows import Event
from layups.reads import schedules
from layups.reads.lives import Life, lives_in, lives_of
from layups.reads.rooms import bands_of
from layups.reads.schedules import NOTHING, Laid, Schedule
from layups.reads.tightening import carried, tighter_for

from . import amounts, checks
from .finding import MADE, Made, made_of, plies_text, words
from .windowing import closing

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
    """One part that something goes into: what its schedule says and what lies there, the lines to be filled, and how much it
    gets (in the item's unit). `free`: the schedule has nothing to say of this. `bands`: what the design asks of the room; `tighter`:
    life limits that its customer or design tightens."""

    made: Made
    plan: Schedule
    laid: tuple[Laid, ...]
    asked: tuple[int, ...]
    free: bool
    step: str
    bands: tuple[Band, ...] = ()
    tighter: tuple[Tighter, ...] = ()
    qty: int = 0

    def chosen(self) -> list[schedule.Line]:
        return [line for line in self.plan.lines if line.seq in self.asked]


@dataclass
class Seen:
    """What the item is like once it was laid, read inside the transaction."""

    left: int = 0
    lives: list[Life] = field(default_factory=list)


@verb("lay", Lay, BUILDERS, say("Lay into a part"))
def lay(call: Call, p: Lay) -> Outcome:
    item = thing_of(call, p.item)
    if item.kind in MADE:
        raise BadInput(
            "lay.not_material",
            say("{item} is a {get_kind_display}: build it in as a component instead.", item=item, get_kind_display=item.get_kind_display()),
            "item",
        )
    again = repeats.again(call, p, "lay", "lay")
    if again is not None:  # what was laid has changed what a scan would fill now
        state = ItemState.objects.get(pk=item.pk)
        return _told(item, again, Seen(state.qty, lives_of(call.who.zone, [item.pk], call.now_us)[item.pk]))
    recipe = schedules.recipes_of([item.pk]).get(item.pk) if item.kind == "mix" else None
    targets = _with_amounts(item, _targets(call, p, item, schedules.offer_of(item, recipe)), p, call.stance == "intent")
    seen = Seen()
    claims = [*_opening(call, p, item), *_claims(call, p, item, recipe, targets, seen)]
    return _told(item, call.record(claims, "lay"), seen)


def _targets(call: Call, p: Lay, item: Item, offer: Offer) -> list[Target]:
    wanted = [Into(p.part, p.qty, p.plies), *p.also]
    made = [made_of(call, into.part) for into in wanted]
    if len({m.id for m in made}) < len(made):
        raise BadInput("lay.part_twice", say("One of the parts is named twice: give each one once."), "also")
    plans = schedules.schedules_of(m.part.design_id for m in made)
    laid = schedules.laid_into(m.id for m in made)
    bands, tighter = bands_of(m.part.design_id for m in made), tighter_for(m.part for m in made)
    cut_for = checks.kit_plan(item)[1]
    step = words(p.step, "step", 40)
    found = [
        _target(item, offer, m, plans.get(m.part.design_id, NOTHING), tuple(laid.get(m.id, ())), into.plies or p.plies, cut_for, step)
        for m, into in zip(made, wanted, strict=True)
    ]
    return [replace(t, bands=bands.get(t.made.part.design_id, ()), tighter=tighter[t.made.id]) for t in found]


def _target(
    item: Item,
    offer: Offer,
    made: Made,
    plan: Schedule,
    laid: tuple[Laid, ...],
    plies: tuple[int, ...],
    cut_for: tuple[int, ...],
    step: str,
) -> Target:
    """Which lines: those that were said, those of the step, those that the kit was cut for, else what the schedule needs."""
    there, lines, kit = schedules.fillings(laid), plan.lines, item.kind == "kit"
    asked = tuple(dict.fromkeys(plies))
    if not asked and step:
        named = [line for line in lines if step.casefold() in (line.step.casefold(), line.label.casefold())]
        asked = schedule.choose(offer, named, there, kit) or tuple(line.seq for line in named[:1])
    if not asked and not step:
        right = {line.seq for line in lines if schedule.fits(offer, line)}
        asked = tuple(seq for seq in cut_for if seq in right) or schedule.choose(offer, lines, there, kit)
    grade = item.material.grade if item.material is not None else "item"
    return Target(made, plan, laid, asked, not lines or (grade != "item" and not asked), step)


def _with_amounts(item: Item, targets: list[Target], p: Lay, intent: bool) -> list[Target]:
    typed = [p.qty, *(into.qty for into in p.also)]
    there = [schedules.fillings(t.laid) for t in targets]
    left = 0
    if item.kind in (*amounts.PIECES, "mix") and not all(text.strip() for text in typed):
        left = ItemState.objects.filter(pk=item.pk).values_list("qty", flat=True).first() or 0
    try:
        found = amounts.amounts(item, left, typed, [t.chosen() for t in targets], there)
    except BadInput as bad:
        fitting = any(_offered(item, t) for t in targets)
        if bad.reason.code != "quantity.missing" or fitting or not intent:
            raise
        found = [0] * len(targets)  # it will be refused for what it is; how much does not matter
    return [replace(t, qty=qty) for t, qty in zip(targets, found, strict=True)]


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


def _claims(call: Call, p: Lay, item: Item, recipe: Recipe | None, targets: Sequence[Target], seen: Seen) -> list[Claim]:
    """One act for all parts. What already happened is one act a part, so that each is marked with what *it* broke."""
    if call.stance == "intent":
        return [_claim(call, p, item, recipe, targets, "", {}, seen)]
    rest = [t.made.part.number for t in targets[1:]]
    return [
        _claim(call, p, item, recipe, [t], rest[i - 1] if i else "", {} if i else repeats.parts(rest), seen) for i, t in enumerate(targets)
    ]


def _claim(
    call: Call, p: Lay, item: Item, recipe: Recipe | None, targets: Sequence[Target], part: str, more: dict[str, Any], seen: Seen
) -> Claim:
    grade = "lot" if item.kind == "lot" else item.material.grade if item.material is not None else "item"
    shut = closing("lay", [(t.made, Event(0, frozenset(t.asked), t.step)) for t in targets])
    lines = [Line(item.pk, delta=-sum(t.qty for t in targets) if item.kind != "lot" else 0)]
    lines += [Line(t.made.id, body=_leg_body(item, recipe, t) | shut.body(t.made.id)) for t in targets]
    first = targets[0]
    into = [[t.made.part.number, list(t.asked), t.qty] for t in targets]
    body = {"item": str(item), "into": into, "step": first.step, "plies": list(first.asked), "part": first.made.part.number}
    planned = [t.made.part.planned_cure_us for t in targets if t.made.part.planned_cure_us is not None]

    def look(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        seen.left, seen.lives = tx.state(item.pk).qty, lives_in(tx, item.pk, tx.now_us, (), first.tighter)

    return call.claim(
        "lay",
        lines,
        p,
        part=part,
        flows=tuple(Flow(item.pk, t.made.id, t.qty, grade=grade) for t in targets),
        body=body | more,
        planned={"cure": max(planned)} if planned else {},
        checks=(_Questions(item, recipe, tuple(targets), p.dry, p.extra, call.stance == "intent"), shut),
        effects=(look,),
    )


def _leg_body(item: Item, recipe: Recipe | None, t: Target) -> dict[str, Any]:
    body: dict[str, Any] = {"fills": amounts.fills(item, t.qty, t.plan.lines, t.asked)} if t.asked else {}
    return body | ({"step": t.step} if t.step else {}) | ({"mix": recipe.code} if recipe else {}) | carried(t.tighter)


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
        laid = schedules.laid_into(t.made.id for t in self.targets)  # somebody else may have filled it meanwhile
        offer, job = schedules.offer_of(self.item, self.recipe), tx.state(self.item.pk).reserved or checks.kit_plan(self.item)[0]
        for t in self.targets:
            there = laid.get(t.made.id, [])
            if not t.free:
                filled = schedules.fillings(there)
                yield from schedule.line_reasons(offer, t.made.part.number, t.asked, t.plan.lines, filled, self.extra)
            yield from checks.ready_reasons(tx, t.made)
            yield from checks.owner_reasons(self.item, t.made)
            yield from checks.job_reasons(self.item, job, t.made)
            yield from checks.pairing(self.item, self.recipe, there, t.plan.resins)
            yield from checks.room_reasons(tx, self.recipe, t.made)
            yield from checks.design_room_reasons(tx, t.made, t.bands, t.asked)
            yield from checks.too_short(tx, self.item.pk, t.made, t.made.part.planned_cure_us, t.tighter)


def _told(item: Item, receipts: list[Receipt], seen: Seen) -> Outcome:
    """What was done, as the record has it: a repeat says the same."""
    into = [row for r in receipts for row in r.body.get("into", ())]
    places = [
        say("{plies_text} of {number}", plies_text=plies_text(plies), number=number) if plies else str(number) for number, plies, _ in into
    ]
    total = sum(qty for _, _, qty in into)
    text = say("{item} is in {places}.", item=item, places=strung(", ", places)) if places else say("{item} is recorded.", item=item)
    data = {
        "item": item.code,
        "parts": [{"part": number, "plies": plies, "qty": qty} for number, plies, qty in into],
        "unit": item.unit,
        "left": seen.left,
        "left_text": display(seen.left, item.unit),
        "lives": [life.to_json() for life in seen.lives],
    }
    return Outcome(say("{total} of {text}", total=display(total, item.unit), text=text) if total else text, receipts, data)
