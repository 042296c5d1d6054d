"""The fold: an item's state as a pure function of its steps in the order in which they happened.

`fold` starts from nothing; `apply` adds one step to a state when the step is the newest. Both give the same state, for
any order of arrival, because the order key is fixed by what happened and never by when it was heard of (R12).
No limits live here: the fold yields exposure, and limits are judged on reading.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from .exposure import FROZEN_MC, UNKNOWN_MC, Exposure, Spent, add_spent, prune

Key = tuple[int, int, int, int, str]
"""(happened µs, rank of the kind, device, the device's own sequence, the act's key in hex)."""

Mark = tuple[int, int, str]
"""A place on a roll from its outer end: (from µm, to µm, "bad" | "splice")."""


@dataclass(frozen=True, slots=True)
class Step:
    """One leg as the fold sees it. `handed` is the exposure that came in along the act's edges into this item."""

    key: Key
    kind: str
    delta: int = 0
    counted: int | None = None
    location: int | None = None
    ceiling: int | None = None
    body: dict[str, Any] = field(default_factory=dict)
    handed: tuple[Exposure, ...] = ()
    gives: bool = False  # an edge leads out of this item at this step


@dataclass(frozen=True)  # without slots, so that `but` can copy one mapping instead of thirty fields
class State:
    """All times in µs UTC, quantities in the item's base unit, temperatures in milli-°C.

    `since` is up to when `spent` counts; `pending` collects time since heating began, in case the start turns out void
    (R11); `low` is the lowest book quantity since the last count; `adjusted` sums what counts changed; `overlays` are
    excursions (until µs, ceiling, place): each charges only while the item lies in that place; `stopped` says that cure has
    ended the clocks of all that is in it."""

    qty: int = 0
    low: int = 0
    adjusted: int = 0
    location: int | None = None
    ceiling: int | None = None
    since: int | None = None
    spent: Spent = ()
    pending: Spent = ()
    cycles: int = 0
    heats: int = 0
    received: int | None = None
    opened: int | None = None
    dry: int | None = None
    dried: int | None = None
    unknown: bool = False
    frozen: bool = False
    thaw_from: int | None = None
    overlays: tuple[tuple[int, int, int | None], ...] = ()
    bagged: int | None = None
    curing: int | None = None
    cured: int | None = None
    stopped: bool = False
    stop: int | None = None
    back: int | None = None
    home: int | None = None
    reserved: str = ""
    gone: str = ""
    given: bool = False  # something was made from it: what it lived through matters below
    marks: tuple[Mark, ...] = ()
    strands: tuple[Exposure, ...] = ()
    last: Key | None = None

    def but(self, **changes: Any) -> State:
        """The same state with some fields changed. A fold does this several times a step: to build the thirty fields anew
        each time (`dataclasses.replace`) was most of its work."""
        fields = self.__dict__ | changes
        if len(fields) != len(self.__dict__):
            raise TypeError(f"a state has no field {', '.join(sorted(changes.keys() - self.__dict__.keys()))}")
        new = object.__new__(State)
        object.__setattr__(new, "__dict__", fields)
        return new

    @property
    def overdrawn(self) -> bool:
        return self.qty < 0

    def own(self) -> Exposure:
        """The item's own exposure up to `since`."""
        return Exposure(0, self.spent, self.cycles, self.heats, self.received, self.opened, self.dried, self.unknown)

    def at(self, us: int) -> State:
        """The same state with its clocks run on to `us` (not before `since`); nothing ticks by itself."""
        return _advance(self, us)

    def totals(self) -> tuple[Exposure, ...]:
        """Total exposure of each strand up to `since`: what the item hands on if something is taken from it then."""
        own = self.own()
        return tuple(s.plus(own) for s in self.strands)


def fold(steps: Iterable[Step]) -> tuple[State, dict[Key, State]]:
    """Fold steps in key order. Also gives the state right after each step, by the step's key: its `totals()` are what
    the item handed on then."""
    state, after = State(), {}
    for step in sorted(steps, key=lambda s: s.key):
        state = apply(state, step)
        after[step.key] = state
    return state, after


