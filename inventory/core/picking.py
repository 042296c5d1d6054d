"""First expired, first out (R5): which roll to fetch, and why an older one was passed over.

What makes an item unfit whatever is wanted of it (not released, held, another's property, a life limit that ends before
its checkpoint) is judged where that rule stands and comes in as `against`; judged here is what depends on this wish:
enough, in one piece, thawed in time, alive until the last checkpoint.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import Zone, day_text
from inventory.core.units import display_apart


@dataclass(frozen=True, slots=True)
class Candidate:
    """An item that could be picked. `usable` and `longest` (longest clear piece) in the stock base; `expires_us` None:
    no limit; `thaw_ready_us` None: needs no thaw; of what is `frozen` still, if it were taken out now. `against`: what already
    speaks against it. `ref` is the caller's own (a primary key, say) and is not looked at."""

    mark: str
    expires_us: int | None
    usable: int
    longest: int
    against: tuple[Reason, ...] = ()
    thaw_ready_us: int | None = None
    ref: object = None
    frozen: bool = False


@dataclass(frozen=True, slots=True)
class Want:
    """What is needed: `amount` in base `base`, to be used at `at_us`, alive until `until_us` (the last checkpoint, such
    as the planned start of cure; None: until it is used). `opened_us`: by when it must have thawed; None: at `at_us`."""

    amount: int
    base: str
    at_us: int
    until_us: int | None = None
    in_one_piece: bool = True
    zone: Zone = "UTC"
    opened_us: int | None = None


@dataclass(frozen=True, slots=True)
class Passed:
    """A candidate that cannot be picked, with every reason."""

    candidate: Candidate
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """`order`: all that fit, the one to fetch first. `passed_over`: those that would have gone first but do not fit (all
    unfit ones when nothing fits). `unfit`: the others that do not fit."""

    order: tuple[Candidate, ...]
    passed_over: tuple[Passed, ...]
    unfit: tuple[Passed, ...]

    @property
    def best(self) -> Candidate | None:
        return self.order[0] if self.order else None


def pick(candidates: Iterable[Candidate], want: Want) -> Choice:
    """Orders the candidates for this wish. Equals go by less usable first (a rest is used up before a full roll is
    opened: common practice, no source), then by mark, so the answer never depends on the order of the query.

    Raises BadInput pick.nothing_wanted, or pick.order_of_times when `until_us` lies before `at_us`."""
    if want.amount <= 0:
        raise BadInput("pick.nothing_wanted", say("Say how much is needed."), where="amount", amount=want.amount)
    if want.until_us is not None and want.until_us < want.at_us:
        raise BadInput("pick.order_of_times", say("The last checkpoint lies before the use: correct one of the two times."), where="until")
    order: list[Candidate] = []
    passed: list[Passed] = []
    unfit: list[Passed] = []
    for candidate in sorted(candidates, key=_rank):
        reasons = why_not(candidate, want)
        if not reasons:
            order.append(candidate)
        else:
            (unfit if order else passed).append(Passed(candidate, reasons))
    return Choice(tuple(order), tuple(passed), tuple(unfit))


def why_not(candidate: Candidate, want: Want) -> tuple[Reason, ...]:
    """Every reason against this candidate for this wish; empty when it fits."""
    found = [_dies_first(candidate, want), _not_enough(candidate, want), _not_thawed(candidate, want)]
    return candidate.against + tuple(reason for reason in found if reason)


def _rank(candidate: Candidate) -> tuple[bool, int, int, list[tuple[bool, int, str]], str]:
    never = candidate.expires_us is None
    return never, candidate.expires_us or 0, candidate.usable, _natural(candidate.mark), candidate.mark


def _natural(mark: str) -> list[tuple[bool, int, str]]:
    """C-9 before C-12."""
    return [(not part.isdecimal(), int(part) if part.isdecimal() else 0, part.casefold()) for part in re.findall(r"[0-9]+|[^0-9]+", mark)]


