"""The history as a list of calls: written down in any order, performed in the order in which things happened.

Every call goes through the same verbs as a page's or a tablet's, at its own instant: `recorded_us` is when the demo says it
was recorded, `stored_us` is the database's own clock and stays honest about when it really was."""

from __future__ import annotations

import gc
import hashlib
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from inventory.core import codes
from inventory.core.reasons import BadInput, Refused
from inventory.recording import Who
from inventory.verbs.registry import Call, Outcome, perform

from .master import NAMESPACE, Yard

CHUNK = 500
"""Acts a commit: a commit costs a sync to disk, and nobody else is at work in an empty shop."""


def code_of(mark: str) -> str:
    """The label of the thing with this mark: always the same, so that a printed label outlives a new demo."""
    return codes.make(hashlib.sha256(f"quillstrand item {mark}".encode()).digest())


def key_of(name: str) -> uuid.UUID:
    return uuid.uuid5(NAMESPACE, name)


class Unexpected(Exception):
    """The shop answered otherwise than the history says: the demo is wrong, and says where."""


@dataclass(frozen=True, slots=True)
class Event:
    """One call. `exact` events keep their instant to the microsecond; others give way to them by a microsecond, since
    two records of one thing cannot share an instant. `refused`: the codes that the shop must answer with."""

    at_us: int
    name: str
    who: str
    verb: str
    params: Any
    exact: bool = False
    stance: str = "intent"
    happened_us: int | None = None
    reason: str = ""
    device: str = "demo"
    refused: tuple[str, ...] = ()


@dataclass
class Script:
    """`add` calls in any order, then `run` them. Names must differ: a name is the key of its record."""

    yard: Yard
    events: list[Event] = field(default_factory=list)
    names: set[str] = field(default_factory=set)
    _people: dict[tuple[str, str], Who] = field(default_factory=dict)
    plain: list[tuple[int, Callable[[], object]]] = field(default_factory=list)

    def add(self, at_us: int, name: str, who: str, verb: str, params: Any, **more: Any) -> None:
        if name in self.names:
            raise ValueError(f"two events are called {name!r}")
        self.names.add(name)
        self.events.append(Event(at_us, name, who, verb, params, **more))

    def do(self, at_us: int, what: Callable[[], object]) -> None:
        """Something that is no record: a room's readings, a new version of a specification."""
        self.plain.append((at_us, what))

    def run(self, until_us: int, tell: Callable[[int, int], None] = lambda done, of: None) -> int:
        """Perform everything up to an instant, `CHUNK` calls a commit; returns how many calls. Raises Unexpected."""
        steps = self._in_order(until_us)
        gc.disable()  # nothing here makes cycles, and the collector would walk the whole history again and again
        try:
            for start in range(0, len(steps), CHUNK):
                with transaction.atomic():
                    for at, step in steps[start : start + CHUNK]:
                        if isinstance(step, Event):
                            self._one(step, at)
                        else:
                            step()
                gc.collect(0)
                tell(min(start + CHUNK, len(steps)), len(steps))
        finally:
            gc.enable()
        return len(steps)

    def _in_order(self, until_us: int) -> list[tuple[int, Event | Callable[[], object]]]:
        rows: list[tuple[int, int, int, Event | Callable[[], object]]] = [(at, 0, n, what) for n, (at, what) in enumerate(self.plain)]
        rows += [(e.at_us, 1 if e.exact else 2, n, e) for n, e in enumerate(self.events)]
        out: list[tuple[int, Event | Callable[[], object]]] = []
        last = 0
        for at, order, _, what in sorted((r for r in rows if r[0] <= until_us), key=lambda r: r[:3]):
            last = at if order < 2 else max(at, last + 1)
            out.append((last, what))
        return out

    def _one(self, event: Event, at_us: int) -> Outcome | None:
        call = Call(
            self._people.setdefault((event.who, event.device), self.yard.who(event.who, event.device)),
            at_us,
            key_of(event.name),
            stance=event.stance,
            happened_us=event.happened_us,
            reason=event.reason,
            exclusive=True,
        )
        try:
            outcome = perform(event.verb, call, event.params)
        except Refused as refused:
            answered = {reason.code for reason in refused.reasons}
            if event.refused and answered == set(event.refused):
                return None
            raise Unexpected(f"{event.name}: {event.verb} {event.params} was refused {sorted(answered)}: {refused}") from refused
        except BadInput as bad:
            raise Unexpected(f"{event.name}: {event.verb} {event.params} was not understood: {bad}") from bad
        if event.refused:
            raise Unexpected(f"{event.name}: {event.verb} {event.params} was not refused")
        return outcome
