"""The brute force that the fold is held against: it walks a shop tick by tick and keeps a diary of every item; what a
piece of material has lived through is then read by following it back, item by item, and counting ticks.

It knows nothing of offsets, strands, pruning or running totals, and imports nothing from the code under test but the
acts' own numbers. Rules by number (DEVELOPERS.md): R10 clocks inherited at the cut, R11 cure, R15 thaw, R16 excursions, R42 vessels.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from tests.core.shops import BASE, TICK, Act

HOTTEST = 999_999_000  # a place nobody knows
COLD = 0  # at or below this a place keeps things frozen


@dataclass(slots=True)
class Piece:
    """Material of one lot inside one item: where it came from and at which event it came."""

    source: int
    item: Diary
    since: int  # event number
    tick: int
    parent: Piece | None = None
    ends: int | None = None  # tick at which its clocks stopped for good: it was cured


@dataclass(slots=True)
class Diary:
    """One item, tick by tick and event by event."""

    pieces: list[Piece] = field(default_factory=list)
    heat: dict[int, int] = field(default_factory=dict)  # tick -> ceiling it lay at
    idle: set[int] = field(default_factory=set)  # ticks that do not count: it was being cured
    gap: set[int] = field(default_factory=set)  # ticks of a cure that may still turn out void
    notes: list[tuple[int, str, Any]] = field(default_factory=list)  # (event, what, value)
    place: int | None = None
    ceiling: int | None = None
    excursions: list[tuple[int | None, int, int, int]] = field(default_factory=list)  # (place, from, until, ceiling)
    frozen: bool = False
    thaw_from: int | None = None
    dry: int | None = None
    curing: bool = False
    cured: bool = False
    cured_at: int | None = None
    bagged: int | None = None
    book: list[int] = field(default_factory=lambda: [0])
    low: int = 0
    fills: list[int] = field(default_factory=list)  # events at which it was filled after it had been empty
    adjusted: int = 0


@dataclass(frozen=True, slots=True)
class Lived:
    """What one piece has lived through. `spent` is ((ceiling, µs), …)."""

    source: int
    spent: tuple[tuple[int, int], ...]
    cycles: int
    heats: int
    received: int | None
    opened: int | None
    dried: int | None
    unknown: bool


class Oracle:
    """Walk the acts that count, up to (not including) tick `until`."""

    def __init__(self, acts: list[Act], until: int) -> None:
        self.items: dict[int, Diary] = defaultdict(Diary)
        self.until = until
        events: dict[int, list[tuple[int, Act]]] = defaultdict(list)
        for number, act in enumerate(sorted(acts, key=lambda a: a.key)):
            events[(act.key[0] - BASE) // TICK].append((number, act))
        for tick in range(until):
            for number, act in events[tick]:
                self._happen(number, tick, act)
            for diary in self.items.values():
                self._minute(diary, tick)
        for number, act in events[until]:
            self._happen(number, until, act)

    # --- walking -----------------------------------------------------------------------------------

    def _minute(self, diary: Diary, tick: int) -> None:
        """One tick passes for one item: at its place's ceiling, or at that of an excursion of that place."""
        here = [HOTTEST if diary.ceiling is None else diary.ceiling]
        here += [c for place, start, end, c in diary.excursions if place == diary.place and start <= tick < end]
        diary.heat[tick] = max(here)
        if diary.curing:
            diary.idle.add(tick)
            diary.gap.add(tick)

    def _happen(self, number: int, tick: int, act: Act) -> None:
        us = BASE + tick * TICK
        for item, leg in act.legs.items():
            self._special(number, tick, us, act, self.items[item], leg.body, leg.delta)
        for item, leg in act.legs.items():
            if act.kind == "pour" and leg.delta > 0:
                self._fill(number, self.items[item])
        for src, dst in act.edges:
            self._pass_on(number, tick, self.items[src], self.items[dst])
        for item, leg in act.legs.items():
            diary = self.items[item]
            if leg.location is not None or leg.ceiling is not None:
                self._put(number, us, diary, leg.location, HOTTEST if leg.ceiling is None else leg.ceiling)
            self._quantity(diary, leg.delta, leg.counted)

    def _fill(self, number: int, diary: Diary) -> None:
        """Nothing was left in the vessel, and its book has not been wrong since somebody looked."""
        if diary.book[-1] == 0 and diary.low == 0:
            diary.pieces = []
            diary.fills.append(number)

    def _pass_on(self, number: int, tick: int, src: Diary, dst: Diary) -> None:
        if dst.cured:  # what is laid on a cured part is alive again; what was cured is done
            dst.pieces = [p for p in dst.pieces if p.ends is None]
            dst.cured = False
        dst.pieces += [Piece(p.source, dst, number, tick, p) for p in src.pieces]

    def _put(self, number: int, us: int, diary: Diary, place: int | None, ceiling: int) -> None:
        was, diary.frozen = diary.frozen, ceiling <= COLD
        diary.place, diary.ceiling = place, ceiling
        if diary.frozen:
            diary.thaw_from = diary.dry = None
        elif was:
            diary.thaw_from = us
            diary.notes.append((number, "cycle", 1))

    def _quantity(self, diary: Diary, delta: int, counted: int | None) -> None:
        if counted is not None:
            diary.adjusted += counted - diary.book[-1]
            diary.book = [counted]
        else:
            diary.book.append(diary.book[-1] + delta)
        diary.low = min(diary.book)

    def _special(self, number: int, tick: int, us: int, act: Act, d: Diary, body: dict[str, Any], delta: int) -> None:
        kind = act.kind
        if kind == "made":
            d.pieces.append(Piece(body["source"], d, number, tick))
        elif kind == "receive" and delta > 0:  # the roll, not its lot
            d.frozen = body.get("declared_mc", HOTTEST) <= COLD
            d.notes += [(number, "received", us), (number, "unknown", bool(body.get("unknown")))]
            if body.get("opened_us") is not None:
                d.notes.append((number, "opened", body["opened_us"]))
        elif kind == "baseline":
            d.notes.append((number, "unknown", False))
        elif kind == "open" or (kind in ("cut", "pour", "mix", "lay", "use") and delta < 0):
            d.notes.append((number, "opened", us))
            if body.get("dry") and not d.frozen:
                d.dry = us
        elif kind == "dry":
            d.notes.append((number, "dried", us))
        elif kind == "heat":
            d.notes.append((number, "heat", body["heats"]))
        elif kind == "bag":
            d.bagged = us
        elif kind.startswith("cure"):
            self._cure(tick, us, kind, body, d)
        elif kind == "expose":
            place = body.get("place", d.place)
            d.excursions.append((place, tick, (body["until_us"] - BASE) // TICK, body["ceiling_mc"]))
        if kind in ("receive", "baseline"):
            d.notes += [(number, "extra", (ceiling, extra)) for ceiling, extra in body.get("extra", ())]

    def _cure(self, tick: int, us: int, kind: str, body: dict[str, Any], d: Diary) -> None:
        if kind == "cure_on":
            d.curing = True
        elif d.curing and kind == "cure_abort" and body["void_start"]:
            d.idle -= d.gap  # the start was void: every tick of it counts after all
            d.gap, d.curing = set(), False
        elif d.curing and kind == "cure_off":
            d.gap, d.curing, d.cured, d.cured_at = set(), False, True, us
            for piece in d.pieces:
                piece.ends = tick if piece.ends is None else piece.ends

    # --- reading -----------------------------------------------------------------------------------

    def lived(self, item: int) -> set[Lived]:
        return {self._measure(p) for p in self.items[item].pieces}

    def _measure(self, piece: Piece) -> Lived:
        """Follow the piece back through every item it was part of, counting ticks and reading the diaries."""
        spent: dict[int, int] = defaultdict(int)
        number, tick = 10**9, self.until
        stage: Piece | None = piece
        got: dict[str, list[Any]] = defaultdict(list)
        while stage is not None:
            diary, end = stage.item, tick if stage.ends is None else min(stage.ends, tick)
            for t in range(stage.tick, end):
                if t not in diary.idle:
                    spent[diary.heat[t]] += TICK
            filled = max((n for n in diary.fills if n <= stage.since), default=0)
            known = [(what, value) for n, what, value in diary.notes if filled <= n <= number]
            inside = [(what, value) for n, what, value in diary.notes if stage.since <= n <= number]
            for what in ("received", "opened"):
                got[what] += [v for w, v in known if w == what][:1] if what == "received" else [v for w, v in known if w == what]
            got["unknown"].append(next((v for w, v in reversed(known) if w == "unknown"), False))
            for what in ("dried", "cycle", "heat", "extra"):
                got[what] += [v for w, v in inside if w == what]
            number, tick, stage = stage.since, stage.tick, stage.parent
        for ceiling, us in got["extra"]:
            spent[ceiling] += us
        return Lived(
            piece.source,
            tuple(sorted((c, us) for c, us in spent.items() if us)),
            sum(got["cycle"]),
            sum(got["heat"]),
            min(got["received"], default=None),
            min(got["opened"], default=None),
            max(got["dried"], default=None),
            any(got["unknown"]),
        )


def oldest(lived: set[Lived]) -> set[Lived]:
    """Without those that another one of the same lot outdoes in everything (drying apart: only equals compare)."""
    return {a for a in lived if not any(a != b and outdoes(b, a) for b in lived)}


def outdoes(b: Lived, a: Lived) -> bool:
    """b is at least as old as a in every respect. No drying and no known receipt are bad in another way than late ones."""
    late = 1 << 62
    times = [((x if x is not None else late), (y if y is not None else late)) for x, y in ((b.received, a.received), (b.opened, a.opened))]
    hours_a, hours_b = dict(a.spent), dict(b.spent)
    return (
        b.source == a.source
        and b.dried == a.dried
        and (b.received is None) == (a.received is None)
        and b.unknown >= a.unknown
        and b.cycles >= a.cycles
        and b.heats >= a.heats
        and all(x <= y for x, y in times)
        and all(hours_b.get(c, 0) >= us for c, us in hours_a.items())
    )
