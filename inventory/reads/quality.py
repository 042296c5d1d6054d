"""Quality's inbox: what waits for a release and why, what broke a rule, what is held, what waits for a second person. Each
thing once, in a constant number of statements."""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import Reason
from inventory.core.said import say, strung
from inventory.models import Act, Block, Finding, Item

from .release import against_release, waiting_pieces


@dataclass(frozen=True, slots=True)
class Waiting:
    """A piece that waits for release; `why` is what stands against it (nothing: quality has only to look)."""

    item: int
    code: str
    name: str
    kind: str
    material: str
    lot: str
    delivery: str
    since_us: int
    why: tuple[Reason, ...]

    @property
    def codes(self) -> frozenset[str]:
        return frozenset(reason.code for reason in self.why)


@dataclass(frozen=True, slots=True)
class Group:
    """One line of the inbox: pieces of one delivery that wait for the same reasons."""

    delivery: str
    material: str
    codes: tuple[str, ...]
    pieces: tuple[Waiting, ...]


@dataclass(frozen=True, slots=True)
class Touched:
    """A thing that a nonconformance names."""

    item: int
    code: str
    name: str
    kind: str
    owner: str
    text: str
    at_us: int


@dataclass(frozen=True, slots=True)
class Case:
    """An open nonconformance: its cause, and every thing that it touches, in the order of what happened. Who got the parts
    is known where parts are shipped from."""

    id: int
    cause: str
    cause_item: int
    code: str
    text: str
    opened_us: int
    touched: tuple[Touched, ...]

    @property
    def parts(self) -> tuple[Touched, ...]:
        return tuple(t for t in self.touched if t.kind in ("part", "assembly"))


@dataclass(frozen=True, slots=True)
class Held:
    """A hold or a recall that is open."""

    block: int
    item: int
    code: str
    name: str
    kind: str
    why: str
    text: str
    by: str
    from_us: int
    second_person: bool


@dataclass(frozen=True, slots=True)
class Approval:
    """A decision that waits for a second person."""

    record: int
    kind: str
    item: int
    name: str
    text: str
    asked_by: str
    asked_by_id: int
    asked_us: int


@dataclass(frozen=True, slots=True)
class Inbox:
    waiting: tuple[Group, ...]
    cases: tuple[Case, ...]
    holds: tuple[Held, ...]
    approvals: tuple[Approval, ...]


def inbox(site: int) -> Inbox:
    """All of it, each thing once."""
    return Inbox(tuple(grouped(waiting(site))), tuple(cases(site)), tuple(holds(site)), tuple(approvals(site)))


def waiting(site: int) -> list[Waiting]:
    """Pieces that wait for release, with everything against them."""
    pieces = waiting_pieces(site)
    against = against_release(pieces)
    since = dict(Block.objects.filter(site=site, why=say("incoming"), to_us__isnull=True).values_list("item_id", "from_us"))
    return [
        Waiting(
            item=item.pk,
            code=item.code,
            name=str(item),
            kind=item.kind,
            material=item.material.code if item.material else "",
            lot=item.lot.batch.number if item.lot_id and item.lot else "",
            delivery=item.delivery.number if item.delivery else "",
            since_us=since[item.pk],
            why=tuple(against[item.pk]),
        )
        for item in pieces
    ]


def grouped(pieces: list[Waiting]) -> list[Group]:
    """By delivery and reasons, oldest first: a delivery of forty rolls that all lack their papers is one line."""
    found: dict[tuple[str, str, tuple[str, ...]], list[Waiting]] = defaultdict(list)
    for piece in pieces:
        found[(piece.delivery, piece.material, tuple(sorted(piece.codes)))].append(piece)
    rows = [Group(*key, tuple(value)) for key, value in found.items()]
    return sorted(rows, key=lambda g: (g.pieces[0].since_us, g.delivery, g.codes))


def cases(site: int) -> list[Case]:
    """Open nonconformances with every thing that an open finding of theirs names, oldest first."""
    rows = Finding.objects.filter(closed_us__isnull=True, nonconformance__closed_us__isnull=True, nonconformance__site=site)
    rows = rows.select_related("item__owner", "nonconformance__cause").order_by(
        "nonconformance__opened_us", "nonconformance_id", "at_us", "pk"
    )
    found: dict[int, list[Finding]] = defaultdict(list)
    for row in rows:
        found[row.nonconformance_id].append(row)
    return [_case(group) for group in found.values()]


def _case(rows: list[Finding]) -> Case:
    case = rows[0].nonconformance
    touched: dict[int, list[Finding]] = defaultdict(list)
    for row in rows:
        touched[row.item_id].append(row)
    things = tuple(
        Touched(
            item=pk,
            code=found[0].item.code,
            name=str(found[0].item),
            kind=found[0].item.kind,
            owner=str(found[0].item.owner or ""),
            text=strung(" ", dict.fromkeys(row.text for row in found)),
            at_us=found[0].at_us,
        )
        for pk, found in touched.items()
    )
    return Case(case.pk, str(case.cause), case.cause_id, case.code, case.text, case.opened_us, things)


def holds(site: int) -> list[Held]:
    """Open holds and recalls, oldest first; what waits for release is not among them."""
    rows = Block.objects.filter(site=site, to_us__isnull=True).exclude(why=say("incoming"))
    return [
        Held(
            block=row.pk,
            item=row.item_id,
            code=row.item.code,
            name=row.item.batch.number if row.item.kind == "lot" else str(row.item),
            kind=row.item.kind,
            why=row.why,
            text=row.text,
            by=row.opened.person.name,
            from_us=row.from_us,
            second_person=bool(_body(row.opened).get("second")),
        )
        for row in rows.select_related("item__batch", "opened__person").order_by("from_us", "pk")
    ]


def approvals(site: int) -> list[Approval]:
    """What was asked for and is neither approved nor voided, oldest first."""
    rows = Act.objects.filter(site=site, kind__in=("extend_ask", "unhold", "exempt"), approves__isnull=True, voided_by__isnull=True)
    answered = set(Act.objects.filter(site=site, approves__isnull=False, voided_by__isnull=True).values_list("approves_id", flat=True))
    open_ones = [act for act in rows.select_related("person").order_by("pk") if act.pk not in answered and _waits(act)]
    items: dict[int, list[int]] = defaultdict(list)
    for item, act in Item.objects.filter(legs__act__in=open_ones).order_by("pk").values_list("pk", "legs__act"):
        items[act].append(item)
    names = {item.pk: item for item in Item.objects.filter(pk__in=[pk for group in items.values() for pk in group])}
    return [_approval(act, [names[pk] for pk in items[act.pk]]) for act in open_ones]


def _body(act: Act) -> dict[str, Any]:
    body: dict[str, Any] = json.loads(act.body)
    return body


def _waits(act: Act) -> bool:
    return act.kind == "extend_ask" or bool(_body(act).get("waits"))


def _approval(act: Act, items: list[Item]) -> Approval:
    body = _body(act)
    text = (
        say("“{limit}” +{months} months: {shown}", limit=body["limit"], months=body["months"], shown=body["shown"])
        if act.kind == "extend_ask"
        else say("let go: {evidence}", evidence=body["evidence"])
    )
    name = strung(", ", (str(item) for item in items[:6])) + (say(" and {items} more", items=len(items) - 6) if len(items) > 6 else "")
    return Approval(act.pk, act.kind, items[0].pk, name, text, act.person.name, act.person_id, act.happened_us)
