"""Who gets how much of a cut: kits, remnants and waste, in length off the roll and in area.

Length is what the roll's ledger balances in, so every share is also a length (its area over the usable width), rounded
down to the µm; the rest is waste. Areas of the cut and of remnants round down too. Thus the shares add up to exactly
what was taken, whatever the figures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.convert import need
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.units import display


@dataclass(frozen=True, slots=True)
class Share:
    """A part of a cut: `length_um` off the roll, `area_cmm2` of material."""

    length_um: int
    area_cmm2: int


@dataclass(frozen=True, slots=True)
class Cut:
    """Shares of one cut, in the order given. The lengths add up to `taken_um` exactly, the areas to `area_cmm2`."""

    taken_um: int
    area_cmm2: int
    kits: tuple[Share, ...]
    remnants: tuple[Share, ...]
    waste: Share

    @property
    def waste_permille(self) -> int:
        """Waste as a part of the area cut, in thousandths, rounded half-even (164 is 16.4 %)."""
        return round(Fraction(1000 * self.waste.area_cmm2, self.area_cmm2)) if self.area_cmm2 else 0


def shares(taken_um: int, usable_width_um: int | None, nets_cmm2: Sequence[int], remnants: Sequence[tuple[int, int]] = ()) -> Cut | Reason:
    """Shares out a cut of `taken_um` off a roll: `nets_cmm2` is the net ply area of each kit (usually one), `remnants`
    are (length, width) in µm of what goes back to stock.

    Reason cut.more_than_taken (plies and remnants do not fit the area) or cut.remnant_does_not_fit (its size does not).
    BadInput cut.nothing_taken, cut.nothing_kept (a size that is not above zero), convert.missing_property."""
    width = need("usable_width_um", usable_width_um)
    if taken_um <= 0:
        raise BadInput("cut.nothing_taken", say("Say how much was taken off the roll."), where="taken", taken_um=taken_um)
    if any(size <= 0 for size in (*nets_cmm2, *(side for remnant in remnants for side in remnant))):
        raise BadInput(
            "cut.nothing_kept", say("Ply areas and remnant sizes must be above zero; leave out what there is none of."), where="plies"
        )
    for remnant in remnants:
        if min(remnant) > min(taken_um, width) or max(remnant) > max(taken_um, width):
            return _does_not_fit(remnant, taken_um, width)
    kept = [*nets_cmm2, *(length * across // 10**4 for length, across in remnants)]
    area = taken_um * width // 10**4
    if sum(kept) > area:
        return _more_than_taken(sum(nets_cmm2), sum(kept), area)
    parts = [Share(size * 10**4 // width, size) for size in kept]
    waste = Share(taken_um - sum(part.length_um for part in parts), area - sum(kept))
    return Cut(taken_um, area, tuple(parts[: len(nets_cmm2)]), tuple(parts[len(nets_cmm2) :]), waste)


def _does_not_fit(remnant: tuple[int, int], taken_um: int, width_um: int) -> Reason:
    sizes = [display(side, "um") for side in (*remnant, taken_um, width_um)]
    text = say(
        "A remnant of {sizes} × {sizes_2} cannot come from a cut of {sizes_3} × {sizes_4}: measure it again.",
        sizes=sizes[0],
        sizes_2=sizes[1],
        sizes_3=sizes[2],
        sizes_4=sizes[3],
    )
    numbers = {"length_um": remnant[0], "width_um": remnant[1], "taken_um": taken_um, "usable_width_um": width_um}
    return Reason("cut.remnant_does_not_fit", text, {**numbers})


def _more_than_taken(plies: int, kept: int, area: int) -> Reason:
    text = say(
        "Plies of {plies} and remnants of {kept} are more than the {area} cut ({kept_2} too much): correct "
        "one of them, or take more off the roll.",
        plies=display(plies, "cmm2"),
        kept=display(kept - plies, "cmm2"),
        area=display(area, "cmm2"),
        kept_2=display(kept - area, "cmm2"),
    )
    return Reason("cut.more_than_taken", text, {"plies_cmm2": plies, "remnants_cmm2": kept - plies, "cut_cmm2": area})
