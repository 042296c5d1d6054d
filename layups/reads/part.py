"""One part on one page: its schedule and what fills it, what to fetch next, how long it may wait for its cure, and everything
that speaks against it. A constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from inventory.core import fold
from inventory.core.units import display
from inventory.lineage import BlockHit, open_blocks
from inventory.models import Act, Edge, Finding, Item, ItemState, Leg, Site
from inventory.recording.transaction import body_of
from layups.core import schedule
from layups.core.schedule import Line
from layups.models import Defect, Inspection, Part, Shipment

from . import charts, schedules
from .assemblies import Seat, components_of, seats_of
from .deadlines import UNTIL_CURE, Deadline, deadline
from .fetching import Fetch, fetch
from .lives import Life, lives_of
from .results import inspections_of
from .rooms import RoomView, room_view
from .schedules import Laid
from .tightening import tighter_for
from .windows import WindowView, running


@dataclass(frozen=True, slots=True)
class Filled:
    """What went into a line: the thing, how much of it, when and by whom; `act` is the record."""

    name: str
    code: str
    kind: str
    material: str
    qty: str
    at_us: int
    person: str
    act: int
    grade: str


@dataclass(frozen=True, slots=True)
class LineView:
    """One line of the schedule with what is in it. `wanted` is the quantity as shown, empty where the design states none."""

    line: Line
    wanted: str
    filled: tuple[Filled, ...]
    done: bool


@dataclass(frozen=True, slots=True)
class CureView:
    """A cure of the part: in which run ("": where it stood), what the chart that counts says ("": none was handed in), and a start of
    heating that the chart puts elsewhere."""

    run: str
    verdict: str
    differs: charts.Differs | None


@dataclass(frozen=True, slots=True)
class PartPage:
    """Everything that the page of a part shows. `beside`: what went in beside the schedule (consumables, boxes of the bay);
    `lives`: what must still be alive when heating begins; `windows`: those between steps that run; `room`: what the
    next line asks of it, if anything;
    `word`: building, bagged, curing, cured, assembled, shipped, scrapped."""

    item: Item
    part: Part
    word: str
    place: str
    state: fold.State
    lines: tuple[LineView, ...]
    beside: tuple[Filled, ...]
    next: Fetch | None
    lives: tuple[Life, ...]
    windows: tuple[WindowView, ...]
    room: RoomView | None
    holds: tuple[BlockHit, ...]
    findings: tuple[Finding, ...]
    inspections: tuple[Inspection, ...]
    defects: tuple[Defect, ...]
    shipments: tuple[Shipment, ...]
    seats: tuple[Seat, ...]
    components: tuple[Seat, ...]
    steps: tuple[tuple[Act, dict[str, Any]], ...]
    cures: tuple[CureView, ...]

    @property
    def missing(self) -> list[LineView]:
        return [v for v in self.lines if not v.filled and not v.line.box]

    @property
    def deadline(self) -> Deadline:
        return deadline(self.lives, self.part.planned_cure_us)


def part_page(site: Site, item: int, now_us: int) -> PartPage:
    """Raises Part.DoesNotExist. `now_us`: the instant at which lives and what to fetch are judged."""
    part = Part.objects.select_related("item", "design__cure_recipe", "customer").get(pk=item, item__site=site)
    stored = ItemState.objects.select_related("location").get(pk=item)
    state = fold.from_doc(body_of(stored.doc))
    lines = schedules.lines_of([part.design_id]).get(part.design_id, ())
    laid = schedules.laid_into([item]).get(item, [])
    by_seq, beside = _filled(laid)
    there = schedules.fillings(laid)
    tighter = tighter_for([part])[part.pk]
    views = tuple(LineView(x, _wanted(x), tuple(by_seq[x.seq]), schedule.is_filled(x, there)) for x in lines)
    upcoming = tuple(x.seq for x in lines if not x.box and not schedule.is_filled(x, there))[:1]
    word, steps = word_of(state, part, bool(pieces_among([item]))), _steps(item)
    return PartPage(
        item=part.item,
        part=part,
        word=word,
        place=stored.location.name if stored.location else "",
        state=state,
        lines=views,
        beside=tuple(beside),
        next=fetch(site, part, lines, there, now_us, tighter) if word in UNTIL_CURE else None,
        lives=tuple(lives_of(site.zone, [item], now_us, UNTIL_CURE[word], tighter)[item]) if word in UNTIL_CURE else (),
        windows=running(part.design_id, item, now_us) if not state.gone else (),
        room=room_view(part.design_id, part.number, stored.location_id, upcoming, now_us, site.zone) if word == "building" else None,
        holds=tuple(open_blocks([item]).get(item, ())),
        findings=tuple(Finding.objects.filter(item=item, closed_us__isnull=True).select_related("nonconformance").order_by("pk")),
        inspections=tuple(inspections_of([item]).get(item, ())),
        defects=tuple(Defect.objects.filter(part=item, act__voided_by__isnull=True).select_related("act__person").order_by("pk")),
        shipments=tuple(Shipment.objects.filter(part=item, act__voided_by__isnull=True).select_related("customer", "act")),
        seats=tuple(seats_of([item], ever=True).get(item, ())),
        components=tuple(components_of([item], ever=True).get(item, ())),
        steps=steps,
        cures=_cures(part, steps),
    )


def word_of(state: fold.State, part: Part, piece: bool) -> str:
    """What a part is, in one word; a `piece` cut from a run is as cured as the run."""
    if state.gone:
        return state.gone
    if part.design.kind == "assembly":
        return "assembled"
    if state.curing is not None:
        return "curing"
    if state.cured is not None or piece:
        return "cured"
    return "bagged" if state.bagged is not None else "building"


def pieces_among(parts: Iterable[int]) -> set[int]:
    """Those that were cut from a run."""
    return set(Edge.objects.filter(dst__in=list(parts), kind="start", void=False).values_list("dst_id", flat=True))


def _wanted(line: Line) -> str:
    return display(line.qty, line.unit) if line.qty is not None and line.unit else ""


def _filled(laid: list[Laid]) -> tuple[dict[int, list[Filled]], list[Filled]]:
    """What fills each line, and what went in beside the schedule, in two queries."""
    sources = {i.pk: i for i in Item.objects.filter(pk__in={x.source for x in laid}).select_related("material")}
    acts = {a.pk: a for a in Act.objects.filter(pk__in={x.act for x in laid}).select_related("person")}
    by_seq: dict[int, list[Filled]] = defaultdict(list)
    beside = []
    for x in laid:
        item = sources[x.source]
        material = item.material.code if item.material else ""
        whole = display(x.qty, item.unit) if x.qty else ""
        about = (str(item), item.code, item.kind, material)
        who = (x.happened_us, acts[x.act].person.name, x.act, x.grade)
        for seq, qty in x.fills:
            by_seq[seq].append(Filled(*about, display(qty, item.unit) if qty is not None else whole, *who))
        if not x.fills:
            beside.append(Filled(*about, whole, *who))
    return by_seq, beside


def _steps(item: int) -> tuple[tuple[Act, dict[str, Any]], ...]:
    """Steps and cures of the part, in order of time."""
    kinds = ("step", "bag", "cure_on", "cure_abort", "cure_off")
    legs = Leg.objects.filter(item=item, act__kind__in=kinds, act__voided_by__isnull=True).select_related("act__person")
    return tuple((leg.act, body_of(leg.act.body)) for leg in legs.order_by("act__happened_us", "seq"))


def _cures(part: Part, steps: tuple[tuple[Act, dict[str, Any]], ...]) -> tuple[CureView, ...]:
    """The runs that it was loaded or heated in, in their order, with their charts. Two queries."""
    newest = charts.newest_of([part.pk]).get(part.pk, {})
    docs = charts.verdicts_of(newest.values())
    by_number = {row.run.number if row.run is not None else "": row for row in newest.values()}
    starts = {body.get("run", ""): act for act, body in steps if act.kind == "cure_on"}
    loaded = [body["run"] for act, body in steps if act.kind == "step" and body.get("step") == charts.LOADED]
    found = []
    for number in dict.fromkeys([*loaded, *starts, *by_number]):
        row = by_number.get(number)
        differs = charts.differs(part, docs.get((row.act_id, part.pk), {}), starts.get(number)) if row is not None else None
        found.append(CureView(number, row.verdict if row is not None else "", differs))
    return tuple(found)
