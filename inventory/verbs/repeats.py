"""A repeat of a call that made several acts: answered from what was recorded, whatever the shop looks like now (R32)."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.recording import Claim, Receipt, canonical
from inventory.recording.rows import ACTS_BY_KEY

from .registry import Call, said


@dataclass(frozen=True, slots=True)
class Further:
    """What a further act of a call says: which call it belongs to, by the hash of what that said. (Two thousand rows are
    said once, and not again with each of their lots.)"""

    of: str


def further(params: Any) -> Further:
    return Further(hashlib.sha256(canonical(said(params)).encode()).hexdigest())


def of(params: Any, part: str) -> Any:
    """What an act of a call says: the first one everything, a further one (`part`) which call it belongs to."""
    return further(params) if part else params


def parts(names: Sequence[str]) -> dict[str, Any]:
    """For the body of a call's first act: the names of its further acts, so that a repeat finds them all."""
    return {"parts": list(names)} if names else {}


def again(call: Call, params: Any, verb: str, kind: str, **more: Any) -> list[Receipt] | None:
    """The receipts of a call that was recorded before; None when it was not. Raises Refused key.reused when the key was
    used for something else."""
    first = ACTS_BY_KEY.first(call.who.site, call.key)
    if first is None:
        return None
    claims: list[Claim] = [call.claim(kind, (), params, **more)]
    named = json.loads(first.body).get("parts", [])
    if named:
        rest = further(params)
        claims += [call.claim(kind, (), rest, part=part, **more) for part in named]
    return call.record(claims, verb)
