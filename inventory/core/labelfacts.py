"""What a label may say of a thing, in exact types, whatever the standard or the supplier's own way in which it says it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.spans import DateText

Measure = Literal["length", "area", "mass", "volume", "count", "plain"]


@dataclass(frozen=True, slots=True)
class Amount:
    """How much: `text` as a person would type it ("100.5 m"). `plain`: a figure whose unit the label does not give."""

    measure: Measure
    text: str


@dataclass(frozen=True, slots=True)
class Mark:
    """One field as it stood on the label: its identifier, what it means (empty: nothing that is used here), its text."""

    id: str
    name: str
    value: str


@dataclass(frozen=True, slots=True)
class Facts:
    """What was understood. Empty text and None: not said, or said twice and differently. `supplier`: the supplier's company code.
    `package`: which of how many. `warmest_mc`, `coldest_mc`: between which temperatures it is to be kept."""

    gtin: str = ""
    part: str = ""
    customer_part: str = ""
    lot: str = ""
    serial: str = ""
    made: DateText | None = None
    expires: DateText | None = None
    best_before: DateText | None = None
    amounts: tuple[Amount, ...] = ()
    package: tuple[int, int] | None = None
    warmest_mc: int | None = None
    coldest_mc: int | None = None
    order: str = ""
    supplier: str = ""
    width_um: int | None = None


WORDS = {
    "gtin": say("article number"),
    "part": say("supplier's part number"),
    "customer_part": say("our part number"),
    "lot": say("lot"),
    "serial": say("serial number"),
    "made": say("day of manufacture"),
    "expires": say("expiry"),
    "best_before": say("best before"),
    "package": say("package"),
    "warmest_mc": say("highest temperature"),
    "coldest_mc": say("lowest temperature"),
    "order": say("order"),
    "supplier": say("company code"),
    "width_um": say("width"),
    "amount": say("quantity"),
}
"""What each is called on a screen."""


@dataclass
class Gathering:
    """Facts as they are read, one field after the other. What is said twice and differently counts as not said."""

    marks: list[Mark] = field(default_factory=list)
    notes: list[Reason] = field(default_factory=list)
    warnings: list[Reason] = field(default_factory=list)
    said: dict[str, list[Any]] = field(default_factory=dict)

    def put(self, id_: str, name: str, value: str, *meant: Any) -> None:
        """A field; `meant` is what its text means, where that is not the text itself."""
        self.marks.append(Mark(id_, name, value))
        if name:
            self.said.setdefault(name, []).extend(meant or (value,))

    def note(self, code: str, text: str, **numbers: int | str | None) -> None:
        self.notes.append(Reason(code, text, numbers))

    def warn(self, code: str, text: str, **numbers: int | str | None) -> None:
        self.warnings.append(Reason(code, text, numbers))

    def facts(self) -> Facts:
        found: dict[str, Any] = {"amounts": tuple(dict.fromkeys(self.said.get("amount", ())))}
        for name, values in self.said.items():
            if name == "amount":
                continue
            if len(set(values)) == 1:
                found[name] = values[0]
            else:
                self.warn(
                    "label.said_twice", say("The label gives two values for {words}: read it yourself.", words=WORDS[name]), field=name
                )
        return Facts(**found)


def figure(digits: str, decimals: int) -> str:
    """Digits with the decimal point put in: ("001005", 1) is "100.5"; zeros that say nothing are left out."""
    whole = digits[: len(digits) - decimals] if decimals else digits
    part = digits[len(digits) - decimals :].rstrip("0") if decimals else ""
    return (whole.lstrip("0") or "0") + (f".{part}" if part else "")


def milli(text: str) -> int:
    """A decimal number in thousandths, rounded half to even once: "-18.5" is -18500."""
    return round(Fraction(text) * 1000)


def first(amounts: Iterable[Amount], *measures: Measure) -> Amount | None:
    """The first amount in the order of these measures."""
    by = list(amounts)
    return next((a for measure in measures for a in by if a.measure == measure), None)
