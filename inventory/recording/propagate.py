"""Late truth travels: refold what a late, voided or corrected record touches, and everything made from it (R12, R13).

Level by level from the top: an item whose inputs changed is folded again from its legs; where what it handed on changed,
or what is to blame for it, its children follow. Reads are 3 + depth queries, writes three sets; time grows with what changed,
not with the shop.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from django.db import connection

from inventory.core import fold
from inventory.core.exposure import Exposure
from inventory.core.fold import State, Step
from inventory.core.kinds import USES
from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.shares import CONTAINS
from inventory.core.tighter import Tighter
from inventory.core.units import display
from inventory.lineage import among
from inventory.models import Edge, Leg

from . import findings, judged
from .claims import canonical
from .findings import Found
from .transaction import Entry, Transaction, body_of
from .use import tight_in

_BELOW = """
WITH RECURSIVE below(id) AS (
    SELECT id FROM inventory_item WHERE id IN ({seed})
    UNION
    SELECT e.dst_id FROM below JOIN inventory_edge e ON e.src_id = below.id WHERE NOT e.void
) SELECT id FROM below
"""
_CHUNK = 5000


@dataclass
class Refolded:
    """What a propagation changed: items refolded, edges whose handed exposure changed, edges into a tank whose end changed,
    findings that hold."""

    items: list[int] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    ended: list[Edge] = field(default_factory=list)
    found: list[Found] = field(default_factory=list)
    judged: set[int] = field(default_factory=set)
    tight: dict[int, tuple[Tighter, ...]] = field(default_factory=dict)
    differing: list[str] = field(default_factory=list)


def propagate(tx: Transaction, dirty: set[int], write: bool = True) -> Refolded:
    """Refold `dirty` and what follows. With `write` False nothing is stored and `differing` names what would change."""
    out = Refolded()
    edges = _edges_below(dirty)
    outs, ins = defaultdict(list), defaultdict(list)
    for edge in edges:
        outs[edge.src_id].append(edge)
        ins[edge.dst_id].append(edge)
    out.tight = _tightened(edges)
    changed = set(dirty)
    causes: judged.Causes = {}
    for level in _levels(dirty, outs, ins):
        touched = [i for i in level if i in changed or any(e.dst_leg_id in out.judged for e in ins[i])]
        changed |= judged.carry_on(touched, out.judged, causes)
        again = [i for i in touched if i in changed]
        if not again:
            continue
        tx.load(again)
        for item, steps, legs in histories(tx, again):
            state, after = fold.fold(steps)
            _settle(tx, item, state, steps, out, write)
            _empty(ins[item], steps, after, out)
            changed |= _hand_on(outs[item], after, legs, tx, out)
            _judge(tx, tx.entry(item), steps, after, outs[item], legs, causes, out)
    out.found += judged.of_legs(tx, out.judged)
    if write:
        Edge.objects.bulk_update(out.edges, ["handed"], batch_size=1000)
        Edge.objects.bulk_update(out.ended, ["until_us"], batch_size=1000)
        tx.save_states()
        findings.write(out.found, out.judged, tx.who.site, tx.now_us, _still_said(edges, out))
    return out


def _tightened(edges: list[Edge]) -> dict[int, tuple[Tighter, ...]]:
    """{leg: the limits that a customer or a design had tightened for what was laid there}."""
    ids = sorted({e.dst_leg_id for e in edges if e.kind == "lay"})
    found: dict[int, tuple[Tighter, ...]] = {}
    for i in range(0, len(ids), _CHUNK):
        legs = Leg.objects.filter(pk__in=ids[i : i + _CHUNK], body__contains='"tight":')
        found |= {pk: tight_in(json.loads(body)) for pk, body in legs.values_list("pk", "body")}
    return found


def _still_said(edges: list[Edge], out: Refolded) -> dict[int, set[int]]:
    """{leg: causes}: what was used there from something that was not folded again stands as it was judged, since nothing
    about its source has changed. (A kit that is folded again alone says nothing of the roll it was cut from.)"""
    refolded = set(out.items)
    quiet = [e for e in edges if e.dst_leg_id in out.judged and e.src_id not in refolded and e.kind in USES]
    if not quiet:
        return {}
    carried: dict[int, set[int]] = defaultdict(set)
    for (item, _), (_, cause) in judged.inherited({e.src_id for e in quiet}).items():
        carried[item].add(cause)
    said: dict[int, set[int]] = defaultdict(set)
    for edge in quiet:
        said[edge.dst_leg_id] |= {edge.src_id} | carried[edge.src_id]
    return said


def _edges_below(dirty: set[int]) -> list[Edge]:
    """Every live edge into what lies below, in one query: an edge out of something below leads to something below too."""
    return list(Edge.objects.filter(void=False, dst__in=among(_below(dirty))).select_related("act"))


def _below(dirty: set[int]) -> list[int]:
    ids = sorted(dirty)
    out: set[int] = set(ids)
    with connection.cursor() as cursor:
        for i in range(0, len(ids), _CHUNK):
            cursor.execute(_BELOW.format(seed=",".join(str(int(n)) for n in ids[i : i + _CHUNK])))
            out.update(row[0] for row in cursor.fetchall())
    return sorted(out)


def _levels(dirty: set[int], outs: dict[int, list[Edge]], ins: dict[int, list[Edge]]) -> Iterator[list[int]]:
    """Kahn's levels of the sub-graph below `dirty`: parents before children."""
    nodes = set(dirty)
    todo = list(dirty)
    while todo:
        for edge in outs[todo.pop()]:
            if edge.dst_id not in nodes:
                nodes.add(edge.dst_id)
                todo.append(edge.dst_id)
    waits = {n: len({e.pk for e in ins[n] if e.src_id in nodes}) for n in nodes}
    level = sorted(n for n in nodes if waits[n] == 0)
    done = 0
    while level:
        yield level
        done += len(level)
        following = []
        for node in level:
            for edge in outs[node]:
                waits[edge.dst_id] -= 1
                if waits[edge.dst_id] == 0:
                    following.append(edge.dst_id)
        level = sorted(following)
    if done != len(nodes):
        raise RuntimeError("the graph of items has a cycle: a constraint was gone round")


