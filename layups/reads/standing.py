"""Where a part stands in the order of the work, from what is read of it: what `core.following` is asked with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from inventory.core import fold
from layups.core.following import CURING, Stand
from layups.core.verdicts import DROP, HARDNESS
from layups.models import Inspection, Part

from .charts import LOADED
from .part import PartPage

Body = Mapping[str, Any]


def standing(page: PartPage) -> Stand:
    """Of a part whose page was read."""
    return stand_of(page.part, page.word, page.state, place_of(page), page.inspections, steps_of(page))


def stand_of(part: Part, word: str, state: fold.State, place: str, inspections: Iterable[Inspection], steps: Sequence[Body]) -> Stand:
    """`place`: the code of where it is; `inspections` and `steps` (what its step records say) that count, oldest first."""
    tests = list(inspections)
    drops = [i for i in tests if i.kind == DROP and i.act.happened_us >= (state.bagged or 0)]
    return Stand(
        word=word,
        assembly=part.design.kind == "assembly",
        loaded=is_loaded(state, place, steps),
        to_drop=part.design.drop_limit_pa is not None and not (drops and drops[-1].passed),
        to_test=bool(part.design.hardness_min) and not any(i.kind == HARDNESS for i in tests),
        run=part.item.unit == "um",
    )


def run_known(page: PartPage) -> str:
    """The run that a form of the part is about: where it is loaded, or in cure; "" else."""
    steps = steps_of(page)
    return run_of(steps) if page.word == CURING or is_loaded(page.state, place_of(page), steps) else ""


def steps_of(page: PartPage) -> list[Body]:
    return [body for act, body in page.steps if act.kind == "step"]


def run_of(steps: Sequence[Body]) -> str:
    """The cure run that the part is loaded in now, or was last."""
    return next((str(body.get("run", "")) for body in reversed(steps) if body.get("step") == LOADED), "")


def is_loaded(state: fold.State, place: str, steps: Sequence[Body]) -> bool:
    """Does it stand where it was last loaded for cure?"""
    last = next((body for body in reversed(steps) if body.get("step") == LOADED), None)
    return last is not None and state.curing is None and state.cured is None and bool(last.get("run")) and place == last.get("place", "")


def place_of(page: PartPage) -> str:
    """The code of the place where the part is; "" when it is nowhere."""
    row = getattr(page.item.state, "location", None)
    return row.code if row is not None else ""
