"""What the supplier's papers state (R6), for a lot or for a single piece. Stored whatever it says: values out of their
limits are shown and stand against release, they are not refused."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from inventory.attachments import of_record
from inventory.core.certificates import Line as PaperLine
from inventory.core.codes import visible
from inventory.core.numerals import leading_number, shown
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.models import Act, CertLimit, CertValue, Item, Lot
from inventory.reads.histories import cautions
from inventory.reads.release import judged, papers_of
from inventory.recording import Line, Transaction

from .lots import lot_of
from .registry import OWNER, QUALITY, STOREKEEPER, Call, Outcome, verb
from .resolve import item_of

NAME_CHARS, VALUE_CHARS = 60, 40


@dataclass(frozen=True, slots=True)
class PaperValue:
    """`name` as on the papers (areal mass), `value` as text ("203" or "203 g/m²"), `item`: the piece that it is for;
    empty: the whole lot."""

    name: str
    value: str
    item: str = ""


@dataclass(frozen=True, slots=True)
class Certify:
    """`lot`: the lot's number, or any piece of it. `attachment`: the SHA-256 of a file that was handed in before."""

    lot: str
    values: tuple[PaperValue, ...] = ()
    attachment: str = ""


@verb("certify", Certify, (STOREKEEPER, QUALITY, OWNER), say("Enter the papers"), observable=False)
def certify(call: Call, p: Certify) -> Outcome:
    lot = lot_of(call, p.lot)
    if not p.values and not p.attachment:
        raise BadInput("certificate.nothing", say("Enter at least one value, or hand in the certificate."), "values")
    file = of_record(p.attachment)
    values = [_read(call, lot, value) for value in p.values]
    _once_each(values)
    pieces = {item.pk: item for item, _, _ in values if item is not None}

    def keep(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        CertValue.objects.bulk_create(CertValue(lot=lot.item, item=item, name=name, value=value, act=act) for item, name, value in values)

    body: dict[str, Any] = {"values": [[str(item or ""), name, value] for item, name, value in values], **file}
    lines = [Line(lot.pk), *(Line(pk) for pk in pieces)]
    receipts = call.record([call.claim("certify", lines, p, body=body, effects=(keep,))], "certify")
    return _outcome(lot, receipts, [(name, value) for _, name, value in values])


def _read(call: Call, lot: Lot, said: PaperValue) -> tuple[Item | None, str, str]:
    name = " ".join(visible(said.name).split())
    if not name or len(name) > NAME_CHARS:
        raise BadInput("certificate.name", say("Say which value it is, in at most {name_chars} characters.", name_chars=NAME_CHARS), "name")
    item = item_of(call, said.item) if said.item.strip() else None
    if item is not None and item.lot_id != lot.pk:
        text = say("{item} is not of lot {lot}: enter its values with its own lot.", item=item, lot=lot.number)
        raise BadInput("certificate.other_lot", text, "item", item=item.pk)
    limit = CertLimit.objects.filter(material=lot.material_id, name__iexact=name).first()
    return item, limit.name if limit else name, _value(said.value, limit)


def _value(text: str, limit: CertLimit | None) -> str:
    """The value as text, without its unit when that is the one that the limits are in."""
    trimmed = visible(text)
    if not trimmed or len(trimmed) > VALUE_CHARS:
        raise BadInput(
            "certificate.value",
            say("Type the value as on the papers, in at most {value_chars} characters.", value_chars=VALUE_CHARS),
            "value",
        )
    if limit is None:
        return trimmed
    try:
        _, rest = leading_number(trimmed, "certificate")
    except BadInput as error:
        error.where = "value"
        raise
    if rest and "".join(rest.split()).casefold() != "".join(limit.unit.split()).casefold():
        text = say(
            "{limit} is required in {limit_unit}; “{trimmed}” has {rest}. Convert it, or type the number alone.",
            limit=limit.name,
            limit_unit=limit.unit or say("no unit"),
            trimmed=shown(trimmed),
            rest=shown(rest),
        )
        raise BadInput("certificate.unit", text, "value", given=shown(rest), unit=limit.unit)
    return trimmed[: len(trimmed) - len(rest)].strip() if rest else trimmed


def _once_each(values: list[tuple[Item | None, str, str]]) -> None:
    seen: dict[tuple[int | None, str], int] = defaultdict(int)
    for item, name, _ in values:
        seen[(item.pk if item else None, name.casefold())] += 1
        if seen[(item.pk if item else None, name.casefold())] > 1:
            raise BadInput(
                "certificate.name_twice",
                say("{name} is given twice{item}: keep one.", name=name, item=say(" for {item}", item=item) if item else ""),
                "values",
            )


def _outcome(lot: Lot, receipts: list[Any], values: list[tuple[str, str]]) -> Outcome:
    """How the papers of the lot and its pieces stand now, and what is to be asked about them."""
    pieces = list(Item.objects.select_related("material").filter(lot=lot.pk, kind__in=PIECES, legs__act__kind="receive").distinct())
    lines = judged(pieces, papers_of(pieces))
    rows = [line_data(item, line) for item in pieces for line in lines[item.pk]]
    bad = sorted({say("{item}: {text}", item=row["item"], text=row["text"]) for row in rows if row["verdict"] == "outside"})
    text = say("Papers of lot {lot} entered. ", lot=lot.number) + (strung(" ", bad) if bad else say("What is stated is within its limits."))
    asked = cautions(lot, values) if values else []
    if asked:
        text += say(" To be asked: {reason}", reason=strung(" ", (reason.text for reason in asked)))
    told = [{"code": reason.code, "text": reason.text, "numbers": reason.numbers} for reason in asked]
    return Outcome(text, receipts, {"lot": lot.number, "lines": rows, "cautions": told})


PIECES = ("roll", "spool", "drum", "can", "box", "sheet")


def line_data(item: Item, line: PaperLine) -> dict[str, Any]:
    """One judged value as a door shows it."""
    numbers = line.reason.numbers if line.reason else {}
    return {
        "item": str(item),
        "name": line.name,
        "value": line.value,
        "verdict": line.verdict,
        "per_piece": bool(line.roll),
        "low": numbers.get("low"),
        "high": numbers.get("high"),
        "text": line.reason.text if line.reason else "",
    }