def apply(state: State, step: Step) -> State:
    """Add the newest step. Raises ValueError if it is not newer than the state (the caller must refold then)."""
    if state.last is not None and step.key <= state.last:
        raise ValueError("the step is not newer than the state: refold")
    state = _advance(state, step.key[0])
    if starts_anew(state, step):
        state = state.but(strands=(), received=None, opened=None, dried=None, unknown=False)
    if step.handed:  # before the rule: what the act itself adds (out time declared at receipt) comes on top of what came in
        state = _take_in(state, step.handed)
    rule = _RULES.get(step.kind)
    if rule is not None:
        state = rule(state, step)
    if step.ceiling is not None or (step.location is not None and step.kind != "expose"):
        state = _place(state, step)
    qty, low, adjusted = state.qty + step.delta, state.low, state.adjusted
    if step.counted is not None:
        qty = low = step.counted
        adjusted += qty - state.qty
    elif qty < low:
        low = qty
    return state.but(qty=qty, low=low, adjusted=adjusted, last=step.key, given=state.given or step.gives)


def starts_anew(state: State, step: Step) -> bool:
    """Is this poured into a tank of which nothing is left? Then what was in it before has no part in it any more (R42). A
    book that was below nothing since it was last counted was wrong, so nobody knows that the tank was empty."""
    return step.kind == "pour" and step.delta > 0 and state.qty == 0 == state.low


def end_of(key: Key) -> int:
    """The instant from which what a tank held before the filling with this key is no longer in it. A draw of the very instant
    of the filling may still have been of it."""
    return key[0] + 1


def _take_in(state: State, handed: tuple[Exposure, ...]) -> State:
    """Material comes in: each source's total becomes an offset to this item's own exposure."""
    strands = () if state.stopped else state.strands  # what was cured is done; what is laid on it is alive
    if state.dried is not None:  # a drying did nothing for what came later
        strands = tuple(replace(s, dried_us=max(s.dried_us or state.dried, state.dried)) for s in strands)
    if state.stopped or state.dried is not None:
        state = state.but(stopped=False, dried=None)
    own = state.own()
    return state.but(strands=prune([*strands, *(h.offset_from(own) for h in handed)]))


def _advance(state: State, us: int) -> State:
    if state.since is None or state.stopped:
        return state.but(since=us) if state.since is None or us > state.since else state
    if us <= state.since:
        return state
    gained = _gained(state, us)
    if state.curing is not None:
        return state.but(since=us, pending=add_spent(state.pending, gained))
    return state.but(since=us, spent=add_spent(state.spent, gained))


def _gained(state: State, us: int) -> Spent:
    """Time from `since` to `us`, at the place's ceiling or, while an excursion of that place lasts, at the hottest of all.
    A place that nobody knows counts as the hottest there is."""
    assert state.since is not None
    here = UNKNOWN_MC if state.ceiling is None else state.ceiling
    hotter = [(until, ceiling) for until, ceiling, place in state.overlays if place == state.location and until > state.since]
    if not hotter:
        return ((here, us - state.since),)
    gained: Spent = ()
    since = state.since
    for until in sorted({min(until, us) for until, _ in hotter} | {us}):
        ceiling = max([here, *(c for end, c in hotter if end >= until)])
        gained, since = add_spent(gained, ((ceiling, until - since),)), until
    return gained


def _place(state: State, step: Step) -> State:
    """Put into a place. Leaving the cold starts a thaw and counts a cycle; coming back half-thawed starts it again."""
    at, ceiling = step.key[0], UNKNOWN_MC if step.ceiling is None else step.ceiling
    frozen = ceiling <= FROZEN_MC
    thawing = state.frozen and not frozen
    home = step.location if frozen or state.home is None else state.home
    return state.but(
        location=step.location,
        ceiling=ceiling,
        frozen=frozen,
        thaw_from=at if thawing else (None if frozen else state.thaw_from),
        dry=None if frozen else state.dry,
        cycles=state.cycles + (1 if thawing else 0),
        overlays=tuple(o for o in state.overlays if o[0] > at),
        back=step.body.get("back_us"),
        home=home,
    )


def _made(state: State, step: Step) -> State:
    return state.but(strands=prune([*state.strands, Exposure(step.body["source"])]))


def _receive(state: State, step: Step) -> State:
    body = step.body
    declared = body.get("declared_mc")
    return state.but(
        received=step.key[0],
        spent=add_spent(state.spent, _extra(body)),
        unknown=bool(body.get("unknown")),
        opened=min((t for t in (state.opened, body.get("opened_us")) if t is not None), default=None),
        marks=tuple((a, b, kind) for a, b, kind in body.get("marks", ())),
        frozen=declared is not None and declared <= FROZEN_MC,
    )


def _baseline(state: State, step: Step) -> State:
    """Quality's starting value: the out time that unknown history is taken to have used."""
    return state.but(spent=add_spent(state.spent, _extra(step.body)), unknown=False)


