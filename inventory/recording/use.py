"""The gate that no door can go round: may this item's material be put to this use at this instant? (R7, R8, R13, R15, R20)

Pure given its facts, and used twice: for the act at hand, and again for every old use when late truth arrives. What it
says of a use depends on records and the instant only.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from inventory.core import thaw
from inventory.core.fold import State
from inventory.core.limits import BINDS, Moment, Reading, Source, governing, judge, read_all
from inventory.core.potlife import judge_pot
from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.spans import clock_text, day_text
from inventory.core.tighter import Tighter, tighten

DEED = {"cut": "cut", "pour": "pour", "mix": "mix", "lay": "lay", "bag": "bag", "cure_on": "cure"}
"""The deed that an act's kind amounts to, for the checkpoints of life limits."""

WHOLE_PIECES = frozenset({"roll", "spool", "drum", "can", "box"})


@dataclass(frozen=True, slots=True)
class Facts:
    """What judging needs to know of one item besides its state."""

    id: int
    kind: str
    name: str
    material: int | None = None
    thaw_roll_us: int = 0
    thaw_piece_us: int = 0
    stub: bool = False

    @property
    def thaw_us(self) -> int:
        return self.thaw_roll_us if self.kind in WHOLE_PIECES else self.thaw_piece_us


@dataclass(frozen=True, slots=True)
class Judging:
    """What is the same for every item judged in one go."""

    zone: str
    sources: Mapping[int, Source] = field(default_factory=dict)
    extended: Mapping[tuple[int, int, str], int] = field(default_factory=dict)
    """{(item, source, limit name): end} – extensions found at the item or above it."""

    def moment(self, item: int, state: State, at_us: int) -> Moment:
        extended = {(src, name): end for (i, src, name), end in self.extended.items() if i == item}
        return Moment(at_us, state.ceiling, self.zone, extended, state.since)

    def tightened(self, rules: Sequence[Tighter]) -> Judging:
        """The same with limits that a customer or a design tightens (R8)."""
        return replace(self, sources=tighten(self.sources, rules)) if rules else self


def tight_in(body: Mapping[str, Any]) -> tuple[Tighter, ...]:
    """The tightened limits that a leg carries: what went into the item, or happened to it, is judged by them for ever."""
    return tuple(Tighter.from_doc(doc) for doc in body.get("tight", ()))


def readings_at(facts: Facts, state: State, at_us: int, judging: Judging) -> list[Reading]:
    """Every limit of everything in the item, read at an instant no earlier than the state's newest record."""
    now = state.at(at_us)
    moment = Moment(at_us, now.ceiling, judging.zone, judging.moment(facts.id, state, at_us).extended, state.since)
    return read_all(now.totals(), judging.sources, moment)


def use_reasons(
    facts: Facts, state: State, kind: str, at_us: int, judging: Judging, planned: Mapping[str, int] | None = None, wide: bool = True
) -> list[Reason]:
    """Every reason against using the item so at `at_us`, from its own records: life, thaw, pot. `wide` False leaves out
    what depends on a plan."""
    deed = DEED.get(kind)
    if deed is None:
        return []
    if facts.stub:
        text = say(
            "{facts} was scanned before it was recorded: nobody knows yet what it is. Record its receipt or its cutting.", facts=facts.name
        )
        return [Reason("item.unrecorded", text, {"item": facts.id})]
    reasons = judge(readings_at(facts, state, at_us, judging), deed, judging.moment(facts.id, state, at_us), planned if wide else None)
    if deed in ("cut", "pour", "mix", "lay"):
        reasons += thaw_reasons(facts, state, at_us, judging.zone) + pot_reasons(facts, state, at_us, judging.zone)
    return reasons


def thaw_of(facts: Facts, state: State, at_us: int) -> thaw.Thaw:
    """How far the thaw is. A piece cut in the warm was cut from something thawed and needs none of its own."""
    cut_warm = facts.kind not in WHOLE_PIECES and not state.frozen and state.thaw_from is None
    return thaw.thaw_status(state.frozen, state.thaw_from, 0 if cut_warm else facts.thaw_us, at_us)


def thaw_reasons(facts: Facts, state: State, at_us: int, zone: str) -> list[Reason]:
    """A cold roll draws water from the air: it may be opened only after its thaw time (R15)."""
    return thaw.thaw_reasons(thaw_of(facts, state, at_us), partial(day_text, zone=zone))


def pot_reasons(facts: Facts, state: State, at_us: int, zone: str) -> list[Reason]:
    """A mix past its stop time is not used (R20)."""
    return judge_pot(state.stop, at_us, partial(clock_text, zone=zone)) if facts.kind == "mix" else []


def ends_of(facts: Facts, state: State, judging: Judging) -> tuple[int | None, str]:
    """When the first limit that still binds this item is crossed if it stays where it is, and that limit's name."""
    if state.stopped or state.curing is not None or state.gone or facts.kind == "lot" or state.since is None:
        return None, ""
    binds = _still_binding(facts, state)
    reading = governing(r for r in readings_at(facts, state, state.since, judging) if r.limit.checkpoint in binds)
    ends = None if reading is None else reading.ends_us if reading.ends_us is not None else (state.since if reading.over else None)
    if state.stop is not None and (ends is None or state.stop < ends):
        return state.stop, say("pot life")
    return ends, reading.limit.name if reading is not None and ends is not None else ""


def _still_binding(facts: Facts, state: State) -> tuple[str, ...]:
    if facts.kind == "part":
        return ("cure",) if state.bagged is not None else ("bagged", "cure")
    if facts.kind == "assembly":
        return ()
    if facts.kind == "mix":
        return ("used",)
    return BINDS["cut"]
