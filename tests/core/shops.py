"""Random shops: what might happen to lots, rolls, kits, tanks, mixes and parts in a day or two, and how their states
are folded over the graph: items from the lots down, each act handing over what its sources had lived through.

The days lie over the spring change of the clocks in Copenhagen (Sunday 29 March 2026, 01:00 UTC), so that arithmetic on
wall clocks shows.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from graphlib import TopologicalSorter
from typing import Any

from inventory.core import fold as core
from inventory.core.exposure import UNKNOWN_MC, Exposure
from inventory.core.kinds import RANK

TICK = 60_000_000
BASE = 1_774_742_400_000_000  # 2026-03-29 00:00 UTC
LENGTH = 160  # ticks

PLACES = {1: -18_000, 2: -18_000, 3: -10_000, 4: 0, 5: 8_000, 6: 25_000, 7: 25_000, 8: UNKNOWN_MC}
"""Places by their ceiling in milli-°C: two cold freezers, a mild one, ice, a fridge, two rooms, a place nobody knows."""


@dataclass(frozen=True, slots=True)
class Leg:
    """What an act does to one item."""

    delta: int = 0
    counted: int | None = None
    location: int | None = None
    ceiling: int | None = None
    body: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that happened, its legs by item, and the material it moved: (from, to)."""

    key: core.Key
    kind: str
    legs: dict[int, Leg]
    edges: tuple[tuple[int, int], ...] = ()
    voids: core.Key | None = None

    def __repr__(self) -> str:
        legs = {i: {k: v for k in Leg.__slots__ if (v := getattr(leg, k)) not in (0, None, {})} for i, leg in self.legs.items()}
        return (
            f"\n  +{(self.key[0] - BASE) / TICK:g} {self.kind} {legs} {self.edges or ''}{' voids ' + str(self.voids) if self.voids else ''}"
        )


Shop = list[Act]
Steps = dict[int, list[core.Step]]


def at(tick: int) -> int:
    return BASE + tick * TICK


# --- folding over the graph ----------------------------------------------------------------------


@dataclass(slots=True)
class Folded:
    """States by item, and the states after each of an item's steps."""

    states: dict[int, core.State] = field(default_factory=dict)
    after: dict[int, dict[core.Key, core.State]] = field(default_factory=dict)


def live(acts: Iterable[Act]) -> list[Act]:
    """Acts that still count: neither void nor a void."""
    acts = list(acts)
    void = {a.voids for a in acts if a.voids}
    return [a for a in acts if a.key not in void and a.kind != "void"]


def step_of(act: Act, item: int, handed: tuple[Exposure, ...]) -> core.Step:
    leg = act.legs[item]
    return core.Step(act.key, act.kind, leg.delta, leg.counted, leg.location, leg.ceiling, leg.body, handed)


def handed_to(act: Act, item: int, after: dict[int, dict[core.Key, core.State]]) -> tuple[Exposure, ...]:
    return tuple(e for src, dst in act.edges if dst == item for e in after[src][act.key].totals())


def fold_item(acts: Iterable[Act], item: int, done: Folded) -> None:
    steps = [step_of(a, item, handed_to(a, item, done.after)) for a in acts if item in a.legs]
    done.states[item], done.after[item] = core.fold(steps)


def sources_first(acts: Iterable[Act]) -> list[int]:
    """All items, each after everything that material came from."""
    graph: dict[int, set[int]] = {}
    for act in acts:
        for item in act.legs:
            graph.setdefault(item, set())
        for src, dst in act.edges:
            graph[dst].add(src)
    return list(TopologicalSorter(graph).static_order())


def fold_shop(acts: Iterable[Act]) -> Folded:
    """Every item, sources first."""
    acts, done = live(acts), Folded()
    for item in sources_first(acts):
        fold_item(acts, item, done)
    return done


