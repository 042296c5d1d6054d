"""Does the panel fill before the resin is too thick? Darcy's law in one dimension and radially, with a viscosity that rises.

With a viscosity that depends on time only, the front goes by the integral of dt/μ, whatever the shape; so a shape is one number, the
"need" (1/s · Pa·s · s, that is dimensionless time over viscosity): ∫dt/μ at which the front arrives.

    along a length L        φ·L²/(2·K·ΔP)
    from a point r0 out     φ/(2·K·ΔP) · [r²·ln(r/r0) − (r² − r0²)/2]
    from a ring R inwards   φ/(2·K·ΔP) · [(R² − r²)/2 − r²·ln(R/r)]

φ is the porosity, 1 − Vf: fibre fraction and porosity are not interchangeable. All in SI floats: m, m², Pa, Pa·s, s. The reinforcement is
taken as of one permeability in every direction, filled from its edge at once (a runner has no resistance), with a full vacuum
everywhere ahead of the front.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import duration

# How far laboratories differ on one material's permeability, coefficient of variation: permeability benchmark III, abstract.
SCATTER = {"non-crimp": 0.32, "woven": 0.44}
MOST_PA = 10_000_000.0  # above this it is a press, not an infusion or a transfer moulding
_WORDS = {
    "permeability": say("permeability (m²)"),
    "porosity": say("porosity"),
    "pressure": say("pressure difference (Pa)"),
    "length": say("flow length"),
    "width": say("width"),
    "inlet": say("radius of the inlet"),
    "viscosity": say("viscosity (Pa·s)"),
}


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            word = _WORDS.get(name, name)
            raise BadInput("infusion.not_above_zero", say("The {word} must be above zero: enter it, or measure it.", word=word), name)


# --- the reinforcement and the resin ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Bed:
    """What the resin flows through. `scatter`: how far the permeability may be off, as a share of it (0.44 woven).

    Raises BadInput infusion.not_above_zero, infusion.porosity, infusion.pressure, infusion.scatter."""

    permeability: float
    porosity: float
    pressure: float
    scatter: float = SCATTER["woven"]

    def __post_init__(self) -> None:
        _above_zero(permeability=self.permeability, pressure=self.pressure)
        if not 0 < self.porosity < 1:
            text = say("The porosity (1 less the fibre fraction by volume) must lie between 0 and 1.")
            raise BadInput("infusion.porosity", text, "porosity")
        if self.pressure > MOST_PA:
            text = say("The pressure difference is more than 100 bar: give it in Pa (a full vacuum is about 100 000 Pa).")
            raise BadInput("infusion.pressure", text, "pressure")
        if self.permeability > 1e-6:
            text = say("A permeability above 1e-6 m² is a pipe, not a reinforcement: check its unit.")
            raise BadInput("infusion.permeability", text, "permeability")
        if not 0 <= self.scatter < 1:
            raise BadInput("infusion.scatter", say("The scatter of the permeability is a share between 0 and 1."), "scatter")

    def drive(self, factor: float = 1.0) -> float:
        """2·K·ΔP/φ, m²/s · Pa·s, with the permeability times `factor`."""
        return 2 * self.permeability * factor * self.pressure / self.porosity


@dataclass(frozen=True, slots=True)
class Thickening:
    """Viscosity (Pa·s) over time (s from when resin and hardener met), rising times; between two points its logarithm is
    straight, after the last nothing is known. One point: constant for ever.

    Raises BadInput infusion.viscosity for fewer than one point, times out of order, or a viscosity that is not above zero."""

    times: tuple[float, ...]
    viscosities: tuple[float, ...]

    def __post_init__(self) -> None:
        same = len(self.times) == len(self.viscosities) > 0
        if not same or any(not (math.isfinite(v) and v > 0) for v in self.viscosities) or any(not math.isfinite(t) for t in self.times):
            raise BadInput("infusion.viscosity", say("Give a viscosity above zero (Pa·s) for every time."), "viscosity")
        if any(b <= a for a, b in zip(self.times, self.times[1:], strict=False)):
            raise BadInput("infusion.viscosity", say("The times of the viscosities must rise."), "viscosity")

    def passed(self, from_s: float, to_s: float) -> float:
        """∫dt/μ between two times (s); 0 when `to_s` is not the later one. Before the first point its viscosity holds."""
        return self._since_first(max(from_s, to_s)) - self._since_first(from_s)

    def until(self, from_s: float, need: float) -> float | None:
        """The time (s) at which ∫dt/μ from `from_s` reaches `need`; None when the curve ends before."""
        goal = need + self._since_first(from_s)
        at = self._since_first(self.times[-1])
        if goal <= 0:
            return self.times[0] + goal * self.viscosities[0]
        if len(self.times) == 1:
            return self.times[0] + goal * self.viscosities[0]
        if goal > at * (1 + 1e-12):
            return None
        total = 0.0
        for n in range(len(self.times) - 1):
            piece = self._piece(n, self.times[n + 1])
            if total + piece >= goal:
                return self._inverse(n, goal - total)
            total += piece
        return self.times[-1]

    def _since_first(self, at_s: float) -> float:
        if at_s <= self.times[0] or len(self.times) == 1:
            return (at_s - self.times[0]) / self.viscosities[0]
        return sum(self._piece(n, min(at_s, self.times[n + 1])) for n in range(len(self.times) - 1) if self.times[n] < at_s)

    def _slope(self, n: int) -> float:
        return math.log(self.viscosities[n + 1] / self.viscosities[n]) / (self.times[n + 1] - self.times[n])

    def _piece(self, n: int, to_s: float) -> float:
        """∫dt/μ from point n to `to_s`, exact for an exponential rise: (1 − e^(−b·t))/(b·μ)."""
        slope, t = self._slope(n), to_s - self.times[n]
        grown = t if abs(slope * t) < 1e-12 else -math.expm1(-slope * t) / slope
        return grown / self.viscosities[n]

    def _inverse(self, n: int, passed: float) -> float:
        slope, grown = self._slope(n), passed * self.viscosities[n]
        t = grown if abs(slope * grown) < 1e-12 else -math.log1p(-slope * grown) / slope
        return min(self.times[n] + t, self.times[n + 1])


# --- shapes ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Shape:
    """A way for the resin: `most` is how far its front has to go (m), `part(x)` what share of the area is wet when it has gone x,
    `squared(x)` the shape's factor (m²): ∫dt/μ = squared(x)/drive."""

    name: str
    most: float
    squared: Callable[[float], float]
    part: Callable[[float], float]


