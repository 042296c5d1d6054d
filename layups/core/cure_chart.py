"""What a cure chart says of one part: its verdict as plain values that a record can keep, and how far the resin came along it.

The lagging thermocouple is the coldest at each instant, the leading one the hottest: what was cured least, and what most. A
conversion is an estimate by a rate law; where the law was not fitted, the answer says so, or there is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from inventory.core.cure_time import conversion_along
from inventory.core.kinetic_text import Glass
from inventory.core.kinetics import ZERO_C_K, Fitted, range_reasons
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.tlog import Log

from .cure import FAILS, PASSES, UNKNOWN, Conformance, Dwell, Judged, Offence, conform
from .cure_recipe import CureRecipe, stage_text
from .traces import Trace, envelope

MOST_SPANS = 40
"""Stretches of one offence that a record names one by one; its whole length counts them all."""
WORDS = {
    "cure.too_hot": say("too hot"),
    "cure.too_short": say("too short"),
    "cure.too_long": say("too long"),
    "cure.fell_out": say("fell out"),
    "cure.not_reached": say("not reached"),
    "cure.never_together": say("never together"),
    "cure.too_slow": say("too slow"),
    "cure.too_fast": say("too fast"),
    "cure.no_ramp": say("not run through"),
    "cure.gap": say("not read"),
}
"""What is written on the chart at an offending stretch."""
_POINTS = 1_200
_ALL_BUT = 0.01
DAYS_30_US = 30 * 86_400_000_000


def traces_of(log: Log, columns: Sequence[str] = ()) -> list[Trace]:
    """The thermocouples of a log, in the order of its columns. Raises BadInput chart.single (a column with fewer than two readings),
    chart.too_long (two runs in one file, or a clock that was set)."""
    found = []
    for probe in log.probes:
        if columns and probe.name.casefold() not in {c.casefold() for c in columns}:
            continue
        if len(probe.at_us) < 2:
            text = say("“{probe}” was read fewer than twice. Name the columns that count, and leave this one out.", probe=probe.name)
            raise BadInput("chart.single", text, "columns")
        if probe.at_us[-1] - probe.at_us[0] > DAYS_30_US:
            raise BadInput("chart.too_long", say("The chart runs over more than 30 days: hand in that of the one run."), "chart")
        found.append(Trace.of(probe.name, probe.at_us, probe.mc))
    return found


def judged(traces: Sequence[Trace], recipe: CureRecipe) -> dict[str, Any]:
    """A chart against a recipe, as whole numbers and texts. Without a thermocouple that counts nobody can tell."""
    if not traces:
        return {"verdict": UNKNOWN, "heated_us": None, "thermocouples": [], "stages": []}
    found = conform(traces, recipe.stages, recipe.room_mc, recipe.gap_us)
    return {
        "verdict": found.verdict,
        "heated_us": found.heated_us,
        "thermocouples": [_thermocouple(t, found) for t in traces],
        "stages": [_stage(j, [t.name for t in traces]) for j in found.stages],
    }


def _thermocouple(trace: Trace, found: Conformance) -> dict[str, Any]:
    return {
        "name": trace.name,
        "readings": int(trace.at_us.size),
        "from_us": trace.first_us,
        "until_us": trace.last_us,
        "peak_mc": int(trace.mc.max()),
        "unread_us": sum(s.length_us for s in found.gaps.get(trace.name, ())),
    }


def _stage(judged_: Judged, names: Sequence[str]) -> dict[str, Any]:
    return {
        "name": judged_.stage.name,
        "asked": stage_text(judged_.stage),
        "kind": "dwell" if isinstance(judged_.stage, Dwell) else "ramp",
        "verdict": judged_.verdict,
        "span": list(judged_.span) if judged_.span is not None else None,
        "each": {name: _of(name, judged_.offences) for name in names},
        "offences": [_offence(o) for o in judged_.offences],
    }


def _of(name: str, offences: Sequence[Offence]) -> str:
    """A thermocouple's own verdict in a stage; what only all of them together can break is the stage's."""
    codes = {o.reason.code for o in offences if o.thermocouple == name}
    return FAILS if codes - {"cure.gap", "cure.no_ramp"} else UNKNOWN if codes else PASSES


def _offence(offence: Offence) -> dict[str, Any]:
    return {
        "code": offence.reason.code,
        "word": WORDS.get(offence.reason.code, offence.reason.code),
        "text": offence.reason.text,
        "thermocouple": offence.thermocouple,
        "spans": [list(s) for s in offence.spans[:MOST_SPANS]],
        "count": len(offence.spans),
        "length_us": sum(s.length_us for s in offence.spans),
        "numbers": dict(offence.reason.numbers),
    }


def sentence(doc: dict[str, Any]) -> str:
    """The verdict in a line: what failed first, by its own words."""
    if doc["verdict"] == PASSES:
        return say("The chart passes.")
    offences = [o for s in doc["stages"] for o in s["offences"] if s["verdict"] == doc["verdict"]]
    word = say("The chart fails.") if doc["verdict"] == FAILS else say("Nobody can tell by the chart.")
    if not offences:
        return say("{word} No thermocouple on it counts as evidence.", word=word)
    more = say(" And {offences} more.", offences=len(offences) - 1) if len(offences) > 1 else ""
    return say("{word} {text}{more}", word=word, text=offences[0]["text"], more=more)


# --- along the chart -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Along:
    """Conversion and glass temperature (m°C, None where not known) along one line, at `at_us`; `reasons`: what to doubt about it."""

    name: str
    at_us: tuple[int, ...]
    alpha: tuple[float, ...]
    glass_mc: tuple[int, ...] | None
    reasons: tuple[Reason, ...]


def cured_along(traces: Sequence[Trace], fit: Fitted, glass: Glass | None = None, strict: bool = False) -> tuple[Along, ...]:
    """How far the resin came where it was coldest and where it was hottest. Empty `alpha` where `strict` and the chart leaves the
    range of the fit."""
    if not traces:
        return ()
    lagging, leading = envelope(traces)
    lines = [("lagging", lagging)] if len(traces) == 1 else [("lagging", lagging), ("leading", leading)]
    return tuple(_along(name, line, fit, glass, strict) for name, line in lines)


def _along(name: str, line: Trace, fit: Fitted, glass: Glass | None, strict: bool) -> Along:
    import numpy as np

    at, mc = thinned(line, _POINTS)
    kelvins = mc / 1000 + ZERO_C_K
    alpha = np.asarray(conversion_along(fit.law, list((at - at[0]) / 1e6), list(kelvins), start=fit.seed))
    low, high = _where_it_cured(mc, alpha)
    reasons = tuple(range_reasons(fit, low, high, float(alpha[-1]), strict=strict))
    if any(r.code == "kinetics.refused_outside" for r in reasons):
        return Along(name, (), (), None, reasons)
    tg = None if glass is None else tuple(glass.at_mc(min(float(v), 1.0)) for v in alpha)
    return Along(name, tuple(int(v) for v in at), tuple(float(v) for v in alpha), tg, reasons)


def _where_it_cured(mc: Any, alpha: Any) -> tuple[int, int]:
    """The coldest and the hottest at which all but a hundredth of the conversion happened: the way there from room temperature and the
    way back are of no matter to the law."""
    gained = alpha - alpha[0]
    inside = (gained >= _ALL_BUT * gained[-1]) & (gained <= (1 - _ALL_BUT) * gained[-1])
    some = mc[inside] if inside.any() else mc
    return round(float(some.min())), round(float(some.max()))


def thinned(line: Trace, most: int) -> tuple[Any, Any]:
    """At most about `most` readings of a line (µs, m°C): of each stretch the lowest and the highest, so that no peak is lost, and
    both ends."""
    import numpy as np

    size = int(line.at_us.size)
    if size <= most:
        return line.at_us, np.asarray(line.mc, dtype=np.float64)
    edges = np.linspace(0, size, max(most // 2, 2)).astype(np.int64)
    kept = {0, size - 1}
    for a, b in pairwise(edges.tolist()):
        part = line.mc[a:b]
        kept |= {int(a + part.argmin()), int(a + part.argmax())}
    index = np.array(sorted(kept))
    return line.at_us[index], np.asarray(line.mc, dtype=np.float64)[index]
