"""Parts that are being made, and the schedules they follow, in the form that a tablet takes along."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from inventory.core import fold
from inventory.models import ItemState
from inventory.recording.transaction import body_of
from layups.core.schedule import is_filled
from layups.models import Design, Part

from .schedules import fillings, laid_into, lines_of

PART = "part"
Row = dict[str, Any]


def parts(stored: Sequence[ItemState]) -> dict[int, Row]:
    """The rows of those among the states that are parts still being made, by id, in a constant number of queries."""
    states = {s.item_id: fold.from_doc(body_of(s.doc)) for s in stored if s.item.kind == PART}
    open_ones = [i for i, state in states.items() if not state.stopped]
    if not open_ones:
        return {}
    found = Part.objects.filter(pk__in=open_ones).select_related("item__state__location", "design", "customer")
    lines, laid = lines_of({p.design_id for p in found}), laid_into(open_ones)
    return {p.pk: _part(p, states[p.pk], lines.get(p.design_id, ()), fillings(laid.get(p.pk, ()))) for p in found}


def _part(part: Part, state: fold.State, lines: Sequence[Any], filled: Sequence[Any]) -> Row:
    place, planned = part.item.state.location, part.planned_cure_us
    row: Row = {"code": part.item.code, "number": part.number, "design": part.design.code, "place": place.code if place else ""}
    row |= {"customer": part.customer.name} if part.customer else {}
    row |= {"cure_ms": planned // 1000} if planned is not None else {}
    row |= {"curing": True} if state.curing is not None else {}
    done = [line.seq for line in lines if is_filled(line, filled)]
    return row | ({"filled": done} if done else {})


def designs() -> dict[str, list[list[Any]]]:
    """{design: [[seq, what people call the line, what it wants, materials that fill it, quantity, unit], …]} of those in use."""
    rows = dict(Design.objects.filter(active=True).order_by("code").values_list("pk", "code"))
    lines = lines_of(rows)
    return {
        code: [
            [line.seq, line.name, line.wants, [] if line.recipe else [line.wants, *(c for _, c in line.alternates)], line.qty, line.unit]
            for line in lines.get(pk, ())
            if not line.box
        ]
        for pk, code in rows.items()
    }