class Arrivals:
    """A ledger that hears of acts one at a time, in any order: the newest is applied, anything older refolds its items and
    everything below them."""

    def __init__(self) -> None:
        self.acts: list[Act] = []
        self.done = Folded()
        self.applied = self.refolded = 0

    def hear(self, act: Act) -> None:
        self.acts.append(act)
        items = [i for i in act.legs if i in self.done.states]
        newest = act.kind != "void" and all(act.key > (self.done.states[i].last or act.key[:0]) for i in items)
        if newest and not any(a.voids == act.key for a in self.acts):
            self.applied += 1
            for item in sources_first([act]):
                step = step_of(act, item, handed_to(act, item, self.done.after))
                state = core.apply(self.done.states.get(item, core.State()), step)
                self.done.states[item] = state
                self.done.after.setdefault(item, {})[act.key] = state
        else:
            self._refold(set(act.legs))

    def _refold(self, dirty: set[int]) -> None:
        acts = live(self.acts)
        below = set(dirty)
        for item in sources_first(self.acts):
            if item in below:
                self.refolded += 1
                fold_item(acts, item, self.done)
                below |= {dst for a in acts for src, dst in a.edges if src == item}


# --- making shops --------------------------------------------------------------------------------

WEIGHTS = {
    "receive": 2, "move": 9, "open": 2, "cut": 6, "mix": 3, "pour": 5, "start": 2, "lay": 11, "bag": 1, "dry": 2, "heat": 2,
    "cure_on": 6, "cure_abort": 5, "cure_off": 5, "count": 2, "adjust": 1, "use": 1, "scrap": 1, "baseline": 1, "expose": 3,
    "hold": 1, "reserve": 1, "window": 1,
}  # fmt: skip

FLAVOURS: tuple[tuple[str, ...], ...] = (
    (),
    ("cure_on", "cure_abort", "cure_off", "lay"),
    ("expose", "move"),
    ("pour", "dry", "mix"),
    ("pour", "use", "count"),
)
"""A shop does more of one kind of work than of others, so that what happens seldom happens often somewhere."""

LEVELS = ("lot", "roll", "kit", "tank", "mixed", "part")

NEVER_VOID = {"made", "receive", "start", "cut", "mix", "pour", "cure_abort", "cure_off", "void"}


