"""Which lots are in a thing, and how much of each: exact, through every cut, mix, pour and draw.

A *parcel* says how much of each lot, in the lot's own stock unit, as Fractions: rounding is for the screen. `run` plays
acts in their order over a set of items and keeps, for every stock item, what it holds of each lot. A vessel that takes in
a second lot (day tank, bath, topped-up drum) commingles: a draw carries each lot by its share at that instant (R42).
What leaves stock is entered under one word of the mass balance (R3), so that for every lot, at any time,

    received + adjusted = on hand + used in parts + used otherwise + scrapped + returned + sold       exactly.

Kinds of item: a *lot* is where material comes from; a *part* or *assembly* is where it ends up; all others are stock.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

Parcel = dict[int, Fraction]
"""Lot → amount in the lot's own unit."""

MADE = frozenset({"part", "assembly"})
CONTAINS = "join"
"""Kind of edge by which a whole component is in an assembly, for as long as it is built in (R43)."""

TERM = {"use": "used_otherwise", "return": "returned", "sell": "sold", "ship": "sold", "adjust": "adjusted"}
"""Word of the balance for what an act takes that went into no other item; any other act's is waste."""

TERMS = ("received", "used_in_parts", "used_otherwise", "scrapped", "returned", "sold", "adjusted")
LEAVES_A_PART = frozenset({"scrap", "ship", "sell", "return", "use"})
ELSEWHERE = 0
"""Stands for every source that is not followed."""

ZERO, ONE = Fraction(0), Fraction(1)


@dataclass(frozen=True, slots=True)
class Flow:
    """Material from one item into another: `qty` in the source's unit, `got` in the destination's where that differs."""

    src: int
    dst: int
    qty: int
    got: int | None = None
    kind: str = ""
    until_us: int | None = None

    @property
    def arrived(self) -> int:
        return self.qty if self.got is None else self.got


@dataclass(frozen=True, slots=True)
class Deed:
    """One act: its kind, what it did to each item's book (delta, counted), and its flows."""

    kind: str
    book: Mapping[int, tuple[int, int | None]]
    flows: tuple[Flow, ...] = ()


@dataclass(slots=True)
class Held:
    """What one lot has in a stock item: the item's own quantity that is of this lot, and the lot's amount in it."""

    volume: Fraction = ZERO
    amount: Fraction = ZERO
    rate: Fraction = ONE  # lot units in one unit of the item, kept for when the volume is nothing
    share: Fraction = ZERO  # at the last input: drawing does not change it

    def move(self, volume: Fraction, amount: Fraction) -> None:
        self.volume += volume
        self.amount += amount
        if self.volume:
            self.rate = self.amount / self.volume


@dataclass(slots=True)
class Stock:
    """A roll, drum, kit, mix or tank. The parts' volumes add up to its book; a part may be below nothing where more was
    drawn than the book had (R34), and a count settles that."""

    parts: dict[int, Held] = field(default_factory=dict)

    @property
    def book(self) -> Fraction:
        return sum((p.volume for p in self.parts.values()), ZERO)

    def shares(self) -> dict[int, Fraction]:
        """Each lot's share of the next draw, by the item's own quantity; what is below nothing has none."""
        above = {lot: p.volume for lot, p in self.parts.items() if p.volume > 0}
        total = sum(above.values(), ZERO)
        if total:
            return {lot: volume / total for lot, volume in above.items()}
        return {lot: p.share for lot, p in self.parts.items() if p.share}

    def parcel(self, qty: Fraction | int) -> Parcel:
        """What `qty` of the item holds of each lot."""
        return {lot: share * qty * self.parts[lot].rate for lot, share in self.shares().items()}

    def add(self, lots: Mapping[int, tuple[Fraction, Fraction]]) -> None:
        """Take in, for each lot, (volume in this item's unit, amount in the lot's)."""
        for lot, (volume, amount) in lots.items():
            self.parts.setdefault(lot, Held()).move(volume, amount)
        shares = self.shares()
        for lot, part in self.parts.items():
            part.share = shares.get(lot, ZERO)

    def take(self, qty: Fraction | int) -> Parcel:
        """Draw `qty` (below nothing: put back), by the shares of this instant."""
        taken: Parcel = {}
        for lot, share in self.shares().items():
            part = self.parts[lot]
            taken[lot] = share * qty * part.rate
            part.move(-share * qty, -taken[lot])
        return taken

    def count(self, counted: int) -> Parcel:
        """Set the book to what was counted. What was below nothing is settled; the rest is scaled. Gives the change."""
        before = {lot: p.amount for lot, p in self.parts.items()}
        for lot, share in self.shares().items():
            part = self.parts[lot]
            part.volume, part.amount = share * counted, share * counted * part.rate
        for part in self.parts.values():
            if part.volume < 0:
                part.volume, part.amount = ZERO, ZERO
        return {lot: p.amount - before[lot] for lot, p in self.parts.items()}


