"""What the shop's own gels say of a system's predictions."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core import gel_update
from inventory.core.mixing import PPM
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say

from .gelling import OWN, US, minutes
from .lines import Col, rows
from .registry import CURE, Chart, Figure, Series, Sheet, Table, figure, maybe, worksheet

LONG = Fraction(10**10)


@dataclass(frozen=True, slots=True)
class Gels:
    """Pots of one system: how long was predicted as likely for each, and when it gelled."""

    gels: str = figure(
        say("Gels"),
        default=say("42 min; 47 min\n38 min; 44 min\n55 min; 58 min\n40 min; 19 min\n45 min; 52 min"),
        rows=6,
        words=say("One a line, in the order in which they were: predicted; observed."),
    )
    life: str = figure(say("Predicted for the next pot"), "time", "min", "40 min", optional=True)
    doubt: str = figure(say("Doubt of a prediction before any gel"), "share", "%", "", say("30 % when left out."))


@worksheet(
    "gels",
    Gels,
    say("What own gels teach"),
    say("A factor on the predictions of one system, from its pots that gelled, and which gel stands apart."),
    CURE,
)
def gels(p: Gels) -> Sheet:
    columns = (Col("predicted", "time", "min"), Col("observed", "time", "min"))
    seen = []
    for n, (predicted, observed) in enumerate(rows(p.gels, "gels", columns), start=1):
        assert isinstance(predicted, Fraction) and isinstance(observed, Fraction)
        try:
            seen.append(gel_update.SeenGel(str(n), n, int(min(predicted, LONG) * US), int(min(observed, LONG) * US)))
        except BadInput as bad:
            raise BadInput(bad.reason.code, say("Line {count}: {bad_reason}", count=n, bad_reason=bad.reason.text), "gels") from None
    if not seen:
        raise BadInput("worksheet.needed", say("Enter at least one gel: predicted and observed."), "gels")
    doubt = maybe(p, "doubt")
    with told_at({"prior": "doubt", "gels": "gels"}):
        told = gel_update.update(seen, gel_update.PRIOR if doubt is None else float(doubt))
    now = told.now
    found = [
        _factor("factor", now.factor_ppm, say("on the predicted times; the middle of what is known")),
        _factor(say("factor, low"), now.low_ppm, say("nine tenths of what is known lie between low and high")),
        _factor(say("factor, high"), now.high_ppm),
        _factor(say("next pot, low"), now.next_low_ppm, say("a single pot scatters besides")),
        _factor(say("next pot, high"), now.next_high_ppm),
        Figure(say("gels"), str(now.gels), now.gels),
    ]
    life = maybe(p, "life")
    if life is not None:
        if not 0 < life <= 10**9:
            raise BadInput("pot.sheet", say("A predicted time is above zero."), "life")
        ends = (
            (say("next pot gels, likely"), now.factor_ppm),
            (say("next pot gels, at the soonest"), now.next_low_ppm),
            (say("next pot gels, at the latest"), now.next_high_ppm),
        )
        found += [minutes(name, int(life * US * int(ppm) / PPM)) for name, ppm in ends]
    body = tuple(
        (int(g.key), g.predicted_us / 60e6, g.observed_us / 60e6, g.observed_us / g.predicted_us, told.weights_ppm[g.key] / PPM)
        for g in seen
    )
    return Sheet(
        _says(now),
        tuple(found),
        (HOW, *(() if now.gels >= 3 else (say("Fewer than three gels: what is known is still mostly the doubt."),))),
        (*(say("Gel {key}: {reason}", key=reason.numbers["key"], reason=reason.text) for reason in told.apart), OWN),
        (
            Table(
                say("Gels, and how far each is believed"),
                (say("gel"), say("predicted, min"), say("observed, min"), say("ratio"), say("weight")),
                body,
            ),
        ),
        (_learnt(told),),
    )


HOW = say(
    "Bayes' rule on the logarithm of observed over predicted time; the scatter is Student's t with four "
    "degrees of freedom, so that one pot that was mis-weighed does not drag the rest. Peroxide systems "
    "take no factor: their gels are points to interpolate."
)


def _says(now: gel_update.Factor) -> str:
    apart = now.factor_ppm / PPM
    word = say(
        "{apart} % {which} than predicted", apart=f"{abs(apart - 1) * 100:.0f}", which=say("longer") if apart > 1 else say("shorter")
    )
    sure = now.low_ppm > PPM or now.high_ppm < PPM
    return (
        say("These pots last {word}.", word=word)
        if sure
        else say("About {word}, but the prediction itself is still within what is known.", word=word)
    )


def _factor(name: str, ppm: int, note: str = "") -> Figure:
    return Figure(name, f"{ppm / PPM:.3f}", ppm / PPM, "", note)


def _learnt(told: gel_update.Update) -> Chart:
    lines = (
        ("factor", [f.factor_ppm for f in told.history]),
        (say("low"), [f.low_ppm for f in told.history]),
        (say("high"), [f.high_ppm for f in told.history]),
    )
    series = tuple(Series(name, tuple((float(n), ppm / PPM) for n, ppm in enumerate(column))) for name, column in lines)
    now = told.now
    says = say(
        "After {gels} gels the factor is {factor}, between {low} and {high}.",
        gels=now.gels,
        factor=f"{now.factor_ppm / PPM:.2f}",
        low=f"{now.low_ppm / PPM:.2f}",
        high=f"{now.high_ppm / PPM:.2f}",
    )
    return Chart(say("What is known after each gel"), "line", say("gels"), say("factor"), series, says)
