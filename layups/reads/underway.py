"""Every part that is being made, at a glance: what comes next, until when it must be in the heat, what speaks against it. For a
screen that all look at, and for a builder who asks what to go on with. A number of queries that does not grow with the parts."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Max

from inventory.core import fold
from inventory.core.tighter import Tighter
from inventory.core.units import display
from inventory.lineage import BlockHit, open_blocks
from inventory.models import Finding, Leg, Site
from inventory.recording import Transaction, Who
from inventory.recording.transaction import body_of
from layups.core.following import following
from layups.core.schedule import Line, is_filled
from layups.models import Inspection, Part

from . import schedules
from .deadlines import UNTIL_CURE, Deadline, deadline
from .lives import lives_in
from .part import pieces_among, word_of
from .parts import in_state
from .results import inspections_of
from .standing import stand_of
from .tightening import tighter_for
from .windows import WindowView, running_in


@dataclass(frozen=True, slots=True)
class UnderWay:
    """A part that is being made. `line`: the next open line with the quantity it wants; None when all are filled: then `deed` is
    what comes next, by the name of `core.following`. `since_us`: when heating began; `mine_us`: when a person last recorded on it;
    `touched_us`: when anybody did."""

    part: Part
    word: str
    place: str
    line: Line | None
    wants: str
    deed: str
    deadline: Deadline
    windows: tuple[WindowView, ...]
    holds: tuple[BlockHit, ...]
    findings: int
    since_us: int | None
    touched_us: int
    mine_us: int | None

    @property
    def held(self) -> bool:
        return any(hit.why != "incoming" for hit in self.holds)

    @property
    def ends_us(self) -> int | None:
        """What presses first: a life, the planned cure, a window between two steps."""
        ends = [self.deadline.by_us, *(w.ends_us for w in self.windows)] if self.since_us is None else []
        return min((us for us in ends if us is not None), default=None)


def under_way(site: Site, now_us: int, person: int | None = None) -> list[UnderWay]:
    """Those of a site that are neither cured nor gone, what presses first before the others. `person`: whose work `mine_us` is."""
    rows = in_state(Part.objects.filter(item__site=site), site, "in_work")
    parts = list(rows.select_related("item__state__location", "design").order_by("pk"))
    if not parts:
        return []
    read = _read(site, parts, now_us, person)
    found = [_one(p, read, now_us) for p in parts]
    return sorted(found, key=lambda u: (u.ends_us is None, u.ends_us or 0, -u.touched_us, u.part.number))


@dataclass(frozen=True, slots=True)
class _Read:
    """What was read of all of them, each by the part's id (the lines by the design's)."""

    lines: Mapping[int, tuple[Line, ...]]
    laid: Mapping[int, list[schedules.Laid]]
    tighter: Mapping[int, tuple[Tighter, ...]]
    tests: Mapping[int, list[Inspection]]
    steps: Mapping[int, list[dict[str, Any]]]
    windows: Mapping[int, tuple[WindowView, ...]]
    blocks: Mapping[int, list[BlockHit]]
    findings: Mapping[int, int]
    pieces: Collection[int]
    touched: Mapping[int, int]
    mine: Mapping[int, int]
    lives: Transaction


def _read(site: Site, parts: Sequence[Part], now_us: int, person: int | None) -> _Read:
    ids = [p.pk for p in parts]
    lives = Transaction(Who(0, site.zone, 0, 0, ""), now_us, False)
    lives.load(ids, lock=False)
    return _Read(
        lines=schedules.lines_of({p.design_id for p in parts}),
        laid=schedules.laid_into(ids),
        tighter=tighter_for(parts),
        tests=inspections_of(ids),
        steps=_steps(ids),
        windows=running_in({p.pk: p.design_id for p in parts}, now_us),
        blocks=open_blocks(ids),
        findings=Counter(Finding.objects.filter(item__in=ids, closed_us__isnull=True).values_list("item_id", flat=True)),
        pieces=pieces_among(ids),
        touched=_touched(ids),
        mine=_touched(ids, person) if person is not None else {},
        lives=lives,
    )


def _one(p: Part, read: _Read, now_us: int) -> UnderWay:
    state, place = fold.from_doc(body_of(p.item.state.doc)), p.item.state.location
    word = word_of(state, p, p.pk in read.pieces)
    binds = UNTIL_CURE.get(word, ())
    line = _next_line(read.lines.get(p.design_id, ()), read.laid.get(p.pk, ())) if binds else None
    stand = stand_of(p, word, state, place.code if place else "", read.tests.get(p.pk, ()), read.steps.get(p.pk, ()))
    lives = lives_in(read.lives, p.pk, now_us, binds, read.tighter[p.pk]) if binds else []
    return UnderWay(
        part=p,
        word=word,
        place=place.name if place else "",
        line=line,
        wants=display(line.qty, line.unit) if line is not None and line.qty and line.unit else "",
        deed=next(iter(following(stand)), "") if line is None else "",
        deadline=deadline(lives, p.planned_cure_us),
        windows=read.windows.get(p.pk, ()),
        holds=tuple(read.blocks.get(p.pk, ())),
        findings=read.findings.get(p.pk, 0),
        since_us=state.curing,
        touched_us=read.touched.get(p.pk, 0),
        mine_us=read.mine.get(p.pk),
    )


def _next_line(lines: Sequence[Line], laid: Sequence[schedules.Laid]) -> Line | None:
    there = schedules.fillings(laid)
    return next((line for line in lines if not line.box and not is_filled(line, there)), None)


def _steps(ids: Sequence[int]) -> dict[int, list[dict[str, Any]]]:
    """What the step records of each part say, oldest first; one query."""
    out: dict[int, list[dict[str, Any]]] = defaultdict(list)
    legs = Leg.objects.filter(item__in=ids, act__kind="step", act__voided_by__isnull=True).order_by("act__happened_us", "seq")
    for item, body in legs.values_list("item_id", "act__body"):
        out[item].append(body_of(body))
    return out


def _touched(ids: Sequence[int], person: int | None = None) -> dict[int, int]:
    """When somebody, or this person, last recorded on each; one query."""
    legs = Leg.objects.filter(item__in=ids) if person is None else Leg.objects.filter(item__in=ids, act__person=person)
    return dict(legs.values_list("item_id").annotate(at=Max("act__recorded_us")))
