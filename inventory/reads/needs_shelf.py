"""What the shelf itself asks for: left out, thawed, past a stop time, ending."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from inventory.core.limits import BINDS, DATED_CLOCKS, Reading, governing
from inventory.core.lives import spoken
from inventory.core.said import say
from inventory.core.spans import local_date
from inventory.core.units import display
from inventory.recording.transaction import NOTICE_US
from inventory.recording.use import thaw_of

from .looking import BUILDER, STOREKEEPER, Look, Need, clocks, provider, roles_of, together
from .stock import Piece

DAY_US = 86_400_000_000
HOT = say("It may be hot: leave it in an open container, outside, then scrap it.")


@provider
def left_out(look: Look) -> Iterator[Need]:
    """Out past the planned return, with the out time that it costs."""
    for p in look.overdue:
        assert p.state.back is not None
        since = look.out_since.get(p.item.pk)
        begun = say(" since {day}", day=look.day(since)) if since is not None else ""
        used = clocks(p, look.zone)
        text = say(
            "{item}: out{begun} in {place}, overdue since {day}", item=p.item, begun=begun, place=p.place, day=look.day(p.state.back)
        ) + (say(". {used}{used_2}.", used=used[0].upper(), used_2=used[1:]) if used else ".")
        yield Need("now", "out.overdue", text, roles_of(STOREKEEPER), ("item", p.item.code), p.state.back)


@provider
def thawing(look: Look) -> Iterator[Need]:
    """What thaws, and what has thawed and may be opened (R15)."""
    late = {p.item.pk for p in look.overdue}
    for p in look.out:
        if p.item.pk in late or not p.facts.thaw_us or p.against or look.used_at.get(p.item.pk, 0) > (p.state.thaw_from or 0):
            continue
        ready = thaw_of(p.facts, p.state, look.now_us).ready_at_us
        if p.state.thaw_from is None or ready is None:
            continue
        back = say("; planned back {day}", day=look.day(p.state.back)) if p.state.back is not None else ""
        text = say("{item} may be opened from {day}, in {place}{back}.", item=p.item, day=look.day(ready), place=p.place, back=back)
        urgency = "today" if local_date(ready, look.zone) <= local_date(look.now_us, look.zone) else "soon"
        yield Need(
            urgency,
            "thaw.ready" if ready <= look.now_us else "thaw.running",
            text,
            roles_of(STOREKEEPER, BUILDER),
            ("item", p.item.code),
            ready,
        )


@provider
def pots(look: Look) -> Iterator[Need]:
    """A pot past its stop time with something left in it."""
    for p in look.pieces:
        if p.item.kind == "mix" and p.state.stop is not None and p.state.stop <= look.now_us:
            left = display(p.state.qty, p.item.unit)
            text = say(
                "{item}: stop time {day} has passed, {left} left. {hot}", item=p.item, day=look.day(p.state.stop), left=left, hot=HOT
            )
            yield Need("now", "pot.over", text, roles_of(STOREKEEPER, BUILDER), ("item", p.item.code), p.state.stop)


@provider
def ending(look: Look) -> Iterator[Need]:
    """Limits that end within a week, and those that have passed, by lot: one sentence for all pieces of it. What is overdue outside has
    its clocks of out time told there; its date ends all the same."""
    late = {p.item.pk for p in look.overdue}
    groups: dict[tuple[object, ...], list[tuple[Piece, Reading]]] = defaultdict(list)
    for p in look.pieces:
        if p.item.kind == "mix":
            continue
        told = {"above"} if p.item.pk in late else set()
        reading = governing(r for r in p.readings if r.limit.checkpoint in BINDS["cut"] and r.limit.clock not in told)
        if reading is None or reading.missing or (not reading.over and (reading.ends_us or 0) - look.now_us > NOTICE_US):
            continue
        groups[(reading.source.id, reading.limit.name, reading.ends_us, reading.over)].append((p, reading))
    for found in groups.values():
        yield _ending(look, [p for p, _ in found], found[0][1])


def _ending(look: Look, found: Sequence[Piece], reading: Reading) -> Need:
    names, name, ends = together([str(p.item) for p in found]), spoken(reading.limit.name), reading.ends_us
    what = _what(found[0])
    dated = reading.limit.clock in DATED_CLOCKS
    if reading.over:
        fresh = ends is not None and look.now_us - ends < NOTICE_US
        when = (
            ""
            if ends is None
            else say(" ({last_day})", last_day=look.last_day(ends).replace("last day", "last day was"))
            if dated
            else say(" since {day}", day=look.day(ends))
        )
        text = say("{names} ({what}): {name} is over{when}. Scrap, return, or ask quality.", names=names, what=what, name=name, when=when)
        return Need("today" if fresh else "note", "life.over", text, roles_of(STOREKEEPER), ("item", found[0].item.code), ends or 0)
    assert ends is not None
    last = look.last_day(ends) if dated else say("ends {day} if it stays out", day=look.day(ends))
    urgency = "today" if local_date(ends - 1, look.zone) == local_date(look.now_us, look.zone) else "soon"
    text = say("{names} ({what}): {name}, {last}.", names=names, what=what, name=name, last=last)
    return Need(urgency, "life.ending", text, roles_of(STOREKEEPER), ("item", found[0].item.code), ends - DAY_US if dated else ends)


def _what(p: Piece) -> str:
    material = p.item.material.code if p.item.material else p.item.get_kind_display()
    batch = getattr(p.item.lot, "batch", None)
    return say("{material} lot {batch}", material=material, batch=batch.number) if batch is not None else material
