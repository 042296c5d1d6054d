"""Bugs planted on purpose: each is a mistake that could be made in the fold, in exposures or in limits, and each must be
caught by the checks that run on every change. A net that lets one of them through has a hole.
"""

from __future__ import annotations

import builtins
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from inventory.core import exposure, fold
from inventory.core.exposure import Exposure, add_spent
from inventory.core.fold import State, Step

Plant = Callable[[pytest.MonkeyPatch], None]


@dataclass(frozen=True)
class Planted:
    name: str
    plant: Plant


BUGS: list[Planted] = []


def bug(name: str) -> Callable[[Plant], Plant]:
    def keep(plant: Plant) -> Plant:
        BUGS.append(Planted(name, plant))
        return plant

    return keep


def rule(m: pytest.MonkeyPatch, kind: str, change: Callable[[State, Step, State], State]) -> None:
    """Replace a kind's rule by one that sees what the right one would have made of it."""
    right = fold._RULES[kind]
    m.setitem(fold._RULES, kind, lambda state, step: change(state, step, right(state, step)))


def place(m: pytest.MonkeyPatch, change: Callable[[State, Step, State], State]) -> None:
    right = fold._place
    m.setattr(fold, "_place", lambda state, step: change(state, step, right(state, step)))


# --- time ----------------------------------------------------------------------------------------


