"""A machine that calls: tokens, keys, JSON."""

from __future__ import annotations

import hashlib
import json
import uuid
from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.test import Client

from inventory.models import Device, Token
from tests.ledger.bench import Bench


def token_for(bench: Bench, who: str, scopes: str = "read write replay", name: str = "", **more: Any) -> str:
    secret = f"sv_test-{who}-{uuid.uuid4().hex}"
    person = bench.yard.person[who]
    device, _ = Device.objects.get_or_create(site=bench.yard.site, name=name or f"machine of {who}", defaults={"kind": "service"})
    Token.objects.create(
        name=name or who,
        person=person,
        device=device,
        sha256=hashlib.sha256(secret.encode()).hexdigest(),
        scopes=scopes,
        created_us=0,
        **more,
    )
    return secret


@dataclass
class Machine:
    """Calls of one token. `post` gives the response; `body` its JSON."""

    secret: str = ""

    def headers(self, key: str = "", **more: str) -> dict[str, str]:
        signed = {"Authorization": f"Bearer {self.secret}"} if self.secret else {}
        return signed | ({"Idempotency-Key": key} if key else {}) | more

    def get(self, path: str, **more: str) -> HttpResponse:
        return Client().get(f"/api/{path}", headers=self.headers(**more))  # type: ignore[return-value]

    def post(self, path: str, data: Any, key: str | None = "", **more: str) -> HttpResponse:
        raw = data if isinstance(data, (str, bytes)) else json.dumps(data)
        sent = str(uuid.uuid4()) if key == "" else key or ""
        kind = more.pop("content_type", "application/json")
        return Client(raise_request_exception=False).generic(  # type: ignore[return-value]
            "POST", f"/api/{path}", raw, content_type=kind, headers=self.headers(sent, **more)
        )

    def do(self, verb: str, data: Any, key: str | None = "", **more: str) -> HttpResponse:
        return self.post(f"verbs/{verb}/", data, key, **more)


def body(response: HttpResponse) -> Any:
    return json.loads(response.content)


def problem(response: HttpResponse, status: int, code: str) -> dict[str, Any]:
    """The problem document of a refusal: RFC 9457, with our stable code."""
    assert response.status_code == status, response.content
    assert response["Content-Type"].startswith("application/problem+json"), response["Content-Type"]
    found: dict[str, Any] = body(response)
    assert found["code"] == code, found
    assert found["status"] == status and found["title"]
    return found