def _dies_first(candidate: Candidate, want: Want) -> Reason | None:
    """A life is over at exactly its end (R41)."""
    until = want.at_us if want.until_us is None else want.until_us
    if candidate.expires_us is None or candidate.expires_us > until:
        return None
    ended = candidate.expires_us <= want.at_us
    text = say(
        "{mark} {which} {expires}",
        mark=candidate.mark,
        which=say("was over") if ended else say("ends"),
        expires=day_text(candidate.expires_us, want.zone),
    )
    text += "." if ended else say(", before {until} when it must still be alive.", until=day_text(until, want.zone))
    return Reason(
        "pick.over" if ended else "pick.ends_before", text, {"mark": candidate.mark, "ends_us": candidate.expires_us, "until_us": until}
    )


def _not_enough(candidate: Candidate, want: Want) -> Reason | None:
    numbers: dict[str, int | str | None] = {"mark": candidate.mark, "wanted": want.amount, "usable": candidate.usable, "base": want.base}
    wanted, usable, longest = display_apart(want.base, want.amount, candidate.usable, candidate.longest)
    if candidate.usable < want.amount:
        text = say("{mark} has {usable}; {wanted} needed.", mark=candidate.mark, usable=usable, wanted=wanted)
        return Reason("pick.not_enough", text, numbers)
    if want.in_one_piece and candidate.longest < want.amount:
        text = say(
            "{mark} has {usable}, but in one piece only {longest}; {wanted} needed.",
            mark=candidate.mark,
            usable=usable,
            longest=longest,
            wanted=wanted,
        )
        return Reason("pick.not_in_one_piece", text, {**numbers, "longest": candidate.longest})
    return None


def _not_thawed(candidate: Candidate, want: Want) -> Reason | None:
    opened = want.at_us if want.opened_us is None else want.opened_us
    if candidate.thaw_ready_us is None or candidate.thaw_ready_us <= opened:
        return None
    ready = day_text(candidate.thaw_ready_us, want.zone)
    if candidate.frozen:
        text = say("Taken out now, {mark} may be opened from {thaw_ready}, not before.", mark=candidate.mark, thaw_ready=ready)
    else:
        text = say("{mark} may be opened from {thaw_ready}, not before.", mark=candidate.mark, thaw_ready=ready)
    return Reason("pick.not_thawed", text, {"mark": candidate.mark, "ready_us": candidate.thaw_ready_us, "at_us": want.at_us})


# --- more than one roll holds -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Take:
    """So much of one candidate; `pieces` of it, 0 where it is not taken by the piece."""

    candidate: Candidate
    amount: int
    pieces: int = 0


def draw(order: Sequence[Candidate], amount: int) -> tuple[list[Take], int]:
    """An amount that may be made up of several candidates, in their order; and what is still missing."""
    takes = []
    for candidate in order:
        taken = min(candidate.usable, amount)
        if taken > 0:
            takes.append(Take(candidate, taken))
            amount -= taken
    return takes, amount


def draw_pieces(
    order: Sequence[Candidate], sizes: Mapping[int, int], runs: Callable[[Candidate], Sequence[int]]
) -> tuple[list[Take], dict[int, int]]:
    """Pieces (`sizes`: how many of each length) laid into the clear runs of the candidates, in their order, the longest first; and those
    that are still missing. Longest first is a good fit and not always the best one."""
    left = {size: n for size, n in sorted(sizes.items(), reverse=True) if n > 0}
    takes = []
    for candidate in order:
        amount = pieces = 0
        for run in runs(candidate):
            for size in left:
                fitting = min(left[size], run // size)
                left[size] -= fitting
                run -= fitting * size
                amount, pieces = amount + fitting * size, pieces + fitting
        if pieces:
            takes.append(Take(candidate, amount, pieces))
    return takes, {size: n for size, n in left.items() if n}
