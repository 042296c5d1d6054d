"""How things of the shop look in JSON. Instants are RFC 3339 in UTC and µs; quantities in base units with their unit named."""

from __future__ import annotations

import dataclasses
from datetime import date, datetime, timedelta, timezone
from fractions import Fraction
from typing import Any

from django.db.models import Model

from inventory.core.limits import Reading
from inventory.core.reasons import Reason
from inventory.core.units import display
from inventory.models import Act, Item
from inventory.reads.stock import Piece

from .errors import reason_doc

_EPOCH = datetime(1970, 1, 1, tzinfo=timezone.utc)  # noqa: UP017


def at(us: int | None) -> str | None:
    """µs UTC → RFC 3339."""
    return None if us is None else (_EPOCH + timedelta(microseconds=us)).isoformat().replace("+00:00", "Z")


def quantity(value: int, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit, "text": display(value, unit)}


def reading_doc(r: Reading) -> dict[str, Any]:
    return {
        "limit": r.limit.name,
        "clock": r.limit.clock,
        "judged": r.limit.checkpoint,
        "lot": r.source.label,
        "over": r.over,
        "used": r.used,
        "allowed": r.allowed,
        "ends_at": at(r.ends_us),
        "missing": r.missing,
    }


def item_row(item: Item) -> dict[str, Any]:
    return {
        "code": item.code,
        "mark": item.mark,
        "kind": item.kind,
        "material": item.material.code if item.material else None,
        "lot": item.lot.batch.number if item.lot and hasattr(item.lot, "batch") else None,
        "owner": item.owner.name if item.owner else None,
    }


def piece_doc(p: Piece) -> dict[str, Any]:
    governs = p.governs
    return {
        **item_row(p.item),
        "quantity": quantity(p.state.qty, p.item.unit),
        "place": p.place_code or None,
        "fit": p.fit and p.thaw_ready_us is None,
        "against": [reason_doc(r) for r in p.against],
        "thaw_ready_at": at(p.thaw_ready_us),
        "governs": reading_doc(governs) if governs is not None else None,
        "ends_at": at(p.stored.ends_us),
        "reserved": p.state.reserved or None,
        "gone": p.state.gone or None,
    }


def act_doc(act: Act, body: dict[str, Any] | None = None) -> dict[str, Any]:
    return {
        "id": act.pk,
        "key": str(act.key),
        "kind": act.kind,
        "stance": act.stance,
        "happened_at": at(act.happened_us),
        "claimed_at": at(act.claimed_us),
        "recorded_at": at(act.recorded_us),
        "person": act.person.name,
        "device": act.device.name,
        "role": act.role,
        "reason": act.reason,
        "voids": act.voids_id,
        **({"body": body} if body is not None else {}),
    }


def plain(value: Any, depth: int = 8) -> Any:
    """Any read's value as JSON: dataclasses by field, models by name, instants as they are (fields named *_us)."""
    if value is None or isinstance(value, (bool, int, str)):
        return value
    if isinstance(value, Reason):
        return reason_doc(value)
    if isinstance(value, Reading):
        return reading_doc(value)
    if isinstance(value, Item):
        return {"code": value.code, "mark": value.mark, "kind": value.kind}
    if isinstance(value, Model):
        return str(value)
    if depth == 0:
        return str(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name), depth - 1) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(k): plain(v, depth - 1) for k, v in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(v, depth - 1) for v in value]
    if isinstance(value, (date, Fraction)):
        return str(value)
    return str(value)
