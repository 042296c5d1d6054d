"""Windows between steps, asked by every record that can close one, and judged again when late truth arrives (R13, R23)."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from inventory.core.kinds import RANK
from inventory.core.reasons import Reason
from inventory.models import Leg
from inventory.recording import Transaction
from inventory.recording.findings import Found
from inventory.recording.judged import JUDGES
from layups.core.windows import Event, Window, closes, judge
from layups.models import Part
from layups.reads.windows import NAMED, happened_to, windows_of

from .finding import MADE, Made

_CHUNK = 5000


@dataclass(frozen=True, slots=True)
class Closing:
    """The windows that a record of this kind closes, part by part: a check of its claim, and what its legs carry."""

    kind: str
    found: tuple[tuple[Made, Event, tuple[Window, ...]], ...]

    def body(self, part: int) -> dict[str, Any]:
        """What the part's leg carries, so that it is judged by these windows for ever."""
        docs = [window.to_doc() for made, _, windows in self.found if made.id == part for window in windows]
        return {"windows": docs} if docs else {}

    def __call__(self, tx: Transaction) -> Iterator[Reason]:
        asked = [(made, event, windows) for made, event, windows in self.found if windows]
        past = happened_to(made.id for made, _, _ in asked) if asked else {}
        now = (tx.happened_us, RANK[self.kind])
        for made, event, windows in asked:
            before = [h.event for h in past.get(made.id, ()) if h.key[:2] <= now]
            here = Event(tx.happened_us, event.lines, event.step)
            yield from judge(windows, before, here, made.part.number, tx.who.zone)


def closing(kind: str, events: Iterable[tuple[Made, Event]]) -> Closing:
    """The windows of the parts' designs that these events close; one query."""
    pairs = list(events)
    windows = windows_of(made.part.design_id for made, _ in pairs)
    return Closing(kind, tuple((m, e, tuple(w for w in windows.get(m.part.design_id, ()) if closes(w, e))) for m, e in pairs))


def closing_step(kind: str, parts: Iterable[Made], step: str = "") -> Closing:
    """The same of a step of these parts, by its name or by its kind of record."""
    return closing(kind, [(made, Event(0, step=NAMED.get(kind, step))) for made in parts])


def judge_again(tx: Transaction, legs: Collection[int]) -> Iterator[Found]:
    """What of these records stands outside its window, with all that is known now. The number of queries does not
    grow with the parts."""
    numbers = _parts_of(legs)
    for part, past in happened_to(numbers).items() if numbers else ():
        for place, done in enumerate(past):
            if done.windows and done.leg in legs:
                before = [h.event for h in past[:place]]
                for reason in judge(done.windows, before, done.event, numbers[part], tx.who.zone):
                    yield Found(done.leg, part, part, done.event.at_us, reason)


def _parts_of(legs: Collection[int]) -> dict[int, str]:
    """The parts that any of these records judged by a window, with their numbers."""
    ids, found = sorted(legs), set()
    for i in range(0, len(ids), _CHUNK):
        rows = Leg.objects.filter(pk__in=ids[i : i + _CHUNK], item__kind__in=MADE, body__contains='"windows":')
        found |= set(rows.values_list("item_id", flat=True))
    return dict(Part.objects.filter(pk__in=found).values_list("pk", "number")) if found else {}


if judge_again not in JUDGES:
    JUDGES.append(judge_again)
