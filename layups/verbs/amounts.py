"""How much goes in when nobody types it: from the schedule, from the kit, from the pot."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.units import display, usual_unit
from inventory.models import Item
from inventory.verbs.resolve import amount
from layups.core.schedule import Filling, Line, divide

PIECES = ("kit", "sheet", "remnant")
"""What is cut to be laid: all of it goes in when its schedule counts in another unit."""


def amounts(item: Item, left: int, typed: Sequence[str], lines: Sequence[Sequence[Line]], laid: Sequence[Sequence[Filling]]) -> list[int]:
    """The quantity for each part, in the item's unit. `typed`, `lines` (the lines to be filled) and `laid` (what lies there)
    run along the parts. BadInput quantity.missing, and what reading a quantity raises."""
    if all(text.strip() for text in typed):
        return [amount(item, text, "qty") for text in typed]
    if any(text.strip() for text in typed):
        raise BadInput("quantity.missing", say("Say how much goes into each of the parts, or into none of them."), "qty")
    if item.kind == "lot" or (item.material is not None and item.material.grade != "item"):
        return [0] * len(typed)  # followed by lot or by box: how much is not asked
    needs = [_needed(item, mine, there) for mine, there in zip(lines, laid, strict=True)]
    if item.kind == "kit" or (item.kind in PIECES and None in needs):
        return divide(max(left, 0), [1] * len(typed))
    known = [need for need in needs if need is not None]
    if len(known) == len(needs):
        return divide(left, known) if item.kind == "mix" and 0 < left < sum(known) else known
    if item.kind == "mix":
        return divide(max(left, 0), [1] * len(typed))
    raise missing(item)


def missing(item: Item) -> BadInput:
    text = say(
        "Say how much of {item} goes in, for example in {usual_unit}: the schedule does not state it.",
        item=item,
        usual_unit=usual_unit(item.unit),
    )
    return BadInput("quantity.missing", text, "qty")


def _needed(item: Item, lines: Sequence[Line], laid: Sequence[Filling]) -> int | None:
    """What the schedule still asks for, in the item's unit; None when it does not say. What is filled already and gets
    more is asked for as if it were empty."""
    if not lines or any(line.qty is None or line.unit != item.unit for line in lines):
        return None
    total = 0
    for line in lines:
        there = sum(f.qty or 0 for f in laid if f.seq == line.seq)
        assert line.qty is not None
        total += line.qty - there if there < line.qty else line.qty
    return total


def fills(item: Item, qty: int, lines: Sequence[Line], asked: Sequence[int]) -> list[list[int | None]]:
    """The lines with what each got, in the line's own unit; None where the item is kept in another."""
    by_seq = {line.seq: line for line in lines}
    weights = [by_seq[seq].qty or 0 if seq in by_seq else 0 for seq in asked]
    shares = divide(qty, weights)
    return [
        [seq, share if seq in by_seq and by_seq[seq].unit == item.unit and qty else None] for seq, share in zip(asked, shares, strict=True)
    ]


def left_text(item: Item, left: int) -> str:
    return say("{left} left on {item}", left=display(left, item.unit), item=item)
