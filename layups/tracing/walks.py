"""Traces: from a thing back to every lot, from a lot forward to everything made of it (R27), the recall list (R28), and what
defective parts share.

Walks and amounts are the inventory's (`inventory.lineage`, `inventory.balance`); here they become what a person reads. Each
is the other's inverse, and each asks a number of queries that does not grow with the trace.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from inventory import balance, lineage
from inventory.core.said import say
from inventory.lineage import BlockHit, Hop
from inventory.models import Item
from layups.core import flows
from layups.core.sharing import Rank, Shared, count_shared, difference_of_shares
from layups.reads.things import OUT_AGAIN, Thing, items_of, links_of, things_of


@dataclass(frozen=True, slots=True)
class Found:
    """A thing that a trace found. `from_us`: since when the material is in it; `until_us`: until when, if it is no longer;
    `amount`: how much of the lot, in the lot's unit (None: not known, or followed without a quantity); `grade`: how exactly it is
    known (R39)."""

    thing: Thing
    from_us: int
    until_us: int | None
    amount: Fraction | None
    grade: str


@dataclass(frozen=True, slots=True)
class Forward:
    """Everything that material of `root` went into, in order of time. `hops`: the ways it went."""

    root: Thing
    found: tuple[Found, ...]
    hops: tuple[Hop, ...]

    @property
    def customers(self) -> list[str]:
        return sorted({f.thing.sent.customer for f in self.found if f.thing.sent is not None and f.until_us is None})


@dataclass(frozen=True, slots=True)
class LotIn:
    """A lot that is in a thing: how much of it and its share among the lots of its material there; when it first and last came
    in, and through what; `until_us` when all of it was taken out again with a component."""

    lot: Thing
    amount: Fraction | None
    share: Fraction
    first_us: int
    last_us: int
    via: tuple[str, ...]
    until_us: int | None
    grade: str


@dataclass(frozen=True, slots=True)
class Back:
    """Every lot that is in `root`, by material and lot; `things` are all that lie between, with the lots. `no_lot`: things that
    material came from which came from no lot on record (a pail without a label, a pot used before it was recorded)."""

    root: Thing
    lots: tuple[LotIn, ...]
    no_lot: tuple[LotIn, ...]
    things: dict[int, Thing]
    hops: tuple[Hop, ...]


def trace_forward(item: int) -> Forward:
    """Everything made from a lot, or from any other thing. Raises Item.DoesNotExist."""
    hops = lineage.down([item])
    things = things_of({item, *(h.dst for h in hops)}, hops)
    if item not in things:
        raise Item.DoesNotExist(say("no such item: {item}", item=item))
    reach = flows.down(links_of(hops), item)
    grades = flows.best_grades(reach)
    amounts = balance.spread(item) if things[item].kind == "lot" else {}
    found = [
        Found(_as_it_is(things[pk], end), spans[0][0], None if end == flows.FOREVER else end, amounts.get(pk), grades[pk])
        for pk, spans in reach.spans.items()
        for end in [spans[-1][1]]
    ]
    return Forward(things[item], tuple(sorted(found, key=lambda f: (f.from_us, f.thing.id))), tuple(hops))


def _as_it_is(thing: Thing, end: int) -> Thing:
    """What a component was taken out of again does not have its material any more."""
    return thing if end == flows.FOREVER else replace(thing, where=OUT_AGAIN)


def trace_back(item: int) -> Back:
    """Every lot in a part, or in any other thing. Raises Item.DoesNotExist."""
    hops = lineage.up([item])
    things = things_of({item, *(h.src for h in hops)}, hops)
    if item not in things:
        raise Item.DoesNotExist(say("no such item: {item}", item=item))
    links = links_of(hops)
    grades = flows.best_grades(flows.up(links, item), backwards=True)
    held = {a.lot: a for a in balance.composition([item])[item]}
    sources = sorted(pk for pk in grades if things[pk].kind == "lot" or pk in held)
    lots = [_lot_in(things, links, item, pk, held.get(pk), grades[pk]) for pk in sources]
    ordered = sorted(lots, key=lambda x: (x.lot.material, x.first_us, x.lot.number, x.lot.id))
    known = tuple(x for x in ordered if x.lot.kind == "lot")
    return Back(things[item], known, tuple(x for x in ordered if x.lot.kind != "lot"), things, tuple(hops))


def _lot_in(things: dict[int, Thing], links: list[flows.Link], root: int, lot: int, held: balance.Amount | None, grade: str) -> LotIn:
    reach = flows.down(links, lot)
    last = sorted((k for k in reach.links if k.dst == root), key=flows.when)
    end = reach.spans[root][-1][1]
    return LotIn(
        lot=things[lot],
        amount=held.amount if held is not None and held.amount else None,
        share=held.share if held is not None else Fraction(0),
        first_us=min(k.at for k in last),
        last_us=max(k.at for k in last),
        via=tuple(dict.fromkeys(things[k.src].name for k in last)),
        until_us=None if end == flows.FOREVER else end,
        grade=grade,
    )


# --- recall ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Recall:
    """What a recall of `lot` has to reach. `found` is everything it went into; `existing` what is still somewhere; `used_up`
    what is not; `customers` who has some of it; `holds` the open holds above each thing."""

    lot: Thing
    found: tuple[Found, ...]
    holds: dict[int, tuple[BlockHit, ...]]

    @property
    def existing(self) -> list[Found]:
        return [f for f in self.found if f.thing.exists]

    @property
    def used_up(self) -> list[Found]:
        return [f for f in self.found if not f.thing.exists]

    @property
    def by_where(self) -> dict[str, list[Found]]:
        out: dict[str, list[Found]] = defaultdict(list)
        for f in self.found:
            out[f.thing.where].append(f)
        return dict(out)

    @property
    def customers(self) -> dict[str, list[Found]]:
        out: dict[str, list[Found]] = defaultdict(list)
        for f in self.existing:
            if f.thing.sent is not None:
                out[f.thing.sent.customer].append(f)
        return dict(sorted(out.items()))

    @property
    def uncontained(self) -> list[Found]:
        """What exists, is in the shop, and no hold reaches."""
        return [f for f in self.existing if f.thing.sent is None and not self.holds.get(f.thing.id)]


def recall(item: int) -> Recall:
    """The recall list of a lot (R28). Raises Item.DoesNotExist."""
    forward = trace_forward(item)
    blocked = lineage.open_blocks([item, *(f.thing.id for f in forward.found)])
    holds = {pk: tuple(h for h in hits if h.why != "incoming") for pk, hits in blocked.items()}
    return Recall(forward.root, forward.found, {pk: hits for pk, hits in holds.items() if hits})


# --- what defective parts share ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SharedLot:
    """A lot, in how many of the bad and of the good parts it is, and its rank."""

    lot: Thing
    counts: Shared
    rank: Fraction


def lots_of_each(parts: Iterable[int]) -> dict[int, set[int]]:
    """The lots in each part, in two queries for any number of parts. People are no input, so they are never among them."""
    wanted = set(parts)
    hops = lineage.up(wanted)
    above = flows.up_each(links_of(hops), wanted)
    lots = set(items_of({h.src for h in hops}).filter(kind="lot").values_list("pk", flat=True))
    return {part: found & lots for part, found in above.items()}


def shared_lots(parts_bad: Collection[int], parts_good: Collection[int], rank: Rank = difference_of_shares) -> list[SharedLot]:
    """The lots of defective parts with their counts among bad and good parts, worst first; what is only booked to a bay by the
    box comes after what is known by piece or lot, since nobody saw it go in (R39). `rank` is how suspect a lot is by its counts;
    a test with a correction for the number of candidates takes this place (R29)."""
    inside = lots_of_each({*parts_bad, *parts_good})
    bad = {part: inside[part] for part in parts_bad}
    rows = count_shared(bad, {part: inside[part] for part in parts_good}, rank)
    things = things_of({row.candidate for row, _ in rows})
    found = [SharedLot(things[row.candidate], row, value) for row, value in rows]
    return sorted(found, key=lambda x: x.lot.followed == "box")
