"""Many rows at once, from a CSV or XLSX file: looked at first, then recorded whole or not at all.

`plan_import` reads a file and says of every row what would become of it; it writes nothing and locks nothing. `run_import`
records what was planned in one transaction, through the same verb as a form, under a key that follows from the file: the
same file twice counts once."""

from __future__ import annotations

import hashlib
import uuid
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from inventory.core import table
from inventory.core.lots import number_key
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.table import Column, Row
from inventory.models import Act
from inventory.recording import Transaction
from inventory.verbs.arrival_rules import rules, two_dates
from inventory.verbs.arrivals import Arrival, Rows, read_receive, read_stock
from inventory.verbs.arriving_lots import LotDates
from inventory.verbs.papers import OpenStock, Receive, ReceivedLot, ReceivedPiece, ReceiveMany
from inventory.verbs.registry import Call, Outcome, perform
from inventory.workbooks import read_workbook

MAX_BYTES = 5_000_000
KEYS = uuid.UUID("0b0f1f5e-8c1e-5f0a-9a55-5e1fed6e0001")
"""Keys of imports are made from the file's hash in this namespace."""

_PIECE = ("mark", "code", "serial", "kind", "core", "out_time", "transport", "warmest", "coldest", "opened")
_GROUP = ("delivery", "material", "supplier", "order", "place", "owner")
_LOT = ("lot", "made", "printed")


@dataclass(frozen=True, slots=True)
class Mapping:
    """What the user says about the table. `columns`: {heading, or column number from 1: field, or "" for nothing};
    `defaults`: what every row says that has no such cell ({"delivery": "D-120"})."""

    columns: dict[str, str] = field(default_factory=dict)
    defaults: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Problem:
    """What stands against a row, and under which heading ("" for the row as a whole)."""

    column: str
    reason: Reason


@dataclass(frozen=True, slots=True)
class PlannedRow:
    """A row by the number that a spreadsheet shows, what it says by field, and what stands against it."""

    number: int
    values: dict[str, str]
    problems: tuple[Problem, ...] = ()

    @property
    def ok(self) -> bool:
        return not self.problems


@dataclass(frozen=True, slots=True)
class Plan:
    """What would become of a file. `reasons` concern the whole of it; `done`: it was imported before."""

    name: str
    sha256: str
    encoding: str
    delimiter: str
    columns: tuple[Column, ...]
    rows: tuple[PlannedRow, ...]
    reasons: tuple[Reason, ...]
    notes: tuple[str, ...]
    params: ReceiveMany
    key: uuid.UUID
    done: bool = False

    @property
    def ok(self) -> bool:
        return bool(self.rows) and not self.reasons and all(row.ok for row in self.rows)


def plan_import(data: bytes, name: str, mapping: Mapping | None, call: Call, into: str = "receive") -> Plan:
    """A dry run: every row with every reason. `into`: "receive" or "open_stock".

    Raises BadInput import.empty, .too_big, .not_a_table, .old_workbook, .encoding, .broken, .too_many_rows,
    .too_many_columns, .too_much_inside, .formula (in a workbook), .two_columns, .unknown_field, .unknown_column."""
    mapping = mapping or Mapping()
    _known_defaults(mapping)
    rows, encoding, delimiter, notes = read_table(data)
    header, body = rows[0], rows[1:]
    columns = table.columns_of(header.cells, mapping.columns)
    notes += table.notes_of(columns)
    sha = hashlib.sha256(data).hexdigest()
    key = uuid.uuid5(KEYS, f"{call.who.site} {into} {sha}")
    done = Act.objects.filter(site=call.who.site, key=key).exists()
    reasons = _missing(columns, mapping, into) + (
        [] if body else [Reason("import.no_rows", say("There is a heading, and no row below it."))]
    )
    planner = _Planner(call, into, columns, mapping)
    planned = planner.rows(body, judge=not done and not reasons)
    if done:
        notes.append(say("This file was imported before: doing it again changes nothing."))
    return Plan(name, sha, encoding, delimiter, tuple(columns), tuple(planned), tuple(reasons), tuple(notes), planner.params(), key, done)


def run_import(plan: Plan, call: Call) -> Outcome:
    """Record a plan, all of it or nothing; the same plan again gives the same answer. Raises BadInput import.not_ready, and
    Refused when something has changed since the dry run."""
    if not plan.ok:
        wrong = sum(not row.ok for row in plan.rows)
        text = say(
            "{wrong} of {rows} rows cannot be recorded: correct them, and hand the file in again. Nothing was recorded.",
            wrong=wrong,
            rows=len(plan.rows),
        )
        raise BadInput("import.not_ready", text, "file", rows=len(plan.rows), wrong=wrong)
    return perform("receive_many", replace(call, key=plan.key), plan.params)


