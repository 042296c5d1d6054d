"""Where material came from and where it went: walks over the edges, exact in time, each in one statement.

Material takes time's way. What flowed out of an item was in it at that instant, so a tank that is topped up later does
not put the new lot into an earlier draw; what is built into an assembly is in it from then on, or until it is taken out
again. A walk carries, beside the item, the span of instants in which the material is (downwards) or must have been
(upwards) in it. Both ask whether one path of overlapping spans exists, so each walk is the other's inverse (R27).

Spans are closed, in µs. A flow (cut, mix, pour, lay, …) at t needs the material in the source at t, and it is in the
destination from t on, or until the tank that it went into was empty and filled again (`until_us` of the edge; a draw at
that very instant still carries it: rather one too many than one too few). A component built in from t until u shares the
assembly's spans within [t, u − 1]: also what is laid into it later, in a repair, is then in the assembly.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from django.db import connection
from django.db.models.expressions import RawSQL

from inventory.core.reasons import ended
from inventory.core.said import say
from inventory.core.shares import CONTAINS

ALWAYS = 2**62
"""Beyond every instant."""


class Hop(NamedTuple):
    """One edge of a trace. `qty` in the source's unit, `got` in the destination's where that is another; `until_us`: taken
    out again, or all of it drawn before the tank was filled again; `grade`: how exactly it is known (R39)."""

    edge: int
    act: int
    kind: str
    src: int
    dst: int
    happened_us: int
    until_us: int | None
    qty: int
    got: int | None
    grade: str


@dataclass(frozen=True, slots=True)
class BlockHit:
    """An open block on an item or on something above it: `item` is where it stands, `name` what is written on that."""

    block: int
    item: int
    name: str
    why: str
    text: str
    by: str
    from_us: int

    def sentence(self, name: str, of: int | None = None) -> str:
        """Why the thing called `name` (its id: `of`) may not be used."""
        above = name != self.name if of is None else of != self.item
        if self.why == "incoming":
            if above:
                return say(
                    "{name} waits for release by quality: {source}, which it was made from, is not released.", name=name, source=self.name
                )
            return say("{name} waits for release by quality.", name=name)
        word = say("recalled") if self.why == "recall" else say("put on hold")
        said = say(": {text}", text=ended(self.text)) if self.text else "."
        if above:
            whole = say(
                "{name} is on hold: {source}, which is in it, was {word} by {by}", name=name, source=self.name, word=word, by=self.by
            )
            return whole + said
        return say("{name} was {word} by {by}{said}", name=name, word=word, by=self.by, said=said)


def up(item_ids: Iterable[int], at_us: int | None = None, live: bool = False) -> list[Hop]:
    """Every edge by which material came into the items, up to `at_us`, in order of time. Components that were taken out
    again are listed with their dates; `live` leaves them out, and what they brought."""
    return _hops(_UP, "src_id", set(item_ids), _wanted(at_us, live))


def up_ids(item_ids: Iterable[int], at_us: int | None = None, live: bool = False) -> list[int]:
    """The items that material came from, in order of id; the items asked for are left out."""
    return _ids(_UP, "src_id", set(item_ids), _wanted(at_us, live))


def down(item_ids: Iterable[int]) -> list[Hop]:
    """Every edge by which material of the items went on, in order of time; exchanged components with their dates."""
    return _hops(_DOWN, "dst_id", set(item_ids), EVER)


def down_ids(item_ids: Iterable[int]) -> list[int]:
    """The items that material of the items went into, in order of id; the items asked for are left out."""
    return _ids(_DOWN, "dst_id", set(item_ids), EVER)


def open_blocks(item_ids: Iterable[int], at_us: int | None = None) -> dict[int, list[BlockHit]]:
    """The open blocks on each item or on anything that is in it now, in order of block; items without one are left out. With
    `at_us` those that stood at that instant, on what was in it then: from when that happened which is the reason for it, however
    late it was told; a hold that was voided never stood.
    An item that quality exempted from a block is free of it, and so is what has the blocked material through it alone (R7).
    One statement where nothing is blocked, else two, for any number of items."""
    wanted = set(item_ids)
    hits: dict[int, BlockHit] = {}
    exempt: dict[int, set[int]] = defaultdict(set)
    at = ALWAYS if at_us is None else at_us
    blocks, more = (_BLOCKS, []) if at_us is None else (_THEN, [at] * 3)
    for *fields, free in _rows(_UP, "src_id", False, blocks, wanted, (at, at), more):
        hit = BlockHit(*fields)
        hits[hit.block] = hit
        if free is not None:
            exempt[hit.block].add(free)
    if not hits:
        return {}
    if len(wanted) == 1 and not exempt:
        return {next(iter(wanted)): list(hits.values())}
    return _reached(hits, exempt, wanted, _hops(_UP, "src_id", wanted, (at, at)), at)


# --- the walks -------------------------------------------------------------------------------------------------------
# One state a row: an item and the span (with the edge by which it was reached, where edges are asked for). The recursion
# reads edges by index, a state at a time; the indexes hold all that a walk for items asks of an edge. CROSS JOIN keeps SQLite
# from turning the join round and reading the whole table, and so does IN (SELECT …) at the end. On PostgreSQL several ids
# come in as (SELECT …), because a planner that sees thousands of them would rather read every edge.
#
# The spans are those of `_onward`, in as few comparisons as they take. An edge ends no sooner than it begins (one that does
# carries nothing), and so does every span of the walk; so `happened_us <= until` and `since <= end` are all that two spans
# need to overlap. A flow gives its own instant to the source, and to the destination all time from then to its end.

_IN = f"e.kind = '{CONTAINS}'"
_END = f"coalesce(e.until_us - 1, {ALWAYS})"
_EDGES = f"FROM walk w CROSS JOIN inventory_edge e WHERE NOT e.void AND e.happened_us <= w.until AND e.happened_us <= {_END}"
_DOWN = f"""SELECT {{columns}}, {{max}}(w.since, e.happened_us), CASE WHEN w.until < {_END} AND {_IN} THEN w.until ELSE {_END} END
    {_EDGES} AND e.src_id = w.id AND (w.since <= e.happened_us OR ({_IN} AND w.since <= {_END}))"""
_UP = f"""SELECT {{columns}}, CASE WHEN w.since > e.happened_us AND {_IN} THEN w.since ELSE e.happened_us END,
    CASE WHEN NOT ({_IN}) THEN e.happened_us WHEN w.until < {_END} THEN w.until ELSE {_END} END
    {_EDGES} AND e.dst_id = w.id AND w.since <= {_END}"""
_HOPS = """SELECT id, act_id, kind, src_id, dst_id, happened_us, until_us, qty, got, grade
    FROM inventory_edge WHERE id IN (SELECT edge FROM walk) ORDER BY happened_us, id"""
_BLOCKS = """
    SELECT b.id, b.item_id, CASE WHEN i.mark <> '' THEN i.mark ELSE coalesce('lot ' || l.number, i.code) END, b.why, b.text, p.name,
        b.from_us, x.item_id
    FROM inventory_block b JOIN inventory_item i ON i.id = b.item_id
        JOIN inventory_act a ON a.id = b.opened_id JOIN inventory_person p ON p.id = a.person_id
        LEFT JOIN inventory_lot l ON l.item_id = b.item_id LEFT JOIN inventory_exemption x ON x.block_id = b.id
    WHERE b.to_us IS NULL AND b.item_id IN (SELECT id FROM walk) ORDER BY b.id"""
_THEN = _BLOCKS.replace(
    "LEFT JOIN inventory_exemption x ON",
    "LEFT JOIN (inventory_exemption x JOIN inventory_act y ON y.id = x.act_id AND y.happened_us <= %s) ON",
).replace(
    "b.to_us IS NULL AND",
    """a.happened_us <= %s AND (b.to_us IS NULL OR b.to_us > %s)
        AND NOT EXISTS (SELECT 1 FROM inventory_act v WHERE v.voids_id = b.opened_id) AND""",
)

Span = tuple[int, int]
EVER: Span = (-ALWAYS, ALWAYS)


def _wanted(at_us: int | None, live: bool) -> Span:
    """The span in which material must have been in an item to be told of."""
    until = ALWAYS if at_us is None else at_us
    return (until if live else -ALWAYS, until)


_GIVEN = {"postgresql": "SELECT unnest((SELECT %s::bigint[])) AS value", "sqlite": "SELECT value FROM json_each(%s)"}
_ONE = "SELECT CAST(%s AS bigint) AS value"


def ids_given() -> str:
    """SQL for ids given as one parameter, `id_list` of them, however many."""
    return _GIVEN[connection.vendor]


def among(ids: Iterable[int]) -> RawSQL:
    """Ids as one parameter, however many: for the object layer's `…__in`, which else names and prepares each of them."""
    return RawSQL(ids_given(), [id_list(sorted(ids))])


