"""What stands against the release of a piece (R6): its papers, its journey, its history. One rule, asked by the verb that
releases and by every list that says what waits and why; a constant number of statements for any number of pieces."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q

from inventory.core import certificates
from inventory.core.certificates import Line, Required
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.spans import duration
from inventory.core.temperature import display_celsius
from inventory.models import CertLimit, CertValue, Disposition, Item, Leg

COVERS = {"outside": ("use_as_is",), "missing": ("use_as_is", "accept"), "none": ("use_as_is", "accept")}
"""Which decisions let a piece pass whose papers fail so: what is outside its limits is used as it is, or not at all."""


@dataclass
class Papers:
    """What is on file for some pieces: required values by material, values by lot and by piece, decisions, journeys."""

    required: dict[int, list[Required]] = field(default_factory=lambda: defaultdict(list))
    of_lot: dict[int, dict[str, str]] = field(default_factory=lambda: defaultdict(dict))
    of_piece: dict[int, dict[str, str]] = field(default_factory=lambda: defaultdict(dict))
    decided: dict[int, list[tuple[str, dict[str, Any]]]] = field(default_factory=lambda: defaultdict(list))
    journey: dict[int, dict[str, int]] = field(default_factory=dict)
    certified: set[int] = field(default_factory=set)


def papers_of(items: Sequence[Item]) -> Papers:
    """In four statements. Of two values of one name the newer counts; what a voided record said does not."""
    out = Papers()
    pieces = [item.pk for item in items]
    lots = {item.lot_id for item in items if item.lot_id}
    for need in CertLimit.objects.filter(material__in={item.material_id for item in items}).order_by("pk"):
        out.required[need.material_id].append(Required(need.name, need.low, need.high, need.unit, need.per_item))
    values = CertValue.objects.filter(Q(item__isnull=True, lot__in=lots) | Q(item__in=pieces), act__voided_by__isnull=True)
    for value in values.order_by("pk"):
        (out.of_piece[value.item_id] if value.item_id else out.of_lot[value.lot_id])[_folded(value.name)] = value.value
    decisions = Disposition.objects.filter(item__in={*pieces, *lots}, act__voided_by__isnull=True).select_related("act")
    for row in decisions.order_by("pk"):
        out.decided[row.item_id].append((row.meaning, json.loads(row.act.body)))
    legs = Leg.objects.filter(item__in={*pieces, *lots}, act__kind__in=("receive", "certify"), act__voided_by__isnull=True)
    for item, kind, body in legs.values_list("item_id", "act__kind", "body"):
        if kind == "certify":
            out.certified.add(item)
        elif "transport" in (said := json.loads(body)):
            out.journey[item] = said["transport"]
    return out


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()


def judged(items: Sequence[Item], papers: Papers | None = None) -> dict[int, list[Line]]:
    """The papers' lines of each piece: its lot's and its own, inside, outside or missing."""
    papers = papers or papers_of(items)
    out = {}
    for item in items:
        required = papers.required.get(item.material_id or 0, [])
        out[item.pk] = certificates.judge(required, papers.of_lot[item.lot_id or 0], {str(item): papers.of_piece[item.pk]})
    return out


def against_release(items: Sequence[Item]) -> dict[int, list[Reason]]:
    """Everything against releasing each of some pieces (rows with `material` and `state`); nothing means it may be."""
    papers = papers_of(items)
    return {item.pk: [*_journey(item, papers), *_history(item), *_values(item, papers)] for item in items}


def _journey(item: Item, papers: Papers) -> list[Reason]:
    journey = papers.journey.get(item.pk)
    if journey is None or any(meaning == "accept_transport" for meaning, _ in papers.decided[item.pk]):
        return []
    said = []
    if journey.get("us"):
        said.append(say("{us} above the line", us=duration(journey["us"])))
    if "warmest_mc" in journey:
        said.append(say("{warmest} at most", warmest=display_celsius(journey["warmest_mc"])))
    if "coldest_mc" in journey:
        said.append(say("{coldest} at least", coldest=display_celsius(journey["coldest_mc"])))
    text = say(
        "{item}: its transport is not settled ({said}): accept it with evidence, or send it back.", item=item, said=strung(", ", said)
    )
    return [Reason("transport.not_settled", text, {"item": item.pk, **journey})]


def _history(item: Item) -> list[Reason]:
    if not json.loads(item.state.doc).get("unknown"):
        return []
    text = say("{item}: its earlier out time is unknown: give it a starting value with a reason first.", item=item)
    return [Reason("history.unknown", text, {"item": item.pk})]


def _values(item: Item, papers: Papers) -> list[Reason]:
    try:
        lines = judged([item], papers)[item.pk]
    except BadInput as error:
        return [error.reason]
    reasons = [line.reason for line in lines if line.reason and not covered(item, line, papers)]
    # Where values are required, those that are missing say it already.
    asked = item.material is not None and item.material.needs_certificate and not papers.required.get(item.material.pk)
    if asked and not papers.certified & {item.pk, item.lot_id} and not _decided(item, papers, "none"):
        text = say(
            "{item}: no certificate is on file, and {material} needs one: enter it, or decide on it.", item=item, material=item.material
        )
        reasons.append(Reason("certificate.none", text, {"item": item.pk}))
    return reasons


def covered(item: Item, line: Line, papers: Papers) -> bool:
    """Somebody decided on this very value: another value that comes later is not covered."""
    return [line.name, line.value] in _decided(item, papers, line.verdict)


def _decided(item: Item, papers: Papers, verdict: str) -> list[Any]:
    decisions = papers.decided[item.pk] + papers.decided[item.lot_id or 0]
    found = [c for meaning, body in decisions if meaning in COVERS.get(verdict, ()) for c in body.get("covers", ())]
    return [c[:2] for c in found if verdict != "none" or c[0] == ""]


def waiting_pieces(site: int, among: Iterable[int] | None = None) -> list[Item]:
    """Pieces that wait for release and are still here, in the order in which they came."""
    rows = Item.objects.select_related("material", "state", "delivery", "lot__batch").filter(
        site=site, blocks__why="incoming", blocks__to_us__isnull=True, state__gone="", state__since_us__isnull=False
    )
    return list((rows if among is None else rows.filter(pk__in=list(among))).order_by("pk").distinct())