def read_table(data: bytes) -> tuple[list[Row], str, str, list[str]]:
    """The rows of a file with its heading first, and how it was read: (rows, encoding, delimiter, notes)."""
    if not data.strip():
        raise BadInput("import.empty", say("The file is empty: save it again, and hand it in again."), "file")
    if len(data) > MAX_BYTES:
        text = say(
            "The file has {data} MB; {max_bytes} MB at most are read. Divide it.",
            data=f"{len(data) / 1000000.0:.1f}",
            max_bytes=MAX_BYTES // 10**6,
        )
        raise BadInput("import.too_big", text, "file", size=len(data), most=MAX_BYTES)
    if data.startswith(b"PK\x03\x04"):
        rows, encoding, delimiter, notes = read_workbook(data), "XLSX", "", []
    elif data.startswith(b"\xd0\xcf\x11\xe0"):
        raise BadInput(
            "import.old_workbook", say("This is a workbook of the old kind (.xls) or locked: save it as .xlsx without a password."), "file"
        )
    elif data.startswith((b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"<!DOCTYPE", b"<html", b"{\\rtf")):
        raise BadInput("import.not_a_table", say("This is not a table: hand in a CSV or XLSX file."), "file")
    else:
        decoded = table.decode(data)
        delimiter = table.delimiter_of(decoded.text)
        rows, encoding = table.read_csv(decoded.text, delimiter), decoded.encoding
        notes = [decoded.note] if decoded.note else []
    if not rows:
        raise BadInput("import.empty", say("There is nothing in the file: the first row is the heading, the rows follow below."), "file")
    return rows, encoding, delimiter, notes


def _known_defaults(mapping: Mapping) -> None:
    for name in mapping.defaults:
        if name not in table.FIELDS:
            raise BadInput(
                "import.unknown_field",
                say("“{name}” is nothing that a row says. Known: {fields}.", name=name[:40], fields=strung(", ", table.FIELDS)),
                "mapping",
            )


def _missing(columns: Sequence[Column], mapping: Mapping, into: str) -> list[Reason]:
    """Fields that no column and no default gives, and without which no row can be read."""
    there = {c.field for c in columns} | {name for name, value in mapping.defaults.items() if value.strip()}
    needed = ["quantity", "material"] if into == "open_stock" else ["delivery", "lot", "quantity"]
    lacking = [name for name in needed if name not in there]
    if not lacking:
        return []
    text = say("No column was found for {lacking}: say which it is, or give one value for all rows.", lacking=strung(", ", lacking))
    return [Reason("import.columns_missing", text, {"missing": strung(", ", lacking)})]


