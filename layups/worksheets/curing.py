"""A cure before it is run: how far the resin comes along a schedule, when it gets there, and its glass temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from inventory.core.kinetic_sets import SETS
from inventory.core.kinetic_text import EXAMPLES, Glass, law_of
from inventory.core.kinetics import Fitted, check_start
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say, strung
from inventory.core.spans import duration
from inventory.core.temperature import display_celsius
from inventory.worksheets.lines import Col, rows
from inventory.worksheets.registry import CURE, Chart, Figure, Series, Sheet, celsius, figure, number, worksheet
from layups.core.cure_chart import Along, cured_along, thinned
from layups.core.traces import Trace

US = 1_000_000
STEP_S = 15
MOST_S = 30 * 86_400
OWN = say("An estimate: the supplier's cure cycle, the approved process specification and a test of the part decide.")


@dataclass(frozen=True, slots=True)
class Cure:
    """A schedule as corners of time and temperature, and the kinetics of the resin."""

    schedule: str = figure(
        say("Schedule"),
        default=say("0 min; 20 °C\n45 min; 110 °C\n105 min; 110 °C\n140 min; 180 °C\n260 min; 180 °C"),
        words=say("One corner a line: time since the start; temperature of the part. Straight between them."),
        rows=6,
    )
    system: str = figure(
        say("Kinetics"), default="prepreg", words=say("A published set of constants: {sets}; or own.", sets=strung(", ", SETS))
    )
    conversion: str = figure(say("When does it reach"), "share", "%", "80 %")
    start: str = figure(say("It starts at"), "share", "%", "", say("Empty: where the set starts."))
    form: str = figure(say("Form of own constants"), default="", words=say("One of {examples}.", examples=strung(", ", EXAMPLES)))
    constants: str = figure(
        say("Own constants"), default="", words=say("In braces, J/mol and 1/s: {nth_order}", nth_order=EXAMPLES["nth order"]), rows=3
    )
    glass_uncured: str = figure(say("Glass temperature uncured"), usual="°C", default="")
    glass_cured: str = figure(say("Glass temperature fully cured"), usual="°C", default="")
    glass_lambda: str = figure(say("λ between them"), "number", default="", words=say("DiBenedetto's; a number between 0 and 1.5."))


@worksheet(
    "cure",
    Cure,
    say("Degree of cure"),
    say("How far a resin comes along a cure cycle, when it gets there, and its glass temperature."),
    CURE,
)
def cure(p: Cure) -> Sheet:
    line, fit = _schedule(p), _fitted(p)
    wanted = number(p, "conversion")
    if not 0 < wanted < 1:
        raise BadInput("kinetics.conversion", say("A conversion to reach lies between 0 and 100 %."), "conversion")
    with told_at({"temperature": "schedule", "chart": "schedule"}):
        (along,) = cured_along([line], fit, _glass(p))
    end = along.alpha[-1]
    when = _reached(along, wanted)
    share = say("{wanted} %", wanted=f"{wanted * 100:g}")
    figures = [
        Figure(say("degree of cure at the end"), say("{end} %", end=f"{end * 100:.2f}"), end, ""),
        Figure(
            say("reaches {share} after", share=share),
            duration(round(when * US)) if when is not None else say("never here"),
            _min(when),
            "min",
        ),
    ]
    if along.glass_mc is not None:
        glass = along.glass_mc[-1]
        figures.append(Figure(say("glass temperature at the end"), display_celsius(round(glass, -2)), glass / 1000, "°C"))
        figures += _vitrifies(line, along)
    there = (
        say(", {share} after {when}", share=share, when=duration(round(when * US)))
        if when is not None
        else say("; {share} is not reached", share=share)
    )
    return Sheet(
        headline=say("{end} % at the end{there}.", end=f"{end * 100:.1f}", there=there),
        figures=tuple(figures),
        notes=(
            say("Constants: {fit}; {source}.", fit=fit.name, source=fit.source),
            say("It starts at a conversion of {seed}.", seed=f"{fit.seed:g}"),
        ),
        cautions=(*(r.text for r in along.reasons), say("The part's own heat of reaction is not in it: a thick part runs hotter."), OWN),
        charts=_curves(line, along),
    )


def _schedule(p: Cure) -> Trace:
    found = rows(p.schedule, "schedule", (Col("time", "time", "min"), Col("temperature", "temperature")))
    corners = [(round(t * US), round(mc)) for t, mc in found if isinstance(t, Fraction) and isinstance(mc, Fraction)]
    if len(corners) < 2 or any(b[0] <= a[0] for a, b in pairwise(corners)):
        raise BadInput("cure.schedule", say("A schedule has two corners at least, each later than the one before."), "schedule")
    if corners[-1][0] - corners[0][0] > MOST_S * US:
        raise BadInput("cure.schedule", say("A schedule is at most 30 days long."), "schedule")
    start, end = corners[0][0], corners[-1][0]
    step = max(STEP_S * US, (end - start) // 1_000)
    at = sorted({*range(start, end, step), *(t for t, _ in corners)})
    return Trace.of("schedule", at, [_between(corners, t) for t in at])


def _between(corners: Sequence[tuple[int, int]], at: int) -> int:
    n = max(k for k, (t, _) in enumerate(corners[:-1]) if t <= at or k == 0)
    (t0, y0), (t1, y1) = corners[n], corners[n + 1]
    return round(y0 + (y1 - y0) * (at - t0) / (t1 - t0))


def _fitted(p: Cure) -> Fitted:
    word = p.system.strip().lower()
    if word == "own":
        with told_at({"form": "form", "constants": "constants"}):
            fit = Fitted(say("own constants"), say("as typed"), law_of(p.form.strip().lower(), p.constants), None, seed=0.0)
    elif word in SETS:
        fit = SETS[word]
    else:
        raise BadInput("worksheet.choice", say("Choose one of {sets}, or own.", sets=strung(", ", SETS)), "system")
    if p.start.strip():
        with told_at("start"):
            fit = replace(fit, seed=check_start(fit.law, number(p, "start")))
    with told_at("start"):
        check_start(fit.law, fit.seed)
    return fit


def _glass(p: Cure) -> Glass | None:
    said = [n for n in ("glass_uncured", "glass_cured", "glass_lambda") if getattr(p, n).strip()]
    if not said:
        return None
    for name in ("glass_uncured", "glass_cured", "glass_lambda"):
        if name not in said:
            raise BadInput("worksheet.needed", say("A glass temperature needs all three: uncured, fully cured, and λ between them."), name)
    with told_at("glass_cured"):
        return Glass(celsius(p.glass_uncured, "glass_uncured"), celsius(p.glass_cured, "glass_cured"), number(p, "glass_lambda"))


def _reached(along: Along, wanted: float) -> float | None:
    """Seconds from the start, straight between the points."""
    if along.alpha[0] >= wanted:
        return 0.0
    for n in range(1, len(along.alpha)):
        low, high = along.alpha[n - 1], along.alpha[n]
        if high >= wanted:
            at = along.at_us[n - 1] + (along.at_us[n] - along.at_us[n - 1]) * (wanted - low) / (high - low)
            return (at - along.at_us[0]) / US
    return None


def _vitrifies(line: Trace, along: Along) -> list[Figure]:
    """When the glass temperature overtakes the part: from there on it hardly cures further."""
    import numpy as np

    assert along.glass_mc is not None
    temps = np.interp(along.at_us, line.at_us, line.mc)
    over = [n for n, (t, g) in enumerate(zip(temps, along.glass_mc, strict=True)) if g > t and along.alpha[n] > along.alpha[0] + 0.05]
    if not over:
        return [Figure(say("turns to glass"), say("not here"), None, "min", say("its glass temperature stays below the part's"))]
    after = (along.at_us[over[0]] - along.at_us[0]) / US
    return [
        Figure(say("turns to glass after"), duration(round(after * US)), _min(after), "min", say("from there on it hardly cures further"))
    ]


def _min(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds / 60, 3)


def _curves(line: Trace, along: Along) -> tuple[Chart, ...]:
    start = line.first_us
    minutes = [(us - start) / 60e6 for us in along.at_us]
    cured = Series(say("degree of cure"), tuple((m, a * 100) for m, a in zip(minutes, along.alpha, strict=True)))
    part = Series(say("part"), tuple(((int(us) - start) / 60e6, float(mc) / 1000) for us, mc in zip(*thinned(line, 400), strict=True)))
    temps = [part]
    if along.glass_mc is not None:
        temps.append(Series(say("glass temperature"), tuple((m, g / 1000) for m, g in zip(minutes, along.glass_mc, strict=True))))
    return (
        Chart(
            say("Degree of cure"), "line", say("minutes"), "%", (cured,), say("It ends at {alpha} %.", alpha=f"{along.alpha[-1] * 100:.1f}")
        ),
        Chart(
            say("Temperatures"),
            "line",
            say("minutes"),
            "°C",
            tuple(temps),
            say("The part comes to {max}.", max=display_celsius(int(line.mc.max()))),
        ),
    )
