"""The only place that turns a refusal into HTTP: RFC 9457 problem details with a stable code and every reason.

400  not understood (BadInput, a malformed body, an unknown field)      401/403  who, and may they
404  no such thing      409  refused by a rule of the shop               422  the key was used for something else
"""

from __future__ import annotations

from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.response import Response

from inventory.core.reasons import BadInput, Reason, Refused

TYPE = "about:blank"
MEDIA = "application/problem+json"
_STATUS = {"key.reused": 422, "role.not_allowed": 403, "scope.missing": 403, "code.unknown": 404}


def reason_doc(reason: Reason) -> dict[str, Any]:
    return {"code": reason.code, "text": reason.text, "numbers": reason.numbers}


def problem(status_code: int, code: str, title: str, **more: Any) -> Response:
    """A problem document. `code` is stable; `title` is for a person."""
    body = {"type": TYPE, "title": title, "status": status_code, "code": code, **more}
    return Response(body, status=status_code, content_type=MEDIA)


def refused(error: Refused) -> Response:
    first = error.reasons[0]
    status_code = _STATUS.get(first.code, 409)
    return problem(status_code, first.code, first.text, reasons=[reason_doc(r) for r in error.reasons])


def not_understood(error: BadInput) -> Response:
    reason = error.reason
    status_code = 404 if reason.code == "code.unknown" and error.where == "path" else 400
    return problem(status_code, reason.code, reason.text, where=error.where, numbers=reason.numbers)


def handler(error: Exception, context: dict[str, Any]) -> Response | None:
    """Django REST framework's exception handler."""
    if isinstance(error, Refused):
        return refused(error)
    if isinstance(error, BadInput):
        return not_understood(error)
    if isinstance(error, exceptions.ValidationError):
        return problem(400, "body.invalid", "The request was not understood: see the fields.", fields=_fields(error.detail))
    if isinstance(error, exceptions.APIException):
        code = {401: "sign_in.needed", 403: "not_allowed", 404: "not_found", 405: "method", 406: "media", 415: "media", 429: "slow_down"}
        response = problem(error.status_code, code.get(error.status_code, "request.invalid"), _text(error.detail))
        for name, value in (("WWW-Authenticate", getattr(error, "auth_header", None)), ("Retry-After", getattr(error, "wait", None))):
            if value:
                response[name] = str(int(value) + 1) if name == "Retry-After" else value
        return response
    if isinstance(error, Http404):
        return problem(status.HTTP_404_NOT_FOUND, "not_found", "There is no such thing here.")
    if isinstance(error, PermissionDenied):
        return problem(status.HTTP_403_FORBIDDEN, "not_allowed", "You may not do this.")
    return None


def _text(detail: Any) -> str:
    return str(detail) if not isinstance(detail, (list, dict)) else "The request was not understood."


def _fields(detail: Any) -> Any:
    if isinstance(detail, dict):
        return {str(k): _fields(v) for k, v in detail.items()}
    if isinstance(detail, list):
        return [_fields(v) for v in detail]
    return str(detail)