@dataclass(slots=True)
class Built:
    """A part or an assembly: what went into it, less what was cut out of it. `pieces` is what is left to cut from."""

    inside: Parcel = field(default_factory=lambda: defaultdict(Fraction))
    left: Parcel = field(default_factory=lambda: defaultdict(Fraction))
    pieces: Fraction = ZERO

    def cut(self, qty: Fraction | int) -> Parcel:
        """What `qty` of its pieces holds; nothing where nobody said how many pieces there are."""
        return {lot: amount * qty / self.pieces for lot, amount in self.inside.items()} if self.pieces > 0 else {}

    def take(self, qty: Fraction | int) -> Parcel:
        taken = self.cut(qty)
        for lot, amount in taken.items():
            self.inside[lot] -= amount
        self.pieces -= qty
        return taken


@dataclass(slots=True)
class Books:
    """What `run` found: stock by item, parts by item, and the terms of the balance by lot."""

    stock: dict[int, Stock] = field(default_factory=lambda: defaultdict(Stock))
    built: dict[int, Built] = field(default_factory=lambda: defaultdict(Built))
    terms: dict[str, Parcel] = field(default_factory=lambda: {term: defaultdict(Fraction) for term in TERMS})
    joined: dict[int, list[Flow]] = field(default_factory=dict)  # by assembly

    def on_hand(self, lot: int) -> dict[int, Fraction]:
        """The lot's amount in each stock item that has any of it; below nothing where a book is."""
        held = {item: stock.parts[lot].amount for item, stock in self.stock.items() if lot in stock.parts}
        return {item: amount for item, amount in held.items() if amount}

    def contents(self, item: int, at_us: int | None = None) -> Parcel:
        """What is in an item at the end of the run: for stock what it holds, for a part what went into it and was not cut
        out of it again, with its components that are built in at `at_us` (None: those never taken out)."""
        if item not in self.built and item not in self.joined:
            parts = self.stock[item].parts if item in self.stock else {}
            return {lot: part.amount for lot, part in parts.items() if part.volume and lot != ELSEWHERE}
        total: Parcel = defaultdict(Fraction)
        todo = [item]
        while todo:
            one = todo.pop()
            live = (f for f in self.joined.get(one, ()) if f.until_us is None or (at_us is not None and at_us < f.until_us))
            todo += [f.src for f in live]
            for parcel in (self.built[one].inside, self.built[one].left) if one in self.built else ():
                _into(total, parcel)
        return dict(total)


def run(kinds: Mapping[int, str], deeds: Iterable[Deed]) -> Books:
    """Play acts in their order. `kinds` names the kind of every item that is followed; a flow from any other item counts
    as coming from elsewhere, and one into any other item is not followed."""
    books = Books()
    for deed in deeds:
        _play(books, kinds, deed)
    return books


def share_of(parcel: Parcel, group: Mapping[int, int]) -> dict[int, Fraction]:
    """Each lot's share among the lots of its group (its material): amounts of different units are never added."""
    totals: dict[int, Fraction] = defaultdict(Fraction)
    for lot, amount in parcel.items():
        totals[group[lot]] += amount
    return {lot: amount / totals[group[lot]] if totals[group[lot]] else ZERO for lot, amount in parcel.items()}


