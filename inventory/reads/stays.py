"""Who lay in a place, and for how long: from the live records."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from inventory.core.fold import State, Step, fold
from inventory.models import Leg, Location
from inventory.recording.propagate import step_of


@dataclass(frozen=True, slots=True)
class Stay:
    """An item's time in the place that falls into the event: [from, to). `born_us`: when the item came into being."""

    item: int
    from_us: int
    to_us: int
    born_us: int


def stays_in(place: Location, from_us: int, to_us: int) -> list[Stay]:
    """Who was in the place during [from, to), each for how long, from the live records: also what is gone by now, but not what
    was gone by then."""
    visitors = Leg.objects.filter(location=place, act__voided_by__isnull=True, act__happened_us__lt=to_us).values("item_id")
    legs = Leg.objects.filter(item__in=visitors, act__voided_by__isnull=True).exclude(act__kind="void").exclude(item__kind="lot")
    history: dict[int, list[Step]] = defaultdict(list)
    for leg in legs.select_related("act"):
        history[leg.item_id].append(step_of(leg, (), False))
    out = []
    for item, steps in sorted(history.items()):
        _, after = fold(steps)
        keys = sorted(after)
        out += [Stay(item, a, b, keys[0][0]) for a, b in _inside([(k[0], after[k]) for k in keys], place.pk, from_us, to_us)]
    return out


def _inside(states: Sequence[tuple[int, State]], place: int, from_us: int, to_us: int) -> list[tuple[int, int]]:
    """The spans within [from, to) in which an item lay in the place, from its states in order of time."""
    spans: list[tuple[int, int]] = []
    for (at, state), (end, _) in pairwise([*states, (to_us, State())]):
        a, b = max(at, from_us), min(end, to_us)
        if state.location != place or state.gone or a >= b:
            continue
        if spans and spans[-1][1] == a:
            spans[-1] = (spans[-1][0], b)
        else:
            spans.append((a, b))
    return spans


def places_of(item: int, until_us: int) -> list[tuple[int, int, int]]:
    """(place, from, to) of one thing, in order of time, until an instant or until it was gone."""
    legs = Leg.objects.filter(item=item, act__voided_by__isnull=True).exclude(act__kind="void").select_related("act")
    _, after = fold([step_of(leg, (), False) for leg in legs])
    states = [(key[0], after[key]) for key in sorted(after)]
    found = []
    for (at, state), (end, _) in pairwise([*states, (until_us, State())]):
        if state.location is not None and not state.gone and at < min(end, until_us):
            found.append((state.location, at, min(end, until_us)))
    return found
