"""One value of a material, lot by lot, in the order in which the lots came: its chart, the newest lot beside those before it, and what
nine lots in ten exceed. Each part says plainly when there is too little data for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from inventory.core import basis, equivalence, spc
from inventory.core.basis import Basis
from inventory.core.equivalence import Change
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spc import Control, Signal

T = TypeVar("T")
ALPHA = 0.05
"""A good newest lot is told to differ once in twenty."""


@dataclass(frozen=True, slots=True)
class LotValues:
    """Each part is there, or the sentence that says why not. `baseline`: how many of the first lots make the limits."""

    baseline: int
    chart: Control | None
    no_chart: str
    change: Change | None
    no_change: str
    basis: Basis | None
    no_basis: str

    @property
    def changed(self) -> bool:
        return self.change is not None and self.change.p < ALPHA


def lot_values(values: Sequence[float]) -> LotValues:
    """`values`: one a lot, oldest first. Limits come from the first twenty lots, or from all before the newest while there are fewer."""
    base = min(spc.ENOUGH, max(spc.FEWEST, len(values) - 1))
    chart, no_chart = _told(lambda: spc.individuals(values, base), len(values), spc.FEWEST)
    change, no_change = _told(lambda: equivalence.changed(values[:-1], values[-1:], ALPHA), len(values) - 1, equivalence.FEWEST)
    enough = basis.USUAL["B"]
    found, no_basis = None, too_little(len(values), enough)
    if len(values) >= enough:
        found, no_basis = _told(lambda: basis.basis(values, "B"), len(values), enough)
    return LotValues(base, chart, no_chart, change, no_change, found, no_basis)


def too_little(there: int, needed: int) -> str:
    return say("Too little data: {there} of {needed} lots.", there=max(there, 0), needed=needed)


def _told(compute: Callable[[], T], there: int, needed: int) -> tuple[T | None, str]:
    if there < needed:
        return None, too_little(there, needed)
    try:
        return compute(), ""
    except BadInput as bad:
        return None, bad.reason.text


def newest(name: str, values: Sequence[float]) -> list[Reason]:
    """What is to be asked of the newest lot's value: a rule of the chart that it breaks. Nothing with too little data."""
    judged = lot_values(values)
    control = judged.chart
    if control is None:
        return []
    said = []
    for signal in control.signals:
        if signal.at == len(values) - 1:
            beside = say(
                "{name} {values}, by limits {low}–{high} of {baseline} lots",
                name=name,
                values=f"{values[-1]:g}",
                low=f"{control.low:.4g}",
                high=f"{control.high:.4g}",
                baseline=judged.baseline,
            )
            numbers: dict[str, int | str | None] = {"name": name, "rule": signal.rule, "lots": judged.baseline}
            said.append(
                Reason(
                    f"values.rule_{signal.rule}",
                    say("{beside}: {words}. Ask before it is used.", beside=beside, words=words(signal)),
                    numbers,
                )
            )
    return said


def words(signal: Signal) -> str:
    """The rule that was broken, without saying at which value."""
    return signal.text.split(": ", 1)[1].rstrip(".")
