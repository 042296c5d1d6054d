"""Values of lots that come in: a control chart over them, and the basis value that they carry."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from inventory.core import basis, spc
from inventory.core.numerals import leading_number, shown
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say, strung

from .registry import INCOMING, Chart, Figure, Series, Sheet, Table, figure, number, worksheet

_EXAMPLE = "602 598 605 601 596 603 607 599 600 604 597 602 606 601 598 603 599 605 600 602 611"


@dataclass(frozen=True, slots=True)
class ControlChart:
    """Values in the order in which their lots came."""

    values: str = figure(say("Values"), default=_EXAMPLE, words=say("One a line, or parted by blanks; in one unit."), rows=6)
    baseline: str = figure(
        say("Limits from the first"), default="20", words=say("How many of the first values make the limits."), optional=True
    )
    mean: str = figure(say("Mean, known from elsewhere"), "number", "", "", say("With sigma, instead of limits from the values."))
    sigma: str = figure(say("Sigma, known from elsewhere"), "number", "", "")


@worksheet(
    "control-chart",
    ControlChart,
    say("Control chart"),
    say("Whether a certificate value still comes from the same process, lot by lot."),
    INCOMING,
)
def control_chart(p: ControlChart) -> Sheet:
    values = numbers(p.values)
    found = _chart(p, values)
    last = say("{values} values", values=len(values)) if not found.signals else found.signals[-1].text.rstrip(".")
    marks = ((found.mean, say("mean")), (found.high, say("upper limit")), (found.low, say("lower limit")))
    lines = tuple(Series(name, ((1.0, level), (float(len(values)), level))) for level, name in marks)
    told = [signal.text for signal in found.signals]
    notes = [*told, LIMITS if not p.sigma.strip() else say("Limits: three sigmas on either side of the mean, both as given.")]
    if found.provisional:
        notes.append(say("The limits are provisional: they rest on fewer than {enough} values.", enough=spc.ENOUGH))
    return Sheet(
        headline=say("In control: no rule is broken by {last}.", last=last) if not told else say("Not in control. {last}.", last=last),
        figures=(
            Figure(say("mean"), f"{found.mean:.6g}", found.mean),
            Figure(say("sigma"), f"{found.sigma:.4g}", found.sigma, note=say("of one value, by the moving ranges")),
            Figure(say("lower limit"), f"{found.low:.6g}", found.low),
            Figure(say("upper limit"), f"{found.high:.6g}", found.high),
            Figure(say("signals"), str(len(told)), len(told)),
            Figure(say("values between false alarms"), f"{spc.run_length():.1f}", spc.run_length(), "", say("of rule 1 alone, by chance")),
        ),
        notes=tuple(notes),
        cautions=(say("A signal is a question, not a verdict: look at the lot, the test and the scale before deciding anything."),),
        tables=(
            Table(say("Values"), (say("lot"), say("value"), say("sigmas from the mean")), tuple(_scaled(values, found))),
            *_signals(found),
        ),
        charts=(
            Chart(
                say("Values and limits"),
                "line",
                say("lot"),
                say("value"),
                (Series(say("values"), tuple((float(n), v) for n, v in enumerate(values, 1))), *lines),
                say(
                    "From {values} to {values_2}; limits {low} and {high}. {told}",
                    values=f"{min(values):g}",
                    values_2=f"{max(values):g}",
                    low=f"{found.low:.5g}",
                    high=f"{found.high:.5g}",
                    told=strung(" ", told[:3]),
                ).strip(),
            ),
        ),
    )


LIMITS = say("Limits: the mean and three sigmas on either side; sigma from the mean of the moving ranges (NIST/SEMATECH e-Handbook 6.3.2).")


def _chart(p: ControlChart, values: list[float]) -> spc.Control:
    if p.mean.strip() or p.sigma.strip():
        for name in ("mean", "sigma"):
            if not getattr(p, name).strip():
                raise BadInput("worksheet.needed", say("Mean and sigma go together: enter both, or neither."), name)
        return spc.known(values, number(p, "mean"), number(p, "sigma"))
    base = whole(p.baseline, "baseline") if p.baseline.strip() else len(values)
    return spc.individuals(values, min(base, len(values)))


def _signals(found: spc.Control) -> tuple[Table, ...]:
    if not found.signals:
        return ()
    return (
        Table(
            say("Rules that were broken"), (say("lot"), say("rule"), say("says")), tuple((s.at + 1, s.rule, s.text) for s in found.signals)
        ),
    )


def _scaled(values: list[float], found: spc.Control) -> Iterator[tuple[int, float, float]]:
    for n, value in enumerate(values, start=1):
        yield n, value, (value - found.mean) / found.sigma


@dataclass(frozen=True, slots=True)
class BasisValue:
    """Values of one property, from one population."""

    values: str = figure(
        say("Values"), default="1510 1485 1532 1498 1541 1467 1520 1489 1505 1516", words=say("One a line, or parted by blanks."), rows=6
    )
    kind: str = figure(
        say("Kind"), default="B", words=say("B: nine in ten exceed it; A: ninety-nine in a hundred. Both with 95 % confidence.")
    )


@worksheet(
    "basis-value", BasisValue, say("Basis value"), say("What nearly all of a material can be counted on for, from a sample."), INCOMING
)
def basis_value(p: BasisValue) -> Sheet:
    values = numbers(p.values)
    found = basis.basis(values, p.kind.strip().upper())
    kind = p.kind.strip().upper()
    notes = [say("Mean − k · s, for values from one normal population; lots that differ need another method.")]
    if found.thin:
        notes.append(
            say(
                "{count} values are fewer than the {usual} that are usually asked for: take it as a first look.",
                count=found.n,
                usual=basis.USUAL[kind],
            )
        )
    spread = say("{deviation} %", deviation=f"{100 * found.deviation / abs(found.mean):.1f}") if found.mean else "–"
    return Sheet(
        headline=say("{kind}-basis value {found_value} from {count} values.", kind=kind, found_value=f"{found.value:.5g}", count=found.n),
        figures=(
            Figure(say("basis value"), f"{found.value:.6g}", found.value),
            Figure("k", f"{found.k:.4f}", found.k, note=say("one-sided tolerance factor")),
            Figure(say("mean"), f"{found.mean:.6g}", found.mean),
            Figure(say("standard deviation"), f"{found.deviation:.4g}", found.deviation),
            Figure(say("coefficient of variation"), spread, 100 * found.deviation / abs(found.mean) if found.mean else None, "%"),
        ),
        notes=tuple(notes),
        cautions=(say("For a first look: values for design come from an approved programme and a qualified engineer."),),
    )


def numbers(text: str, where: str = "values") -> list[float]:
    """Figures parted by blanks, semicolons or lines. BadInput quantity.* names the one that cannot be read."""
    found: list[float] = []
    for token in re.split(r"[\s;]+", text.strip()):
        if not token:
            continue
        if len(found) >= spc.MOST:
            raise BadInput("chart.too_many", say("At most {most} values.", most=spc.MOST), where)
        with told_at(where):
            value, rest = leading_number(token, "quantity")
        if rest.strip():
            raise BadInput("quantity.unit", say("“{token}”: leave the unit out, all values are in the same.", token=shown(token)), where)
        found.append(float(value))
    if not all(map(math.isfinite, found)):
        raise BadInput("quantity.not_a_number", say("A value is too large."), where)
    return found


def whole(text: str, where: str) -> int:
    """A count. BadInput quantity.whole."""
    if not re.fullmatch(r"\s*[0-9]{1,6}\s*", text):
        raise BadInput("quantity.whole", say("“{text}” is no count: type a whole number, such as 20.", text=shown(text)), where)
    return int(text)
