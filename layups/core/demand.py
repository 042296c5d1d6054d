"""What so many parts take of each material: from areas with what is lost in cutting, from a schedule's amounts, and the resin that
the plies drink.

Where a line has both an area and an amount in the schedule, the larger counts: buying less than either would leave somebody short.
Amounts are whole numbers of the material's stock unit, rounded up once for each line of one part.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.convert import MaterialProps, convert
from inventory.core.mixing import PPM, Recipe
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.stoichiometry import BatchSize, Layer, batch_size
from inventory.core.units import display

MAX_PARTS = 1_000
HALF = 500_000  # any share: where there is no fabric, nothing depends on it


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a design and what it takes of a material in one part. `stated`: the schedule's amount, in the stock unit of `props`.
    `one_piece`: it is cut from one stretch of a roll."""

    what: str
    code: str
    props: MaterialProps
    net_cmm2: int | None = None
    loss_ppm: int | None = None
    stated: int | None = None
    one_piece: bool = False


@dataclass(frozen=True, slots=True)
class Taken:
    """What a line takes in one part. `computed`: by its area and loss; `amount`: what counts, None where neither is known. `yield_ppm`:
    net area over the area of what is taken. `notes`: what does not fit, or is missing."""

    line: Line
    computed: int | None
    amount: int | None
    yield_ppm: int | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Order:
    """All that is needed of one material, in its stock unit. `sizes`: how many pieces of each length; empty where it may be made up of
    any."""

    code: str
    unit: str
    per_part: int
    whole: int
    sizes: Mapping[int, int]
    taken: tuple[Taken, ...]

    @property
    def notes(self) -> tuple[str, ...]:
        return tuple(note for one in self.taken for note in one.notes)


def take(line: Line) -> Taken:
    """One line, one part."""
    notes: list[str] = []
    computed = None
    if line.net_cmm2 is not None and line.loss_ppm is not None:
        try:
            gross = Fraction(line.net_cmm2 * PPM, PPM - line.loss_ppm)
            computed = math.ceil(convert(gross, "cmm2", line.props.unit, line.props))
        except BadInput as bad:
            notes.append(say("{what}, {line}: {bad_reason}", what=line.what, line=line.code, bad_reason=bad.reason.text))
    amount = max((a for a in (computed, line.stated) if a is not None), default=None)
    if amount is None:
        lacks = say("its net area") if line.net_cmm2 is None else say("what is lost in cutting")
        notes.append(
            say(
                "{what}, {line}: neither the schedule's amount nor {lacks} is known, so it is not in this list.",
                what=line.what,
                line=line.code,
                lacks=lacks,
            )
        )
    elif line.stated is not None and computed is not None and computed > line.stated:
        both = display(line.stated, line.props.unit), display(computed, line.props.unit)
        notes.append(
            say(
                "{what}, {line}: the schedule has {both}, but area and loss ask for {both_2}; the larger counts.",
                what=line.what,
                line=line.code,
                both=both[0],
                both_2=both[1],
            )
        )
    return Taken(line, computed, amount, _yield(line, amount, notes), tuple(notes))


def _yield(line: Line, amount: int | None, notes: list[str]) -> int | None:
    if line.net_cmm2 is None or not amount:
        return None
    try:
        area = convert(amount, line.props.unit, "cmm2", line.props)
    except BadInput:
        return None
    share = round(Fraction(line.net_cmm2 * PPM) / area)
    if share > PPM:
        sizes = display(round(area), "cmm2"), display(line.net_cmm2, "cmm2")
        notes.append(
            say(
                "{what}, {line}: {sizes} is taken for a net area of {sizes_2}: correct one of them.",
                what=line.what,
                line=line.code,
                sizes=sizes[0],
                sizes_2=sizes[1],
            )
        )
    return share


def orders(lines: Iterable[Line], parts: int) -> list[Order]:
    """By material, in the order of the lines. BadInput demand.parts."""
    if not 1 <= parts <= MAX_PARTS:
        raise BadInput(
            "demand.parts", say("The number of parts is a whole number from 1 to {max_parts}.", max_parts=MAX_PARTS), "parts", parts=parts
        )
    mine: dict[str, list[Taken]] = {}
    for line in lines:
        mine.setdefault(line.code, []).append(take(line))
    return [_order(code, taken, parts) for code, taken in mine.items()]


def _order(code: str, taken: Sequence[Taken], parts: int) -> Order:
    sizes: dict[int, int] = {}
    for one in taken:
        if one.line.one_piece and one.amount:
            sizes[one.amount] = sizes.get(one.amount, 0) + parts
    per_part = sum(one.amount or 0 for one in taken)
    whole = all(one.line.one_piece for one in taken)
    return Order(code, taken[0].line.props.unit, per_part, per_part * parts, sizes if whole else {}, tuple(taken))


