"""How a supplier's labels are known, told once and remembered: "this label is from …, it is this material".

Not a thing that happened to stock: it is kept beside the materials, with who told it and when; what no longer holds is ended, never
deleted."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import IntegrityError, transaction

from inventory.core.codes import visible
from inventory.core.gs1_table import checks
from inventory.core.meanings import meanings
from inventory.core.patterns import match, pattern
from inventory.core.reading import Reading, read
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import local_date
from inventory.models import KnownBy, SupplierLabel

from .registry import OWNER, QUALITY, STOREKEEPER, Call, Outcome, refuse, verb
from .resolve import material_of, supplier_of

MAX_VALUE = 60


@dataclass(frozen=True, slots=True)
class KnowLabel:
    """`supplier` and `material`: whose label it is, and of what. `raw`: a scan of it, as it came. `known_by`: gtin, part or pattern;
    empty: the article number or the part number that the scan gives. `value`: the number, or the pattern ("GF{lot}/E{expires:DDMMYY}");
    empty: as in the scan. `means`: what this supplier's identifiers mean where they differ ("T=serial; 9D=made DDMMYY")."""

    supplier: str
    material: str
    raw: str = ""
    known_by: str = ""
    value: str = ""
    means: str = ""


@dataclass(frozen=True, slots=True)
class ForgetLabel:
    """`label`: the number of the entry that no longer holds. It stays to be read, and counts no more."""

    label: int


@verb("know_label", KnowLabel, (STOREKEEPER, QUALITY, OWNER), say("Remember a supplier's label"), observable=False)
def know_label(call: Call, p: KnowLabel) -> Outcome:
    for name in ("supplier", "material"):
        if not getattr(p, name).strip():
            raise BadInput(f"{name}.needed", say("Say which {name} this label is of.", name=name), name)
    supplier, material = supplier_of(p.supplier), material_of(p.material)
    known_by, value = _known(p, local_date(call.now_us, call.who.zone).year)
    meanings(p.means)
    means = "; ".join(filter(None, (part.strip() for part in p.means.split(";"))))
    if len(means) > 200:
        raise BadInput("meaning.long", say("That is too long: say only what differs from the standard."), "means")
    there = SupplierLabel.objects.select_related("material", "supplier").filter(
        supplier=supplier, known_by=known_by, value=value, ended_us=None
    )
    try:
        with transaction.atomic():
            row = there.first() or SupplierLabel.objects.create(
                supplier=supplier,
                material=material,
                known_by=known_by,
                value=value,
                means=means,
                told_by_id=call.who.person,
                told_us=call.now_us,
            )
    except IntegrityError:  # somebody told the same at the same moment
        row = there.get()
    if row.material_id != material.pk or row.means != means:
        text = say(
            "{value} from {supplier} is remembered as {material} already: end that first, if it no longer holds.",
            value=value,
            supplier=supplier,
            material=row.material.code,
        )
        refuse(call, "know_label", p, Reason("label.known", text, {"label": row.pk, "material": row.material.code}))
    text = say(
        "Remembered: labels of {supplier} with {value} ({get_known_by_display}) are {material}.",
        supplier=supplier,
        value=value,
        get_known_by_display=row.get_known_by_display(),
        material=material.code,
    )
    return Outcome(text, [], {"label": row.pk, "known_by": known_by, "value": value})


def _known(p: KnowLabel, this_year: int) -> tuple[str, str]:
    """By what, and the value in the form in which it is kept."""
    reading = read(p.raw, this_year, bare=True)
    said, value = p.known_by.strip().casefold(), p.value.strip(" ")
    if said == KnownBy.PATTERN:
        return said, _pattern(p, reading, this_year)
    given = {"gtin": reading.facts.gtin, "part": reading.facts.part or reading.facts.customer_part}
    if not said:
        said = "gtin" if given["gtin"] else "part"
        if not value and not given[said]:
            text = say("The scan gives neither an article number nor a part number: say how the label is built instead.")
            raise BadInput("label.no_number", text, "known_by")
    if said not in given:
        raise BadInput("label.known_by", say("A label is known by gtin, part or pattern."), "known_by")
    value = value or given[said]
    if said == "gtin":
        if len(value) not in (8, 12, 13, 14) or not checks(value):
            raise BadInput(
                "label.gtin", say("An article number has 8, 12, 13 or 14 digits, the last a check digit: read it again."), "value"
            )
        return said, value.zfill(14)
    if not value or len(value) > MAX_VALUE or visible(value) != value:
        raise BadInput("label.part", say("A part number has at most {max_value} printable characters.", max_value=MAX_VALUE), "value")
    return said, value


def _pattern(p: KnowLabel, reading: Reading, this_year: int) -> str:
    wanted = pattern(p.value)
    if p.raw.strip() and match(p.raw.strip(" \t\r\n"), wanted, this_year) is None:
        raise BadInput(
            "pattern.no_match",
            say("The pattern does not fit what was scanned, “{reading}”: change it.", reading=reading.text[:80]),
            "value",
        )
    return wanted.said


@verb("forget_label", ForgetLabel, (STOREKEEPER, QUALITY, OWNER), say("End what is remembered of a label"), observable=False)
def forget_label(call: Call, p: ForgetLabel) -> Outcome:
    row = SupplierLabel.objects.select_related("supplier").filter(pk=p.label).first() if 0 < p.label < 2**63 else None
    if row is None:
        raise BadInput("label.unknown", say("There is no such entry: look at the list."), "label")
    SupplierLabel.objects.filter(pk=row.pk, ended_us=None).update(ended_us=call.now_us, ended_by_id=call.who.person)
    return Outcome(say("Ended: {value} from {supplier} is no longer known.", value=row.value, supplier=row.supplier), [], {"label": row.pk})
