"""POST /api/verbs/<verb>/: one address for each verb of the shop, all alike.

The sender gives an `Idempotency-Key` (a UUID): the same key and body again give the same receipt, the same key with
another body is 422. `already_happened` with `happened_at` tells what has been done; without it the call is an intention,
which a rule may refuse (409 with every reason).
"""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from typing import Any

from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from inventory.clock import now_us
from inventory.core.reasons import BadInput
from inventory.verbs.registry import VERBS, Call, Outcome, Verb, perform

from .auth import need_scope, who_of
from .errors import reason_doc
from .shapes import StrictBoolean, StrictSerializer, StrictText, build, serializer_of

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class ReasonSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    text = serializers.CharField()
    numbers = serializers.DictField()


class ReceiptSerializer(serializers.Serializer[Any]):
    """What was recorded."""

    text = serializers.CharField(help_text="A sentence for a person.")
    replay = serializers.BooleanField(help_text="True when this key had been recorded before.")
    acts = serializers.ListField(child=serializers.IntegerField())
    data = serializers.DictField()  # type: ignore[assignment]  # a field of the document, not the serializer's own data
    reasons = ReasonSerializer(many=True, help_text="Rules that an already happened fact broke; it was stored all the same.")


class ProblemSerializer(serializers.Serializer[Any]):
    """RFC 9457 problem details."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    code = serializers.CharField(help_text="Stable.")
    reasons = ReasonSerializer(many=True, required=False)
    where = serializers.CharField(required=False)
    fields_ = serializers.DictField(required=False)

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        fields["fields"] = fields.pop("fields_")
        return dict(fields)


def receipt_doc(outcome: Outcome) -> dict[str, Any]:
    return {
        "text": outcome.text,
        "replay": outcome.replay,
        "acts": [r.act for r in outcome.receipts],
        "data": outcome.data,
        "reasons": [reason_doc(r) for r in outcome.reasons],
    }


def instant(text: str, where: str) -> int:
    """RFC 3339 with an offset → µs UTC. BadInput time.form, time.no_offset, time.too_old."""
    try:
        moment = datetime.fromisoformat(text.replace("Z", "+00:00"))
    except ValueError:
        raise BadInput("time.form", f"“{text[:40]}” is not a time: send RFC 3339, such as 2026-03-30T08:15:00+02:00.", where) from None
    if moment.tzinfo is None:
        raise BadInput("time.no_offset", "A time needs its offset from UTC, such as +02:00.", where)
    delta = moment - _EPOCH  # both know their offset; the last day of the year 9999 has no UTC form
    us = (delta.days * 86_400 + delta.seconds) * 1_000_000 + delta.microseconds
    if us < 0:
        raise BadInput("time.too_old", f"“{text[:40]}” lies before 1970: check the clock of the device.", where)
    return us


def key_of(request: Request) -> uuid.UUID:
    text = request.headers.get("Idempotency-Key", "")
    try:
        return uuid.UUID(text)
    except ValueError:
        said = "Send a UUID in the header Idempotency-Key: with it a repeat counts once."
        raise BadInput("key.missing" if not text else "key.form", said, "Idempotency-Key") from None


def request_serializer(verb: Verb) -> type[StrictSerializer]:
    """The verb's parameters, and for observable verbs how to tell what already happened."""
    base = serializer_of(verb.params)
    more: dict[str, Any] = {}
    if verb.observable:
        more = {
            "already_happened": StrictBoolean(required=False, default=False),
            "happened_at": StrictText(required=False, max_length=64, help_text="RFC 3339 with offset; with already_happened."),
            "why_late": StrictText(required=False, allow_blank=True, max_length=500),
        }
    name = "".join(part.title() for part in verb.name.split("_")) + "Request"
    return type(name, (base,), {**more, "__doc__": verb.params.__doc__})


def call_of(request: Request, values: dict[str, Any]) -> Call:
    at = now_us()
    observed, happened = values.pop("already_happened", False), values.pop("happened_at", None)
    reason = values.pop("why_late", "")
    if happened is not None and not observed:
        raise BadInput("time.intent", "An intention happens now: leave happened_at out, or say already_happened.", "happened_at")
    claimed = instant(happened, "happened_at") if happened is not None else None
    if claimed is not None and claimed > at:
        raise BadInput("time.future", "happened_at lies in the future: check the clock of the device.", "happened_at")
    return Call(
        who=who_of(request),
        now_us=at,
        key=key_of(request),
        stance="observed" if observed else "intent",
        happened_us=(claimed if claimed is not None else at) if observed else None,
        claimed_us=claimed,
        device_seq=at,  # of two records of one instant the one that was told first counts as the first
        reason=reason,
    )


class VerbView(APIView):
    """One verb. `verb` is set by `view_of`."""

    verb: Verb
    body: type[StrictSerializer]

    def take(self, request: Request) -> Response:
        need_scope(request, "write")
        serializer = self.body(data=request.data)
        serializer.is_valid(raise_exception=True)
        values = dict(serializer.validated_data)
        call = call_of(request, values)
        outcome = perform(self.verb.name, call, build(self.verb.params, values))
        return Response(receipt_doc(outcome), status=200 if outcome.replay or not outcome.receipts else 201)


def view_of(name: str) -> Any:
    """The view of a verb, with its own description."""
    verb = VERBS[name]
    body = request_serializer(verb)
    title = "".join(part.title() for part in name.split("_"))
    key = OpenApiParameter("Idempotency-Key", str, OpenApiParameter.HEADER, required=True, description="A UUID of the sender's.")

    def post(self: VerbView, request: Request) -> Response:
        return self.take(request)

    described = extend_schema(
        operation_id=f"do_{name}",
        summary=verb.title,
        description=f"{verb.title}. For: {', '.join(verb.roles)}.",
        tags=["verbs"],
        parameters=[key],
        request=body,
        responses={
            200: OpenApiResponse(ReceiptSerializer, "Recorded before under this key, or nothing to do."),
            201: OpenApiResponse(ReceiptSerializer, "Recorded."),
            **problems(*PROBLEMS),
        },
    )(post)
    view: type[VerbView] = type(f"{title}View", (VerbView,), {"verb": verb, "body": body, "post": described})
    return view.as_view()


def problems(*codes: int) -> dict[tuple[int, str], OpenApiResponse]:
    """For a description: what each of these answers means, in the form of RFC 9457."""
    return {(code, "application/problem+json"): OpenApiResponse(ProblemSerializer, PROBLEMS[code]) for code in codes}


PROBLEMS = {
    400: "Not understood.",
    401: "No sign-in or token.",
    403: "Not for this person's roles, or the token's scopes.",
    404: "No such thing.",
    406: "No such representation.",
    409: "Refused by a rule of the shop; every reason is told.",
    415: "Not JSON.",
    422: "The key was used for something else.",
    429: "Too often: wait as long as Retry-After says.",
}
