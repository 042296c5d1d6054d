"""How much of each lot is where: what is in a thing, and the mass balance of a lot at any time (R3, R42).

Read from the records themselves – live acts, their legs and edges – and played in the order in which they happened by
`inventory.core.shares`, so that a balance needs no stored figure to be right. Voided acts and voids are left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.db import connection

from inventory import lineage
from inventory.core.shares import MADE, TERMS, Books, Deed, Flow, Parcel, run, share_of
from inventory.models import Item

SPENT = ("on_hand", "used_in_parts", "used_otherwise", "scrapped", "returned", "sold")


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of a lot is in a thing: exact, in the lot's stock unit, and its share among the lots of its material there.
    For a stock item that is used up the amount is nothing and the share is what its last draw had."""

    lot: int
    amount: Fraction
    unit: str
    share: Fraction


@dataclass(frozen=True, slots=True)
class Balance:
    """One lot's balance in its stock unit, rounded to whole base units (half to even):

        received + adjusted = on_hand + used_in_parts + used_otherwise + scrapped + returned + sold + residual

    `residual` is what the rounding leaves; `exact` holds the same terms unrounded, and closes with nothing left.
    `where`: on hand by item, in the lot's unit, kits and mixes included (below nothing where a book is overdrawn)."""

    lot: int
    unit: str
    received: int
    adjusted: int
    on_hand: int
    used_in_parts: int
    used_otherwise: int
    scrapped: int
    returned: int
    sold: int
    residual: int
    exact: Mapping[str, Fraction]
    where: Mapping[int, Fraction]

    @property
    def closes(self) -> bool:
        """Whether nothing is unaccounted for, exactly."""
        return self.exact["received"] + self.exact["adjusted"] == sum(self.exact[term] for term in SPENT)


def balance(lot: int, at_us: int | None = None) -> Balance:
    """The mass balance of one lot, now or at an instant."""
    return balances([lot], at_us)[lot]


def balances(lots: Iterable[int], at_us: int | None = None) -> dict[int, Balance]:
    """The mass balance of each lot, in three statements for any number of them."""
    wanted = set(lots)
    books, units = _downstream(wanted, at_us)
    return {lot: _balance(books, lot, units[lot]) for lot in sorted(wanted)}


def spread(lot: int, at_us: int | None = None) -> dict[int, Fraction]:
    """How much of a lot is in each thing that has any of it, in the lot's unit: stock as it is now, parts as built (with
    the components that are in them). An assembly's amount contains its components'."""
    books, _ = _downstream({lot}, at_us)
    found = {thing: books.contents(thing, at_us).get(lot, Fraction(0)) for thing in {*books.stock, *books.built, *books.joined}}
    return {thing: amount for thing, amount in sorted(found.items()) if amount}


def composition(items: Iterable[int], at_us: int | None = None) -> dict[int, list[Amount]]:
    """What each item holds of each lot, by lot: a vessel at that instant with the share of every lot in the next draw, a
    part as it was built. A piece that came from no lot is its own source. Three statements for any number of items."""
    wanted = set(items)
    edges = _edges(_ABOVE.format(walk=lineage.walk_up()), (wanted, -lineage.ALWAYS, _until(at_us)), at_us)
    facts = _facts(wanted, edges)
    acts_into: dict[int, set[int]] = defaultdict(set)
    for edge in edges:
        acts_into[edge.flow.dst].add(edge.act)
    # What came in by one act keeps its proportions, however it is drawn: only the others need all their records.
    mixed = {i for i in facts if i in wanted or facts[i][0] in MADE or len(acts_into[i]) > 1}
    books = run({i: kind for i, (kind, _, _) in facts.items()}, _deeds(edges, _legs(mixed, at_us)))
    return {item: _amounts(books, item, facts, at_us) for item in sorted(wanted)}


def _amounts(books: Books, item: int, facts: Mapping[int, Any], at_us: int | None) -> list[Amount]:
    held = books.contents(item, at_us)
    proportion: Parcel = held
    if item in books.stock and facts[item][0] not in MADE:
        proportion = books.stock[item].parcel(1)
    group = {lot: facts[lot][2] or -lot for lot in held.keys() | proportion.keys() if lot in facts}
    shares = share_of({lot: amount for lot, amount in proportion.items() if lot in group}, group)
    return [Amount(lot, held.get(lot, Fraction(0)), facts[lot][1], shares.get(lot, Fraction(0))) for lot in sorted(group)]


def _balance(books: Books, lot: int, unit: str) -> Balance:
    where = books.on_hand(lot)
    exact = {term: books.terms[term].get(lot, Fraction(0)) for term in TERMS} | {"on_hand": sum(where.values(), Fraction(0))}
    whole = {term: round(amount) for term, amount in exact.items()}
    residual = whole["received"] + whole["adjusted"] - sum(whole[term] for term in SPENT)
    return Balance(lot=lot, unit=unit, residual=residual, exact=exact, where=where, **whole)


# --- reading the records ---------------------------------------------------------------------------------------------

