"""Stiffness of a laminate by classical laminate theory: A, B and D, engineering constants, stiffness by direction, and the
curvature that a change of temperature leaves.

Plane stress, thin plies bonded without slip, straight normals (Kirchhoff). Stiffness in Pa, lengths in m, angles in thousandths of a
degree from the reference, thermal expansion in 1/K. A in N/m, B in N, D in N·m; rows and columns are x, y, xy with engineering
shear. Plies are counted from the tool side up, z from the middle of the thickness. Source: Jones, Mechanics of Composite Materials,
chapters 2 and 4; checked against Kaw's worked examples and a general library.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from inventory.core.reasons import BadInput
from inventory.core.said import say

if TYPE_CHECKING:
    import numpy as np

MAX_STIFFNESS = 2e12  # Pa: nothing that is laid up is stiffer; more is a slip of the unit
MAX_THICKNESS = 0.1  # m of one ply


@dataclass(frozen=True, slots=True)
class Elastic:
    """A ply's in-plane constants. `e1`, `e2`, `g12` in Pa, `nu12` the contraction across when pulled along 1; `alpha1`, `alpha2`
    in 1/K, None when not known."""

    e1: float
    e2: float
    g12: float
    nu12: float
    alpha1: float | None = None
    alpha2: float | None = None

    def __post_init__(self) -> None:
        """BadInput stiffness.range, .poisson."""
        for name, value in (("E1", self.e1), ("E2", self.e2), ("G12", self.g12)):
            if not (math.isfinite(value) and 0 < value <= MAX_STIFFNESS):
                text = say(
                    "{name} is a stiffness above 0 and at most {max_stiffness} GPa: check the unit.",
                    name=name,
                    max_stiffness=f"{MAX_STIFFNESS / 1000000000.0:g}",
                )
                raise BadInput("stiffness.range", text, name)
        if not (math.isfinite(self.nu12) and abs(self.nu12) < math.sqrt(self.e1 / self.e2)):
            most = math.sqrt(self.e1 / self.e2)
            text = say(
                "ν12 lies between −{most} and {most} for these stiffnesses: otherwise pulling would give energy.", most=f"{most:.2f}"
            )
            raise BadInput("stiffness.poisson", text, "ν12")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One ply of a laminate: its constants, its thickness in m, its angle."""

    elastic: Elastic
    thickness: float
    angle_md: int

    def __post_init__(self) -> None:
        """BadInput stiffness.thickness."""
        if not (math.isfinite(self.thickness) and 0 < self.thickness <= MAX_THICKNESS):
            text = say("A ply is above 0 and at most {max_thickness} mm thick: check the unit.", max_thickness=f"{MAX_THICKNESS * 1000:g}")
            raise BadInput("stiffness.thickness", text, "thickness")


@dataclass(frozen=True, slots=True)
class Stiffness:
    """`a`, `b`, `d`: 3 × 3 arrays. `thickness` in m."""

    a: np.ndarray
    b: np.ndarray
    d: np.ndarray
    thickness: float


@dataclass(frozen=True, slots=True)
class Constants:
    """Engineering constants of the laminate in the reference axes, in Pa, held flat. `eta_x`, `eta_y`: shear strain by a pull along x
    (y), as a share of the strain along it; nothing for an orthotropic laminate."""

    ex: float
    ey: float
    gxy: float
    nuxy: float
    nuyx: float
    eta_x: float
    eta_y: float


def reduced(elastic: Elastic) -> tuple[float, float, float, float]:
    """(Q11, Q12, Q22, Q66) in Pa."""
    nu21 = elastic.nu12 * elastic.e2 / elastic.e1
    over = 1 - elastic.nu12 * nu21
    return elastic.e1 / over, elastic.nu12 * elastic.e2 / over, elastic.e2 / over, elastic.g12


def stiffness(sheets: Sequence[Sheet]) -> Stiffness:
    """A, B and D of a laminate. BadInput stiffness.empty."""
    import numpy as np

    if not sheets:
        raise BadInput("stiffness.empty", say("A laminate has at least one ply."))
    q = np.array([reduced(sheet.elastic) for sheet in sheets])
    t = np.array([sheet.thickness for sheet in sheets])
    angles = np.array([sheet.angle_md for sheet in sheets])
    a, b, d = many(q[None], t[None], angles[None])
    return Stiffness(a[0], b[0], d[0], float(t.sum()))