def _play(books: Books, kinds: Mapping[int, str], deed: Deed) -> None:
    flows = [f for f in deed.flows if f.kind != CONTAINS]
    for flow in deed.flows:
        if flow.kind == CONTAINS:
            books.joined.setdefault(flow.dst, []).append(flow)
    sent = [_priced(books, kinds, f) for f in flows]  # by the shares before this act
    for item, (delta, _) in deed.book.items():
        if _is_stock(kinds, item):
            _take(books, item, deed, delta, sum(f.qty for f in flows if f.src == item), any(f.dst == item for f in flows))
        elif kinds.get(item) in MADE and deed.kind not in (CONTAINS, "unjoin"):
            _change_built(books.built[item], deed.kind, delta, sum(f.qty for f in flows if f.src == item))
    for item in dict.fromkeys(f.dst for f in flows):
        arriving = [(f, lots) for f, lots in zip(flows, sent, strict=True) if f.dst == item]
        _arrive(books, kinds, item, arriving, deed.book.get(item, (0, None))[0])
    for item, (_, counted) in deed.book.items():
        if counted is not None and _is_stock(kinds, item):
            _own_source(books.stock[item], item)
            _into(books.terms["adjusted"], books.stock[item].count(counted))


def _is_stock(kinds: Mapping[int, str], item: int) -> bool:
    return kinds.get(item, "lot") != "lot" and kinds[item] not in MADE


def _priced(books: Books, kinds: Mapping[int, str], flow: Flow) -> dict[int, tuple[Fraction, Fraction]]:
    """For each lot in a flow: its share of the flow, and its amount."""
    kind = kinds.get(flow.src)
    if kind is None:
        return {ELSEWHERE: (ONE, ZERO)}
    if kind == "lot":
        return {flow.src: (ONE, Fraction(flow.qty))}
    if kind in MADE:  # offcuts of a part that go back to stock are not followed to their lots: they stay used
        parcel = books.built[flow.src].cut(flow.qty) if kinds.get(flow.dst) in MADE else {}
        return {lot: (ZERO, amount) for lot, amount in parcel.items()} or {ELSEWHERE: (ONE, ZERO)}
    stock = books.stock[flow.src]
    amounts = stock.parcel(flow.qty)
    return {lot: (share, amounts[lot]) for lot, share in stock.shares().items()} or {flow.src: (ONE, Fraction(flow.qty))}


def _take(books: Books, item: int, deed: Deed, delta: int, sent: int, receives: bool) -> None:
    """What leaves a stock item, or enters its book from nowhere; what flows in is entered where it arrives."""
    stock, rest = books.stock[item], 0 if receives else delta + sent
    if rest > 0 and not stock.shares():
        stock.add({item: (Fraction(rest), Fraction(rest))})
        books.terms["received"][item] += rest
        return
    if sent or rest:
        _own_source(stock, item)
    if sent:
        stock.take(sent)
    term = TERM.get(deed.kind, "scrapped")
    if rest > 0 or term == "adjusted":
        _into(books.terms["adjusted"], stock.take(-rest), -1)
    elif rest < 0:
        _into(books.terms[term], stock.take(-rest))


def _own_source(stock: Stock, item: int) -> None:
    """A piece that came from no lot is its own source, also where it was used before it was recorded."""
    if not stock.shares():
        stock.parts[item] = Held(share=ONE)


def _change_built(built: Built, kind: str, delta: int, sent: int) -> None:
    if sent:
        built.take(sent)
    rest = delta + sent
    if rest > 0:
        built.pieces += rest
    elif rest < 0 and kind in LEAVES_A_PART:
        _into(built.left, built.take(-rest))


def _arrive(
    books: Books, kinds: Mapping[int, str], item: int, flows: list[tuple[Flow, dict[int, tuple[Fraction, Fraction]]]], delta: int
) -> None:
    """Enter what arrived in one item by one act."""
    arrived = sum(f.arrived for f, _ in flows)
    scale = Fraction(delta, arrived) if delta > 0 and arrived else ONE  # what the book gained, over what the flows say
    for flow, lots in flows:
        parcel = {lot: amount for lot, (_, amount) in lots.items() if lot != ELSEWHERE}
        if kinds.get(flow.src) == "lot" and kinds.get(item) is not None:
            _into(books.terms["received"], parcel)
        if kinds.get(item) in MADE:
            _into(books.built[item].inside, parcel)
        if _is_stock(kinds, item):
            books.stock[item].add({lot: (share * flow.arrived * scale, amount) for lot, (share, amount) in lots.items()})
        elif kinds.get(flow.src) not in MADE:
            _into(books.terms["used_in_parts" if kinds.get(item) in MADE else "used_otherwise"], parcel)


def _into(total: Parcel, parcel: Parcel, sign: int = 1) -> None:
    for lot, amount in parcel.items():
        total[lot] += sign * amount