def _extra(body: dict[str, Any]) -> Spent:
    return tuple(sorted((int(c), int(us)) for c, us in body.get("extra", ()) if us))


def _open(state: State, step: Step) -> State:
    """First opened stays. A bag found dry in the cold says nothing of the bag after its thaw."""
    at = step.key[0]
    dry = at if step.body.get("dry") and not state.frozen else state.dry
    return state.but(opened=at if state.opened is None else state.opened, dry=dry)


def _taken(state: State, step: Step) -> State:
    """Something was taken from the outer end: the first cut opens it, and the map moves up."""
    if step.delta >= 0:
        return _born(state, step)
    taken = -step.delta
    marks = tuple((max(a - taken, 0), b - taken, kind) for a, b, kind in state.marks if b - taken > 0 or (a == b and b > taken))
    return state.but(opened=step.key[0] if state.opened is None else state.opened, marks=marks)


def _born(state: State, step: Step) -> State:
    body = step.body
    return state.but(
        stop=body.get("stop_us", state.stop),
        marks=tuple((a, b, k) for a, b, k in body["marks"]) if "marks" in body else state.marks,
    )


def _cure_on(state: State, step: Step) -> State:
    """Heating begins. A second start before the first one ended keeps the first: if void, all the time since then counts."""
    return state if state.curing is not None else state.but(curing=step.key[0], pending=())


def _cure_abort(state: State, step: Step) -> State:
    """Below the specification's temperature the start is void and the gap counts (R11); above it, heat was seen."""
    if state.curing is None or not step.body.get("void_start"):
        return state
    return state.but(curing=None, spent=add_spent(state.spent, state.pending), pending=())


def _cure_off(state: State, step: Step) -> State:
    return state if state.curing is None else state.but(curing=None, pending=(), cured=step.key[0], stopped=True)


def _gone(word: str, whole: bool = False) -> Any:
    def rule(state: State, step: Step) -> State:
        if step.body.get("stays"):  # the vessel is still there when all that was in it has gone
            return state
        left = state.qty + step.delta
        return state.but(gone=word) if whole or left <= 0 else state

    return rule


def _set(name: str, key: str | None = None) -> Any:
    def rule(state: State, step: Step) -> State:
        change: dict[str, Any] = {name: step.key[0] if key is None else step.body.get(key)}
        return state.but(**change)

    return rule


def _heat(state: State, step: Step) -> State:
    return state.but(heats=state.heats + int(step.body.get("heats", 1)))


def _expose(state: State, step: Step) -> State:
    """An excursion of a place (R16): of the place that the body names, else of where the item is."""
    place = step.body.get("place", state.location)
    return state.but(overlays=(*state.overlays, (int(step.body["until_us"]), int(step.body["ceiling_mc"]), place)))


def _unjoin(state: State, step: Step) -> State:
    return state.but(gone="")


_RULES: dict[str, Any] = {
    "made": _made,
    "receive": _receive,
    "baseline": _baseline,
    "open": _open,
    "cut": _taken,
    "pour": _taken,
    "mix": _taken,
    "lay": _taken,
    "use": _taken,
    "window": _set("stop", "stop_us"),
    "reserve": _set("reserved", "job"),
    "dry": _set("dried"),
    "heat": _heat,
    "bag": _set("bagged"),
    "cure_on": _cure_on,
    "cure_abort": _cure_abort,
    "cure_off": _cure_off,
    "scrap": _gone("scrapped"),
    "return": _gone("returned"),
    "sell": _gone("sold"),
    "ship": _gone("shipped", whole=True),
    "unjoin": _unjoin,
    "expose": _expose,
}


def to_doc(state: State) -> dict[str, Any]:
    """The state as plain JSON values; defaults are left out, so that a new field changes no old document."""
    doc: dict[str, Any] = {}
    for name in State.__dataclass_fields__:
        value = getattr(state, name)
        if value == State.__dataclass_fields__[name].default:
            continue
        doc[name] = [s.to_doc() for s in value] if name == "strands" else _plain(value)
    return doc


def _plain(value: Any) -> Any:
    return [_plain(v) for v in value] if isinstance(value, tuple) else value


def from_doc(doc: dict[str, Any]) -> State:
    fields = {name: _tuples(value) if isinstance(value, list) else value for name, value in doc.items() if name != "strands"}
    return State(**fields, strands=tuple(Exposure.from_doc(s) for s in doc.get("strands", ())))


def _tuples(value: Any) -> Any:
    return tuple(_tuples(v) for v in value) if isinstance(value, list) else value
