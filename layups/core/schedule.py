"""The ply schedule: which line an offered material fills, and every reason against it (R21, R22).

A line is a ply, or a step that takes material (core, bond line, infusion). A ply is filled by one scan, whatever the
quantity; a step that states a quantity is filled when what went in reaches it (two pots into one hull). Quantities are in
the material's stock unit, whole numbers; ids are the caller's own.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from inventory.core.reasons import Reason
from inventory.core.said import say, strung

PLY = "ply"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a schedule. It wants a material or a recipe (`wants` is its code for people); `alternates` are the
    materials (id, code) that the design allows instead. `box`: booked to the bay by the box, never scanned in."""

    seq: int
    step: str
    wants: str
    material: int | None = None
    recipe: int | None = None
    resin: int | None = None  # the recipe's resin
    alternates: tuple[tuple[int, str], ...] = ()
    qty: int | None = None
    unit: str = ""
    label: str = ""
    angle: int | None = None
    box: bool = False

    @property
    def name(self) -> str:
        return say("ply {seq}", seq=self.seq) if self.step == PLY else say("{step} ({seq})", step=self.step, seq=self.seq)


@dataclass(frozen=True, slots=True)
class Offer:
    """What is held out: its name, the material it is (id and words), and the recipe if it is a mix."""

    name: str
    material: int | None
    words: str
    recipe: int | None = None


@dataclass(frozen=True, slots=True)
class Filling:
    """What went into a line: `qty` in the material's stock unit, None when it was all of a kit or not measured so."""

    seq: int
    qty: int | None = None


def fits(offer: Offer, line: Line) -> bool:
    """Is this what the line wants, or an alternate that its design allows?"""
    if line.recipe is not None:
        return offer.recipe == line.recipe
    return offer.material is not None and offer.material in {line.material, *(i for i, _ in line.alternates)}


def is_filled(line: Line, fillings: Iterable[Filling]) -> bool:
    mine = [f for f in fillings if f.seq == line.seq]
    if not mine or line.step == PLY or line.qty is None:
        return bool(mine)
    return any(f.qty is None for f in mine) or sum(f.qty or 0 for f in mine) >= line.qty


def missing(lines: Iterable[Line], fillings: Collection[Filling]) -> list[Line]:
    """Lines that nothing went into. What is booked to the bay by the box is not missed."""
    seen = {f.seq for f in fillings}
    return [line for line in lines if line.seq not in seen and not line.box]


def choose(offer: Offer, lines: Sequence[Line], fillings: Collection[Filling], all_of_it: bool) -> tuple[int, ...]:
    """The lines an item fills when nobody says which: all open ones that want it for a kit, else the next open one; when
    they are all filled, the last that would have been right: the one that was at work."""
    right = [line.seq for line in lines if fits(offer, line)]
    open_ones = [line.seq for line in lines if line.seq in right and not is_filled(line, fillings)]
    if open_ones:
        return tuple(open_ones) if all_of_it else (open_ones[0],)
    return tuple(right[-1:])


def line_reasons(
    offer: Offer, part: str, asked: Sequence[int], lines: Sequence[Line], fillings: Collection[Filling], extra: bool
) -> list[Reason]:
    """Everything against putting the offer into these lines of this part. `extra`: more is wanted in a filled line."""
    by_seq = {line.seq: line for line in lines}
    found = []
    if not asked and lines:
        text = say("{offer}: {words}; nothing in the schedule of {part} takes it.", offer=offer.name, words=offer.words, part=part)
        found.append(Reason("ply.none_fits", text, {"part": part, "item": offer.name}))
    for seq in asked:
        line = by_seq.get(seq)
        if line is None:
            last = max(by_seq, default=0)
            text = (
                say("{part} has no ply {seq}: its schedule goes from 1 to {last}.", part=part, seq=seq, last=last)
                if last
                else say("{part} has no schedule, so no ply {seq}.", part=part, seq=seq)
            )
            found.append(Reason("ply.unknown", text, {"part": part, "ply": seq, "last": last}))
            continue
        if not fits(offer, line):
            found.append(_wrong(offer, part, line))
        if not extra and is_filled(line, fillings):
            text = say("{line} of {part} is filled already. If more goes in, say that it is extra.", line=line.name.capitalize(), part=part)
            found.append(Reason("ply.filled", text, {"part": part, "ply": seq}))
    return found


def _wrong(offer: Offer, part: str, line: Line) -> Reason:
    others = strung(", ", (code for _, code in line.alternates))
    allowed = say("the design allows {others} instead", others=others) if others else say("the design allows no alternate")
    text = say(
        "{offer}: {words}; {line} of {part} needs {wants}, {allowed}.",
        offer=offer.name,
        words=offer.words,
        line=line.name,
        part=part,
        wants=line.wants,
        allowed=allowed,
    )
    numbers: dict[str, int | str | None] = {"part": part, "ply": line.seq, "needs": line.wants, "item": offer.name, "alternates": others}
    return Reason("ply.wrong_material", text, numbers)


def divide(whole: int, weights: Sequence[int]) -> list[int]:
    """`whole` shared out by weight, in whole units that add up to it exactly; what rounding leaves goes to the largest
    remainders, first come first. All weights zero: in equal shares."""
    if not weights:
        return []
    total = sum(weights)
    scale = [w if total else 1 for w in weights]
    total = total or len(weights)
    out = [whole * w // total for w in scale]
    by_rest = sorted(range(len(out)), key=lambda i: (-(whole * scale[i] % total), i))
    for i in by_rest[: whole - sum(out)]:
        out[i] += 1
    return out
