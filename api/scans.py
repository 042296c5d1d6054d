"""POST /api/scan/: what a scan is, where it leads, and which fields it would fill. Nothing is recorded, so no key is asked for.

What is not understood is an answer, not an error: 200, with what was read."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core.labelfacts import WORDS
from inventory.core.labelfill import Filling, filled
from inventory.core.spans import local_date
from inventory.models import Delivery
from inventory.pages.labelkinds import where
from inventory.pages.labelreading import Goods
from inventory.verbs.scans import Scanned, scanned

from .auth import need_scope
from .errors import reason_doc
from .reads import Read
from .shapes import StrictSerializer, StrictText
from .verbs import ReasonSerializer, problems

INTENTS = ("open", "receive", "take-out", "count", "part")
TONES = {"unknown": "no", "unmapped": "ask"}


class ScanSerializer(StrictSerializer):
    """A scan: as it came, and what for."""

    raw = StrictText(allow_blank=True, max_length=20_000, trim_whitespace=False, help_text="As the scanner sent it, separators included.")
    intent = serializers.ChoiceField(choices=INTENTS, default="open", help_text="What the page is for.")
    delivery = StrictText(allow_blank=True, default="", max_length=200, help_text="Receiving: the delivery's number.")


class ScanMark(serializers.Serializer[Any]):
    id = serializers.CharField(help_text="The identifier on the label, such as 10 or 1T.")
    name = serializers.CharField(allow_blank=True)
    value = serializers.CharField()


class ScannedSerializer(serializers.Serializer[Any]):
    """What the scan is."""

    what = serializers.ChoiceField(choices=("thing", "place", "badge", "delivery", "lot", "label", "unmapped", "unknown"))
    tone = serializers.ChoiceField(choices=("yes", "ask", "no"))
    text = serializers.CharField(help_text="A sentence for a person.")
    read = serializers.CharField(allow_blank=True, help_text="What was read, control characters made visible.")
    format = serializers.CharField(help_text="own, gs1, link, envelope, identifiers, pattern, gtin, plain, broken …")
    code = serializers.CharField(allow_null=True)
    url = serializers.CharField(allow_null=True, help_text="Where it is shown.")
    material = serializers.CharField(allow_null=True)
    marks = ScanMark(many=True)
    values = serializers.DictField(child=serializers.CharField(), help_text="Receiving: fields and what would be filled in.")
    told = ReasonSerializer(many=True, help_text="What a person must know or look at.")


class Scan(Read):
    @extend_schema(
        operation_id="scan",
        summary="What a scan is",
        tags=["reads"],
        request=ScanSerializer,
        responses={200: ScannedSerializer, **problems(400, 401, 403, 406, 415)},
    )
    def post(self, request: Request) -> Response:
        """A label, a code, a place, a delivery: what it is, where it leads, and what of it would be filled in."""
        need_scope(request, "read")
        body = ScanSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said = body.validated_data
        found = scanned(self.who.site, self.who.zone, self.now, said["raw"], bare=said["intent"] == "receive")
        filling = self._filling(found, said["delivery"]) if said["intent"] == "receive" and found.reading.is_label else Filling()
        return Response(scan_doc(found, filling))

    def _filling(self, found: Scanned, number: str) -> Filling:
        rows = Delivery.objects.select_related("material", "supplier")
        row = rows.filter(site=self.who.site, number__iexact=number.strip()[:40]).first() if number.strip() else None
        material = row.material if row is not None else found.kinds[0].material if found.kinds else None
        if material is None or (found.kinds and material.pk not in {kind.material_id for kind in found.kinds}):
            return Filling()
        goods = Goods(material, number, str(row.supplier) if row is not None else "", "", row)
        return filled(found.facts, goods.wanted, local_date(self.now, self.who.zone))


def scan_doc(found: Scanned, filling: Filling) -> dict[str, Any]:
    reading = found.reading
    told = [*reading.warnings, *filling.told, *reading.notes]
    materials = sorted({kind.material.code for kind in found.kinds})
    code = found.item.code if found.item is not None else found.place.code if found.place is not None else None
    return {
        "what": found.what,
        "tone": TONES.get(found.what, "ask" if reading.warnings else "yes"),
        "text": sentence(found, materials),
        "read": reading.text,
        "format": reading.kind,
        "code": code,
        "url": where(found) or None,
        "material": materials[0] if len(materials) == 1 else None,
        "marks": [{"id": mark.id, "name": WORDS.get(mark.name, ""), "value": mark.value} for mark in reading.marks],
        "values": filling.fields,
        "told": [reason_doc(reason) for reason in told],
    }


def sentence(found: Scanned, materials: list[str]) -> str:
    """What it is, in few words."""
    if found.what == "lot" and found.lot is not None:
        return f"Lot {found.lot.number} of {found.lot.material.code}."
    if found.item is not None:
        return f"{found.item.get_kind_display().capitalize()} {found.item}."
    if found.place is not None:
        return f"{found.place.name}."
    if found.delivery is not None:
        return f"Delivery {found.delivery.number}."
    if found.what == "badge":
        return "A badge."
    if found.what == "label":
        return f"A supplier's label of {' or '.join(materials)}."
    if found.what == "unmapped":
        return "A supplier's label; nobody has said yet of which material."
    return found.reading.reason.text if found.reading.reason is not None else "Not understood: nothing here is called so."
