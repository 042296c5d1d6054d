"""What the shop's own gels say of a recipe (R19), read from the records each time: a gel that is voided takes its lesson back.

Each gel is compared with what the system as it stands now would have said of that pot, so a new version of its kinetics, or another data
sheet, is taught by the same gels.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from inventory.core.gel_update import Factor, SeenGel, Update, update
from inventory.core.gelpoints import GelPoint
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.vessel_text import Stand, stand_from
from inventory.models import Item, Leg, Recipe

NEWEST = 60
"""So many gels teach; older ones are of lots long used up. Shop practice, no source."""


@dataclass(frozen=True, slots=True)
class OwnGel:
    """One recorded gel: `act` of the record, the pot, and what is known of it."""

    act: int
    item: Item
    happened_us: int
    observed_us: int
    mass_ug: int
    temp_mc: int | None
    dose_ppm: int | None
    stand: Stand | None

    def point(self) -> GelPoint | None:
        """As a gel point of a peroxide system."""
        if self.temp_mc is None or not self.dose_ppm:
            return None
        return GelPoint(
            self.temp_mc, self.dose_ppm, self.observed_us, self.observed_us, say("own pot {item}", item=self.item), self.mass_ug
        )


@dataclass(frozen=True, slots=True)
class Lesson:
    """One gel with what it taught: predicted likely time (None: nobody could tell), how far it was believed, and what was known
    after it."""

    gel: OwnGel
    predicted_us: int | None
    weight_ppm: int | None
    after: Factor | None
    apart: str = ""


@dataclass(frozen=True, slots=True)
class Taught:
    """What all of them taught: `known` of the core, and each gel in the order in which they happened."""

    known: Update
    lessons: tuple[Lesson, ...]

    @property
    def rests_on(self) -> list[int]:
        """The records that the estimate rests on."""
        return [lesson.gel.act for lesson in self.lessons if lesson.weight_ppm is not None]

    def points(self) -> tuple[GelPoint, ...]:
        """For a peroxide system: its own gels as points, without those that stand apart."""
        found = (lesson.gel.point() for lesson in self.lessons if not lesson.apart)
        return tuple(point for point in found if point is not None)


def gels_of(site: int, recipe: Recipe, before_us: int | None = None) -> list[OwnGel]:
    """The newest gels of a recipe's pots that were seen and not voided, in the order in which they happened. Two queries."""
    said = json.dumps(recipe.code, ensure_ascii=False)
    rows = Leg.objects.filter(act__site=site, act__kind="gel", act__voided_by__isnull=True, act__body__contains=f'"recipe":{said}')
    if before_us is not None:
        rows = rows.filter(act__happened_us__lt=before_us)
    legs = list(rows.select_related("act", "item").order_by("-act__happened_us", "-act_id")[:NEWEST])
    mixes = Leg.objects.filter(item__in=[leg.item_id for leg in legs], act__kind="mix", act__voided_by__isnull=True).select_related("act")
    made = {leg.item_id: leg for leg in mixes if leg.delta > 0}
    found = []
    for leg in reversed(legs):
        body, mix = json.loads(leg.act.body), made.get(leg.item_id)
        if mix is None or body.get("recipe") != recipe.code:
            continue
        pot = json.loads(mix.act.body)
        found.append(
            OwnGel(
                leg.act_id, leg.item, leg.act.happened_us, body["observed_us"], mix.delta, pot.get("temp_mc"), pot.get("ratio_ppm"),
                stand_from(pot.get("vessel")),
            )
        )  # fmt: skip
    return found


def taught(gels: list[OwnGel], predict: Callable[[list[OwnGel]], list[int | None]]) -> Taught:
    """What these gels teach a system that predicts so."""
    predicted = predict(gels)
    seen, apart = [], {}
    for gel, likely in zip(gels, predicted, strict=True):
        if likely:
            try:
                seen.append(SeenGel(str(gel.act), gel.happened_us, likely, gel.observed_us))
            except BadInput as bad:  # fifty times off: a slip of the clock, named and left out
                apart[str(gel.act)] = bad.reason.text
    known = _update(tuple(seen))
    apart |= {str(reason.numbers["key"]): reason.text for reason in known.apart}
    order = {gel.key: n for n, gel in enumerate(sorted(seen, key=lambda g: (g.happened_us, g.key)), start=1)}
    lessons = []
    for gel, likely in zip(gels, predicted, strict=True):
        key = str(gel.act)
        after = known.history[order[key]] if key in order else None
        lessons.append(Lesson(gel, likely, known.weights_ppm.get(key), after, apart.get(key, "")))
    return Taught(known, tuple(lessons))


@lru_cache(maxsize=128)
def _update(seen: tuple[SeenGel, ...]) -> Update:
    return update(seen)
