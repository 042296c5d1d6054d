"""The data sheet's pot life at another temperature, as a range; and the activation energy that several of its figures give."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core import potlife
from inventory.core.potlife import AID, Batch, PotSheet, System, pot_window
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say
from inventory.core.spans import duration

from .gelling import OWN, US, minutes
from .lines import Col, rows
from .registry import CURE, Chart, Figure, Series, Sheet, Table, celsius, exactly, figure, plainly, worksheet


@dataclass(frozen=True, slots=True)
class PotLife:
    """A pot life belongs to its mass, its temperature and its method of test."""

    life: str = figure(say("Pot life on the data sheet"), "time", "min", "25 min")
    sheet_temperature: str = figure(say("… at"), usual="°C", default="23 °C")
    sheet_mass: str = figure(say("… for a mass of"), "mass", "g", "150 g")
    method: str = figure(say("… by the method"), default="", words=say("Such as ASTM D2471 or ISO 10364: they give different answers."))
    temperature: str = figure(say("Temperature now"), usual="°C", default="18 °C")
    mass: str = figure(say("Mass now"), "mass", "g", "150 g")
    points: str = figure(
        say("Pot lives at several temperatures"),
        default="",
        rows=4,
        words=say(
            "One a line: temperature; pot life. They give the system's own activation energy, and how far each is missed by the others."
        ),
    )


@worksheet(
    "pot-life",
    PotLife,
    say("Pot life at another temperature"),
    say("The data sheet's pot life, corrected for temperature, as a range."),
    CURE,
)
def pot_life(p: PotLife) -> Sheet:
    life, mass, now = exactly(p, "life"), exactly(p, "sheet_mass"), exactly(p, "mass")
    at, temp = celsius(p.sheet_temperature, "sheet_temperature"), celsius(p.temperature, "temperature")
    for name, value, most in (("life", life, 10**9), ("sheet_mass", mass, 10**6), ("mass", now, 10**6)):
        if not 0 < value <= most:
            raise BadInput("pot.sheet", say("This figure is above zero; check it and its unit."), name)
    with told_at("sheet_temperature"):
        sheet = PotSheet(max(1, int(life * US)), at, max(1, round(mass * 10**9)), p.method.strip())
    with told_at("temperature"):
        told = pot_window(System("amine", sheet), Batch(max(1, round(now * 10**9)), temp))
    assert told.window is not None
    window = told.window
    found = [
        minutes(say("lasts, at least"), window.low_us),
        minutes(say("lasts, at most"), window.high_us),
        *_rule(temp),
        *(_q10(temp)),
    ]
    notes = [say("Method: {method}; the range is that of amine–epoxide reactions (Thermochim. Acta 447 (2006) 167).", method=window.method)]
    if not p.method.strip():
        notes.append(say("The data sheet's test method is not given: volume and method change the figure."))
    tables = [_over_temperature(sheet)]
    tables += _own(p.points, temp, found, notes)
    span = (
        say("{low} to {high}", low=duration(window.low_us), high=duration(window.high_us))
        if window.low_us != window.high_us
        else duration(window.low_us)
    )
    return Sheet(
        say("{span} at {temp} °C.", span=span, temp=plainly(temp / 1000)),
        tuple(found),
        tuple(notes),
        (*(r.text for r in window.cautions), AID, OWN),
        tuple(tables),
        (_curve(sheet),),
    )


def _rule(temp: int) -> list[Figure]:
    """What "ten kelvin halve it" means as an activation energy, from here upwards."""
    energy = potlife.rule_energy(temp, temp + 10_000)
    note = say("what “ten kelvin halve it” means from {temp} to {temp_2} °C", temp=plainly(temp / 1000), temp_2=plainly(temp / 1000 + 10))
    return [Figure(say("rule of thumb"), say("{energy} kJ/mol", energy=f"{energy / 1000:.2f}"), energy / 1000, "kJ/mol", note)]


def _q10(temp: int) -> list[Figure]:
    """How many times faster ten kelvin above, by the energies of the range."""
    rows = (
        (say("ten kelvin more, at {ea} kJ/mol", ea=ea // 1000), potlife.quicker(ea, temp, temp + 10_000))
        for ea in (potlife.EA_LOW, potlife.EA_HIGH)
    )
    return [Figure(name, say("{times} times as fast", times=f"{times:.2f}"), times, "") for name, times in rows]


def _over_temperature(sheet: PotSheet) -> Table:
    body = []
    for degrees in range(5, 40, 5):
        low, high = sorted(potlife.amine_life(sheet, degrees * 1000, ea) / 60e6 for ea in (potlife.EA_LOW, potlife.EA_HIGH))
        body.append((degrees, low, high))
    return Table(say("Over temperature, by the data sheet's one figure"), ("°C", say("at least, min"), say("at most, min")), tuple(body))


def _curve(sheet: PotSheet) -> Chart:
    lines = {
        name: tuple((mc / 1000, potlife.amine_life(sheet, mc, ea) / 60e6) for mc in range(5_000, 36_000, 1_000))
        for name, ea in ((say("55 kJ/mol"), potlife.EA_LOW), (say("60 kJ/mol"), potlife.EA_HIGH))
    }
    cold, hot = (lines["55 kJ/mol"][n][1] for n in (0, -1))
    says = say("About {cold} min at 5 °C, and {hot} min at 35 °C.", cold=f"{cold:.0f}", hot=f"{hot:.0f}")
    return Chart(
        say("Pot life over temperature"), "line", "°C", say("min"), tuple(Series(name, points) for name, points in lines.items()), says
    )


def _own(text: str, temp: int, found: list[Figure], notes: list[str]) -> list[Table]:
    """The system's own activation energy, from its pot lives over temperature."""
    if not text.strip():
        return []
    columns = (Col("temperature", "temperature", "°C"), Col(say("pot life"), "time", "min"))
    points = []
    for n, (at, time) in enumerate(rows(text, "points", columns), start=1):
        assert isinstance(at, Fraction) and isinstance(time, Fraction)
        if not 0 < time <= 10**9:
            raise BadInput("pot.sheet", say("Line {count}: a pot life is above zero; check it and its unit.", count=n), "points")
        points.append((int(at), float(time)))
    with told_at("points"):
        fit = potlife.fitted(points)
    found += [
        Figure(
            say("activation energy of these points"),
            say("{energy} kJ/mol", energy=f"{fit.energy / 1000:.1f}"),
            fit.energy / 1000,
            "kJ/mol",
            say("{points} points, least squares", points=len(points)),
        ),
        minutes(say("lasts, by these points"), int(fit.at(temp) * US)),
    ]
    if fit.worst is not None:
        found.append(
            Figure(
                say("leave-one-out error"),
                say("{worst} %", worst=f"{fit.worst * 100:.0f}"),
                fit.worst * 100,
                "%",
                say("the largest: each point told by the others"),
            )
        )
        notes.append(say("Each of these points, told by the others, is missed by up to {worst} %.", worst=f"{fit.worst * 100:.0f}"))
    else:
        notes.append(say("Two points make a line and cannot tell how far it is off; a third would."))
    if not min(t for t, _ in points) <= temp <= max(t for t, _ in points):
        notes.append(say("Outside the temperatures of these points their line is only a guess."))
    body = tuple(
        (t / 1000, time / 60, fit.at(t) / 60, "–" if miss is None else miss * 100)
        for (t, time), miss in zip(points, fit.misses, strict=True)
    )
    return [
        Table(
            say("These points, and what the others say of each"),
            ("°C", say("stated, min"), say("by the line, min"), say("missed by the others, %")),
            body,
        )
    ]
