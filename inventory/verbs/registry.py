"""The verbs of the shop: one table that every door reads.

A verb is a function of a call (who, when, under which key) and its parameters, a frozen dataclass in the words that a
person or a scanner says: codes, quantities as typed, dates as printed. A door fills the dataclass, calls `perform`, and
translates back; authority, parsing and rules are asked here and below, never in a door.
"""

from __future__ import annotations

import dataclasses
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, NoReturn

from inventory.composed import Composed
from inventory.core.reasons import BadInput, Reason, Refused
from inventory.core.said import say, strung
from inventory.models import Act, Role
from inventory.recording import Claim, Line, Receipt, Who, derived_key, log_refusal, record

STOREKEEPER, BUILDER, QUALITY, OWNER = "storekeeper", "builder", "quality", "owner"
SHOP = (STOREKEEPER, BUILDER, QUALITY, OWNER)


@dataclass(frozen=True, slots=True)
class Call:
    """One call of a verb. `happened_us` is given only with stance "observed": it already happened (R34)."""

    who: Who
    now_us: int
    key: uuid.UUID
    stance: str = "intent"
    happened_us: int | None = None
    claimed_us: int | None = None
    device_seq: int = 0
    reason: str = ""
    exclusive: bool = False

    @property
    def at_us(self) -> int:
        return self.now_us if self.happened_us is None else min(self.happened_us, self.now_us)

    def claim(self, kind: str, lines: Sequence[Line], params: Any, part: str = "", **more: Any) -> Claim:
        """A claim of this call: its key, stance and times. A call that makes several acts names each further `part`,
        whose key follows from the call's, so that a repeat of the call repeats them all."""
        return Claim(
            key=derived_key(self.key, part) if part else self.key,
            kind=kind,
            lines=tuple(lines),
            said=said(params),
            stance=more.pop("stance", self.stance),
            happened_us=more.pop("happened_us", self.happened_us),
            claimed_us=self.claimed_us,
            device_seq=self.device_seq,
            reason=more.pop("reason", self.reason),
            **more,
        )

    def record(self, claims: Sequence[Claim], verb: str) -> list[Receipt]:
        return record(claims, self.who, self.now_us, verb, self.exclusive)

    def done_before(self) -> bool:
        """An act is already recorded under this call's key: whatever the state is now, it is a repeat."""
        return Act.objects.filter(site=self.who.site, key=self.key).exists()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a verb did: a sentence, the receipts, and facts for the door to show (`data`, JSON values only)."""

    text: str
    receipts: list[Receipt]
    data: dict[str, Any] = field(default_factory=dict)

    @property
    def reasons(self) -> list[Reason]:
        return [reason for receipt in self.receipts for reason in receipt.reasons]

    @property
    def replay(self) -> bool:
        return bool(self.receipts) and all(r.replay for r in self.receipts)


@dataclass(frozen=True, slots=True)
class Verb:
    name: str
    params: type
    run: Callable[[Call, Any], Outcome]
    roles: tuple[str, ...]
    title: str
    observable: bool
    confirm: bool


VERBS: dict[str, Verb] = {}


def verb(
    name: str, params: type, roles: tuple[str, ...], title: str, observable: bool = True, confirm: bool = False
) -> Callable[[Callable[[Call, Any], Outcome]], Callable[[Call, Any], Outcome]]:
    """Enter a verb in the table. `observable`: may be told as "already happened". `confirm`: asks for the password again
    at a page (decisions are never authorised by a badge alone)."""

    def enter(run: Callable[[Call, Any], Outcome]) -> Callable[[Call, Any], Outcome]:
        VERBS[name] = Verb(name, params, run, roles, title, observable, confirm)
        return run

    return enter


def perform(name: str, call: Call, params: Any) -> Outcome:
    """The one domain call of every door. Raises Refused or BadInput; nothing is half done."""
    entry = VERBS.get(name)
    if entry is None:
        raise BadInput("verb.unknown", say("There is no verb “{name}”.", name=name[:40]))
    if not isinstance(params, entry.params):
        raise TypeError(f"{name} takes {entry.params.__name__}")
    role = _authority(entry, call, params)
    if call.stance == "observed" and not entry.observable:
        raise BadInput(
            "verb.not_observable", say("“{entry}” is a decision: it is made now, it cannot be reported late.", entry=entry.title)
        )
    return entry.run(dataclasses.replace(call, who=dataclasses.replace(call.who, role=role)), params)


_ROLES = Composed(lambda person: Role.objects.filter(person=person, person__ended_us__isnull=True), int)


def _authority(entry: Verb, call: Call, params: Any) -> str:
    """The role under which the person may do it; refusals are logged (R44)."""
    roles = {held.role for held in _ROLES.all(call.who.person)}
    for role in entry.roles:
        if role in roles:
            return role
    needs = strung(say(" or "), entry.roles)
    refused = Refused(
        Reason(
            "role.not_allowed",
            say("“{entry}” is for {needs}. Ask somebody who has that role.", entry=entry.title, needs=needs),
            {"needs": needs},
        )
    )
    log_refusal(refused, call.who, call.now_us, entry.name, said(params))
    raise refused


def refuse(call: Call, name: str, params: Any, *reasons: Reason) -> NoReturn:
    """Refuse outside `record`, and leave the trace that a refusal leaves."""
    refused = Refused(*reasons)
    log_refusal(refused, call.who, call.now_us, name, said(params))
    raise refused


def said(params: Any) -> dict[str, Any]:
    """Parameters as canonical values for fingerprint and log."""
    out: dict[str, Any] = dataclasses.asdict(params)
    return out
