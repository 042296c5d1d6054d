"""What waits for release, as cards: the papers of each piece against their limits, its journey, and the buttons that settle it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.spans import duration
from inventory.core.temperature import display_celsius
from inventory.logs import standing
from inventory.models import CertLimit, Item, TemperatureLog
from inventory.pages.door import Shop
from inventory.pages.ways import item_link, may, to
from inventory.reads import quality, release
from inventory.templatetags import shapes
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column

SHOWN = 12
"""Pieces of one group that are written out; the rest are counted, and one click away."""


@dataclass(frozen=True, slots=True)
class Waits:
    """A group that waits for release: `columns` and `rows` show its papers against their limits."""

    title: str
    caption: str
    since_us: int
    reasons: tuple[str, ...]
    columns: tuple[Column, ...]
    rows: list[list[Any]]
    more: int
    ways: tuple[tuple[str, str, str], ...]


def waiting_cards(shop: Shop, groups: Sequence[quality.Group]) -> list[Waits]:
    """One card a delivery and reason, with the papers of its pieces against their limits."""
    items = {i.pk: i for i in release.waiting_pieces(shop.site)}
    papers = release.papers_of(list(items.values()))
    limits: dict[int, list[CertLimit]] = {}
    for need in CertLimit.objects.filter(material__in={i.material_id for i in items.values()}).order_by("pk"):
        limits.setdefault(need.material_id, []).append(need)
    logs: dict[str, list[TemperatureLog]] = {}
    named = {g.delivery for g in groups if g.delivery}
    for log in standing().filter(site=shop.site, delivery__number__in=named).order_by("pk") if named else ():
        logs.setdefault(log.delivery.number if log.delivery else "", []).append(log)
    journeys: dict[str, list[str]] = {}
    for g in groups:
        if g.delivery and any(code.startswith("transport.") for code in g.codes):
            journeys.setdefault(g.delivery, []).extend(w.code for w in g.pieces)
    found = [(g, logs.get(g.delivery or "", []), journeys.get(g.delivery or "", [])) for g in groups]
    return [waiting_card(shop, g, items, papers, limits, named, together) for g, named, together in found]


def waiting_card(
    shop: Shop,
    g: quality.Group,
    items: dict[int, Item],
    papers: release.Papers,
    limits: dict[int, list[CertLimit]],
    logs: Sequence[TemperatureLog] = (),
    together: Sequence[str] = (),
) -> Waits:
    shown = [items[w.item] for w in g.pieces[:SHOWN] if w.item in items]
    needed = limits.get(shown[0].material_id or 0, []) if shown else []
    columns = (
        Column(say("Piece"), lead=True),
        Column(say("Lot")),
        *(Column(say("{name} {limit_words}", name=n.name, limit_words=limit_words(n)), num=True) for n in needed),
        Column(say("On the way")),
        Column(say("Left"), num=True),
    )
    rows = [piece_cells(i, needed, papers) for i in shown]
    reasons = tuple(dict.fromkeys(r.text for w in g.pieces[:SHOWN] for r in w.why))
    names = strung(", ", (w.name for w in g.pieces[:SHOWN]))
    title = say("{delivery}: {material}, {names}", delivery=g.delivery or say("Without a delivery"), material=g.material, names=names)
    return Waits(
        title,
        say("Papers of {names}", names=names),
        g.pieces[0].since_us,
        reasons,
        columns,
        rows,
        max(0, len(g.pieces) - SHOWN),
        ways_of(shop, g, shown, logs, together),
    )


def limit_words(n: CertLimit) -> str:
    if n.low and n.high:
        return say("{low}–{high} {unit}", low=n.low, high=n.high, unit=n.unit).strip()
    return (
        say("≥ {low} {unit}", low=n.low, unit=n.unit).strip()
        if n.low
        else say("≤ {high} {unit}", high=n.high, unit=n.unit).strip()
        if n.high
        else n.unit
    )


def piece_cells(item: Item, needed: Sequence[CertLimit], papers: release.Papers) -> list[Any]:
    try:
        lines = {(line.name, line.roll): line for line in release.judged([item], papers)[item.pk]}
    except BadInput:
        lines = {}
    cells = []
    for n in needed:
        line = lines.get((n.name, str(item))) or lines.get((n.name, ""))
        cells.append(value_words(line) if line is not None else shapes.chip("waiting"))
    lot = item.lot.batch.number if item.lot is not None else ""
    return [item_link(item), lot, *cells, journey_words(papers.journey.get(item.pk)), said.qty(item.state.qty, item.unit)]


def value_words(line: Any) -> Any:
    if line.verdict == "missing":
        return shapes.chip("waiting", say("not entered"))
    return said.format_html("{} {}", line.value, shapes.chip("failed" if line.verdict == "outside" else "passed"))


def journey_words(journey: dict[str, int] | None) -> str:
    """How warm, or how cold, it was on the way."""
    if journey is None:
        return ""
    told = []
    if journey.get("us"):
        told.append(say("{us} above the line", us=duration(journey["us"])))
    if "warmest_mc" in journey:
        told.append(say("{warmest} at most", warmest=display_celsius(journey["warmest_mc"])))
    if "coldest_mc" in journey:
        told.append(say("{coldest} at least", coldest=display_celsius(journey["coldest_mc"])))
    return strung(", ", told)


def ways_of(
    shop: Shop, g: quality.Group, shown: Sequence[Item], logs: Sequence[TemperatureLog] = (), together: Sequence[str] = ()
) -> tuple[tuple[str, str, str], ...]:
    """What settles it: (label, address, style). A transport rests on the logs of its delivery, where there are any, and what came on
    the same journey (`together`) is accepted by one decision."""
    names = "\n".join(w.code for w in g.pieces)
    codes = set(g.codes)
    out = []
    if any(c.startswith("transport.") for c in codes) and may(shop, "accept_transport"):
        rests = strung("; ", (say("log {pk} of {probe} ({log})", pk=log.pk, probe=log.probe, log=log.name) for log in logs))
        out.append((say("Accept the transport"), to("decide", "transport", items="\n".join(together) or names, evidence=rests), "primary"))
        out += [(say("See log {pk}", pk=log.pk), to("log", log.pk), "") for log in logs[-3:]]
        if not logs and g.delivery and may(shop, "take_log"):
            out.append((say("The logger’s file"), to("log-new", delivery=g.delivery), ""))
    if may(shop, "release"):
        out.append((say("Release"), to("decide", "release", items=names), "" if codes else "primary"))
    if any(c.startswith("certificate.") for c in codes):
        if may(shop, "certify"):
            out.append((say("Enter the papers"), to("papers", lot=g.pieces[0].code), ""))
        if may(shop, "dispose"):
            out += [(say("Decide on {name}", name=w.name), to("decide", "decide", item=w.code), "") for w in g.pieces[:1]]
    if shown and shown[0].material is not None:
        out.append((say("Values by lot"), to("values", shown[0].material.code), ""))
    if "history.unknown" in codes and may(shop, "baseline"):
        out.append((say("Set a starting value"), to("decide", "start-value", item=g.pieces[0].code), ""))
    if may(shop, "return_supplier"):
        out += [(say("Return {name}", name=w.name), to("decide", "return", item=w.code), "") for w in g.pieces[:2]]
    return tuple(row for row in out if row[1])
