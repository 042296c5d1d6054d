"""The one write path. Every door – page, REST, import, replay, demo – comes through `record`.

    1 pass the gate            2 recognise repeats           3 lock and read what is touched
    4 ask every rule           5 append act, legs, edges     6 apply, or refold and propagate
    7 store states, findings   8 commit

An intention that breaks a rule is refused whole, with every reason, and only the log of refusals is written. What already
happened is stored whatever it breaks: its part is held and quality is told (R34).
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db import IntegrityError
from django.db.transaction import atomic

from inventory.core.kinds import DECISIONS
from inventory.core.reasons import Reason, Refused
from inventory.models import Refusal

from .claims import Check, Claim, Effect, Flow, Line, LotFacts, NewItem, Receipt, Who, canonical, derived_key
from .gate import NeedsExclusive, gate
from .steps import run
from .transaction import Transaction

__all__ = [
    "Check", "Claim", "Effect", "Flow", "Line", "LotFacts", "NewItem", "Receipt", "Refused", "Transaction", "Who", "canonical",
    "derived_key", "record",
]  # fmt: skip


def record(claims: Sequence[Claim], who: Who, now_us: int, verb: str = "", exclusive: bool = False) -> list[Receipt]:
    """Record claims in one transaction, all or none. Raises Refused (with every reason, logged) or BadInput.

    `verb` names the call in the log of refusals. `exclusive` asks for the gate alone from the start, for a caller that
    already holds a transaction and cannot come again."""
    alone = exclusive or any(c.kind in DECISIONS for c in claims)
    try:
        try:
            return _behind_gate(claims, who, now_us, alone)
        except (NeedsExclusive, IntegrityError):
            # Either it reaches below other items, or another writer recorded the same key or name in this very instant
            # (the rows to lock did not exist yet). Alone at the gate a repeat is seen, and a name that is taken is told.
            return _behind_gate(claims, who, now_us, True)
    except IntegrityError as error:
        text = "Something with this name or number was recorded already: look at it, and give another name if it is another thing."
        refused = Refused(Reason("record.conflict", text, {"constraint": _constraint(error)}))
        log_refusal(refused, who, now_us, verb or claims[0].kind, claims[0].said if claims else {})
        raise refused from error
    except Refused as refused:
        log_refusal(refused, who, now_us, verb or claims[0].kind, claims[0].said if claims else {})
        raise


def _behind_gate(claims: Sequence[Claim], who: Who, now_us: int, alone: bool) -> list[Receipt]:
    with gate(who.site, alone):
        return run(claims, Transaction(who, now_us, alone))


def _constraint(error: IntegrityError) -> str:
    """The constraint's name, or on SQLite the columns; never the values."""
    diagnostics = getattr(error.__cause__, "diag", None)
    return str(getattr(diagnostics, "constraint_name", None) or str(error).partition(":")[2].strip())[:120]


def log_refusal(refused: Refused, who: Who, now_us: int, verb: str, said: dict[str, object]) -> None:
    """Refusals leave a trace: who wanted what, and every reason (R34)."""
    reasons = [[r.code, r.text, r.numbers] for r in refused.reasons]
    with atomic():
        Refusal.objects.create(
            site_id=who.site,
            at_us=now_us,
            person_id=who.person,
            device_id=who.device,
            verb=verb[:24],
            body=canonical(said),
            reasons=canonical(reasons),
        )
