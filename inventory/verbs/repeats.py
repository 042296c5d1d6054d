"""A repeat of a call that made several acts: answered from what was recorded, whatever the shop looks like now (R32)."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from inventory.models import Act
from inventory.recording import Claim, Receipt

from .registry import Call


def parts(names: Sequence[str]) -> dict[str, Any]:
    """For the body of a call's first act: the names of its further acts, so that a repeat finds them all."""
    return {"parts": list(names)} if names else {}


def again(call: Call, params: Any, verb: str, kind: str, **more: Any) -> list[Receipt] | None:
    """The receipts of a call that was recorded before; None when it was not. Raises Refused key.reused when the key was
    used for something else."""
    first = Act.objects.filter(site=call.who.site, key=call.key).first()
    if first is None:
        return None
    named = json.loads(first.body).get("parts", [])
    claims: list[Claim] = [call.claim(kind, (), params, part=part, **more) for part in ("", *named)]
    return call.record(claims, verb)
