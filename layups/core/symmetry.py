"""What kind of laminate a stack of plies is: symmetric, balanced, quasi-isotropic, orthotropic, anisotropic. Computed from the
plies, never typed in.

In classical laminate theory the in-plane stiffness turns with the plies through two sums alone, z2 = Σ t·e^(2iθ) and
z4 = Σ t·e^(4iθ) (Tsai and Pagano's invariants). Everything here follows from them, and so holds for any stiffness of the plies: for
each sort of ply (one material in one form) the sums are taken apart, because nothing is known of how the sorts compare. So a stack
that is quasi-isotropic only by a happy choice of two materials is not called so.
"""

from __future__ import annotations

import cmath
import math
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from inventory.core.said import say

from .notation import FABRIC, NO_DIRECTION, Layer

_NEAR = 1e-9  # of the sum of the thicknesses: angles are given to a thousandth of a degree


@dataclass(frozen=True, slots=True)
class Kind:
    """What is true of a stack. `in_plane`: "isotropic", "quasi-isotropic", "orthotropic" or "anisotropic" for loads in its plane.
    `axis_md`: for an orthotropic one, an axis of symmetry in thousandths of a degree from the reference, −45° to 45°.
    `bends_straight`: bending does not twist it about the reference axes; None where that depends on thicknesses that are not
    known. `reasons`: a sentence for each."""

    in_plane: str
    symmetric: bool
    antisymmetric: bool
    balanced: bool
    bends_straight: bool | None
    axis_md: int | None
    reasons: tuple[str, ...]


def kind_of(layers: Sequence[Layer], thickness: Mapping[str, float] | None = None) -> Kind:
    """`thickness`: of a ply by material, in any one unit; without it plies of one material count as equal, and several materials as
    unknown. Raises ValueError for no plies."""
    if not layers:
        raise ValueError("a laminate has at least one ply")
    symmetric = list(layers) == list(layers)[::-1]
    antisymmetric = not symmetric and [_mirror(layer) for layer in layers] == list(layers)[::-1]
    odd = _unbalanced(layers)
    sums = _sums(layers)
    name, axis, why = _in_plane(layers, sums)
    straight = _bends_straight(layers, thickness)
    reasons = [why, _said_symmetric(symmetric, antisymmetric), _said_balanced(odd)]
    if straight is False:
        reasons.append(say("Bending and twisting are coupled: plies at an angle and at its opposite lie at different depths."))
    return Kind(name, symmetric, antisymmetric, not odd, straight, axis, tuple(reasons))


def _mirror(layer: Layer) -> Layer:
    """The same ply seen in the mirror of the reference axis."""
    return Layer(_direction(-layer.angle_md, layer.form), layer.form, layer.material)


def _direction(md: int, form: str) -> int:
    """One name for each direction: a fabric's come back after 90°, mat and core have none."""
    turn = 90_000 if form == FABRIC else 1 if form in NO_DIRECTION else 180_000
    half = turn // 2
    left = md % turn
    return left - turn if left > half else left


def _sort(layer: Layer) -> tuple[str, str]:
    return layer.material, layer.form


def _unbalanced(layers: Iterable[Layer]) -> list[Layer]:
    """Plies that have no partner at the opposite angle."""
    left = Counter((_sort(layer), _direction(layer.angle_md, layer.form)) for layer in layers)
    return [
        Layer(md, sort[1], sort[0])
        for (sort, md), n in sorted(left.items())
        for _ in range(n - left.get((sort, _direction(-md, sort[1])), 0))
    ]


def _sums(layers: Iterable[Layer]) -> dict[tuple[str, str], tuple[complex, complex, int]]:
    """For each sort of ply (z2, z4, plies). Yarns at right angles cancel in z2."""
    found: dict[tuple[str, str], tuple[complex, complex, int]] = defaultdict(lambda: (0j, 0j, 0))
    for layer in layers:
        z2, z4, n = found[_sort(layer)]
        angle = math.radians(layer.angle_md / 1000)
        z2 += cmath.exp(2j * angle) if layer.form not in (FABRIC, *NO_DIRECTION) else 0
        z4 += cmath.exp(4j * angle) if layer.form not in NO_DIRECTION else 0
        found[_sort(layer)] = z2, z4, n + 1
    return found


