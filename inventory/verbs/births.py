"""Codes for new things. A code follows from the call's key, so that a repeat of the call brings the same thing into being;
a tablet in the cold store may bring its own, made before the server knew of it."""

from __future__ import annotations

from inventory.core import codes
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.recording import derived_key

from .registry import Call


def new_code(call: Call, name: str, given: str = "") -> str:
    """The code of the thing that this call names `name`; `given` is the one already on its label, if any."""
    if not given:
        return codes.make(derived_key(call.key, f"code:{name}").bytes)
    scan = codes.normalise(given)
    if scan.code is None or scan.on != "item":
        raise BadInput(
            "code.not_ours", say("“{scan}” is not one of our labels: scan the new label, or leave it empty.", scan=scan.text[:40]), "code"
        )
    return scan.code