def id_list(ids: Iterable[int]) -> list[int] | str:
    return list(ids) if connection.vendor == "postgresql" else json.dumps(list(ids))


@cache
def _walk(vendor: str, step: str, item: str, edges: bool, one: bool = False) -> str:
    """The WITH clause of a walk. Parameters: the ids (or the only one), since, until."""
    text = step.format(columns=f"e.id, e.{item}" if edges else f"e.{item}", max="greatest" if vendor == "postgresql" else "max")
    return (
        f"WITH RECURSIVE start AS ({_ONE if one else _GIVEN[vendor]}), walk({'edge, ' if edges else ''}id, since, until) AS ("
        f"SELECT {'CAST(0 AS bigint), ' if edges else ''}value, CAST(%s AS bigint), CAST(%s AS bigint) FROM start UNION {text}) "
    )


def walk_up() -> str:
    """The WITH clause `walk(edge, id, since, until)` upwards, for a longer question. Parameters: id_list, since, until."""
    return _walk(connection.vendor, _UP, "src_id", edges=True)


def walk_down() -> str:
    """The same downwards."""
    return _walk(connection.vendor, _DOWN, "dst_id", edges=True)


def _rows(step: str, item: str, edges: bool, ask: str, ids: Collection[int], span: Span, more: Collection[int] = ()) -> list[Any]:
    """Run a walk from some items, and ask something of it."""
    one = len(ids) == 1
    given = next(iter(ids)) if one else id_list(sorted(ids))
    with connection.cursor() as cursor:
        cursor.execute(_walk(connection.vendor, step, item, edges, one) + ask, [given, *span, *more])
        rows: list[Any] = cursor.fetchall()
    return rows


