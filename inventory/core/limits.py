"""Life limits judged: a clock, a limit and the checkpoint where it counts (R8), read off an exposure at an instant.

Every limit is evaluated and every failure told; the governing one is the alive limit that ends first. Nothing here is
stored: the same exposure, limits and instant give the same verdict whatever jobs have run.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from fractions import Fraction
from math import ceil

from inventory.core.said import say

from .exposure import Exposure
from .lives import spoken
from .reasons import Reason
from .spans import HOUR_US, calendar_end_us, day_text, duration, end_of_day_us, limit_text, local_date

DAY_US = 24 * HOUR_US

CALENDAR_CLOCKS = ("calendar", "received", "opened")
DATED_CLOCKS = ("printed", *CALENDAR_CLOCKS)
"""They end with a day, which is told instead of an instant."""
TIMED_CLOCKS = ("above", "moisture")
COUNTED_CLOCKS = ("cycles", "heats")
CHECKPOINTS = ("mixed", "laid", "bagged", "cure", "used")

# What each deed is judged by. A deed is judged also by what comes after it: a ply that cannot live until the cure must
# not be laid (R21). `mixed` binds at mixing only and ends there (R8); `used` binds whatever is put to use.
BINDS: dict[str, tuple[str, ...]] = {
    "cut": ("mixed", "laid", "bagged", "cure", "used"),
    "pour": ("mixed", "used"),
    "mix": ("mixed", "used"),
    "lay": ("laid", "bagged", "cure", "used"),
    "bag": ("bagged", "cure"),
    "cure": ("cure",),
}


@dataclass(frozen=True, slots=True)
class Limit:
    """One life limit. Times in µs, temperatures in milli-°C; `fractions` is ((ceiling, limit µs), …) from cold to warm. `by`:
    who tightened it; empty: it is the specification's own."""

    name: str
    clock: str
    checkpoint: str
    months: int | None = None
    limit_us: int | None = None
    limit_n: int | None = None
    threshold_mc: int | None = None
    fractions: tuple[tuple[int, int], ...] = ()
    ladder: tuple[int, ...] = ()
    unopened_only: bool = True
    by: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """A lot as life sees it: what its papers say and the limits it is bound to."""

    id: int
    label: str
    material: int
    limits: tuple[Limit, ...] = ()
    made_us: int | None = None
    printed_us: int | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """One limit, read: used and allowed in the clock's own unit (µs or a count), the end if the material stays where it
    is, and whether it is over at the instant of reading."""

    source: Source
    limit: Limit
    over: bool
    used: int | None = None
    allowed: int | None = None
    ends_us: int | None = None
    missing: str = ""

    @property
    def left(self) -> int | None:
        return None if self.used is None or self.allowed is None else self.allowed - self.used


@dataclass(frozen=True, slots=True)
class Moment:
    """When and where a reading is taken: the instant, the ceiling the material lies at (None: no clock runs), the zone of
    the site, and ends that quality has extended: {(source, limit name): end}."""

    at_us: int
    ceiling: int | None
    zone: str
    extended: Mapping[tuple[int, str], int] = field(default_factory=dict)
    since: int | None = None


