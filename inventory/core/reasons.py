"""Why something is refused or marked: a value with a stable code, the numbers that explain it, and a sentence.

One place maps codes to doors: the API turns a refusal into problem details, a page shows `text`, a test asserts
`code` and `numbers`. Codes never change once published; the sentence may.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field

from inventory.core.said import Told, say, strung


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason. `code` is stable and dotted ("life.over"); `numbers` holds ints and strings only (so that it has
    one canonical form), as they are written: a word among them is a code for machines, and reads the same for everybody; `text`
    is the sentence for a person and says what to do; `cap` marks a reason that nobody may override (R17: a gross peroxide overdose)."""

    code: str
    text: str
    numbers: dict[str, int | str | None] = field(default_factory=dict)
    cap: bool = False

    def __post_init__(self) -> None:
        if any(isinstance(value, Told) for value in self.numbers.values()):
            object.__setattr__(self, "numbers", {k: str(v) if isinstance(v, Told) else v for k, v in self.numbers.items()})


def key_reused() -> Reason:
    """A sender's key that came with other content before (R32)."""
    return Reason("key.reused", say("This key was used for something else: send a new one."), {})


def ended(text: str) -> str:
    """What somebody typed, as the end of a sentence: with one full stop, whether they wrote one or not."""
    said = text.rstrip()
    return said if said.endswith(("!", "?", "…")) else said.rstrip(" .") + "."


class Refused(Exception):
    """An intention that breaks one or more rules. Nothing was changed but the log of refusals."""

    def __init__(self, *reasons: Reason) -> None:
        super().__init__(strung("; ", (r.text for r in reasons)))
        self.reasons = reasons


class BadInput(Exception):
    """Input that cannot be understood at all (as against understood and refused). `field` names where."""

    def __init__(self, code: str, text: str, where: str = "", **numbers: int | str | None) -> None:
        super().__init__(text)
        self.reason = Reason(code, text, dict(numbers))
        self.where = where


@contextmanager
def told_at(where: str | Mapping[str, str]) -> Iterator[None]:
    """What is not understood inside is told at this field; or, by its own name for the place, at the field that goes with it."""
    try:
        yield
    except BadInput as bad:
        bad.where = where if isinstance(where, str) else where.get(bad.where, bad.where)
        raise
