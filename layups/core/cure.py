"""Did the oven do what the recipe says? A cure chart, thermocouple by thermocouple, against stages with limits.

What is judged on which thermocouple (common practice, no source): a dwell begins when the *lagging* one, the coldest, has come into the
band and ends when *any* leaves it; too hot is judged on the *leading* one, the hottest; a ramp is judged on each by itself, over a
moving window. Low and high limits are fields of their own and both ends belong to the band: 180 −0/+5 °C is 180.00 to 185.00.

Temperatures are whole m°C, instants µs. Between two readings a thermocouple runs straight, so that what is found hardly depends on how
often it was read. Where it was not read for too long it is a gap: a stage that would pass with a gap in it is "cannot tell", never a
pass. A stage that fails even so, fails.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from inventory.core.readings import Span
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import MINUTE_US, limit_text
from inventory.core.temperature import display_celsius

from .traces import Trace, both, crossings, envelope, joined, moved, rates_outside, stretches, when_unread

PASSES, FAILS, UNKNOWN = say("passes"), say("fails"), say("cannot tell")
LEAST_WINDOW_US = 5 * MINUTE_US


@dataclass(frozen=True, slots=True)
class Dwell:
    """Hold between `low_mc` and `high_mc` (both inclusive) for `least_us` to `most_us` (None: no such limit)."""

    name: str
    low_mc: int
    high_mc: int
    least_us: int
    most_us: int | None = None

    def __post_init__(self) -> None:
        if not -273_150 < self.low_mc <= self.high_mc:
            raise BadInput("cure.band", say("{name}: the low limit must not lie above the high one.", name=self.name), "low")
        if self.least_us < 0 or (self.most_us is not None and self.most_us < self.least_us):
            raise BadInput("cure.dwell", say("{name}: the shortest dwell must not be longer than the longest.", name=self.name), "least")


@dataclass(frozen=True, slots=True)
class Ramp:
    """Heat, or cool, at `low` to `high` m°C a minute (both as positive figures; None: no such limit), averaged over `window_us`.
    Judged between `from_mc` and `to_mc`, where the recipe says so; else between the bands it lies between."""

    name: str
    low_mc_min: int | None
    high_mc_min: int | None
    cools: bool = False
    from_mc: int | None = None
    to_mc: int | None = None
    window_us: int = LEAST_WINDOW_US

    def __post_init__(self) -> None:
        low, high = self.low_mc_min, self.high_mc_min
        if any(v is not None and v < 0 for v in (low, high)) or (low is not None and high is not None and low > high):
            raise BadInput("cure.ramp", say("{name}: give the rates as positive figures, the low one first.", name=self.name), "low")
        if self.window_us < LEAST_WINDOW_US:
            raise BadInput(
                "cure.window",
                say("{name}: a rate is averaged over at least {least_window}.", name=self.name, least_window=limit_text(LEAST_WINDOW_US)),
                "window",
            )
        if self.from_mc is not None and self.to_mc is not None and (self.from_mc > self.to_mc) != self.cools:
            raise BadInput("cure.ramp", say("{name}: the two temperatures run against the direction of the ramp.", name=self.name), "from")


Stage = Dwell | Ramp


@dataclass(frozen=True, slots=True)
class Offence:
    """What a thermocouple did ("" for all together), when, and by how much."""

    reason: Reason
    thermocouple: str
    spans: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Judged:
    """A stage: its verdict, its stretch (None when it never came), and what speaks against it."""

    stage: Stage
    verdict: str
    span: Span | None
    offences: tuple[Offence, ...] = ()


@dataclass(frozen=True, slots=True)
class Conformance:
    """The whole run. `heated_us`: when heating began on the last thermocouple to do so, None when it never reached the first band."""

    verdict: str
    stages: tuple[Judged, ...]
    heated_us: int | None
    gaps: dict[str, tuple[Span, ...]] = field(default_factory=dict)


def conform(traces: Sequence[Trace], stages: Sequence[Stage], room_mc: int | None = None, gap_us: int | None = None) -> Conformance:
    """A run against its recipe, whose stages are in order. `room_mc`: how warm the hall was, for when heating began; `gap_us`:
    from when on a missing reading is a gap (None: three usual steps of that thermocouple).

    Raises BadInput cure.no_thermocouple, cure.no_stage, cure.no_overlap (thermocouples never read at the same time)."""
    if not traces:
        raise BadInput("cure.no_thermocouple", say("The chart has no thermocouple: a run is judged on at least one."), "chart")
    if not any(isinstance(stage, Dwell) for stage in stages):
        raise BadInput("cure.no_stage", say("The recipe has no dwell: there is nothing to judge the chart by."), "recipe")
    lagging, leading = envelope(traces)
    unread = {t.name: tuple(when_unread(t, lagging, gap_us)) for t in traces}
    dwells = _dwells([s for s in stages if isinstance(s, Dwell)], lagging, leading)
    judged = [
        _dwell(s, dwells[id(s)], traces, leading) if isinstance(s, Dwell) else _ramp(s, *_around(stages, n, dwells), traces)
        for n, s in enumerate(stages)
    ]
    known = tuple(_doubted(j, unread) for j in judged)
    order = (FAILS, UNKNOWN, PASSES)
    worst = min((j.verdict for j in known), key=order.index)
    first = next(s for s in stages if isinstance(s, Dwell))
    return Conformance(worst, known, heating_began_us(traces, first.low_mc, room_mc), unread)


# --- dwells ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Held:
    """Where a dwell was looked for, and the stretches in which every thermocouple was in its band."""

    region: Span
    inside: tuple[Span, ...]
    chosen: Span | None
    hotter_next: bool
    from_above: bool


def _dwells(dwells: Sequence[Dwell], lagging: Trace, leading: Trace) -> dict[int, _Held]:
    """Each dwell is looked for from the end of the one before until the next one's band is reached, so that the way down through a
    band does not count as its dwell."""
    found: dict[int, _Held] = {}
    at, end = lagging.first_us, lagging.last_us
    for n, dwell in enumerate(dwells):
        stop = _next_reached(dwells[n : n + 2], lagging, leading, at) if n + 1 < len(dwells) else None
        region = Span(at, end if stop is None else stop)
        warm = stretches(lagging, region, low=dwell.low_mc)
        cool = stretches(leading, region, high=dwell.high_mc)
        inside = tuple(both(warm, cool))
        good = (s for s in inside if s.length_us >= dwell.least_us)
        chosen = next(good, None) or max(inside, key=lambda s: s.length_us, default=None)
        hotter = n + 1 < len(dwells) and dwells[n + 1].high_mc > dwell.high_mc
        falls = n > 0 and dwells[n - 1].high_mc > dwell.high_mc
        found[id(dwell)] = _Held(region, inside, chosen, hotter, falls)
        at = chosen.end_us if chosen else at
    return found


def _next_reached(pair: Sequence[Dwell], lagging: Trace, leading: Trace, from_us: int) -> int | None:
    """When every thermocouple has come to the next band: from below when it is hotter, else from above."""
    now, then = pair
    if then.low_mc >= now.low_mc:
        return next((s.start_us for s in stretches(lagging, Span(from_us, lagging.last_us), low=then.low_mc)), None)
    up = next((s.start_us for s in stretches(lagging, Span(from_us, lagging.last_us), low=now.low_mc)), None)
    if up is None:
        return None
    return next((s.start_us for s in stretches(leading, Span(up, leading.last_us), high=then.high_mc)), None)


def _dwell(stage: Dwell, held: _Held, traces: Sequence[Trace], leading: Trace) -> Judged:
    offences = list(_too_hot(stage, held, traces, leading))
    if held.chosen is None:
        offences += _never(stage, held, traces)
        return Judged(stage, FAILS, None, tuple(offences))
    whole = Span(held.inside[0].start_us, held.inside[-1].end_us)
    if held.chosen.length_us < stage.least_us:
        text = say(
            "{stage}: held for {exact}, at least {least} asked for.",
            stage=stage.name,
            exact=_exact(held.chosen.length_us),
            least=limit_text(stage.least_us),
        )
        offences.append(_offence("cure.too_short", text, "", [held.chosen], held_us=held.chosen.length_us, least_us=stage.least_us))
        offences += _left(stage, whole, traces)
    if stage.most_us is not None and whole.length_us > stage.most_us:
        text = say(
            "{stage}: held for {exact}, at most {most} allowed.",
            stage=stage.name,
            exact=_exact(whole.length_us),
            most=limit_text(stage.most_us),
        )
        late = Span(whole.start_us + stage.most_us, whole.end_us)
        offences.append(_offence("cure.too_long", text, "", [late], held_us=whole.length_us, most_us=stage.most_us))
    return Judged(stage, FAILS if offences else PASSES, held.chosen, tuple(offences))


def _too_hot(stage: Dwell, held: _Held, traces: Sequence[Trace], leading: Trace) -> list[Offence]:
    """Of any thermocouple, from when the first one came into the band (the last one, after a hotter stage) until the dwell is over, so
    that an overshoot before the last one has come counts as well. The rise to a hotter stage is not too hot."""
    if held.from_above:
        starts = [s.start_us for s in stretches(leading, held.region, high=stage.high_mc)]
    else:
        starts = [s.start_us for t in traces for s in stretches(t, held.region, low=stage.low_mc)]
    if not starts:
        return []
    entered = min(starts)
    last = held.inside[-1].end_us if held.inside and held.hotter_next else held.region.end_us
    return [
        _offence(
            "cure.too_hot",
            say(
                "{stage}: {name} came to {peak}, at most {high} allowed.",
                stage=stage.name,
                name=t.name,
                peak=display_celsius(peak),
                high=display_celsius(stage.high_mc),
            ),
            t.name,
            spans,
            peak_mc=peak,
            high_mc=stage.high_mc,
        )
        for t in traces
        for spans, peak in [crossings(t, Span(entered, last), stage.high_mc)]
        if spans
    ]


def _never(stage: Dwell, held: _Held, traces: Sequence[Trace]) -> list[Offence]:
    region, found = held.region, []
    for t in traces:
        best = t.highest(region)
        if best < stage.low_mc:
            asked = say("at least {low} asked for", low=display_celsius(stage.low_mc))
            text = say(
                "{stage}: {name} came to {best} only, {asked}.", stage=stage.name, name=t.name, best=display_celsius(best), asked=asked
            )
            found.append(_offence("cure.not_reached", text, t.name, [region], highest_mc=best, low_mc=stage.low_mc))
    if found:
        return found
    text = say("{stage}: the thermocouples were never all between {band} at the same time.", stage=stage.name, band=_band(stage))
    return [_offence("cure.never_together", text, "", [region], low_mc=stage.low_mc, high_mc=stage.high_mc)]


def _left(stage: Dwell, whole: Span, traces: Sequence[Trace]) -> list[Offence]:
    """Which thermocouple fell out of the band on the way."""
    found = []
    for t in traces:
        out = [s for s in moved(t, whole, stage.low_mc) if s.length_us]
        if out:
            text = say("{stage}: {name} fell below {low} on the way.", stage=stage.name, name=t.name, low=display_celsius(stage.low_mc))
            found.append(_offence("cure.fell_out", text, t.name, out, low_mc=stage.low_mc))
    return found


# --- ramps -----------------------------------------------------------------------------------------


def _around(stages: Sequence[Stage], n: int, dwells: dict[int, _Held]) -> tuple[tuple[Dwell, _Held] | None, tuple[Dwell, _Held] | None]:
    """The dwells before and after a ramp, with where they were held."""
    before = next((s for s in reversed(stages[:n]) if isinstance(s, Dwell)), None)
    after = next((s for s in stages[n + 1 :] if isinstance(s, Dwell)), None)
    return (before, dwells[id(before)]) if before else None, (after, dwells[id(after)]) if after else None


def _ramp(ramp: Ramp, before: tuple[Dwell, _Held] | None, after: tuple[Dwell, _Held] | None, traces: Sequence[Trace]) -> Judged:
    offences: list[Offence] = []
    spans: list[Span] = []
    for t in traces:
        span = _climb(ramp, before, after, t)
        if span is None:
            text = say("{ramp}: {name} did not run through it on this chart, so its rate cannot be told.", ramp=ramp.name, name=t.name)
            offences.append(_offence("cure.no_ramp", text, t.name, []))
        else:
            spans.append(span)
            offences += _rates(ramp, t, span)
    whole = Span(min(s.start_us for s in spans), max(s.end_us for s in spans)) if spans else None
    codes = {o.reason.code for o in offences}
    return Judged(ramp, FAILS if codes - {"cure.no_ramp"} else UNKNOWN if codes else PASSES, whole, tuple(offences))


def _climb(ramp: Ramp, before: tuple[Dwell, _Held] | None, after: tuple[Dwell, _Held] | None, t: Trace) -> Span | None:
    """The stretch in which one thermocouple runs through the ramp: from its last instant at the lower (cooling: upper) temperature
    to its first at the other."""
    start = before[1].chosen.end_us if before and before[1].chosen else t.first_us
    end = after[1].chosen.end_us if after and after[1].chosen else t.last_us
    begin_mc, end_mc = ramp.from_mc, ramp.to_mc
    if begin_mc is None and before is not None:
        begin_mc = before[0].low_mc if ramp.cools else before[0].high_mc
    if end_mc is None and after is not None:
        end_mc = after[0].high_mc if ramp.cools else after[0].low_mc
    region = Span(start, max(start, end))
    if begin_mc is None:
        begun = heating_began_us([t], end_mc, None) if end_mc is not None and not ramp.cools else start
        if begun is None:
            return None
        region = Span(max(start, begun), max(start, begun, end))
    return t.run_through(region, begin_mc, end_mc, ramp.cools)


def _rates(ramp: Ramp, t: Trace, span: Span) -> list[Offence]:
    sign = -1 if ramp.cools else 1
    low = None if ramp.low_mc_min is None else ramp.low_mc_min
    offences = []
    for code, limit, words in (("cure.too_slow", low, say("at least")), ("cure.too_fast", ramp.high_mc_min, say("at most"))):
        if limit is None:
            continue
        spans, worst = rates_outside(t, span, ramp.window_us, limit, sign, slow=code == "cure.too_slow")
        if spans:
            text = say(
                "{ramp}: {name} ran at {worst} a minute over {window}, {words} {limit} allowed.",
                ramp=ramp.name,
                name=t.name,
                worst=display_celsius(worst),
                window=limit_text(ramp.window_us),
                words=words,
                limit=display_celsius(limit),
            )
            offences.append(_offence(code, text, t.name, spans, worst_mc_min=worst, limit_mc_min=limit))
    return offences


# --- when heating began, and what is not known --------------------------------------------------------


def heating_began_us(traces: Sequence[Trace], first_low_mc: int, room_mc: int | None, rise_mc: int = 2_000) -> int | None:
    """When the run began to heat, which is where the clocks of uncured material stop: the last instant at which the lagging
    thermocouple was no more than `rise_mc` above where it started from, before it reached the first band. It started from the
    coldest it had been, or from the hall's `room_mc` where that is warmer: a cold part that takes up the warmth of the hall is not
    yet being heated. None when the first band was never reached: such a run is no cure, and the clocks go on."""
    lagging, _ = envelope(traces)
    everything = Span(lagging.first_us, lagging.last_us)
    reached = next((s.start_us for s in stretches(lagging, everything, low=first_low_mc)), None)
    if reached is None:
        return None
    rise = Span(everything.start_us, reached)
    base = lagging.lowest(rise)
    level = min(max(base, room_mc if room_mc is not None else base) + rise_mc, first_low_mc)
    cold = stretches(lagging, rise, high=level)
    return cold[-1].end_us if cold else rise.start_us


def _doubted(judged: Judged, unread: dict[str, tuple[Span, ...]]) -> Judged:
    """A stage that passes only because a line was drawn over a gap cannot be told; nor can one that fails only by such a line."""
    if judged.verdict == UNKNOWN or (judged.verdict == FAILS and any(_surely(o, unread) for o in judged.offences)):
        return judged
    over = [judged.span] if judged.verdict == PASSES and judged.span else [s for o in judged.offences for s in o.spans]
    offences = list(judged.offences)
    for name, gaps in unread.items():
        hit = [s for s in both(joined(over), gaps) if s.length_us > 0]
        if hit:
            lost = sum(s.length_us for s in hit)
            text = say(
                "{stage}: {name} was not read for {exact}: bring what else was recorded.",
                stage=judged.stage.name,
                name=name,
                exact=_exact(lost),
            )
            offences.append(_offence("cure.gap", text, name, hit, unread_us=lost))
    return Judged(judged.stage, UNKNOWN, judged.span, tuple(offences)) if len(offences) > len(judged.offences) else judged


def _surely(offence: Offence, unread: dict[str, tuple[Span, ...]]) -> bool:
    """Whether it stands without what a line over a gap says. Too hot for a moment that was read is too hot; a dwell, a rate, or
    a band that was never reached needs the whole stretch to have been read."""
    names = [offence.thermocouple] if offence.thermocouple else list(unread)
    gaps = joined(sorted(g for n in names for g in unread[n]))
    lost = [sum(hit.length_us for hit in both([s], gaps)) for s in offence.spans]
    moment = offence.reason.code in ("cure.too_hot", "cure.fell_out")
    return any(s.length_us > gone if moment else not gone for s, gone in zip(offence.spans, lost, strict=True))


def _offence(code: str, text: str, name: str, spans: Sequence[Span], **numbers: int | str | None) -> Offence:
    return Offence(Reason(code, text, numbers), name, tuple(spans))


def _band(stage: Dwell) -> str:
    return say("{low} and {high}", low=display_celsius(stage.low_mc), high=display_celsius(stage.high_mc))


def _exact(us: int) -> str:
    """To the second: a dwell fails by seconds as well."""
    minutes, seconds = divmod(us // 1_000_000, 60)
    hours, minutes = divmod(minutes, 60)
    return (
        say("{hours} h {minutes} min {seconds} s", hours=hours, minutes=f"{minutes:02d}", seconds=f"{seconds:02d}")
        if hours
        else say("{minutes} min {seconds} s", minutes=minutes, seconds=f"{seconds:02d}")
    )
