"""What the papers of a material's lots stated, lot by lot in the order in which they came: for charts, for the newest lot beside those
before it, and for what is asked when papers are entered. Four statements for any number of lots."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.db.models import Exists, Min, OuterRef

from inventory.core import lotvalues, plausible
from inventory.core.lotvalues import LotValues
from inventory.core.numerals import leading_number
from inventory.core.plausible import Geometry
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.models import CertLimit, CertValue, Leg, Lot, Material


@dataclass(frozen=True, slots=True)
class LotValue:
    """One lot's value: the mean of its pieces' where each piece has one, else the lot's own. `texts`: as the papers state it; `value` None
    where that is no number in the unit of the others, and `why` says so."""

    lot: Lot
    received_us: int | None
    texts: tuple[str, ...]
    value: float | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class History:
    """One value of one material. `rows`: all lots, oldest first; `judged` is of those that have a number."""

    name: str
    unit: str
    low: str
    high: str
    rows: tuple[LotValue, ...]
    judged: LotValues = field(compare=False)

    @property
    def charted(self) -> list[LotValue]:
        return [row for row in self.rows if row.value is not None]


def histories(site: int, material: int) -> list[History]:
    """Every value that is required of a material or was ever stated of it: required ones first, the others by name."""
    limits = {_key(limit.name): limit for limit in CertLimit.objects.filter(material=material).order_by("pk")}
    stated, names = _stated(site, material)
    lots = _lots(site, material, {lot for by_lot in stated.values() for lot in by_lot})
    order = [*limits, *sorted(key for key in stated if key not in limits)]
    return [_history(names.get(key, ""), limits.get(key), stated.get(key, {}), lots) for key in order]


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


Stated = dict[str, dict[int, dict[int | None, str]]]


def _stated(site: int, material: int) -> tuple[Stated, dict[str, str]]:
    """Texts by name, lot and piece (None: the lot's own), the newest of each; and each name as it was last written."""
    found: Stated = defaultdict(lambda: defaultdict(dict))
    names: dict[str, str] = {}
    rows = CertValue.objects.filter(lot__site=site, lot__batch__material=material, act__voided_by__isnull=True).order_by("pk")
    for lot, item, name, text in rows.values_list("lot_id", "item_id", "name", "value"):
        found[_key(name)][lot][item] = text
        names[_key(name)] = name
    return found, names


def _lots(site: int, material: int, wanted: set[int]) -> list[tuple[Lot, int | None]]:
    """Lots that have values, in the order in which their first piece came; those that never came in by a receipt are last."""
    void = Leg.objects.filter(item=OuterRef("item_id"), act__kind="made", act__voided_by__isnull=False)
    rows = Lot.objects.filter(~Exists(void), item__site=site, material=material).select_related("item", "supplier")
    came = Leg.objects.filter(item__site=site, item__lot__batch__material=material, act__kind="receive", act__voided_by__isnull=True)
    first = dict(came.values_list("item__lot").annotate(first=Min("act__happened_us")).values_list("item__lot", "first"))
    found = [(lot, first.get(lot.pk)) for lot in rows if lot.pk in wanted]
    return sorted(found, key=lambda row: (row[1] is None, row[1] or 0, row[0].pk))


def _history(
    name: str, limit: CertLimit | None, stated: dict[int, dict[int | None, str]], lots: Sequence[tuple[Lot, int | None]]
) -> History:
    texts = [(lot, came, stated[lot.pk]) for lot, came in lots if lot.pk in stated]
    unit = limit.unit if limit is not None else _unit_of([text for _, _, by_piece in texts for text in by_piece.values()])
    rows = tuple(_row(lot, came, by_piece, unit) for lot, came, by_piece in texts)
    judged = lotvalues.lot_values([row.value for row in rows if row.value is not None])
    low, high = (limit.low, limit.high) if limit is not None else ("", "")
    return History(limit.name if limit is not None else name, unit, low, high, rows, judged)


def _unit_of(texts: Sequence[str]) -> str:
    """The unit of a value that nobody requires: that of the first text which is a number."""
    for text in texts:
        try:
            return leading_number(text, "certificate")[1]
        except BadInput:
            continue
    return ""


def _row(lot: Lot, came: int | None, by_piece: dict[int | None, str], unit: str) -> LotValue:
    pieces = [text for piece, text in by_piece.items() if piece is not None]
    texts = tuple(pieces or by_piece.values())
    try:
        values = [_number(text, unit) for text in texts]
    except BadInput as bad:
        return LotValue(lot, came, texts, None, bad.reason.text)
    return LotValue(lot, came, texts, math.fsum(values) / len(values))


def _number(text: str, unit: str) -> float:
    """BadInput where a text is no number, or one in another unit."""
    number, rest = leading_number(text, "certificate")
    if rest and "".join(rest.split()).casefold() != "".join(unit.split()).casefold():
        raise BadInput(
            "certificate.unit", say("It is in {rest}, not in {unit}: not charted.", rest=rest, unit=unit or say("no unit")), "value"
        )
    try:
        return float(number)
    except OverflowError:
        raise BadInput("certificate.not_a_number", say("It is too large to be charted."), "value") from None


# --- what is asked when papers are entered --------------------------------------------------------


def cautions(lot: Lot, values: Sequence[tuple[str, str]]) -> list[Reason]:
    """What is to be asked of papers that were just entered: `values` as (name, text), each against the threads of the material and against
    the lots that came before this one. Never a reason against recording them."""
    units = {_key(limit.name): limit.unit for limit in CertLimit.objects.filter(material=lot.material_id)}
    known = geometry_of(lot.material)
    said = [found for name, text in values if (found := plausible.caution(name, text, units.get(_key(name), ""), known)) is not None]
    wanted = {_key(name) for name, _ in values}
    for history in histories(lot.item.site_id, lot.material_id):
        if _key(history.name) in wanted:
            said += lotvalues.newest(history.name, _until(history, lot))
    return list({reason.text: reason for reason in said}.values())


def _until(history: History, lot: Lot) -> list[float]:
    """The values of the lots that came before this one, and its own; nothing when its own is no number."""
    charted = history.charted
    at = next((n for n, row in enumerate(charted) if row.lot.pk == lot.pk), None)
    return [] if at is None else [row.value for row in charted[: at + 1] if row.value is not None]


def geometry_of(material: Material) -> Geometry:
    return Geometry(
        kind=material.kind,
        filaments=material.filaments,
        filament_nm=material.filament_nm,
        fibre_mg_cm3=material.fibre_mg_cm3,
        ends_per_m=material.ends_per_m,
        picks_per_m=material.picks_per_m,
        tex_ug_m=material.tex_ug_m,
        fill_tex_ug_m=material.fill_tex_ug_m,
    )
