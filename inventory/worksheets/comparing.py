"""A new lot beside its history, and values of panels made comparable by their thickness."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from inventory.core import basis, equivalence, geometry
from inventory.core.equivalence import Compared
from inventory.core.reasons import BadInput, told_at

from .incoming import numbers
from .lines import Col, rows
from .registry import INCOMING, Figure, Sheet, Table, exactly, figure, maybe, plainly, worksheet

QUALIFIED = "For a first look: an approved programme and a qualified engineer decide on equivalence."


@dataclass(frozen=True, slots=True)
class Equivalence:
    """Values of one property, in one unit, measured in the same way."""

    history: str = figure(
        "History", rows=5, words="One a line, or parted by blanks.",
        default="1510 1485 1532 1498 1541 1467 1520 1489 1505 1516 1493 1528 1502 1511 1479 1536 1508 1497 1522 1500",
    )  # fmt: skip
    new: str = figure("New lot", default="1512 1498 1506 1489 1520", words="One a line, or parted by blanks.", rows=3)
    alpha: str = figure("A good lot may fail in", "share", "%", "5 %")
    side: str = figure("Bad are values that are", default="low", words="low, as of a strength; or high, as of volatiles.")


@worksheet(
    "equivalence",
    Equivalence,
    "New lot against history",
    "Limits for mean and lowest value of a new lot; whether the mean changed.",
    INCOMING,
)
def equivalence_(p: Equivalence) -> Sheet:
    old, new = numbers(p.history, "history"), numbers(p.new, "new")
    alpha, side = float(exactly(p, "alpha")), p.side.strip().casefold()
    found = equivalence.compare(old, new, alpha, side)
    return Sheet(_headline(found), tuple(_figures(found)), tuple(_notes(found)), (QUALIFIED,), (_limits(found), _table(found)))


def _words(found: Compared) -> tuple[str, str]:
    return ("at most", "highest") if found.side == "high" else ("at least", "lowest")


def _headline(found: Compared) -> str:
    if found.passes:
        return f"Within what its history lets expect ({found.alpha * 100:g} % of good lots would fail)."
    if found.clearly:
        return "Not equivalent: outside what its history lets expect."
    return f"Not clear: outside the limits, but a history of {found.history.n} values is too short to tell."


def _figures(found: Compared) -> list[Figure]:
    word, worst = _words(found)
    change = found.change
    value = found.new.highest if found.side == "high" else found.new.lowest
    plain = (
        (f"mean {word}", found.mean_limit, f"history's mean and {found.factors.mean:.4f} standard deviations"),
        (f"{worst} {word}", found.lowest_limit, f"history's mean and {found.factors.lowest:.4f} standard deviations"),
        ("mean of the new lot", found.new.mean, ""),
        (f"{worst} of the new lot", value, ""),
        ("k for the mean", found.factors.mean, "for a history that is taken for the truth"),
        (f"k for the {worst}", found.factors.lowest, ""),
        (f"mean {word}, allowing for the history", found.allowing_mean, f"limits that hold for a history of {found.history.n} values"),
        (f"{worst} {word}, allowing for the history", found.allowing_lowest, ""),
        ("mean of the history", found.history.mean, ""),
        ("standard deviation of the history", found.history.deviation, ""),
        ("t of the change", change.t, "Welch" if change.welch else "by the history's scatter: the new lot has one value"),
        ("degrees of freedom", change.degrees, ""),
        ("p of the change", change.p, "how often so large a change of the mean, to either side, comes by chance"),
        ("new mean may be from", change.low, "to either side, by the history's scatter"),
        ("new mean may be to", change.high, ""),
    )
    figures = [Figure(name, plainly(number, 6), number, "", note) for name, number, note in plain]
    return [
        Figure("equivalent", "yes" if found.passes else "no", found.passes),
        *figures,
        Figure(
            "mean changed", "yes" if change.p < found.alpha else "no", change.p < found.alpha, "", f"two-sided, at {found.alpha * 100:g} %"
        ),
    ]


def _notes(found: Compared) -> list[str]:
    notes = [
        "Limits on mean and extreme together (CMH-17-1G 8.4.1; Vangel, Technometrics 44 (2002) 242), solved here. Assumed: one normal "
        "population, independent values, measured in the same way."
    ]
    if found.provisional:
        notes.append(f"Provisional: {found.history.n} of the {equivalence.ENOUGH} values that a history should have.")
    if found.new.n == 1:
        notes.append("One value of the new lot: mean and extreme are the same, and nothing is known of its scatter.")
    if found.new.n > 1 and not found.new.deviation:
        notes.append("All values of the new lot are the same: look whether they were measured at all.")
    return notes


def _limits(found: Compared) -> Table:
    _, worst = _words(found)
    body = (
        ("mean", found.factors.mean, found.mean_limit, found.allowing.mean, found.allowing_mean),
        (worst, found.factors.lowest, found.lowest_limit, found.allowing.lowest, found.allowing_lowest),
    )
    columns = ("", "k", "limit", f"k for {found.history.n} values", f"limit for {found.history.n} values")
    return Table("Limits: the history taken for the truth, and allowing for its length", columns, body)


def _table(found: Compared) -> Table:
    sides = (("history", found.history), ("new lot", found.new))
    body = tuple((name, s.n, s.mean, s.deviation if s.n > 1 else "–", s.lowest, s.highest) for name, s in sides)
    return Table("Both in figures", ("", "values", "mean", "standard deviation", "lowest", "highest"), body)


# --- normalisation -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Normalise:
    """Fibre-dominated strengths or stiffnesses, each with the thickness of its panel."""

    values: str = figure(
        "Values and thicknesses", default="1510; 2.06 mm\n1485; 2.11 mm\n1532; 2.02 mm\n1498; 2.09 mm\n1467; 2.14 mm",
        words="One a line: value; measured thickness of all plies.", rows=6,
    )  # fmt: skip
    nominal: str = figure("Nominal thickness", "length", "mm", "2.08 mm", "Of all plies; or of one, with their number.", optional=True)
    plies: str = figure("Number of plies", "number", "", "", "When the nominal thickness is that of one ply.")
    fibre_areal_weight: str = figure(
        "Areal weight of the fibre", "areal weight", "g/m²", "", "Of one ply; with the next two instead of the nominal thickness."
    )
    fibre_density: str = figure("Density of the fibre", "density", "g/cm³", "")
    fibre_volume: str = figure("Nominal fibre by volume", "share", "%", "")


@worksheet(
    "normalise",
    Normalise,
    "Normalise to thickness",
    "Values of panels with more or less resin, as they would be at the nominal thickness.",
    INCOMING,
)
def normalise(p: Normalise) -> Sheet:
    nominal = _nominal(p)
    body, found = [], []
    columns = (Col("value"), Col("thickness", "length", "mm"))
    for n, (value, thick) in enumerate(rows(p.values, "values", columns), start=1):
        assert isinstance(value, Fraction) and isinstance(thick, Fraction)
        with told_at({"thickness": "values"}):
            got = basis.normalised(_float(value), float(thick), nominal)
        if not math.isfinite(got):
            raise BadInput("quantity.not_a_number", f"Line {n}: the value is too large.", "values")
        found.append(got)
        body.append((n, _float(value), float(thick) * 1e3, got))
    if not found:
        raise BadInput("quantity.empty", "Enter at least one value with its thickness.", "values")
    mean, spread = _spread(found)
    _, before = _spread([row[1] for row in body])
    figures = [
        Figure("normalised", plainly(found[0], 6), found[0], "", "the first value")
        if len(found) == 1
        else Figure("mean, normalised", plainly(mean, 6), mean),
        Figure("nominal thickness", f"{plainly(nominal * 1e3)} mm ({plainly(nominal / 0.0000254)} mil)", nominal * 1e3, "mm"),
    ]
    if spread is not None and before is not None:
        figures += [
            Figure("coefficient of variation, as measured", f"{before:.2f} %", before, "%"),
            Figure("coefficient of variation, normalised", f"{spread:.2f} %", spread, "%"),
        ]
    notes = [
        "Value × thickness / nominal thickness (CMH-17-1G 2.4.3). Only for what the fibre carries: not for shear, nor across the fibres."
    ]
    if spread is not None and before is not None and spread > before:
        notes.append(
            "Normalised values scatter more than measured ones: look at the thicknesses, or whether the fibre carries this property at all."
        )
    return Sheet(
        f"{plainly(mean, 5)} at {plainly(nominal * 1e3, 4)} mm" + (f", mean of {len(found)}." if len(found) > 1 else "."),
        tuple(figures), tuple(notes), (QUALIFIED.replace("equivalence", "values for design"),),
        (Table("Values", ("panel", "measured", "thickness, mm", "normalised"), tuple(body)),),
    )  # fmt: skip


def _nominal(p: Normalise) -> float:
    """m."""
    plies, thick = maybe(p, "plies"), maybe(p, "nominal")
    if plies is not None and (plies.denominator != 1 or not 1 <= plies <= 10_000):
        raise BadInput("quantity.whole", "The number of plies is a whole number from 1 to 10000.", "plies")
    if thick is None:
        faw, fibre, volume = (maybe(p, name) for name in ("fibre_areal_weight", "fibre_density", "fibre_volume"))
        if faw is None or fibre is None or volume is None:
            lacks = next(name for name in ("fibre_areal_weight", "fibre_density", "fibre_volume") if not getattr(p, name).strip())
            said = any(getattr(p, name).strip() for name in ("fibre_areal_weight", "fibre_density", "fibre_volume"))
            text = "Enter the nominal thickness, or areal weight, density and share of the fibre."
            raise BadInput("worksheet.needed", text, lacks if said else "nominal")
        with told_at({"areal_mg_m2": "fibre_areal_weight", "fibre_mg_cm3": "fibre_density", "fibre_volume": "fibre_volume"}):
            thick = geometry.cured_thickness_um(faw * 10**6, fibre, volume * 10**6) / 10**6
    whole = thick * (1 if plies is None else plies)
    if not 0 < whole < 1000:
        raise BadInput("basis.thickness", "A thickness is above nothing: check it and its unit.", "nominal")
    return float(whole)


def _float(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        raise BadInput("quantity.not_a_number", "A value is too large.", "values") from None


def _spread(values: list[float]) -> tuple[float, float | None]:
    """Mean and coefficient of variation, %."""
    mean = math.fsum(values) / len(values)
    if len(values) < 2 or not mean:
        return mean, None
    return mean, 100 * math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1)) / abs(mean)