@dataclass
class _Planner:
    """Turns rows into what the receiving verb is told, and asks its reading and its rules about each."""

    call: Call
    into: str
    columns: Sequence[Column]
    mapping: Mapping
    groups: dict[tuple[str, ...], dict[tuple[str, ...], list[tuple[Row, ReceivedPiece]]]] = field(default_factory=dict)

    def rows(self, body: Sequence[Row], judge: bool) -> list[PlannedRow]:
        known = Rows(self.call)
        problems: dict[int, list[Problem]] = defaultdict(list)
        values: dict[int, dict[str, str]] = {}
        for row in body:
            said = self.mapping.defaults | table.said_by(row, self.columns)
            values[row.number] = said
            problems[row.number] += [Problem(column, reason) for column, reason in table.problems_of(row, self.columns)]
            piece = _piece(said)
            self._group(said).append((row, piece))
            if judge and not problems[row.number]:
                try:
                    self._read(said, (piece,), known)
                except BadInput as error:
                    problems[row.number].append(self._problem(error))
        if judge:
            self._twice(body, values, problems)
            self._rules(known, problems)
        return [PlannedRow(row.number, values[row.number], tuple(problems[row.number])) for row in body]

    def _group(self, said: dict[str, str]) -> list[tuple[Row, ReceivedPiece]]:
        group = self.groups.setdefault(tuple(said.get(name, "") for name in _GROUP), {})
        return group.setdefault(tuple(said.get(name, "") for name in _LOT), [])

    def _read(self, said: dict[str, str], pieces: tuple[ReceivedPiece, ...], known: Rows) -> Arrival:
        lot = ReceivedLot(said.get("lot", ""), pieces, said.get("made", ""), said.get("printed", ""))
        told = self._told({name: said.get(name, "") for name in _GROUP}, (lot,))
        return read_receive(self.call, told, known) if isinstance(told, Receive) else read_stock(self.call, told, known)

    def _told(self, said: dict[str, str], lots: tuple[ReceivedLot, ...]) -> Receive | OpenStock:
        if self.into == "open_stock":
            return OpenStock(said["material"], lots, said["supplier"], said["place"], said["owner"])
        return Receive(said["delivery"], lots, said["supplier"], said["material"], said["place"], said["owner"], said["order"])

    def all(self) -> list[tuple[Receive | OpenStock, list[Row]]]:
        """What the verb is told, delivery by delivery, with the rows that it comes from."""
        out = []
        for key, lots in self.groups.items():
            told = tuple(ReceivedLot(lot[0], tuple(p for _, p in pieces), lot[1], lot[2]) for lot, pieces in lots.items())
            rows = [row for pieces in lots.values() for row, _ in pieces]
            out.append((self._told(dict(zip(_GROUP, key, strict=True)), told), rows))
        return out

    def params(self) -> ReceiveMany:
        told = [group for group, _ in self.all()]
        return ReceiveMany(tuple(g for g in told if isinstance(g, Receive)), tuple(g for g in told if isinstance(g, OpenStock)))

    def _problem(self, error: BadInput) -> Problem:
        column = next((c.header for c in self.columns if c.field == error.where), "")
        return Problem(column, error.reason)

    def _twice(self, body: Sequence[Row], values: dict[int, dict[str, str]], problems: dict[int, list[Problem]]) -> None:
        """One mark, one label: in the whole file."""
        for name in ("mark", "code"):
            first: dict[str, int] = {}
            column = next((c.header for c in self.columns if c.field == name), "")
            for row in body:
                text = values[row.number].get(name, "").strip().casefold()
                if text and text in first:
                    said = say(
                        "{values} stands in row {first} already: every piece has its own {name}.",
                        values=values[row.number][name],
                        first=first[text],
                        name=name,
                    )
                    problems[row.number].append(Problem(column, Reason(f"receive.{name}_twice", said, {"row": first[text]})))
                elif text:
                    first[text] = row.number

    def _rules(self, known: Rows, problems: dict[int, list[Problem]]) -> None:
        """The rules of receiving, asked without a lock, of every group that could be read."""
        tx = Transaction(self.call.who, self.call.now_us, exclusive=True)
        dates: dict[tuple[int, int, str], LotDates] = {}
        for told, rows in self.all():
            if any(problems[row.number] for row in rows):
                continue
            try:
                arrival = read_receive(self.call, told, known) if isinstance(told, Receive) else read_stock(self.call, told, known)
            except BadInput as error:
                for row in rows:
                    problems[row.number].append(self._problem(error))
                continue
            for reason in (*self._dates(arrival, dates), *(reason for rule in rules(self.call, arrival) for reason in rule(tx))):
                for row in self._concerned(reason, rows):
                    problems[row.number].append(Problem(self._heading(reason), reason))

    def _dates(self, arrival: Arrival, seen: dict[tuple[int, int, str], LotDates]) -> Iterator[Reason]:
        """A new lot has one day of manufacture, also across deliveries of one file."""
        for lot in arrival.lots:
            first = seen.setdefault((arrival.supplier.pk, arrival.material.pk, number_key(lot.number)), lot.dates)
            if lot.row is None and first != lot.dates:
                yield two_dates(lot)

    def _concerned(self, reason: Reason, rows: Sequence[Row]) -> Sequence[Row]:
        """The rows that a rule speaks of: the one with that mark or lot, else all of the group."""
        for name in ("mark", "lot"):
            given = reason.numbers.get(name)
            place = next((c.index for c in self.columns if c.field == name), None)
            if given and place is not None:
                same = [row for row in rows if place < len(row.cells) and row.cells[place].casefold() == str(given).casefold()]
                if same:
                    return same
        return rows

    def _heading(self, reason: Reason) -> str:
        family = reason.code.split(".")[0]
        wanted = {"receive": "mark", "lot": "made" if "made" in reason.code else "printed", "place": "place", "delivery": "delivery"}.get(
            family
        )
        return next((c.header for c in self.columns if c.field == wanted), "")


def _piece(said: dict[str, str]) -> ReceivedPiece:
    quantity, unit = said.get("quantity", ""), said.get("unit", "")
    has_unit = not unit or any(ch.isalpha() for ch in quantity)
    values: dict[str, Any] = {name: said[name] for name in _PIECE if name in said}
    return ReceivedPiece(quantity if has_unit else f"{quantity} {unit}", **values)