def read(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    """Read one limit off a total exposure that is true at `when.at_us`."""
    return _READERS[limit.clock](limit, total, source, when)


def read_all(totals: Iterable[Exposure], sources: Mapping[int, Source], when: Moment) -> list[Reading]:
    """Every limit of every source. A source nobody knows reads as over: a missing limit is not fitness."""
    out = []
    for total in totals:
        source = sources.get(total.source)
        if source is None:
            out.append(Reading(Source(total.source, "unknown", 0), Limit("life", "printed", "used"), True, missing=say("no lot known")))
            continue
        found = [read(limit, total, source, when) for limit in source.limits]
        out += _tightest(found) if any(limit.by for limit in source.limits) else found
    return out


def _tightest(readings: Iterable[Reading]) -> list[Reading]:
    """Of each limit that was tightened, the reading that counts: what is tightened never lasts longer than it did."""
    best: dict[str, Reading] = {}
    for reading in readings:
        known = best.get(reading.limit.name.casefold())
        best[reading.limit.name.casefold()] = reading if known is None else _tighter_of(known, reading)
    return list(best.values())


def _tighter_of(known: Reading, other: Reading) -> Reading:
    if known.allowed is not None and other.allowed is not None:
        return other if other.allowed < known.allowed else known
    ends = [(not r.over, r.ends_us if r.ends_us is not None else 2**62) for r in (known, other)]
    return other if ends[1] < ends[0] else known


def governing(readings: Iterable[Reading]) -> Reading | None:
    """The limit that ends first; one that is over already governs by how long ago. None when nothing limits."""
    dated = [r for r in readings if r.over or r.ends_us is not None]
    return min(dated, key=lambda r: (r.ends_us if r.ends_us is not None else (-1 if r.over else 2**62), r.limit.name), default=None)


def judge(readings: Iterable[Reading], deed: str, when: Moment, planned: Mapping[str, int] | None = None) -> list[Reason]:
    """Reasons against a deed at `when`, all of them. `planned` gives instants of later checkpoints ({"cure": …}), to which
    a limit that runs must last (R21); a checkpoint without a plan is judged now."""
    binds = BINDS[deed]
    reasons = []
    for reading in readings:
        point = reading.limit.checkpoint
        if point not in binds:
            continue
        if reading.over:
            reasons.append(_over(reading, when))
            continue
        until = (planned or {}).get(point)
        if until is not None and reading.ends_us is not None and reading.ends_us <= until:
            reasons.append(_too_short(reading, until, when))
    return _once(reasons)


def _once(reasons: list[Reason]) -> list[Reason]:
    """One reason for each limit of a source, where several plies break it: that of the worst ply."""
    seen: dict[tuple[str, object, object], Reason] = {}
    for reason in reasons:
        key = (reason.code, reason.numbers.get("limit"), reason.numbers.get("source"))
        if key not in seen or _badness(reason) > _badness(seen[key]):
            seen[key] = reason
    return list(seen.values())


def _badness(reason: Reason) -> tuple[int, int]:
    used, left = reason.numbers.get("used"), reason.numbers.get("left")
    end = reason.numbers.get("since_us", reason.numbers.get("ends_us"))
    return used if isinstance(used, int) else -left if isinstance(left, int) else 0, -end if isinstance(end, int) else 0


def _over(r: Reading, when: Moment) -> Reason:
    label = spoken(r.limit.name, first=True)
    by = say(" (tightened by {by})", by=r.limit.by) if r.limit.by else ""
    numbers: dict[str, int | str | None] = {
        "limit": r.limit.name,
        "source": r.source.id,
        "used": r.used,
        "allowed": r.allowed,
        "since_us": r.ends_us,
    }
    numbers |= _by(r)
    if r.missing:
        text = say(
            "{label} of {source} cannot be judged: {missing}. Quality must set it before use.",
            label=label,
            source=r.source.label,
            missing=r.missing,
        )
        return Reason("life.unknown", text, numbers)
    since = say(" since {ends}", ends=day_text(r.ends_us, when.zone)) if r.ends_us is not None else ""
    if r.limit.clock in ("above", "moisture"):
        assert r.used is not None and r.allowed is not None
        return Reason(
            "life.over",
            say(
                "{label} is over{since}: {used} of {allowed} used{by}.",
                label=label,
                since=since,
                used=duration(r.used),
                allowed=limit_text(r.allowed),
                by=by,
            ),
            numbers,
        )
    if r.limit.clock in ("cycles", "heats"):
        return Reason(
            "life.over", say("{label} is over: {used} of {allowed}{by}.", label=label, used=r.used, allowed=r.allowed, by=by), numbers
        )
    if r.limit.clock == "fraction":
        return Reason(
            "life.over",
            say("{label} is over{since}: the fractions of life at each temperature add up to 1 or more.", label=label, since=since),
            numbers,
        )
    return Reason(
        "life.over", say("{label} is over{since} ({source}){by}.", label=label, since=since, source=r.source.label, by=by), numbers
    )


def _by(r: Reading) -> dict[str, int | str | None]:
    return {"by": r.limit.by} if r.limit.by else {}


def _too_short(r: Reading, until: int, when: Moment) -> Reason:
    point = {"cure": say("the start of cure"), "bagged": say("bagging"), "laid": say("laying")}.get(r.limit.checkpoint, r.limit.checkpoint)
    assert r.ends_us is not None
    name, planned = spoken(r.limit.name, first=True), day_text(until, when.zone)
    text = say(
        "{name} would end {ends}, before {point} planned for {planned}",
        name=name,
        ends=day_text(r.ends_us, when.zone),
        point=point,
        planned=planned,
    )
    numbers: dict[str, int | str | None] = {"limit": r.limit.name, "source": r.source.id, "ends_us": r.ends_us, "planned_us": until}
    tightened = say(" (tightened by {by})", by=r.limit.by) if r.limit.by else ""
    return Reason("life.too_short", text + tightened + ".", numbers | {"left": r.left} | _by(r))


# --- one reader for each clock -------------------------------------------------------------------


def _missing(limit: Limit, source: Source, what: str) -> Reading:
    return Reading(source, limit, True, missing=what)


def _dated(limit: Limit, source: Source, when: Moment, end: int) -> Reading:
    if not limit.by:
        end = max(end, when.extended.get((source.id, limit.name), end))
    return Reading(source, limit, when.at_us >= end, ends_us=end)


def _printed(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    if source.printed_us is None:
        return _missing(limit, source, say("the label's last day was not recorded"))
    return _dated(limit, source, when, source.printed_us)


def _since(start: int | None, what: str, limit: Limit, source: Source, when: Moment) -> Reading:
    if start is None:
        return _missing(limit, source, what)
    end = calendar_end_us(start, limit.months, when.zone) if limit.months else _span_end(start, limit.limit_us or 0, when.zone)
    return _dated(limit, source, when, end)


def _span_end(start: int, us: int, zone: str) -> int:
    """A calendar life stated in days lasts through the last of them, like one stated in months; one of hours is over at
    exactly the limit (R41). Whole days from a week on are days, counted on the site's calendar and not as 24 hours each;
    anything else is hours: "48 h from opening" must not last through a third day."""
    days, rest = divmod(us, DAY_US)
    if rest or days < 7:
        return start + us
    return end_of_day_us(local_date(start, zone) + timedelta(days=days), zone)


def _calendar(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    return _since(source.made_us, say("the day of manufacture was not recorded"), limit, source, when)


def _received(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    return _since(total.received_us, say("no receipt is recorded"), limit, source, when)


def _opened(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    if total.opened_us is None:
        return Reading(source, limit, False)
    return _since(total.opened_us, "", limit, source, when)


def _above(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    allowed, threshold = limit.limit_us, limit.threshold_mc
    assert allowed is not None and threshold is not None
    used = sum(us for ceiling, us in total.spent if ceiling > threshold)
    if total.unknown:
        return Reading(source, limit, True, used, allowed, missing=say("its earlier out time is unknown"))
    runs = when.ceiling is not None and when.ceiling > threshold
    if used >= allowed:
        # While it runs the crossing is exact; at rest it is exact if the last time out was the one that crossed.
        end = (when.at_us if runs or when.since is None else when.since) - (used - allowed)
        return Reading(source, limit, True, used, allowed, end)
    return Reading(source, limit, False, used, allowed, when.at_us + allowed - used if runs else None)


def _fraction(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    if total.unknown:
        return _missing(limit, source, say("its earlier storage is unknown"))
    if not limit.fractions:
        return _missing(limit, source, say("its life at each storage temperature was not recorded"))
    used = Fraction(0)
    for ceiling, us in total.spent:
        life = _life_at(limit, ceiling)
        if life is None:
            return _missing(
                limit,
                source,
                say("it was stored above {fractions} °C, where the supplier states no life", fractions=limit.fractions[-1][0] // 1000),
            )
        used += Fraction(us, life)
    end = None
    if when.ceiling is not None:
        life = _life_at(limit, when.ceiling)
        # Rounded up to the first instant at which it is over. Where no life is stated, one more microsecond is too much.
        end = when.at_us + (ceil((1 - used) * life) if life else int(used < 1))
    return Reading(source, limit, used >= 1, int(used * 1_000_000), 1_000_000, end)


def _life_at(limit: Limit, ceiling: int) -> int | None:
    return next((life for top, life in limit.fractions if ceiling <= top), None)


def _count(limit: Limit, used: int, total: Exposure, source: Source) -> Reading:
    assert limit.limit_n is not None
    if total.unknown:
        return Reading(source, limit, True, used, limit.limit_n, missing=say("its earlier history is unknown"))
    return Reading(source, limit, used > limit.limit_n, used, limit.limit_n)


def _cycles(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    return _count(limit, total.cycles, total, source)


def _heats(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    return _count(limit, total.heats, total, source)


def _moisture(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    if total.dried_us is None:
        return _missing(limit, source, say("no drying is recorded"))
    assert limit.limit_us is not None
    used = when.at_us - total.dried_us
    return Reading(source, limit, used >= limit.limit_us, used, limit.limit_us, total.dried_us + limit.limit_us)


def _unstated(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    """A material that does not last, for which nobody has entered limits: unknown, so not fit."""
    return _missing(limit, source, say("no life limits are entered for this material"))


def _not_to_be(limit: Limit, total: Exposure, source: Source, when: Moment) -> Reading:
    """Tightened in a way that cannot be applied."""
    return _missing(limit, source, say("{by} tightens it, and the specification has no such limit in that unit", by=limit.by))


_READERS = {
    "tightened": _not_to_be,
    "unstated": _unstated,
    "printed": _printed,
    "calendar": _calendar,
    "received": _received,
    "opened": _opened,
    "above": _above,
    "fraction": _fraction,
    "cycles": _cycles,
    "heats": _heats,
    "moisture": _moisture,
}
