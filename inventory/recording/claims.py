"""What a door says has happened or should happen: one claim, in ids and base units, before any rule was asked."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from inventory.core.reasons import Reason

if TYPE_CHECKING:
    from inventory.models import Act

    from .transaction import Transaction

Ref = int | str
"""An item: its id, or the name of one that this claim brings into being."""

Check = Callable[["Transaction"], Iterable[Reason]]
Effect = Callable[["Transaction", "Act", dict[str, int]], None]


@dataclass(frozen=True, slots=True)
class Who:
    """Who acts, from where, in which role (R31). `zone` is the site's."""

    site: int
    zone: str
    person: int
    device: int
    role: str
    user: int | None = None


@dataclass(frozen=True, slots=True)
class LotFacts:
    """The facts of a batch that comes into being with its lot node. Instants in µs."""

    supplier: int
    number: str
    number_key: str
    made_us: int | None = None
    printed_us: int | None = None
    spec: int | None = None


@dataclass(frozen=True, slots=True)
class NewItem:
    """An item that a claim brings into being. `lot` may name another new item of the same call."""

    code: str
    kind: str
    unit: str
    mark: str = ""
    material: int | None = None
    lot: Ref | None = None
    delivery: int | None = None
    owner: int | None = None
    supplier_serial: str = ""
    core_ug: int | None = None
    facts: LotFacts | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """What happens to one item: becomes a leg."""

    item: Ref
    delta: int = 0
    counted: int | None = None
    location: int | None = None
    ceiling: int | None = None
    body: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Flow:
    """Material that goes from one item of the claim to another: becomes an edge. `qty` in the source's unit."""

    src: Ref
    dst: Ref
    qty: int
    got: int | None = None
    grade: str = "item"


@dataclass(frozen=True, slots=True)
class Claim:
    """One act to be. `said` is what the sender said in a canonical form without transport fields: its hash tells a
    repeat from another act under the same key. `happened_us` None means now, which every intention means (R34)."""

    key: uuid.UUID
    kind: str
    lines: tuple[Line, ...]
    flows: tuple[Flow, ...] = ()
    new: dict[str, NewItem] = field(default_factory=dict)
    body: dict[str, Any] = field(default_factory=dict)
    said: dict[str, Any] = field(default_factory=dict)
    stance: str = "intent"
    happened_us: int | None = None
    claimed_us: int | None = None
    device_seq: int = 0
    reason: str = ""
    voids: int | None = None
    approves: int | None = None
    planned: dict[str, int] = field(default_factory=dict)
    checks: tuple[Check, ...] = ()
    effects: tuple[Effect, ...] = ()

    def fingerprint(self) -> str:
        return hashlib.sha256(canonical([self.kind, self.stance, self.said]).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Receipt:
    """What was recorded. `items` maps the names of new items to ids; a repeat gives the same receipt, marked. `reasons`
    are the rules that an observation broke: it was stored all the same (R34)."""

    act: int
    key: uuid.UUID
    kind: str
    happened_us: int
    items: dict[str, int]
    touched: tuple[int, ...]
    replay: bool = False
    reasons: tuple[Reason, ...] = ()
    body: dict[str, Any] = field(default_factory=dict)


def canonical(value: Any) -> str:
    """One text for one value: sorted keys, no blanks, no floats (a float has no one form that every reader agrees on)."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=_no_float)


def _no_float(value: Any) -> Any:
    if isinstance(value, uuid.UUID):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no canonical form")


def derived_key(key: uuid.UUID, part: str) -> uuid.UUID:
    """The key of a further act that the same call makes: repeats of the call repeat it too."""
    return uuid.uuid5(key, part)
