"""Counting what is left (R4): by weight less core or can, by diameter, or by length. Exact µm, µg and 0.01 mm².

A count stores what was counted; the difference to the book follows from it and is not stored here. What cannot be true
(a roll lighter than its core) comes back as a Reason, not as a number.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.convert import DIMENSIONS, MaterialProps, convert, need
from inventory.core.geometry import wound_length_um
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.units import MAX, display, display_apart


@dataclass(frozen=True, slots=True)
class Counted:
    """What is there, in the stock base `base`. `nominal`: an estimate through a property of the material (R1).
    `how` goes into the reason of the adjustment ("count by weight")."""

    value: int
    base: str
    nominal: bool
    how: str


def _too_much(value: int, base: str) -> Reason | None:
    if value <= MAX:
        return None
    text = say("That comes to more than can be kept here ({max}): check the figures and their units.", max=display(MAX, base))
    return Reason("count.too_big", text, {"value": value, "max": MAX})


def by_weight(gross_ug: int, tare_ug: int, props: MaterialProps) -> Counted | Reason:
    """What a roll, spool or can holds, from its gross mass and the tare of its core or can, in the stock base.

    Reason count.gross_below_tare or count.too_big; BadInput convert.missing_property names what the material
    lacks. Stock kept in pieces is not weighed: BadInput count.pieces."""
    if props.unit == "pc":
        raise BadInput("count.pieces", say("This is kept in pieces: count them."), where="gross")
    if tare_ug < 0 or gross_ug < 0:
        raise BadInput("quantity.negative", say("A mass cannot be below zero."), where="gross", gross_ug=gross_ug, tare_ug=tare_ug)
    if gross_ug < tare_ug:
        masses = display_apart("ug", gross_ug, tare_ug)
        text = say(
            "{masses} gross is less than its core or can alone ({masses_2}): weigh again, or correct the tare.",
            masses=masses[0],
            masses_2=masses[1],
        )
        return Reason("count.gross_below_tare", text, {"gross_ug": gross_ug, "tare_ug": tare_ug})
    value = round(convert(gross_ug - tare_ug, "ug", props.unit, props))
    return _too_much(value, props.unit) or Counted(value, props.unit, props.unit != "ug", say("count by weight"))


def by_diameter(outer_um: int, core_um: int, thickness_um: int | None) -> Counted | Reason:
    """Length on a roll from its outer and core diameter and the thickness of the wound material (all µm):
    L = π(Do² − Di²)/(4t). Layers are taken to lie tight, so it is nominal.

    Reason count.diameter_below_core or count.too_big; BadInput convert.missing_property when there is no thickness."""
    thickness = need("thickness_um", thickness_um)
    if core_um < 0 or outer_um < 0:
        raise BadInput("quantity.negative", say("A diameter cannot be below zero."), where="outer", outer_um=outer_um, core_um=core_um)
    if outer_um < core_um:
        text = say(
            "{mm} across is less than the core alone ({mm_2}): measure again, or correct the core.", mm=_mm(outer_um), mm_2=_mm(core_um)
        )
        return Reason("count.diameter_below_core", text, {"outer_um": outer_um, "core_um": core_um})
    value = round(wound_length_um(outer_um, core_um, thickness))
    return _too_much(value, "um") or Counted(value, "um", True, say("count by diameter"))


def by_measure(value: int, base: str) -> Counted:
    """What was measured or counted directly, in the stock base. Zero is a count too."""
    if value < 0:
        raise BadInput("quantity.negative", say("A count cannot be below zero."), where="value", value=value)
    return Counted(
        value, base, False, say("count by pieces") if base == "pc" else say("count by {dimensions}", dimensions=DIMENSIONS[base])
    )


def _mm(um: int) -> str:
    return display(um, "um", unit="mm")