def histories(tx: Transaction, items: list[int]) -> Iterator[tuple[int, list[Step], dict[fold.Key, Leg]]]:
    """Each item's live steps with what was handed in, and its legs by key."""
    legs: dict[int, list[Leg]] = defaultdict(list)
    ins: dict[tuple[int, int], list[Exposure]] = defaultdict(list)
    newer = {e.pk: e.handed for e in tx.edges_written}  # changed in this propagation, not stored yet
    part = among(items)
    for leg in Leg.objects.filter(item__in=part, act__voided_by__isnull=True).exclude(act__kind="void").select_related("act"):
        legs[leg.item_id].append(leg)
    for pk, dst, act, handed in Edge.objects.filter(void=False, dst__in=part).values_list("pk", "dst_id", "act_id", "handed"):
        ins[(dst, act)] += [Exposure.from_doc(d) for d in json.loads(newer.get(pk, handed))]
    gives = set(Edge.objects.filter(void=False, src__in=part).values_list("src_id", "act_id"))
    tx.need_sources(h.source for handed in ins.values() for h in handed)
    for item in items:
        mine = legs[item]
        steps = [step_of(leg, tuple(ins[(item, leg.act_id)]), (item, leg.act_id) in gives) for leg in mine]
        yield item, steps, {s.key: leg for s, leg in zip(steps, mine, strict=True)}


def step_of(leg: Leg, handed: tuple[Exposure, ...], gives: bool) -> Step:
    act = leg.act
    return Step(
        key=act.order,
        kind=act.kind,
        delta=leg.delta,
        counted=leg.counted,
        location=leg.location_id,
        ceiling=leg.ceiling_mc,
        body=body_of(leg.body),
        handed=handed,
        gives=gives,
    )