# --- resin -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Mix:
    """A line that takes a mix, in one part. `computed`: by the plies that it wets, None where it wets none or something is missing, which
    `lacks` says. `amount_ug` is the larger of that and the schedule's. `pot_ug`: the pot that the data sheet's pot life is for."""

    what: str
    recipe: str
    stated_ug: int | None
    computed: BatchSize | None
    lacks: tuple[str, ...]
    parts: BatchSize | None
    pot_ug: int | None

    @property
    def amount_ug(self) -> int | None:
        return None if self.parts is None else self.parts.whole_ug

    @property
    def pots(self) -> int | None:
        return None if self.amount_ug is None or not self.pot_ug else -(-self.amount_ug // self.pot_ug)

    @property
    def notes(self) -> tuple[str, ...]:
        """What has to be minded."""
        found = []
        if self.lacks:
            found.append(
                say("{what}: what the plies drink is not computed, for want of {lacks}.", what=self.what, lacks=strung("; ", self.lacks))
            )
        if self.amount_ug is None:
            found.append(say("{what}: how much is mixed is not known, so it is not in this list.", what=self.what))
        elif self.computed is not None and self.stated_ug is not None and self.computed.whole_ug > self.stated_ug:
            both = display(self.stated_ug, "ug"), display(self.computed.whole_ug, "ug")
            found.append(
                say(
                    "{what}: the schedule has {both}, but the plies ask for {both_2}; the larger counts.",
                    what=self.what,
                    both=both[0],
                    both_2=both[1],
                )
            )
        if self.pots is not None and self.pots > 1 and self.amount_ug is not None:
            both = display(self.amount_ug, "ug"), display(self.pot_ug or 0, "ug")
            found.append(
                say(
                    "{what}: {both} a part is more than the pot of {both_2} that the data sheet's pot life is for: "
                    "{pots} pots of that size, or a shorter time. A larger pot is hotter.",
                    what=self.what,
                    both=both[0],
                    both_2=both[1],
                    pots=self.pots,
                )
            )
        return tuple(found)


def mix(what: str, name: str, recipe: Recipe, stated_ug: int | None, wets: BatchSize | tuple[str, ...] | None, pot_ug: int | None) -> Mix:
    """`wets`: what `wetting` found, None for a line that wets no plies."""
    computed = wets if isinstance(wets, BatchSize) else None
    lacks = wets if isinstance(wets, tuple) else ()
    amount = max((a for a in (stated_ug, computed.whole_ug if computed else None) if a is not None), default=0)
    return Mix(what, name, stated_ug, computed, lacks, split(recipe, amount) if amount > 0 else None, pot_ug)


@dataclass(frozen=True, slots=True)
class Dry:
    """A dry ply that resin has to wet: areal weight of its fibre, area, and the fibre by weight that is aimed at."""

    what: str
    areal_mg_m2: int | None
    area_cmm2: int | None
    fibre: Fraction | None


def wetting(plies: Sequence[Dry], recipe: Recipe, waste_ppm: int | None, extra_ug: int | None) -> BatchSize | tuple[str, ...]:
    """What one part's dry plies, and what lies beside them, drink of a recipe, with what stays in cups and lines; or what is missing for
    that. The plies may aim at different shares of fibre."""
    missing = [say("{what}: {lacks}", what=ply.what, lacks=_lacks(ply)) for ply in plies if _lacks(ply)]
    if waste_ppm is None:
        missing.append(say("how much resin is left in cups and lines"))
    if missing or waste_ppm is None:
        return tuple(missing)
    resin, fibre = Fraction(extra_ug or 0), 0
    for ply in plies:
        layer = Layer(ply.areal_mg_m2 or 0, ply.area_cmm2 or 0)
        share = round((ply.fibre or Fraction(0)) * PPM)
        alone = batch_size([layer], share, recipe, waste_ppm=0)
        resin, fibre = resin + alone.laminate_ug, fibre + alone.fibre_ug
    if not resin:
        return (say("a dry ply"),)
    whole = batch_size([], HALF, recipe, waste_ppm=waste_ppm, extra_ug=round(resin))
    return BatchSize(fibre, whole.laminate_ug, whole.whole_ug, whole.parts)


def _lacks(ply: Dry) -> str:
    named = ((say("its areal weight"), ply.areal_mg_m2), (say("its net area"), ply.area_cmm2), (say("its resin by weight"), ply.fibre))
    return strung(", ", (name for name, value in named if value is None))


def split(recipe: Recipe, mix_ug: int) -> BatchSize:
    """Resin and hardener of a given mass of mix."""
    return batch_size([], HALF, recipe, waste_ppm=0, extra_ug=mix_ug)
