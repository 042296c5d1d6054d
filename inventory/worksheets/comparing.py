"""A new lot beside its history, and values of panels made comparable by their thickness."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from inventory.core import basis, equivalence, geometry
from inventory.core.equivalence import Compared
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say

from .incoming import numbers
from .lines import Col, rows
from .registry import INCOMING, Figure, Sheet, Table, exactly, figure, maybe, plainly, worksheet

QUALIFIED = say("For a first look: an approved programme and a qualified engineer decide on equivalence.")


@dataclass(frozen=True, slots=True)
class Equivalence:
    """Values of one property, in one unit, measured in the same way."""

    history: str = figure(
        say("History"),
        rows=5,
        words=say("One a line, or parted by blanks."),
        default="1510 1485 1532 1498 1541 1467 1520 1489 1505 1516 1493 1528 1502 1511 1479 1536 1508 1497 1522 1500",
    )
    new: str = figure(say("New lot"), default="1512 1498 1506 1489 1520", words=say("One a line, or parted by blanks."), rows=3)
    alpha: str = figure(say("A good lot may fail in"), "share", "%", "5 %")
    side: str = figure(say("Bad are values that are"), default="low", words=say("low, as of a strength; or high, as of volatiles."))


@worksheet(
    "equivalence",
    Equivalence,
    say("New lot against history"),
    say("Limits for mean and lowest value of a new lot; whether the mean changed."),
    INCOMING,
)
def equivalence_(p: Equivalence) -> Sheet:
    old, new = numbers(p.history, "history"), numbers(p.new, "new")
    alpha, side = float(exactly(p, "alpha")), p.side.strip().casefold()
    found = equivalence.compare(old, new, alpha, side)
    return Sheet(_headline(found), tuple(_figures(found)), tuple(_notes(found)), (QUALIFIED,), (_limits(found), _table(found)))


def _words(found: Compared) -> tuple[str, str]:
    return (say("at most"), say("highest")) if found.side == "high" else (say("at least"), say("lowest"))


def _headline(found: Compared) -> str:
    if found.passes:
        return say("Within what its history lets expect ({alpha} % of good lots would fail).", alpha=f"{found.alpha * 100:g}")
    if found.clearly:
        return say("Not equivalent: outside what its history lets expect.")
    return say("Not clear: outside the limits, but a history of {count} values is too short to tell.", count=found.history.n)


def _figures(found: Compared) -> list[Figure]:
    word, worst = _words(found)
    change = found.change
    value = found.new.highest if found.side == "high" else found.new.lowest
    plain = (
        (
            say("mean {word}", word=word),
            found.mean_limit,
            say("history's mean and {mean} standard deviations", mean=f"{found.factors.mean:.4f}"),
        ),
        (
            say("{worst} {word}", worst=worst, word=word),
            found.lowest_limit,
            say("history's mean and {lowest} standard deviations", lowest=f"{found.factors.lowest:.4f}"),
        ),
        (say("mean of the new lot"), found.new.mean, ""),
        (say("{worst} of the new lot", worst=worst), value, ""),
        (say("k for the mean"), found.factors.mean, say("for a history that is taken for the truth")),
        (say("k for the {worst}", worst=worst), found.factors.lowest, ""),
        (
            say("mean {word}, allowing for the history", word=word),
            found.allowing_mean,
            say("limits that hold for a history of {count} values", count=found.history.n),
        ),
        (say("{worst} {word}, allowing for the history", worst=worst, word=word), found.allowing_lowest, ""),
        (say("mean of the history"), found.history.mean, ""),
        (say("standard deviation of the history"), found.history.deviation, ""),
        (say("t of the change"), change.t, say("Welch") if change.welch else say("by the history's scatter: the new lot has one value")),
        (say("degrees of freedom"), change.degrees, ""),
        (say("p of the change"), change.p, say("how often so large a change of the mean, to either side, comes by chance")),
        (say("new mean may be from"), change.low, say("to either side, by the history's scatter")),
        (say("new mean may be to"), change.high, ""),
    )
    figures = [Figure(name, plainly(number, 6), number, "", note) for name, number, note in plain]
    return [
        Figure(say("equivalent"), say("yes") if found.passes else say("no"), found.passes),
        *figures,
        Figure(
            say("mean changed"),
            say("yes") if change.p < found.alpha else say("no"),
            change.p < found.alpha,
            "",
            say("two-sided, at {alpha} %", alpha=f"{found.alpha * 100:g}"),
        ),
    ]


def _notes(found: Compared) -> list[str]:
    notes = [
        say(
            "Limits on mean and extreme together (CMH-17-1G 8.4.1; Vangel, Technometrics 44 (2002) 242), solved "
            "here. Assumed: one normal population, independent values, measured in the same way."
        )
    ]
    if found.provisional:
        notes.append(
            say("Provisional: {count} of the {enough} values that a history should have.", count=found.history.n, enough=equivalence.ENOUGH)
        )
    if found.new.n == 1:
        notes.append(say("One value of the new lot: mean and extreme are the same, and nothing is known of its scatter."))
    if found.new.n > 1 and not found.new.deviation:
        notes.append(say("All values of the new lot are the same: look whether they were measured at all."))
    return notes


def _limits(found: Compared) -> Table:
    _, worst = _words(found)
    body = (
        (say("mean"), found.factors.mean, found.mean_limit, found.allowing.mean, found.allowing_mean),
        (worst, found.factors.lowest, found.lowest_limit, found.allowing.lowest, found.allowing_lowest),
    )
    columns = (
        "",
        "k",
        say("limit"),
        say("k for {count} values", count=found.history.n),
        say("limit for {count} values", count=found.history.n),
    )
    return Table(say("Limits: the history taken for the truth, and allowing for its length"), columns, body)


def _table(found: Compared) -> Table:
    sides = ((say("history"), found.history), (say("new lot"), found.new))
    body = tuple((name, s.n, s.mean, s.deviation if s.n > 1 else "–", s.lowest, s.highest) for name, s in sides)
    return Table(say("Both in figures"), ("", say("values"), say("mean"), say("standard deviation"), say("lowest"), say("highest")), body)


# --- normalisation -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Normalise:
    """Fibre-dominated strengths or stiffnesses, each with the thickness of its panel."""

    values: str = figure(
        say("Values and thicknesses"),
        default=say("1510; 2.06 mm\n1485; 2.11 mm\n1532; 2.02 mm\n1498; 2.09 mm\n1467; 2.14 mm"),
        words=say("One a line: value; measured thickness of all plies."),
        rows=6,
    )
    nominal: str = figure(
        say("Nominal thickness"), "length", "mm", "2.08 mm", say("Of all plies; or of one, with their number."), optional=True
    )
    plies: str = figure(say("Number of plies"), "number", "", "", say("When the nominal thickness is that of one ply."))
    fibre_areal_weight: str = figure(
        say("Areal weight of the fibre"), "areal weight", "g/m²", "", say("Of one ply; with the next two instead of the nominal thickness.")
    )
    fibre_density: str = figure(say("Density of the fibre"), "density", "g/cm³", "")
    fibre_volume: str = figure(say("Nominal fibre by volume"), "share", "%", "")


@worksheet(
    "normalise",
    Normalise,
    say("Normalise to thickness"),
    say("Values of panels with more or less resin, as they would be at the nominal thickness."),
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
            raise BadInput("quantity.not_a_number", say("Line {count}: the value is too large.", count=n), "values")
        found.append(got)
        body.append((n, _float(value), float(thick) * 1e3, got))
    if not found:
        raise BadInput("quantity.empty", say("Enter at least one value with its thickness."), "values")
    mean, spread = _spread(found)
    _, before = _spread([row[1] for row in body])
    figures = [
        Figure(say("normalised"), plainly(found[0], 6), found[0], "", say("the first value"))
        if len(found) == 1
        else Figure(say("mean, normalised"), plainly(mean, 6), mean),
        Figure(
            say("nominal thickness"),
            say("{nominal} mm ({nominal_2} mil)", nominal=plainly(nominal * 1000.0), nominal_2=plainly(nominal / 2.54e-05)),
            nominal * 1e3,
            "mm",
        ),
    ]
    if spread is not None and before is not None:
        figures += [
            Figure(say("coefficient of variation, as measured"), say("{before} %", before=f"{before:.2f}"), before, "%"),
            Figure(say("coefficient of variation, normalised"), say("{spread} %", spread=f"{spread:.2f}"), spread, "%"),
        ]
    notes = [
        say(
            "Value × thickness / nominal thickness (CMH-17-1G 2.4.3). Only for what the fibre carries: not for "
            "shear, nor across the fibres."
        )
    ]
    if spread is not None and before is not None and spread > before:
        notes.append(
            say(
                "Normalised values scatter more than measured ones: look at the thicknesses, or whether the fibre "
                "carries this property at all."
            )
        )
    return Sheet(
        say("{mean} at {nominal} mm", mean=plainly(mean, 5), nominal=plainly(nominal * 1000.0, 4))
        + (say(", mean of {found}.", found=len(found)) if len(found) > 1 else "."),
        tuple(figures),
        tuple(notes),
        (QUALIFIED.replace("equivalence", "values for design"),),
        (Table(say("Values"), (say("panel"), say("measured"), say("thickness, mm"), say("normalised")), tuple(body)),),
    )


def _nominal(p: Normalise) -> float:
    """m."""
    plies, thick = maybe(p, "plies"), maybe(p, "nominal")
    if plies is not None and (plies.denominator != 1 or not 1 <= plies <= 10_000):
        raise BadInput("quantity.whole", say("The number of plies is a whole number from 1 to 10000."), "plies")
    if thick is None:
        faw, fibre, volume = (maybe(p, name) for name in ("fibre_areal_weight", "fibre_density", "fibre_volume"))
        if faw is None or fibre is None or volume is None:
            lacks = next(name for name in ("fibre_areal_weight", "fibre_density", "fibre_volume") if not getattr(p, name).strip())
            said = any(getattr(p, name).strip() for name in ("fibre_areal_weight", "fibre_density", "fibre_volume"))
            text = say("Enter the nominal thickness, or areal weight, density and share of the fibre.")
            raise BadInput("worksheet.needed", text, lacks if said else "nominal")
        with told_at({"areal_mg_m2": "fibre_areal_weight", "fibre_mg_cm3": "fibre_density", "fibre_volume": "fibre_volume"}):
            thick = geometry.cured_thickness_um(faw * 10**6, fibre, volume * 10**6) / 10**6
    whole = thick * (1 if plies is None else plies)
    if not 0 < whole < 1000:
        raise BadInput("basis.thickness", say("A thickness is above nothing: check it and its unit."), "nominal")
    return float(whole)


def _float(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        raise BadInput("quantity.not_a_number", say("A value is too large."), "values") from None


def _spread(values: list[float]) -> tuple[float, float | None]:
    """Mean and coefficient of variation, %."""
    mean = math.fsum(values) / len(values)
    if len(values) < 2 or not mean:
        return mean, None
    return mean, 100 * math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1)) / abs(mean)