def _in_plane(layers: Sequence[Layer], sums: Mapping[tuple[str, str], tuple[complex, complex, int]]) -> tuple[str, int | None, str]:
    live = [(z2, z4, n * _NEAR) for z2, z4, n in sums.values() if abs(z2) > n * _NEAR or abs(z4) > n * _NEAR]
    if all(layer.form in NO_DIRECTION for layer in layers):
        return say("isotropic"), None, say("Isotropic in plane: nothing in it has a direction.")
    if not live:
        return (
            say("quasi-isotropic"),
            None,
            say("Quasi-isotropic in plane: its directions are shared out so evenly that it is as stiff in each."),
        )
    axis = _axis(live, {layer.angle_md for layer in layers if layer.form not in NO_DIRECTION})
    if axis is None:
        return say("anisotropic"), None, say("Anisotropic in plane: no axis about which one half mirrors the other, so pulling shears it.")
    where = say("the reference axes") if axis == 0 else say("axes turned by {axis}°", axis=f"{axis / 1000:g}")
    also = "" if axis == 0 else say(" About the reference axes pulling shears it.")
    return say("orthotropic"), axis, say("Orthotropic in plane, about {where}.{also}", where=where, also=also)


def _axis(live: Sequence[tuple[complex, complex, float]], along: Collection[int]) -> int | None:
    """An axis about which every sort mirrors itself: the reference, else one along a ply, else the nearest. None if there is none."""
    candidates = {0.0}
    for z2, z4, near in live:
        if abs(z2) > near:
            candidates |= {cmath.phase(z2) / 2 + quarter * math.pi / 2 for quarter in range(-1, 2)}
        else:
            candidates |= {cmath.phase(z4) / 4 + eighth * math.pi / 4 for eighth in range(-2, 3)}
    found = {c: round(math.degrees(c) * 1000) for c in candidates if abs(c) <= math.pi / 4 + 1e-12}
    for axis in sorted(found, key=lambda c: (found[c] != 0, found[c] not in along, abs(c), -c)):
        turned = ((z2 * cmath.exp(-2j * axis), z4 * cmath.exp(-4j * axis), near) for z2, z4, near in live)
        if all(abs(z2.imag) <= near * 4 and abs(z4.imag) <= near * 4 for z2, z4, near in turned):
            return found[axis]
    return None


def _bends_straight(layers: Sequence[Layer], thickness: Mapping[str, float] | None) -> bool | None:
    """Whether D16 and D26 are nothing, whatever the stiffness: each sort's sums weighted by the depth of its plies."""
    materials = {layer.material for layer in layers}
    if len(materials) > 1 and (thickness is None or not materials <= thickness.keys()):
        return True if all(_direction(2 * layer.angle_md, layer.form) == 0 for layer in layers) else None
    each = [1.0 if thickness is None or layer.material not in thickness else thickness[layer.material] for layer in layers]
    whole = math.fsum(each)
    depth = -whole / 2
    twist: dict[tuple[str, str], list[float]] = defaultdict(lambda: [0.0, 0.0])
    for layer, t in zip(layers, each, strict=True):
        weight = ((depth + t) ** 3 - depth**3) / (whole**3 / 4)  # the weights of all plies add up to 1
        depth += t
        angle = math.radians(layer.angle_md / 1000)
        sums = twist[_sort(layer)]
        sums[0] += weight * math.sin(2 * angle) if layer.form not in (FABRIC, *NO_DIRECTION) else 0
        sums[1] += weight * math.sin(4 * angle) if layer.form not in NO_DIRECTION else 0
    return all(abs(value) <= 1e-9 for sums in twist.values() for value in sums)


def _said_symmetric(symmetric: bool, antisymmetric: bool) -> str:
    if symmetric:
        return say("Symmetric: the upper half mirrors the lower, so it stays flat when it cools.")
    if antisymmetric:
        return say("Antisymmetric: each ply below the middle has its opposite angle above; it may twist when it cools.")
    return say("Not symmetric: the upper half does not mirror the lower, so it may warp when it cools.")


def _said_balanced(odd: Sequence[Layer]) -> str:
    if not odd:
        return say("Balanced: each ply at an angle has a partner at the opposite one.")
    first = odd[0]
    of = say(" of {material}", material=first.material) if first.material else ""
    more = say(" ({odd} plies have none)", odd=len(odd)) if len(odd) > 1 else ""
    return say(
        "Not balanced: a ply{of} at {angle_md}° has no partner at {angle_md_2}°{more}.",
        of=of,
        angle_md=f"{first.angle_md / 1000:g}",
        angle_md_2=f"{-first.angle_md / 1000:g}",
        more=more,
    )