@bug("durations by the clock on the wall")
def _wall(m: pytest.MonkeyPatch) -> None:
    right = fold._gained

    def wall(us: int) -> int:
        local = datetime.fromtimestamp(us // 1_000_000, UTC).astimezone(ZoneInfo("Europe/Copenhagen"))
        return round(local.replace(tzinfo=UTC).timestamp()) * 1_000_000

    def gained(state: State, us: int) -> Any:
        since = state.since or 0
        error = (wall(us) - wall(since)) - (us // 1_000_000 - since // 1_000_000) * 1_000_000
        return add_spent(right(state, us), ((state.ceiling or 0, error),))

    m.setattr(fold, "_gained", gained)


@bug("an unknown place counts as the freezer")
def _unknown_place(m: pytest.MonkeyPatch) -> None:
    m.setattr(fold, "UNKNOWN_MC", -18_000)


@bug("time is charged at the place that is gone to, not at the one that is left")
def _wrong_side(m: pytest.MonkeyPatch) -> None:
    right = fold.apply

    def apply(state: State, step: Step) -> State:
        return right(replace(state, ceiling=step.ceiling) if step.ceiling is not None and state.since is not None else state, step)

    m.setattr(fold, "apply", apply)


# --- lineage -------------------------------------------------------------------------------------


@bug("a child starts at zero")
def _zero(m: pytest.MonkeyPatch) -> None:
    right = fold._take_in
    m.setattr(fold, "_take_in", lambda state, handed: right(state, tuple(Exposure(h.source) for h in handed)))


@bug("what is poured in takes the age of the tank on top of its own")
def _no_offset(m: pytest.MonkeyPatch) -> None:
    m.setattr(Exposure, "offset_from", lambda self, own: self)


@bug("a tank that was emptied keeps what it held")
def _keeps(m: pytest.MonkeyPatch) -> None:
    m.setattr(fold, "starts_anew", lambda state, step: False)


@bug("only the first of several lots goes into the mix")
def _first_lot(m: pytest.MonkeyPatch) -> None:
    right = fold._take_in
    m.setattr(fold, "_take_in", lambda state, handed: right(state, handed[:1]))


@bug("a child hands on its own hours without those of its parents")
def _own_only(m: pytest.MonkeyPatch) -> None:
    m.setattr(State, "totals", lambda self: tuple(replace(self.own(), source=s.source) for s in self.strands))


@bug("unknown history becomes known in the child")
def _forget_unknown(m: pytest.MonkeyPatch) -> None:
    right = Exposure.plus
    m.setattr(Exposure, "plus", lambda self, own: replace(right(self, own), unknown=self.unknown))


@bug("pruning keeps the strand with the most hours in all")
def _prune_sum(m: pytest.MonkeyPatch) -> None:
    def prune(strands: Iterable[Exposure]) -> tuple[Exposure, ...]:
        best: dict[int, Exposure] = {}
        for s in strands:
            if s.source not in best or sum(u for _, u in s.spent) > sum(u for _, u in best[s.source].spent):
                best[s.source] = s
        return tuple(sorted(best.values(), key=lambda s: str(s.to_doc())))

    m.setattr(fold, "prune", prune)
    m.setattr(exposure, "prune", prune)


@bug("pruning takes one that was never dried for as good as one dried late")
def _prune_dried(m: pytest.MonkeyPatch) -> None:
    right = Exposure.dominates
    m.setattr(Exposure, "dominates", lambda self, other: right(replace(self, dried_us=None), replace(other, dried_us=None)))


@bug("pruning drops an unknown receipt")
def _prune_received(m: pytest.MonkeyPatch) -> None:
    right = Exposure.dominates

    def dominates(self: Exposure, other: Exposure) -> bool:
        return right(self, other if other.received_us is not None else replace(other, received_us=self.received_us))

    m.setattr(Exposure, "dominates", dominates)


# --- cure ----------------------------------------------------------------------------------------


@bug("the clocks stop when the oven is loaded")
def _loading(m: pytest.MonkeyPatch) -> None:
    place(m, lambda state, step, right: replace(right, curing=step.key[0]) if (step.ceiling or 0) == 180_000 else right)


@bug("the clocks stop when the part is bagged")
def _bagging(m: pytest.MonkeyPatch) -> None:
    rule(m, "bag", lambda state, step, right: replace(right, curing=step.key[0]))


@bug("the clocks run on through the cure")
def _through(m: pytest.MonkeyPatch) -> None:
    rule(m, "cure_off", lambda state, step, right: replace(right, spent=add_spent(state.spent, state.pending)))


@bug("a void start does not give the gap back")
def _gap(m: pytest.MonkeyPatch) -> None:
    rule(m, "cure_abort", lambda state, step, right: replace(right, spent=state.spent))


@bug("every abort makes the start void")
def _void_all(m: pytest.MonkeyPatch) -> None:
    right = fold._RULES["cure_abort"]
    m.setitem(fold._RULES, "cure_abort", lambda state, step: right(state, replace(step, body={"void_start": True})))


@bug("a second start drops the gap since the first")
def _second_start(m: pytest.MonkeyPatch) -> None:
    rule(m, "cure_on", lambda state, step, right: replace(state, curing=step.key[0], pending=()))


@bug("a cured part goes on ageing")
def _ages_on(m: pytest.MonkeyPatch) -> None:
    rule(m, "cure_off", lambda state, step, right: replace(right, stopped=False))


@bug("what is laid on a cured part never ages")
def _never_ages(m: pytest.MonkeyPatch) -> None:
    right = fold._take_in
    m.setattr(fold, "_take_in", lambda state, handed: replace(right(state, handed), stopped=state.stopped))


# --- places and excursions -----------------------------------------------------------------------


@bug("leaving the cold counts no cycle")
def _cycle(m: pytest.MonkeyPatch) -> None:
    place(m, lambda state, step, right: replace(right, cycles=state.cycles))


@bug("every move counts a cycle")
def _cycles(m: pytest.MonkeyPatch) -> None:
    place(m, lambda state, step, right: replace(right, cycles=state.cycles + 1))


@bug("a half-thawed return goes on where it stopped")
def _half_thawed(m: pytest.MonkeyPatch) -> None:
    place(m, lambda state, step, right: replace(right, thaw_from=state.thaw_from or right.thaw_from))


@bug("every scan in the warm starts the thaw again")
def _thaw_again(m: pytest.MonkeyPatch) -> None:
    place(m, lambda state, step, right: replace(right, thaw_from=None if right.frozen else step.key[0]))


@bug("an excursion goes along with what leaves the place")
def _follows(m: pytest.MonkeyPatch) -> None:
    place(m, lambda state, step, right: replace(right, overlays=tuple((u, c, step.location) for u, c, _ in right.overlays)))


@bug("an excursion ends with the next scan")
def _ends(m: pytest.MonkeyPatch) -> None:
    place(m, lambda state, step, right: replace(right, overlays=()))


@bug("a second excursion replaces the first")
def _replaces(m: pytest.MonkeyPatch) -> None:
    rule(m, "expose", lambda state, step, right: replace(right, overlays=right.overlays[-1:]))


@bug("an excursion cools what lies in a warmer place")
def _cools(m: pytest.MonkeyPatch) -> None:
    right = fold._gained

    def gained(state: State, us: int) -> Any:
        here = [c for until, c, where in state.overlays if where == state.location and until > (state.since or 0)]
        return right(replace(state, ceiling=min([*here, state.ceiling if state.ceiling is not None else fold.UNKNOWN_MC])), us)

    m.setattr(fold, "_gained", gained)


# --- entries -------------------------------------------------------------------------------------


def _by_arrival(m: pytest.MonkeyPatch, key: Callable[[Step], Any] | None) -> None:
    """Fold in another order, and let `apply` take it."""
    right = fold.apply
    m.setattr(fold, "sorted", lambda steps, **how: builtins.sorted(steps, key=key) if key else list(steps), raising=False)
    m.setattr(fold, "apply", lambda state, step: right(replace(state, last=None), step))
    m.setattr(fold, "prune", lambda strands, _=fold.prune: _(builtins.list(strands)))


@bug("steps are folded in the order in which they were heard of")
def _arrival(m: pytest.MonkeyPatch) -> None:
    _by_arrival(m, None)


@bug("of one instant, the device decides before the kind")
def _device_first(m: pytest.MonkeyPatch) -> None:
    _by_arrival(m, lambda s: (s.key[0], s.key[2], s.key[3]) if isinstance(s, Step) else s)


@bug("a step heard of twice counts twice")
def _twice(m: pytest.MonkeyPatch) -> None:
    right = fold.apply
    m.setattr(fold, "apply", lambda state, step: right(replace(state, last=None) if state.last == step.key else state, step))


@bug("a late step is applied on top of the newest")
def _on_top(m: pytest.MonkeyPatch) -> None:
    right = fold.apply
    m.setattr(fold, "apply", lambda state, step: right(replace(state, last=None), step))


@bug("a count is stored as its difference from the book that was known")
def _difference(m: pytest.MonkeyPatch) -> None:
    right = fold.apply

    def apply(state: State, step: Step) -> State:
        return right(state, step if step.counted is None else replace(step, counted=None, delta=step.counted - state.low))

    m.setattr(fold, "apply", apply)


@bug("a count forgets what it changed")
def _adjusted(m: pytest.MonkeyPatch) -> None:
    right = fold.apply
    m.setattr(fold, "apply", lambda state, step: replace(right(state, step), adjusted=state.adjusted))


@bug("the book stops at nothing")
def _clamped(m: pytest.MonkeyPatch) -> None:
    right = fold.apply

    def apply(state: State, step: Step) -> State:
        state = right(state, step)
        return replace(state, qty=max(state.qty, 0))

    m.setattr(fold, "apply", apply)


@bug("out time declared at receipt is lost")
def _declared(m: pytest.MonkeyPatch) -> None:
    rule(m, "receive", lambda state, step, right: replace(right, spent=state.spent))


@bug("the last opening counts, not the first")
def _reopened(m: pytest.MonkeyPatch) -> None:
    rule(m, "open", lambda state, step, right: replace(right, opened=step.key[0]))


@bug("cutting does not open")
def _unopened(m: pytest.MonkeyPatch) -> None:
    rule(m, "cut", lambda state, step, right: replace(right, opened=state.opened))


@bug("a drying counts for what is poured in later")
def _dried(m: pytest.MonkeyPatch) -> None:
    right = fold._take_in
    m.setattr(fold, "_take_in", lambda state, handed: replace(right(replace(state, dried=None), handed), dried=state.dried))


@bug("the stored state forgets a cure that may still be void")
def _stored(m: pytest.MonkeyPatch) -> None:
    right = fold.to_doc
    m.setattr(fold, "to_doc", lambda state: right(replace(state, pending=())))
