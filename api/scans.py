"""POST /api/scan/: what a scan is, where it leads, and which fields it would fill. Nothing is recorded, so no key is asked for.

What is not understood is an answer, not an error: 200, with what was read."""

from __future__ import annotations

from typing import Any

from django.utils import translation
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from inventory import readers
from inventory.core.labelfacts import WORDS
from inventory.core.labelfill import Filling, filled
from inventory.core.said import read_out
from inventory.core.spans import local_date
from inventory.pages.door import Here
from inventory.pages.labelkinds import where
from inventory.pages.labelreading import Goods, goods_of
from inventory.pages.scananswers import INTENTS, NEXT, Answered, Asked, answered, look, materials
from inventory.verbs.scans import Scanned

from .auth import Caller, here_of, need_scope
from .errors import reason_doc
from .shapes import StrictBoolean, StrictSerializer, StrictText
from .verbs import ReasonSerializer, problems


class ScanSerializer(StrictSerializer):
    """A scan: as it came, and what for."""

    raw = StrictText(allow_blank=True, max_length=20_000, trim_whitespace=False, help_text="As the scanner sent it, separators included.")
    intent = serializers.ChoiceField(choices=INTENTS, default="open", help_text="What the page is for.")
    delivery = StrictText(allow_blank=True, default="", max_length=200, help_text="Receiving: the delivery's number.")
    material = StrictText(allow_blank=True, default="", max_length=200, help_text="Receiving what nobody expected: what it is.")
    late = StrictBoolean(default=False, help_text="It already happened: nothing is judged, since it is stored in any case.")


class ScanMark(serializers.Serializer[Any]):
    id = serializers.CharField(help_text="The identifier on the label, such as 10 or 1T.")
    name = serializers.CharField(allow_blank=True)
    value = serializers.CharField()


class ScannedSerializer(serializers.Serializer[Any]):
    """What the scan is."""

    what = serializers.ChoiceField(choices=("thing", "place", "badge", "delivery", "lot", "label", "unmapped", "unknown"))
    tone = serializers.ChoiceField(choices=("yes", "ask", "no"), help_text="no: not understood, or it may not be used now.")
    word = serializers.CharField(help_text="The answer in a word or two.")
    text = serializers.CharField(help_text="A sentence for a person.")
    next = serializers.ChoiceField(choices=NEXT, help_text="open: go to the address; submit: send the page's form; stay: scan again.")
    read = serializers.CharField(allow_blank=True, help_text="What was read, control characters made visible.")
    format = serializers.CharField(help_text="own, gs1, link, envelope, identifiers, pattern, gtin, plain, broken …")
    code = serializers.CharField(allow_null=True)
    url = serializers.CharField(allow_null=True, help_text="Where it is shown.")
    material = serializers.CharField(allow_null=True)
    marks = ScanMark(many=True)
    values = serializers.DictField(child=serializers.CharField(), help_text="Receiving: fields and what would be filled in.")
    told = ReasonSerializer(many=True, help_text="What a person must know or look at.")


class Scan(APIView):
    @extend_schema(
        operation_id="scan",
        summary="What a scan is",
        tags=["reads"],
        request=ScanSerializer,
        responses={200: ScannedSerializer, **problems(400, 401, 403, 406, 415)},
    )
    def post(self, request: Request) -> Response:
        """What a label, a code, a place or a delivery is, whether it may be used now, where it leads, and what it would fill in."""
        need_scope(request, "read")
        body = ScanSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        language = "en" if isinstance(request.user, Caller) else translation.get_language_from_request(request._request)
        with readers.reading(language):  # a page shows it to its person; a machine reads what is written
            return Response(_answer(here_of(request), body.validated_data))


def _answer(here: Here, said: Any) -> dict[str, Any]:
    found = look(here, said["raw"], said["intent"])
    goods, filling = None, Filling()
    if said["intent"] == "receive":
        goods = goods_of(here, said["delivery"], said["material"])
        filling = _filling(here, found, goods)
    return scan_doc(answered(Asked(here, said["raw"], goods, said["late"]), found, said["intent"]), filling)


def _filling(here: Here, found: Scanned, goods: Goods | None) -> Filling:
    """What the label would fill in; without a delivery, for the material that it is known to be of."""
    if not found.reading.is_label:
        return Filling()
    if goods is None and found.kinds:
        goods = Goods(found.kinds[0].material, "", "", "")
    if goods is None or (found.kinds and goods.material.pk not in {kind.material_id for kind in found.kinds}):
        return Filling()
    return filled(found.facts, goods.wanted, local_date(here.now_us, here.zone))


def scan_doc(answer: Answered, filling: Filling) -> dict[str, Any]:
    found = answer.found
    reading, codes = found.reading, materials(found)
    told = {(r.code, r.text): r for r in (*reading.warnings, *answer.told, *filling.told, *reading.notes)}
    return {
        "what": found.what,
        "tone": answer.tone,
        "word": read_out(answer.word),
        "text": read_out(answer.text),
        "next": answer.next,
        "read": reading.text,
        "format": reading.kind,
        "code": found.item.code if found.item is not None else found.place.code if found.place is not None else None,
        "url": answer.url or where(found) or None,
        "material": codes[0] if len(codes) == 1 else None,
        "marks": [{"id": mark.id, "name": WORDS.get(mark.name, ""), "value": mark.value} for mark in reading.marks],
        "values": filling.fields,
        "told": [{**reason_doc(reason), "text": read_out(reason.text)} for reason in told.values()],
    }