def many(q: np.ndarray, t: np.ndarray, angles_md: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A, B and D of `n` laminates with `p` plies each. `q`: (n or 1, p, 4), `t`: (n or 1, p), `angles_md`: (n, p); each result
    (n, 3, 3). Built from Tsai and Pagano's invariants: a ply's stiffness is four sines and cosines away from them."""
    import numpy as np

    u = _invariants(q)
    double = np.deg2rad(np.asarray(angles_md) / 500.0)
    c2, s2 = np.cos(double), np.sin(double)
    c4, s4 = 2 * c2 * c2 - 1, 2 * s2 * c2
    bars = (
        u[0] + u[1] * c2 + u[2] * c4,  # 11
        u[3] - u[2] * c4,  # 12
        u[1] * s2 / 2 + u[2] * s4,  # 16
        u[0] - u[1] * c2 + u[2] * c4,  # 22
        u[1] * s2 / 2 - u[2] * s4,  # 26
        (u[0] - u[3]) / 2 - u[2] * c4,  # 66
    )
    above = np.cumsum(t, axis=-1)
    middle = above - t / 2 - above[..., -1:] / 2
    weights = (t, t * middle, t * (middle**2 + t**2 / 12))
    place = np.array([[0, 1, 2], [1, 3, 4], [2, 4, 5]])
    out = []
    for weight in weights:
        sums = np.stack([np.einsum("...p,...p->...", bar, np.broadcast_to(weight, bar.shape)) for bar in bars], axis=-1)
        out.append(sums[..., place])
    return out[0], out[1], out[2]


def _invariants(q: np.ndarray) -> tuple[Any, Any, Any, Any]:
    """(U1, U2, U3, U4) of each ply."""
    q11, q12, q22, q66 = q[..., 0], q[..., 1], q[..., 2], q[..., 3]
    return (
        (3 * q11 + 3 * q22 + 2 * q12 + 4 * q66) / 8,
        (q11 - q22) / 2,
        (q11 + q22 - 2 * q12 - 4 * q66) / 8,
        (q11 + q22 + 6 * q12 - 4 * q66) / 8,
    )


def constants(found: Stiffness) -> Constants:
    """In-plane engineering constants, from the inverse of A: the laminate is held flat, or is symmetric."""
    import numpy as np

    s = np.linalg.inv(found.a) * found.thickness
    return Constants(
        ex=float(1 / s[0, 0]),
        ey=float(1 / s[1, 1]),
        gxy=float(1 / s[2, 2]),
        nuxy=float(-s[0, 1] / s[0, 0]),
        nuyx=float(-s[0, 1] / s[1, 1]),
        eta_x=float(s[0, 2] / s[0, 0]),
        eta_y=float(s[1, 2] / s[1, 1]),
    )


@dataclass(frozen=True, slots=True)
class Flexural:
    """Moduli of the laminate in bending, in Pa, free in its plane: the stiffness of a solid plate that bends as much."""

    ex: float
    ey: float
    gxy: float
    nuxy: float


def flexural(found: Stiffness) -> Flexural:
    """From the bending part of the whole compliance, 12/(t³·d): what a bending test sees of a narrow strip. Free of coupling it is
    that of D alone."""
    import numpy as np

    compliance = np.linalg.inv(np.block([[found.a, found.b], [found.b, found.d]]))[3:, 3:]
    scale = 12 / found.thickness**3
    return Flexural(
        ex=float(scale / compliance[0, 0]),
        ey=float(scale / compliance[1, 1]),
        gxy=float(scale / compliance[2, 2]),
        nuxy=float(-compliance[0, 1] / compliance[0, 0]),
    )


def by_direction(found: Stiffness, steps: int = 360) -> list[tuple[float, float]]:
    """(degrees, Young's modulus in Pa when pulled that way) round the laminate, held flat."""
    import numpy as np

    s = np.linalg.inv(found.a) * found.thickness
    angle = np.linspace(0, 2 * np.pi, steps, endpoint=False)
    c, n = np.cos(angle), np.sin(angle)
    along = np.stack([c * c, n * n, c * n], axis=-1)
    compliance = np.einsum("ki,ij,kj->k", along, s, along)
    return [(float(np.degrees(a)), float(1 / value)) for a, value in zip(angle, compliance, strict=True)]


def curvature(sheets: Sequence[Sheet], change_k: float) -> tuple[float, float, float]:
    """(κx, κy, κxy) in 1/m that the laminate takes, free, when its temperature changes by `change_k`. BadInput
    stiffness.expansion_unknown."""
    import numpy as np

    if not math.isfinite(change_k):
        raise BadInput("stiffness.temperature", say("The change of temperature is a number of kelvins, such as −100."), "change")
    found = stiffness(sheets)
    force, moment = np.zeros(3), np.zeros(3)
    z = -found.thickness / 2
    for sheet in sheets:
        pull = _bar(sheet) @ _expansion(sheet) * change_k * sheet.thickness
        force += pull
        moment += pull * (z + sheet.thickness / 2)
        z += sheet.thickness
    whole = np.block([[found.a, found.b], [found.b, found.d]])
    bent = np.linalg.solve(whole, np.concatenate([force, moment]))[3:]
    return float(bent[0]), float(bent[1]), float(bent[2])


def _bar(sheet: Sheet) -> np.ndarray:
    """The ply's stiffness in the reference axes."""
    import numpy as np

    a, _, _ = many(np.array([[reduced(sheet.elastic)]]), np.ones((1, 1)), np.array([[sheet.angle_md]]))
    bar: np.ndarray = a[0]
    return bar


def _expansion(sheet: Sheet) -> np.ndarray:
    """(αx, αy, αxy) of a ply."""
    import numpy as np

    one, two = sheet.elastic.alpha1, sheet.elastic.alpha2
    if one is None or two is None:
        raise BadInput("stiffness.expansion_unknown", say("The thermal expansion of a ply is not known: enter α1 and α2 of its material."))
    angle = math.radians(sheet.angle_md / 1000)
    c, s = math.cos(angle), math.sin(angle)
    return np.array([one * c * c + two * s * s, one * s * s + two * c * c, 2 * (one - two) * c * s])
