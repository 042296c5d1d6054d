"""From what was said about goods that come in to rows and base units: read and checked field by field.

What cannot be understood is BadInput, whose `where` names the field. What is understood but not allowed is for
`arrival_rules`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, TypeVar

from inventory.core.lots import lot_number
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.models import Customer, Delivery, LifeLimit, LifeSpec, Location, Lot, Material, Supplier

from . import resolve
from .arriving_lots import LotDates, read_dates
from .arriving_pieces import OnePiece, read_piece
from .lots import live_lots
from .papers import OpenStock, Receive, ReceivedLot
from .registry import Call

T = TypeVar("T")
NUMBER_CHARS = 40


@dataclass(frozen=True, slots=True)
class OneLot:
    """A lot of an arrival: `row` when it is known already."""

    number: str
    row: Lot | None
    dates: LotDates
    pieces: tuple[OnePiece, ...]


@dataclass(frozen=True, slots=True)
class Arrival:
    """Goods that come in, resolved. `number` "" for opening stock; `delivery` None when it was not expected."""

    number: str
    order: str
    delivery: Delivery | None
    supplier: Supplier
    material: Material
    spec: int | None
    limits: tuple[LifeLimit, ...]
    place: Location | None
    owner: Customer | None
    lots: tuple[OneLot, ...]

    @property
    def opening(self) -> bool:
        return not self.number

    @property
    def pieces(self) -> list[OnePiece]:
        return [piece for lot in self.lots for piece in lot.pieces]


@dataclass
class Rows:
    """Looks rows up by what was said, each once: a file of 2 000 rows names the same few materials."""

    call: Call
    known: dict[tuple[Any, ...], Any] = field(default_factory=dict)

    def once(self, what: str, text: object, find: Callable[[], T]) -> T:
        key = (what, text)
        if key not in self.known:
            try:
                self.known[key] = find()
            except BadInput as error:
                self.known[key] = error
        found = self.known[key]
        if isinstance(found, BadInput):
            raise BadInput(found.reason.code, found.reason.text, found.where, **found.reason.numbers)
        return found

    def material(self, text: str) -> Material:
        return self.once("material", text, lambda: resolve.material_of(text))

    def supplier(self, text: str) -> Supplier:
        return self.once("supplier", text, lambda: resolve.supplier_of(text))

    def place(self, text: str) -> Location:
        return self.once("place", text, lambda: resolve.place_of(self.call, text))

    def owner(self, text: str) -> Customer:
        with at_field("owner"):
            return self.once("owner", text, lambda: resolve.customer_of(text))

    def delivery(self, number: str) -> Delivery | None:
        def find() -> Delivery | None:
            rows = Delivery.objects.select_related("supplier", "material")
            return rows.filter(site=self.call.who.site, number__iexact=number).first()

        return self.once("delivery", number, find)

    def spec(self, material: Material) -> tuple[int | None, tuple[LifeLimit, ...]]:
        """The newest specification of a material, and its limits: what a lot that arrives now is bound to."""

        def find() -> tuple[int | None, tuple[LifeLimit, ...]]:
            row = LifeSpec.objects.filter(material=material).order_by("-version").first()
            return (row.pk, tuple(row.limits.order_by("name"))) if row else (None, ())

        return self.once("spec", material.pk, find)

    def lot(self, supplier: Supplier, material: Material, number: str) -> Lot | None:
        def find() -> Lot | None:
            return live_lots(self.call.who.site, number).filter(supplier=supplier, material=material).first()

        return self.once("lot", (supplier.pk, material.pk, number), find)


@contextmanager
def at_field(name: str) -> Iterator[None]:
    """Names the field in which something was not understood."""
    try:
        yield
    except BadInput as error:
        error.where = name
        raise


def read_receive(call: Call, p: Receive, rows: Rows | None = None) -> Arrival:
    """A delivery. BadInput delivery.number_needed, .number_too_long, material.needed, supplier.needed, and what the
    fields themselves raise."""
    rows = rows or Rows(call)
    number = " ".join(p.delivery.split())
    if not number:
        raise BadInput("delivery.number_needed", say("Give the delivery's number: the supplier's delivery note has one."), "delivery")
    if len(number) > NUMBER_CHARS or not number.isprintable():
        raise BadInput(
            "delivery.number_too_long",
            say("A delivery's number has at most {number_chars} printable characters.", number_chars=NUMBER_CHARS),
            "delivery",
        )
    expected = rows.delivery(number)
    if not p.material.strip() and expected is None:
        text = say("Delivery {number} was not expected: say which material it is.", number=number)
        raise BadInput("material.needed", text, "material")
    material = rows.material(p.material) if p.material.strip() or expected is None else expected.material
    said = p.supplier.strip()
    usual = expected.supplier if expected else material.supplier
    return _arrival(rows, p, number, expected, material, rows.supplier(said) if said else usual)


def read_stock(call: Call, p: OpenStock, rows: Rows | None = None) -> Arrival:
    """Opening stock. BadInput material.needed, supplier.needed, and what the fields themselves raise."""
    rows = rows or Rows(call)
    if not p.material.strip():
        raise BadInput("material.needed", say("Say which material it is."), "material")
    material = rows.material(p.material)
    return _arrival(rows, p, "", None, material, rows.supplier(p.supplier) if p.supplier.strip() else material.supplier)


def _arrival(
    rows: Rows, p: Receive | OpenStock, number: str, expected: Delivery | None, material: Material, supplier: Supplier | None
) -> Arrival:
    if supplier is None:
        raise BadInput("supplier.needed", say("Say who supplied it: {material} has no usual supplier.", material=material.code), "supplier")
    if not p.lots or not any(lot.pieces for lot in p.lots):
        raise BadInput("receive.nothing", say("Nothing is listed: scan at least one piece."), "lots")
    spec, limits = rows.spec(material)
    order = p.order.strip()[:NUMBER_CHARS] if isinstance(p, Receive) else ""
    place = rows.place(p.place) if p.place.strip() else None
    owner = rows.owner(p.owner) if p.owner.strip() else None
    arrival = Arrival(number, order, expected, supplier, material, spec, limits, place, owner, ())
    lots = tuple(lot for n, said in enumerate(p.lots) for lot in _lots(rows, arrival, said, n))
    _once_each(lots)
    return Arrival(number, order, expected, supplier, material, spec, limits, place, owner, lots)


def _lots(rows: Rows, into: Arrival, said: ReceivedLot, n: int) -> Iterator[OneLot]:
    """The lot that was said; in opening stock, pieces whose lot nobody knows are a lot each."""
    if said.number.strip() or not into.opening:
        yield _lot(rows, into, said, said.number, str(n))
        return
    for i, piece in enumerate(said.pieces):
        name = piece.mark or piece.code or f"{rows.call.key.hex[:8]}-{n}-{i}"
        yield _lot(rows, into, ReceivedLot("", (piece,), said.made, said.printed), say("unknown, {name}", name=name), f"{n}.{i}")


def _lot(rows: Rows, into: Arrival, said: ReceivedLot, number: str, name: str) -> OneLot:
    with at_field("lot"):
        if not number.strip() and into.material.grade == "box":
            number = into.number  # nobody numbers a box of gloves: the delivery stands in for the lot
        number = lot_number(number)
    row = rows.lot(into.supplier, into.material, number)
    dates = read_dates(rows.call, said, into.limits, row)
    pieces = tuple(
        read_piece(rows.call, piece, into.material, into.limits, dates, into.opening, f"{name}.{i}") for i, piece in enumerate(said.pieces)
    )
    return OneLot(number, row, dates, pieces)


def _once_each(lots: tuple[OneLot, ...]) -> None:
    """No mark, no label, and no serial number of a lot twice in one go."""
    for what, names in (
        ("mark", [piece.mark for lot in lots for piece in lot.pieces if piece.mark]),
        ("code", [piece.given for lot in lots for piece in lot.pieces if piece.given]),
    ):
        seen: set[str] = set()
        for name in names:
            if name.casefold() in seen:
                raise BadInput(
                    f"receive.{what}_twice",
                    say("{name} is listed twice: every piece has its own {what}.", name=name, what=what),
                    what,
                    given=name,
                )
            seen.add(name.casefold())
    for lot in lots:
        serials = [piece.serial.casefold() for piece in lot.pieces if piece.serial]
        twice = next((serial for n, serial in enumerate(serials) if serial in serials[:n]), None)
        if twice is not None:
            text = say("Serial number {twice} of lot {lot} is listed twice: one of them is another piece.", twice=twice, lot=lot.number)
            raise BadInput("receive.serial_twice", text, "serial", given=twice)
