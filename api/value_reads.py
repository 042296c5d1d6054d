"""GET: what the papers of a material's lots stated, lot by lot, judged."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core import lotvalues
from inventory.core.lotvalues import LotValues
from inventory.core.reasons import BadInput
from inventory.models import Material
from inventory.reads.histories import History, LotValue, histories

from .documents import at
from .reads import Read, _answers


class Values(Read):
    @extend_schema(operation_id="material_values", tags=["reads"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, material: str) -> Response:
        """Each certificate value of a material, lot by lot in the order in which the lots came (oldest first): the control chart with its
        four run rules, the newest lot beside those before it, and a B-basis value; or why there is none ("Too little data: 3 of 8
        lots.")."""
        row = Material.objects.filter(code__iexact=material).first() if "\x00" not in material and len(material) <= 200 else None
        if row is None:
            raise BadInput("code.unknown", "There is no material with this code.", "path")
        return Response({"material": row.code, "values": [history_doc(history) for history in histories(self.who.site, row.pk)]})


def history_doc(history: History) -> dict[str, Any]:
    judged, charted = history.judged, history.charted
    broken: dict[int, list[dict[str, Any]]] = {}
    for signal in judged.chart.signals if judged.chart is not None else ():
        broken.setdefault(charted[signal.at].lot.pk, []).append({"rule": signal.rule, "text": lotvalues.words(signal)})
    return {
        "name": history.name,
        "unit": history.unit,
        "low": history.low or None,
        "high": history.high or None,
        **judged_doc(judged),
        "lots": [lot_doc(row, judged, broken.get(row.lot.pk, [])) for row in history.rows],
    }


def judged_doc(judged: LotValues) -> dict[str, Any]:
    """The three parts; each null with the sentence that says why."""
    chart, change, basis = judged.chart, judged.change, judged.basis
    drawn = change_ = found = None
    if chart is not None:
        limits = {"mean": chart.mean, "sigma": chart.sigma, "low": chart.low, "high": chart.high}
        drawn = {**limits, "baseline_lots": judged.baseline, "provisional": chart.provisional, "signals": len(chart.signals)}
    if change is not None:
        change_ = {
            "t": change.t,
            "degrees": change.degrees,
            "p": change.p,
            "low": change.low,
            "high": change.high,
            "differs": judged.changed,
        }
    if basis is not None:
        found = {"kind": "B", "value": basis.value, "k": basis.k, "mean": basis.mean, "deviation": basis.deviation, "lots": basis.n}
    return {
        "chart": drawn,
        "no_chart": judged.no_chart or None,
        "newest": change_,
        "no_newest": judged.no_change or None,
        "basis": found,
        "no_basis": judged.no_basis or None,
    }


def lot_doc(row: LotValue, judged: LotValues, rules: list[dict[str, Any]]) -> dict[str, Any]:
    chart = judged.chart
    return {
        "lot": row.lot.number,
        "code": row.lot.item.code,
        "supplier": row.lot.supplier.name,
        "received_at": at(row.received_us) if row.received_us is not None else None,
        "stated": list(row.texts),
        "value": row.value,
        "why_not_charted": row.why or None,
        "sigmas": None if chart is None or row.value is None else (row.value - chart.mean) / chart.sigma,
        "rules": rules,
    }
