"""A trace as rows for a file and as JSON: quantities in people's units and exactly, times on the site's clock with its offset."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from inventory.core.said import say, strung
from inventory.core.spans import local
from inventory.core.units import display
from layups.core.cells import csv_lines
from layups.reads.things import Thing

from .walks import Back, Forward, Found, LotIn, Recall

FORWARD = (
    "what",
    "code",
    "kind",
    "product or material",
    "state",
    "quantity",
    "of the lot",
    "in it since",
    "until",
    "place",
    "customer",
    "shipped",
    "shipped inside",
    "known",
)
BACK = ("material", "lot", "supplier", "code", "amount", "share", "first in", "last in", "through", "taken out", "known")
RECALL = (
    "what",
    "code",
    "kind",
    "product or material",
    "state",
    "quantity",
    "of the lot",
    "place",
    "customer",
    "shipped",
    "held",
    "known",
)
_KNOWN = {"item": say("by the piece"), "lot": say("by lot"), "box": say("by the box (less exact)")}


def forward_rows(trace: Forward, zone: str) -> Iterator[tuple[object, ...]]:
    for f in trace.found:
        t = f.thing
        shipped = _time(t.sent.at_us, zone) if t.sent else ""
        inside = t.sent.inside if t.sent else ""
        yield (
            t.name,
            t.code,
            t.kind,
            t.design or t.material,
            t.where,
            display(t.qty, t.unit),
            _amount(f.amount, trace.root.unit),
            _time(f.from_us, zone),
            _time(f.until_us, zone),
            t.place,
            t.customer,
            shipped,
            inside,
            _KNOWN[f.grade],
        )


def back_rows(trace: Back, zone: str) -> Iterator[tuple[object, ...]]:
    for x in (*trace.lots, *trace.no_lot):
        share = say("{share} %", share=f"{float(x.share) * 100:.1f}") if x.share else ""
        yield (
            x.lot.material,
            x.lot.number or x.lot.name,
            x.lot.supplier,
            x.lot.code,
            _amount(x.amount, x.lot.unit),
            share,
            _time(x.first_us, zone),
            _time(x.last_us, zone),
            strung(", ", x.via),
            _time(x.until_us, zone),
            _KNOWN[x.grade],
        )


def recall_rows(found: Recall, zone: str) -> Iterator[tuple[object, ...]]:
    """What still exists: one row a thing."""
    for f in found.existing:
        t = f.thing
        shipped = _time(t.sent.at_us, zone) if t.sent else ""
        held = "yes" if t.id in found.holds else "no"
        place = t.place if t.sent is None else say("in {inside}", inside=t.sent.inside) if t.sent.inside else ""
        yield (
            t.name,
            t.code,
            t.kind,
            t.design or t.material,
            t.where,
            display(t.qty, t.unit),
            _amount(f.amount, found.lot.unit),
            place,
            t.customer,
            shipped,
            held,
            _KNOWN[f.grade],
        )


def forward_csv(trace: Forward, zone: str) -> Iterator[str]:
    return csv_lines(FORWARD, forward_rows(trace, zone))


def back_csv(trace: Back, zone: str) -> Iterator[str]:
    return csv_lines(BACK, back_rows(trace, zone))


def recall_csv(found: Recall, zone: str) -> Iterator[str]:
    return csv_lines(RECALL, recall_rows(found, zone))


# --- JSON: instants in µs UTC, amounts rounded to the base unit ------------------------------------------


def forward_json(trace: Forward) -> dict[str, Any]:
    return {
        "root": thing_json(trace.root),
        "found": [found_json(f) for f in trace.found],
        "customers": trace.customers,
        "edges": [_hop(h) for h in trace.hops],
    }


def back_json(trace: Back) -> dict[str, Any]:
    return {
        "root": thing_json(trace.root),
        "lots": [lot_json(x) for x in trace.lots],
        "no_lot": [lot_json(x) for x in trace.no_lot],
        "things": [thing_json(t) for _, t in sorted(trace.things.items())],
        "edges": [_hop(h) for h in trace.hops],
    }


def recall_json(found: Recall) -> dict[str, Any]:
    return {
        "lot": thing_json(found.lot),
        "found": len(found.found),
        "existing": [found_json(f) | {"held": f.thing.id in found.holds} for f in found.existing],
        "used_up": len(found.used_up),
        "by_state": {where: len(rows) for where, rows in found.by_where.items()},
        "customers": {name: len(rows) for name, rows in found.customers.items()},
    }


def thing_json(t: Thing) -> dict[str, Any]:
    return {
        "name": t.name,
        "code": t.code,
        "kind": t.kind,
        "material": t.material,
        "lot": t.number,
        "design": t.design,
        "unit": t.unit,
        "quantity": t.qty,
        "place": t.place,
        "state": t.where,
        "customer": t.customer,
        "shipped_us": t.sent.at_us if t.sent else None,
        "inside": t.sent.inside if t.sent else "",
    }


def found_json(f: Found) -> dict[str, Any]:
    return thing_json(f.thing) | {"amount": _round(f.amount), "from_us": f.from_us, "until_us": f.until_us, "known": f.grade}


def lot_json(x: LotIn) -> dict[str, Any]:
    return thing_json(x.lot) | {
        "amount": _round(x.amount),
        "share_ppm": round(x.share * 1_000_000),
        "first_us": x.first_us,
        "last_us": x.last_us,
        "via": list(x.via),
        "until_us": x.until_us,
        "known": x.grade,
    }


def _hop(h: Any) -> dict[str, Any]:
    return {
        "from": h.src,
        "to": h.dst,
        "kind": h.kind,
        "act": h.act,
        "at_us": h.happened_us,
        "until_us": h.until_us,
        "quantity": h.qty,
        "got": h.got,
        "known": h.grade,
    }


def _round(amount: Fraction | None) -> int | None:
    return None if amount is None else round(amount)


def _amount(amount: Fraction | None, unit: str) -> str:
    return "" if amount is None else display(round(amount), unit)


def _time(us: int | None, zone: str) -> str:
    return "" if us is None else local(us, zone).isoformat(timespec="minutes")