def along(length: float, name: str = "from one edge") -> Shape:
    """Straight from a runner over `length` (m)."""
    _above_zero(length=length)
    return Shape(name, length, lambda x: x * x, lambda x: x / length)


def outwards(inlet: float, radius: float, name: str = "from a point outwards") -> Shape:
    """From a round inlet of radius `inlet` (m) to `radius`. The distance is counted from the middle."""
    _above_zero(inlet=inlet, length=radius)
    if radius <= inlet:
        raise BadInput("infusion.inside_inlet", say("The panel must reach further than the inlet."), "length")

    def squared(r: float) -> float:
        return r * r * math.log(r / inlet) - (r * r - inlet * inlet) / 2 if r > inlet else 0.0

    return Shape(name, radius, squared, lambda r: max(0.0, r * r - inlet * inlet) / (radius * radius - inlet * inlet))


def inwards(radius: float, vent: float = 0.0, name: str = "from the rim inwards") -> Shape:
    """From a round rim of radius `radius` (m) to a vent in the middle (radius `vent`, 0 for a point). The distance is counted from
    the rim."""
    _above_zero(length=radius)
    if not 0 <= vent < radius:
        raise BadInput("infusion.vent", say("The vent must be smaller than the panel."), "inlet")

    def squared(x: float) -> float:
        r = max(radius - x, 0.0)
        return (radius * radius - r * r) / 2 - (r * r * math.log(radius / r) if r else 0.0)

    def part(x: float) -> float:
        return (radius * radius - max(radius - x, vent) ** 2) / (radius * radius - vent * vent)

    return Shape(name, radius - vent, squared, part)


def choices(length: float, width: float, inlet: float = 0.01, runners: int = 3) -> tuple[Shape, ...]:
    """The usual ways to feed a rectangle (m), to be compared. With several runners the vents lie between them; from all
    round, the straight way to the middle line is taken, which the corners' help makes an upper bound; from a point, the way to the
    corners, the sides having stopped nothing, which is a lower bound once the front has met the nearer sides."""
    _above_zero(length=length, width=width, inlet=inlet)
    if runners < 2:
        raise BadInput("infusion.runners", say("Compare two runners or more."), "runners", runners=runners)
    long, short = max(length, width), min(length, width)
    return (
        along(long, say("runner along a short edge")),
        along(short, say("runner along a long edge")),
        along(short / 2, say("runner along the middle")),
        along(short / 2, say("runner all round, vent along the middle")),
        along(short / (2 * runners), say("{runners} runners, vents between them", runners=runners)),
        outwards(inlet, math.hypot(length, width) / 2, say("inlet at the middle point")),
    )