class Maker:
    """Draws instants and kinds first, sorts them as the ledger would, then finds each kind its participants among what
    exists by then. So every act is possible, and many share an instant."""

    def __init__(self, rng: random.Random, size: int) -> None:
        self.rng = rng
        self.kind: dict[int, str] = {}
        self.place: dict[int, int | None] = {}
        self.curing: set[int] = set()
        self.book: dict[int, int] = defaultdict(int)
        self.acts: Shop = []
        self.size = size

    def shop(self) -> Shop:
        rng = self.rng
        keys = [self._key("made", rng.randrange(0, 4), n) for n in range(rng.randint(1, 3))]
        keys += [self._key("receive", rng.randrange(4, 20), n) for n in range(10, 12)]
        keys += [self._key("start", rng.randrange(4, 40), n) for n in range(12, 12 + rng.randint(0, 2))]
        more = rng.choice(FLAVOURS)
        kinds = rng.choices(list(WEIGHTS), [w * (5 if kind in more else 1) for kind, w in WEIGHTS.items()], k=self.size)
        keys += [self._key(kind, rng.randrange(8, LENGTH - 8), 20 + n) for n, kind in enumerate(kinds)]
        for key, kind in sorted(keys):
            made = getattr(self, "_" + kind, self._note)(key, kind)
            if made is not None:
                self.acts.append(made)
                self._enter(made)
        self._void_some()
        return self.acts

    def _enter(self, act: Act) -> None:
        for item, leg in act.legs.items():
            self.book[item] = self.book[item] + leg.delta if leg.counted is None else leg.counted

    def _key(self, kind: str, tick: int, n: int) -> tuple[core.Key, str]:
        return (at(tick), RANK[kind], self.rng.randint(1, 3), n, f"{self.rng.getrandbits(32):08x}"), kind

    def _born(self, kind: str, place: int | None) -> int:
        item = 1_000 * (1 + LEVELS.index(kind)) + len(self.kind)  # sources sort before what is made of them
        self.kind[item], self.place[item] = kind, place
        return item

    def _any(self, *kinds: str) -> int | None:
        found = [i for i, k in self.kind.items() if k in kinds]
        return self.rng.choice(found) if found else None

    def _thing(self) -> int | None:
        return self._any("roll", "kit", "tank", "mixed", "part")

    def _put(self, place: int, **more: Any) -> Leg:
        return Leg(location=place, ceiling=PLACES[place], **more)

    def _some_place(self) -> int:
        return self.rng.choice(list(PLACES))

    def _made(self, key: core.Key, kind: str) -> Act:
        lot = self._born("lot", None)
        return Act(key, kind, {lot: Leg(1_000, ceiling=self.rng.choice([-18_000, 25_000]), body={"source": lot})})

    def _receive(self, key: core.Key, kind: str) -> Act | None:
        lot, rng = self._any("lot"), self.rng
        assert lot is not None
        place = self._some_place()
        roll = self._born("roll", place)
        body: dict[str, Any] = {"unknown": True} if rng.random() < 0.15 else {}
        if rng.random() < 0.6:
            body["declared_mc"] = rng.choice([-18_000, 0, 8_000])
        if rng.random() < 0.4:
            body["extra"] = [[rng.choice([25_000, UNKNOWN_MC]), rng.randrange(0, 50) * TICK]]
        if rng.random() < 0.1:
            body["opened_us"] = key[0] - 5 * TICK
        taken = rng.randrange(1, 200)
        return Act(key, kind, {lot: Leg(-taken), roll: self._put(place, delta=taken * 10, body=body)}, ((lot, roll),))

    def _move(self, key: core.Key, kind: str) -> Act | None:
        item = self._thing()
        if item is None:
            return None
        stays = self.place[item] if self.rng.random() < 0.25 else None
        self.place[item] = place = stays or self._some_place()
        return Act(key, kind, {item: self._put(place, body={"back_us": key[0] + 60 * TICK} if self.rng.random() < 0.3 else {})})

    def _open(self, key: core.Key, kind: str) -> Act | None:
        item = self._any("roll", "kit", "tank")
        return item and Act(key, kind, {item: Leg(body={"dry": True} if self.rng.random() < 0.5 else {})})

    def _cut(self, key: core.Key, kind: str) -> Act | None:
        src = self._any("roll", "kit")
        if src is None:
            return None
        place = self._some_place() if self.rng.random() < 0.4 else self.place[src] or 6
        kit, qty = self._born("kit", place), self.rng.randrange(1, 120)
        return Act(key, kind, {src: Leg(-qty), kit: self._put(place, delta=qty)}, ((src, kit),))

    def _mix(self, key: core.Key, kind: str) -> Act | None:
        srcs = {s for s in (self._any("roll", "tank", "mixed") for _ in range(self.rng.randint(1, 3))) if s}
        if not srcs:
            return None
        place = self._some_place()
        mix = self._born("mixed", place)
        legs = {s: Leg(-self.rng.randrange(1, 50)) for s in sorted(srcs)}
        legs[mix] = self._put(place, delta=-sum(leg.delta for leg in legs.values()), body={"stop_us": key[0] + 30 * TICK})
        return Act(key, kind, legs, tuple((s, mix) for s in sorted(srcs)))

    def _pour(self, key: core.Key, kind: str) -> Act | None:
        src, tank = self._any("roll", "tank"), self._any("tank")
        if src is None:
            return None
        qty, place = self.rng.randrange(1, 50), None
        if tank is None or tank <= src:
            place = self._some_place()
            tank = self._born("tank", place)
        leg = Leg(qty) if place is None else self._put(place, delta=qty)
        return Act(key, kind, {src: Leg(-qty), tank: leg}, ((src, tank),))

    def _start(self, key: core.Key, kind: str) -> Act:
        place = self._some_place() if self.rng.random() < 0.9 else None
        part = self._born("part", place)
        return Act(key, kind, {part: Leg(1) if place is None else self._put(place, delta=1)})

    def _lay(self, key: core.Key, kind: str) -> Act | None:
        src, part = self._any("kit", "roll", "mixed"), self._any("part")
        if src is None or part is None or part in self.curing:
            return None
        return Act(key, kind, {src: Leg(-self.rng.randrange(1, 30)), part: Leg()}, ((src, part),))

    def _bag(self, key: core.Key, kind: str) -> Act | None:
        part = self._any("part")
        return part and Act(key, kind, {part: Leg()})

    def _cure_on(self, key: core.Key, kind: str) -> Act | None:
        part = self._any("part")
        if self.curing and self.rng.random() < 0.4:  # a restart whose trip nobody recorded
            part = self.rng.choice(sorted(self.curing))
        if part is None:
            return None
        self.curing.add(part)
        return Act(key, kind, {part: Leg()})

    def _cure_abort(self, key: core.Key, kind: str) -> Act | None:
        part = self.rng.choice(sorted(self.curing)) if self.curing else None
        if part is None:
            return None
        void = self.rng.random() < 0.7
        if void:
            self.curing.discard(part)
        return Act(key, kind, {part: Leg(body={"void_start": void})})

    def _cure_off(self, key: core.Key, kind: str) -> Act | None:
        part = self.rng.choice(sorted(self.curing)) if self.curing else None
        if part is None:
            return None
        self.curing.discard(part)
        return Act(key, kind, {part: Leg()})

    def _expose(self, key: core.Key, kind: str) -> Act | None:
        """An excursion of a place. Its legs reach everything that is there at its start, and what may come in while it lasts."""
        place = self.rng.choice([self._some_place(), *filter(None, self.place.values())])
        inside = [i for i, p in self.place.items() if p == place and self.kind[i] != "lot"]
        others = [i for i in self.kind if i not in inside and self.kind[i] != "lot" and self.rng.random() < 0.5]
        body = {
            "until_us": key[0] + self.rng.randrange(1, 60) * TICK,
            "ceiling_mc": self.rng.choice([-5_000, 4_000, 30_000]),
            "place": place,
        }
        return Act(key, kind, {i: Leg(body=body) for i in sorted(inside + others)}) if inside + others else None

    def _count(self, key: core.Key, kind: str) -> Act | None:
        item = self._any("roll", "tank")
        return item and Act(key, kind, {item: Leg(counted=self.rng.choice([0, self.rng.randrange(0, 500)]))})

    def _baseline(self, key: core.Key, kind: str) -> Act | None:
        item = self._any("roll", "kit")
        return item and Act(key, kind, {item: Leg(body={"extra": [[25_000, self.rng.randrange(0, 90) * TICK]]})})

    def _note(self, key: core.Key, kind: str) -> Act | None:
        """Kinds that touch one thing and need nothing else of it."""
        item = self._thing()
        if item is None:
            return None
        body = {"window": {"stop_us": key[0] + 9 * TICK}, "reserve": {"job": "J"}, "heat": {"heats": self.rng.randint(1, 2)}}.get(kind, {})
        delta = -self.rng.randrange(1, 60) if kind in ("adjust", "use", "scrap") else 0
        if kind == "use" and self.kind[item] == "tank" and self.book[item] > 0 and self.rng.random() < 0.8:
            delta = -self.book[item]  # all of it: what is poured in next starts anew
        return Act(key, kind, {item: Leg(delta, body=body)})

    def _void_some(self) -> None:
        for act in [a for a in self.acts if a.kind not in NEVER_VOID and self.rng.random() < 0.06]:
            key, _ = self._key("void", LENGTH - 4, 900 + len(self.acts))
            self.acts.append(Act(key, "void", {i: Leg() for i in act.legs}, voids=act.key))


def random_shop(seed: int, size: int | None = None) -> Shop:
    rng = random.Random(seed)
    return Maker(rng, size or rng.randint(4, 30)).shop()
