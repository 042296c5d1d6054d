"""POST /api/replay/: what a tablet did while it had no network, in order. Each scan is an observation: it already happened.

A record is accepted, recognised as sent before, or parked for a person with the reasons; none is dropped and none blocks
those behind it. The device's clock is corrected by what it reads at sending: claimed + (received − sent), kept within
[its last contact, now]; a corrected time that had to be moved is marked. Something put back into the cold at a time that
cannot be trusted counts as put back now: never fresher than it was.

A tablet changes hands also without a network. A record may say whose it is (`by`, see `inventory.passes`); that holds for what
a badge may do, never for what asks for a password.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from inventory.clock import now_us
from inventory.core.reasons import BadInput, Reason, Refused
from inventory.models import Act, Device
from inventory.passes import LONGEST, bearer
from inventory.recording import Who, log_refusal
from inventory.verbs.moving import frozen_place
from inventory.verbs.registry import VERBS, Call, Verb, perform
from inventory.verbs.resolve import place_of

from .auth import need_scope, who_of
from .documents import at as at_text
from .errors import reason_doc
from .shapes import StrictBoolean, StrictInteger, StrictSerializer, StrictText, build, serializer_of
from .verbs import ReasonSerializer, instant, problems, receipt_doc

MOST = 500
SLACK_US = 5_000_000
"""What two sendings may differ by on their way, so that a time is not taken for impossible because of it."""


class RecordSerializer(StrictSerializer):
    """One scan."""

    key = serializers.UUIDField()
    verb = StrictText(max_length=40)
    happened_at = StrictText(max_length=64, help_text="RFC 3339 by the device's clock.")
    seq = StrictInteger(min_value=0, max_value=2**53, help_text="The device's own count, rising.")
    params = serializers.DictField()
    by = StrictText(max_length=LONGEST, required=False, help_text="Whose it is, if not the caller's: their pass.")


_BATCH: dict[str, Any] = {"many": True, "max_length": MOST, "allow_empty": False}  # the list takes these, not its rows


class ReplaySerializer(StrictSerializer):
    device = StrictText(max_length=80)
    sent_at = StrictText(max_length=64, help_text="The device's clock at sending.")
    records = RecordSerializer(**_BATCH)
    more = StrictBoolean(
        required=False, default=False, help_text="Others that were made before this sending follow in a batch of their own."
    )


class ResultSerializer(serializers.Serializer[Any]):
    key = serializers.UUIDField()
    result = serializers.ChoiceField(["accepted", "repeated", "parked"])
    moved = serializers.BooleanField(help_text="Its time had to be corrected into what is possible; told once, not of a repeat.")
    text = serializers.CharField()
    reasons = ReasonSerializer(many=True)
    acts = serializers.ListField(child=serializers.IntegerField())
    happened_at = serializers.CharField(allow_null=True, help_text="The time that it got.")
    recorded_at = serializers.CharField(allow_null=True, help_text="When it arrived, the first time.")


class ReplayAnswer(serializers.Serializer[Any]):
    results = ResultSerializer(many=True)


@dataclass(frozen=True, slots=True)
class Clocks:
    """The device's clock against ours, in µs."""

    skew_us: int
    seen_us: int
    now_us: int

    def effective(self, claimed_us: int) -> tuple[int, bool]:
        """(instant that the record gets, whether it had to be moved into what is possible)."""
        corrected = claimed_us + self.skew_us
        kept = min(max(corrected, min(self.seen_us, self.now_us)), self.now_us)
        return kept, abs(kept - corrected) > SLACK_US