# --- the answer ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Fill:
    """`needs_us`: how long it takes from the start of the flow, rounded up; None when it never fills in what is known of the resin.
    `soon_us`, `late_us`: the same at the most and the least permeability that laboratories' scatter allows. `have_us`: from the start
    of the flow to the stop. `reached_m` and `part`: where the front stands at the stop (all the way when it fills), `sure_part`
    at the least permeability. `cautions`: why it may not fill."""

    name: str
    needs_us: int | None
    soon_us: int | None
    late_us: int | None
    have_us: int
    reached_m: float
    part: float
    sure_part: float
    cautions: tuple[Reason, ...] = ()

    @property
    def fills(self) -> bool:
        return self.needs_us is not None and self.needs_us <= self.have_us

    @property
    def text(self) -> str:
        """The answer in a sentence, without the temperature, which only the caller knows."""
        have = duration(self.have_us)
        if not self.fills:
            return say("Does not fill in the {have} you have: {floor} % is wet by then.", have=have, floor=math.floor(self.part * 100))
        late = say("up to {late}", late=duration(self.late_us)) if self.late_us is not None else say("or not at all")
        return say(
            "Fills in {needs} of the {have} you have ({late}, as laboratories differ).",
            needs=duration(self.needs_us or 0),
            have=have,
            late=late,
        )


def fill(shape: Shape, bed: Bed, resin: Thickening, start_s: float, stop_s: float) -> Fill:
    """How `shape` fills with resin that starts to flow at `start_s` and must stop at `stop_s` (s since mixing).

    Raises BadInput infusion.no_time when there is none between the two."""
    if not (math.isfinite(start_s) and math.isfinite(stop_s) and start_s < stop_s):
        raise BadInput(
            "infusion.no_time", say("The resin's time is over before it would start to flow: mix later, or start sooner."), "stop"
        )
    known_s = stop_s if len(resin.times) == 1 else min(stop_s, resin.times[-1])
    passed = resin.passed(start_s, known_s)
    usual, soon, late = (_needs(shape, bed.drive(f), resin, start_s) for f in (1.0, 1 + bed.scatter, 1 - bed.scatter))
    reached = _reach(shape, bed.drive() * passed)
    sure = shape.part(_reach(shape, bed.drive(1 - bed.scatter) * passed))
    have = math.floor((stop_s - start_s) * 1_000_000)
    found = Fill(shape.name, usual, soon, late, have, reached, shape.part(reached), sure)
    cautions = tuple(_cautions(found, known_s < stop_s))
    return Fill(found.name, usual, soon, late, have, reached, found.part, sure, cautions)


def compare(shapes: Sequence[Shape], bed: Bed, resin: Thickening, start_s: float, stop_s: float) -> list[Fill]:
    """Every way of feeding, the quickest first; those that never fill last, the furthest first."""
    found = [fill(shape, bed, resin, start_s, stop_s) for shape in shapes]
    return sorted(found, key=lambda f: (f.needs_us is None, f.needs_us or 0, -f.part))


def _needs(shape: Shape, drive: float, resin: Thickening, start_s: float) -> int | None:
    at = resin.until(start_s, shape.squared(shape.most) / drive)
    return None if at is None else math.ceil((at - start_s) * 1_000_000 - 1e-3)


def _reach(shape: Shape, squared: float) -> float:
    """The distance whose `squared` this is, at most all of it; all three shapes rise with the distance."""
    if shape.squared(shape.most) <= squared:
        return shape.most
    low, high = 0.0, shape.most
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if shape.squared(middle) < squared else (low, middle)
    return low


def _cautions(found: Fill, unknown: bool) -> list[Reason]:
    cautions = []
    if found.fills and (found.late_us is None or found.late_us > found.have_us):
        text = say(
            "It may not fill: at the least permeability that laboratories' scatter allows, {floor} % is wet at "
            "the stop. Shorten the way, or measure the permeability of this stack.",
            floor=math.floor(found.sure_part * 100),
        )
        cautions.append(Reason("infusion.may_not_fill", text, {"late_us": found.late_us, "have_us": found.have_us}))
    if unknown and not found.fills:
        text = say("The viscosity is not known up to the stop, so nothing is said of the time after its last point.")
        cautions.append(Reason("infusion.viscosity_ends", text, {"have_us": found.have_us}))
    return cautions


# --- permeability from geometry ------------------------------------------------------------------------


def tow_permeability(radius: float, fibre_volume: float, packing: str = "hexagonal") -> float:
    """Permeability (m²) along parallel fibres of `radius` (m), Gebart: 8r²(1−Vf)³/(c·Vf²), c 53 hexagonal, 57 square. Inside
    a tow: a fabric lets resin through between its tows, one or two powers of ten better.

    Raises BadInput infusion.not_above_zero, infusion.packing, infusion.fibre_volume beyond the densest packing."""
    _above_zero(radius=radius)
    known = {"hexagonal": (53.0, math.pi / (2 * math.sqrt(3))), "square": (57.0, math.pi / 4)}
    if packing not in known:
        raise BadInput("infusion.packing", say("The packing is hexagonal or square."), "packing", packing=packing[:24])
    c, most = known[packing]
    if not 0 < fibre_volume < most:
        text = say(
            "The fibre fraction by volume must lie between 0 and {most}, the densest {packing} packing.",
            most=f"{most:.3f}",
            packing=packing,
        )
        raise BadInput("infusion.fibre_volume", text, "fibre_volume")
    return 8 * radius**2 * (1 - fibre_volume) ** 3 / (c * fibre_volume**2)