def _hops(step: str, item: str, ids: Collection[int], span: Span) -> list[Hop]:
    return [Hop._make(row) for row in _rows(step, item, True, _HOPS, ids, span)]


def _ids(step: str, item: str, ids: Collection[int], span: Span) -> list[int]:
    reached = {row[0] for row in _rows(step, item, False, "SELECT id FROM walk", ids, span)}
    return sorted(reached.difference(ids))


def _reached(
    hits: dict[int, BlockHit], exempt: dict[int, set[int]], wanted: set[int], hops: list[Hop], at: int
) -> dict[int, list[BlockHit]]:
    """Which of the wanted items each block reaches at an instant, over the edges above them and never through an exempt item."""
    below: dict[int, list[Hop]] = defaultdict(list)
    for hop in hops:
        below[hop.src].append(hop)
    found: dict[int, list[BlockHit]] = defaultdict(list)
    for block, hit in hits.items():
        free = exempt.get(block, set())
        todo = [(hit.item, *EVER)] if hit.item not in free else []
        seen = set(todo)
        while todo:
            item, since, until = todo.pop()
            for hop in below[item]:
                span = _onward(hop, since, until)
                if span is not None and hop.dst not in free and (hop.dst, *span) not in seen:
                    seen.add((hop.dst, *span))
                    todo.append((hop.dst, *span))
        for item in {item for item, since, until in seen if since <= at <= until} & wanted:
            found[item].append(hit)
    return dict(found)


def _onward(hop: Hop, since: int, until: int) -> Span | None:
    """The span in which material that is in an edge's source from `since` to `until` is in its destination."""
    end = ALWAYS if hop.until_us is None else hop.until_us - 1
    if hop.kind == CONTAINS:
        span = max(since, hop.happened_us), min(until, end)
        return span if span[0] <= span[1] else None
    return (hop.happened_us, end) if since <= hop.happened_us <= until else None