class Replay(APIView):
    @extend_schema(
        operation_id="replay",
        tags=["replay"],
        request=ReplaySerializer,
        responses={
            200: ReplayAnswer,
            **problems(400, 401, 403, 406, 415),
        },
    )
    def post(self, request: Request) -> Response:
        """Take a batch of scans made without a network."""
        need_scope(request, "replay")
        body = ReplaySerializer(data=request.data)
        body.is_valid(raise_exception=True)
        at, who = now_us(), who_of(request)
        sent = instant(body.validated_data["sent_at"], "sent_at")
        device, _ = Device.objects.get_or_create(
            site_id=who.site, name=body.validated_data["device"].strip() or "unnamed", defaults={"kind": "tablet"}
        )
        who = Who(who.site, who.zone, who.person, device.pk, "", who.user)
        clocks = Clocks(at - sent, device.seen_us, at)
        results = [take(record, who, clocks, device.name) for record in body.validated_data["records"]]
        if not body.validated_data["more"]:  # what is still to come was made before this contact
            Device.objects.filter(pk=device.pk, seen_us__lt=at).update(seen_us=at)
        return Response({"results": results})


def take(record: dict[str, Any], who: Who, clocks: Clocks, device: str) -> dict[str, Any]:
    """One record: accepted, repeated or parked."""
    moved = False
    try:
        claimed = instant(record["happened_at"], "happened_at")
        happened, moved = clocks.effective(claimed)
        verb = VERBS.get(record["verb"])
        if verb is None:
            raise BadInput("verb.unknown", f"There is no verb “{record['verb'][:40]}”.", "verb")
        who = _whose(record, who, clocks, device, verb)
        fields = serializer_of(verb.params)(data=record["params"])
        if not fields.is_valid():
            raise BadInput("body.invalid", f"The scan was not understood: {', '.join(fields.errors)}.", "params")
        params = build(verb.params, dict(fields.validated_data))
        call = Call(who, clocks.now_us, record["key"], "observed", happened, claimed, record["seq"], "scanned without a network")
        if moved and verb.name == "move" and frozen_place(place_of(call, params.place)):
            call = Call(who, clocks.now_us, call.key, "observed", clocks.now_us, claimed, call.device_seq, call.reason)
        outcome = perform(verb.name, call, params)
    except Refused as refused:
        return _parked(record, moved, list(refused.reasons))
    except BadInput as bad:
        log_refusal(Refused(bad.reason), who, clocks.now_us, "replay:" + record["verb"][:16], _kept(record))
        return _parked(record, moved, [bad.reason])
    doc = receipt_doc(outcome)
    word = "repeated" if outcome.replay else "accepted"
    first = Act.objects.filter(pk__in=doc["acts"]).order_by("pk").first()
    return {
        "key": str(record["key"]),
        "result": word,
        "moved": moved and not outcome.replay,
        "text": doc["text"],
        "reasons": doc["reasons"],
        "acts": doc["acts"],
        "happened_at": at_text(first.happened_us) if first else None,
        "recorded_at": at_text(first.recorded_us) if first else None,
    }


def _whose(record: dict[str, Any], who: Who, clocks: Clocks, device: str, verb: Verb) -> Who:
    """Who did it: the caller, or the bearer of the record's pass, for what a badge may do."""
    if not record.get("by"):
        return who
    person = bearer(record["by"], who.site, device, clocks.now_us)
    if verb.confirm and person.pk != who.person:
        raise BadInput("pass.decision", f"“{verb.title}” asks for a password: {person} signs in and decides it.", "by")
    return replace(who, person=person.pk)


def _kept(record: dict[str, Any]) -> dict[str, Any]:
    """The scan as it came, so that nothing is lost: floats as text, since the log has one form for each value."""

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            return {str(k): plain(v) for k, v in value.items()}
        if isinstance(value, list):
            return [plain(v) for v in value]
        return str(value) if isinstance(value, (float, uuid.UUID)) else value

    kept: dict[str, Any] = plain({k: v for k, v in record.items() if k != "by"})
    return kept


def _parked(record: dict[str, Any], moved: bool, reasons: list[Reason]) -> dict[str, Any]:
    text = reasons[0].text
    said = {"key": str(record["key"]), "result": "parked", "moved": moved, "text": text, "reasons": [reason_doc(r) for r in reasons]}
    return {**said, "acts": [], "happened_at": None, "recorded_at": None}
