"""One piece that comes in: how much, what its label and ticket say, and what it has lived through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core import rollmap
from inventory.core.codes import MAX_CHARS, visible
from inventory.core.durations import parse_duration
from inventory.core.labelfill import package
from inventory.core.packs import usual_kind
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.spans import duration, parse_date_text, start_of_day_us
from inventory.core.temperature import display_celsius, parse_celsius
from inventory.core.units import parse, to_stock
from inventory.models import LifeLimit, Material
from inventory.models.items import ItemKind
from inventory.properties import props_of

from .arriving_lots import LotDates
from .births import new_code
from .papers import ReceivedPiece
from .registry import Call

WARM_MC = 25_000
"""A workshop: the ceiling at which out time that only a label states is charged. Common practice, no source."""

KINDS = ("roll", "spool", "drum", "can", "box", "sheet")
_HISTORY = frozenset({"above", "fraction", "cycles", "heats"})
MOST_LABELS = 8
_YES = frozenset({"yes", "open", "opened"})


@dataclass(frozen=True, slots=True)
class OnePiece:
    """A piece, read. `name`: what the record calls it until it has an id. `given`: the label it brought. `body`: what its
    leg tells the fold and keeps of the papers."""

    name: str
    mark: str
    given: str
    kind: str
    qty: int
    core_ug: int | None
    serial: str
    body: dict[str, Any]

    @property
    def waits(self) -> str:
        """What quality must look at besides the papers."""
        transport = self.body.get("transport")
        if not transport:
            return ""
        return "transport" + (say(": {us} too warm", us=duration(transport["us"])) if transport.get("us") else say(": too cold"))


def read_piece(
    call: Call, p: ReceivedPiece, material: Material, limits: Sequence[LifeLimit], dates: LotDates, opening: bool, name: str
) -> OnePiece:
    """BadInput from the field that was not understood, which `where` names."""
    reader = _Reader(call, p, material, limits, dates, opening)
    return OnePiece(
        name=f"piece{name}",
        mark=reader.line("mark", 40),
        given=new_code(call, name, p.code) if p.code.strip() else "",
        kind=reader.kind(),
        qty=reader.at("quantity", lambda: to_stock(p.quantity, None, props_of(material, material.unit)).value),
        core_ug=reader.at("core", lambda: parse(p.core, None, "ug", allow_zero=True)) if p.core.strip() else None,
        serial=reader.line("serial", 60),
        body=reader.body(),
    )


@dataclass(frozen=True, slots=True)
class _Reader:
    call: Call
    p: ReceivedPiece
    material: Material
    limits: Sequence[LifeLimit]
    dates: LotDates
    opening: bool

    def at(self, where: str, read: Any) -> Any:
        try:
            return read()
        except BadInput as error:
            error.where = where
            raise

    def line(self, name: str, most: int) -> str:
        text = visible(getattr(self.p, name))
        if len(text) > most:
            raise BadInput(
                f"piece.{name}_too_long",
                say("The {name} has {text} characters, {most} fit.", name=name, text=len(text), most=most),
                name,
                length=len(text),
            )
        return text

    def kind(self) -> str:
        said = self.p.kind.strip().casefold()
        if not said:
            return usual_kind(self.material.kind, self.material.unit)
        if said not in KINDS:
            raise BadInput("piece.kind", say("Say what comes in as one of {kinds}.", kinds=strung(", ", KINDS)), "kind")
        return str(ItemKind(said))

    @property
    def lines_mc(self) -> list[int]:
        """Temperatures above which out time runs."""
        return [limit.threshold_mc for limit in self.limits if limit.threshold_mc is not None and limit.clock == "above"]

    @property
    def warm_mc(self) -> int:
        """Warmer than every line, so that what a label calls out time counts as such."""
        return max([WARM_MC, *(line + 1000 for line in self.lines_mc)])

    def body(self) -> dict[str, Any]:
        body: dict[str, Any] = {"declared_mc": self.material.declared_mc, "entered": self.p.quantity.strip()[:64]}
        if self.p.marks:
            body["marks"] = self.at("marks", self._marks)
        out_us = self.at("out_time", lambda: parse_duration(self.p.out_time)) if self.p.out_time.strip() else None
        transport = self._transport()
        spent: dict[int, int] = {}
        if out_us:
            spent[self.warm_mc] = out_us
            body["out_us"] = out_us
        if transport:
            body["transport"] = transport
            if transport["us"]:
                ceiling = transport.get("warmest_mc", self.warm_mc)
                spent[ceiling] = spent.get(ceiling, 0) + transport["us"]
        if spent:
            body["extra"] = [[ceiling, us] for ceiling, us in sorted(spent.items())]
        self._not_older_than_made(sum(spent.values()))
        if self.opening and out_us is None and any(limit.clock in _HISTORY for limit in self.limits):
            body["unknown"] = True
        body |= self._label()
        opened = self._opened()
        return body | ({"opened_us": opened} if opened is not None else {})

    def _label(self) -> dict[str, Any]:
        """What the supplier's labels were, as they were scanned, and which package of how many it is."""
        out: dict[str, Any] = {}
        if self.p.package.strip():
            out["package"] = list(package(self.p.package))
        if len(self.p.labels) > MOST_LABELS or any(len(label) > MAX_CHARS for label in self.p.labels):
            raise BadInput(
                "piece.labels",
                say(
                    "One piece has at most {most_labels} labels of {max_chars} characters each.",
                    most_labels=MOST_LABELS,
                    max_chars=MAX_CHARS,
                ),
                "labels",
            )
        if self.p.labels:
            out["labels"] = list(self.p.labels)
        return out

    def _marks(self) -> list[list[Any]]:
        if self.material.unit != "um":
            raise BadInput(
                "roll.map_not_a_roll", say("{material} is not kept by length: it has no map.", material=self.material.code), "marks"
            )
        if self.p.marks_from not in ("outer", "inner"):
            raise BadInput("roll.map_from", say("Say from which end the ticket measures: outer or inner."), "marks_from")
        length = self.at("quantity", lambda: to_stock(self.p.quantity, None, props_of(self.material, "um")).value)
        rows = []
        for mark in self.p.marks:
            start = parse(mark.at, None, "um", allow_zero=True)
            if mark.kind == "bad" and not mark.end.strip():
                raise BadInput("roll.bad_without_end", say("Say where the bad span ends as well."), "marks")
            rows.append((start, parse(mark.end, None, "um") if mark.end.strip() else start, mark.kind))
        return [list(mark) for mark in rollmap.read_marks(length, rows, "outer" if self.p.marks_from == "outer" else "inner")]

    def _transport(self) -> dict[str, int] | None:
        """What the logger read on the way, when it needs quality's eye."""
        us = self.at("transport", lambda: parse_duration(self.p.transport)) if self.p.transport.strip() else 0
        warmest = self.at("warmest", lambda: parse_celsius(self.p.warmest, "°C")) if self.p.warmest.strip() else None
        coldest = self.at("coldest", lambda: parse_celsius(self.p.coldest, "°C")) if self.p.coldest.strip() else None
        if warmest is not None and coldest is not None and coldest > warmest:
            raise BadInput(
                "transport.order", say("The coldest reading is above the warmest: they may be in each other's place."), "coldest"
            )
        line = min(self.lines_mc, default=None)
        if us and warmest is not None and line is not None and warmest <= line:
            text = say(
                "The logger read {warmest} at most; the line is {line}: no time was above it.",
                warmest=display_celsius(warmest),
                line=display_celsius(line),
            )
            raise BadInput("transport.below_line", text, "transport", warmest_mc=warmest, line_mc=line)
        if not us and warmest is not None and line is not None and warmest > line:
            text = say(
                "The logger read {warmest}: say for how long it was above {line}.",
                warmest=display_celsius(warmest),
                line=display_celsius(line),
            )
            raise BadInput("transport.time_needed", text, "transport", warmest_mc=warmest, line_mc=line)
        least = self.material.min_store_mc
        if not us and (coldest is None or least is None or coldest >= least):
            return None
        found = {"us": us, "warmest_mc": warmest, "coldest_mc": coldest}
        return {name: value for name, value in found.items() if value is not None}

    def _not_older_than_made(self, spent_us: int) -> None:
        made = self.dates.said_made_us if self.dates.said_made_us is not None else self.dates.made_us
        if made is not None and spent_us > self.call.at_us - made:
            text = say(
                "{spent} out is longer than it is old ({at}): read the label again.",
                spent=duration(spent_us),
                at=duration(self.call.at_us - made),
            )
            raise BadInput("piece.out_longer_than_made", text, "out_time", out_us=spent_us, age_us=self.call.at_us - made)

    def _opened(self) -> int | None:
        """When it was first opened; None: it is not open."""
        said = self.p.opened.strip()
        if not said or said.casefold() in ("no", "closed"):
            return None
        made = self.dates.made_us
        if said.casefold() in _YES:
            if made is None and any(limit.clock == "opened" for limit in self.limits):
                text = say("It is open, and its life counts from then: type the day when it was opened, or the day it was made.")
                raise BadInput("piece.opened_needed", text, "opened")
            return self.call.at_us if made is None else made  # the longest that it can have been open
        day = self.at("opened", lambda: parse_date_text(said))
        opened = start_of_day_us(day.last_day.replace(day=day.day or 1), self.call.who.zone)
        if opened > self.call.at_us:
            raise BadInput("date.future", say("Opened on {day} lies in the future: read it again.", day=day), "opened", opened=str(day))
        if made is not None and opened < made:
            raise BadInput(
                "date.before_manufacture", say("Opened on {day}, before it was made: read it again.", day=day), "opened", opened=str(day)
            )
        return int(opened)