def _settle(tx: Transaction, item: int, state: State, steps: list[Step], out: Refolded, write: bool) -> None:
    entry = tx.entry(item)
    out.items.append(item)
    if state != entry.state and not write:
        out.differing.append(
            say("state of {facts}: stored {state} but folds to {state_2}", facts=entry.facts.name, state=entry.state, state_2=state)
        )
    entry.state, entry.changed = state, True


def _empty(edges: list[Edge], steps: list[Step], after: dict[fold.Key, State], out: Refolded) -> None:
    """Until when what was poured into a tank was in it: until the next filling that found the tank empty."""
    poured = [e for e in edges if e.kind != CONTAINS]
    if not any(e.until_us is not None or e.kind == "pour" for e in poured):
        return
    before, anew = State(), []
    for step in sorted(steps, key=lambda s: s.key):
        if fold.starts_anew(before, step):
            anew.append(step.key)
        before = after[step.key]
    for edge in poured:
        mine = edge.act.order
        until = next((fold.end_of(key) for key in anew if key > mine), None)
        if until != edge.until_us:
            out.differing.append(say("edge {pk}: until {until} but folds to {until_2}", pk=edge.pk, until=edge.until_us, until_2=until))
            edge.until_us = until
            out.ended.append(edge)


def _hand_on(edges: list[Edge], after: dict[fold.Key, State], legs: dict[fold.Key, Leg], tx: Transaction, out: Refolded) -> set[int]:
    """Compare what was handed on along each edge; give the children that must follow."""
    by_act = {leg.act_id: after[key] for key, leg in legs.items()}
    follow = set()
    for edge in edges:
        handed = canonical([e.to_doc() for e in by_act[edge.act_id].totals()])
        if handed == edge.handed:
            continue
        out.differing.append(say("edge {pk}: handed {handed} but folds to {handed_2}", pk=edge.pk, handed=edge.handed, handed_2=handed))
        edge.handed = handed
        out.edges.append(edge)
        tx.edges_written.append(edge)
        follow.add(edge.dst_id)
    return follow


def _judge(
    tx: Transaction,
    entry: Entry,
    steps: list[Step],
    after: dict[fold.Key, State],
    edges: list[Edge],
    legs: dict[fold.Key, Leg],
    causes: judged.Causes,
    out: Refolded,
) -> None:
    """Judge every old use of the item, and its own opening, bagging and cure, at the instant it happened."""
    keys = {leg.act_id: key for key, leg in legs.items()}
    me, judging = entry.facts.id, tx.judging()
    for edge in edges:
        if edge.kind in USES:
            key = keys[edge.act_id]
            out.judged.add(edge.dst_leg_id)
            out.found += judged.of_use(entry.facts, after[key], edge, key[0], judging.tightened(out.tight.get(edge.dst_leg_id, ())), causes)
    for key, leg in legs.items():
        out.judged.add(leg.pk)
        out.found += judged.of_itself(entry.facts, after[key], leg, leg.act.kind, key[0], judging, causes)
    out.found += [Found(legs[k].pk, me, me, k[0], r) for k, r in below_zero(entry, steps, after)]


def below_zero(entry: Entry, steps: Iterable[Step], after: dict[fold.Key, State]) -> list[tuple[fold.Key, Reason]]:
    """Records that took more than the book held; a later count settles them."""
    open_ones: list[tuple[fold.Key, Reason]] = []
    for step in sorted(steps, key=lambda s: s.key):
        if step.counted is not None:
            open_ones = []
        elif step.delta < 0 and after[step.key].qty < 0:
            short = -after[step.key].qty
            text = say("{facts} gave {short} more than the book held: count it.", facts=entry.facts.name, short=display(short, entry.unit))
            open_ones.append((step.key, Reason("stock.below_zero", text, {"short": short})))
    return open_ones