_ACT = "a.id, a.kind, a.happened_us, a.rank, a.device_id, a.device_seq, a.key"
_LIVE = "a.kind <> 'void' AND NOT EXISTS (SELECT 1 FROM inventory_act v WHERE v.voids_id = a.id)"
_EDGE = f"""SELECT {_ACT}, e.src_id, e.dst_id, e.qty, e.got, e.kind, e.until_us, d.delta
    FROM inventory_edge e JOIN inventory_act a ON a.id = e.act_id JOIN inventory_leg d ON d.id = e.dst_leg_id"""
_ABOVE = "{walk}" + _EDGE + " WHERE e.id IN (SELECT edge FROM walk) AND a.happened_us <= %s"
# Every edge into what lies below, not only the lots' own: what else went into a mix is part of its whole.
_BELOW = "{walk}" + _EDGE + " WHERE NOT e.void AND e.dst_id IN (SELECT id FROM walk) AND a.happened_us <= %s"
_LEGS = f"""SELECT {_ACT}, l.item_id, l.delta, l.counted FROM inventory_leg l JOIN inventory_act a ON a.id = l.act_id
    WHERE l.item_id IN ({{ids}}) AND (l.delta <> 0 OR l.counted IS NOT NULL) AND a.happened_us <= %s AND {_LIVE}"""

Key = tuple[int, int, int, int, str]


@dataclass(frozen=True, slots=True)
class _Act:
    id: int
    kind: str
    key: Key


@dataclass(frozen=True, slots=True)
class _Edge:
    head: _Act
    flow: Flow
    gained: int

    @property
    def act(self) -> int:
        return self.head.id


def _downstream(lots: Collection[int], at_us: int | None) -> tuple[Books, dict[int, str]]:
    """The books over everything made from some lots, and the lots' units. Raises Item.DoesNotExist."""
    edges = _edges(_BELOW.format(walk=lineage.walk_down()), (lots, -lineage.ALWAYS, lineage.ALWAYS), at_us)
    below = {e.flow.dst for e in edges} | set(lots)
    facts = _facts(lots, edges)
    if not set(lots) <= facts.keys():
        raise Item.DoesNotExist(f"no such lot: {sorted(set(lots) - facts.keys())}")
    books = run({i: facts[i][0] for i in below}, _deeds(edges, _legs({i for i in below if facts[i][0] != "lot"}, at_us)))
    return books, {lot: facts[lot][1] for lot in lots}


def _until(at_us: int | None) -> int:
    return lineage.ALWAYS if at_us is None else at_us


def _fetch(query: str, *parameters: Any) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(query, list(parameters))
        rows: list[Any] = cursor.fetchall()
    return rows


def _act(row: Any) -> _Act:
    """An act with its order key; a UUID comes as an object from PostgreSQL and as hex from SQLite."""
    act, kind, happened, rank, device, seq, key = row[:7]
    return _Act(act, kind, (happened, rank, device, seq, getattr(key, "hex", key)))


def _edges(query: str, walk: tuple[Collection[int], int, int], at_us: int | None) -> list[_Edge]:
    ids, *span = walk
    rows = _fetch(query, lineage.id_list(sorted(ids)), *span, _until(at_us))
    return [_Edge(_act(row), Flow(*row[7:13]), row[13]) for row in rows]


def _facts(items: Collection[int], edges: Iterable[_Edge]) -> dict[int, tuple[str, str, int | None]]:
    """Kind, unit and material of the items and of everything at an edge."""
    ids = set(items) | {end for e in edges for end in (e.flow.src, e.flow.dst)}
    query = f"SELECT id, kind, unit, material_id FROM inventory_item WHERE id IN ({lineage.ids_given()})"
    return {row[0]: (row[1], row[2], row[3]) for row in _fetch(query, lineage.id_list(sorted(ids)))}


def _legs(items: Collection[int], at_us: int | None) -> list[tuple[_Act, int, int, int | None]]:
    """What live acts did to the books of items."""
    rows = _fetch(_LEGS.format(ids=lineage.ids_given()), lineage.id_list(sorted(items)), _until(at_us))
    return [(_act(row), *row[7:]) for row in rows]


def _deeds(edges: Iterable[_Edge], legs: Iterable[tuple[_Act, int, int, int | None]]) -> list[Deed]:
    """Acts in the order in which they happened, with what is followed of each."""
    heads: dict[int, _Act] = {}
    flows: dict[int, list[Flow]] = defaultdict(list)
    book: dict[int, dict[int, tuple[int, int | None]]] = defaultdict(dict)
    for edge in edges:
        heads[edge.act] = edge.head
        flows[edge.act].append(edge.flow)
        book[edge.act][edge.flow.dst] = (edge.gained, None)
    for head, item, delta, counted in legs:
        heads[head.id] = head
        book[head.id][item] = (delta, counted)
    return [Deed(head.kind, book[head.id], tuple(flows[head.id])) for head in sorted(heads.values(), key=lambda h: h.key)]
