"""What parts ask of people: cured ones that nobody has tested yet, and cures whose chart was not handed in."""

from __future__ import annotations

import json
from collections.abc import Iterator

from inventory.core.said import say
from inventory.reads.looking import QUALITY, Look, Need, provider, roles_of
from layups.core.verdicts import HARDNESS
from layups.models import Inspection, Part

from . import charts

MOST = 20
"""Parts that are named one by one; a longer list ends with how many more there are."""


@provider
def to_inspect(look: Look) -> Iterator[Need]:
    """Cured, here, and its design asks for a hardness that was not measured. Two questions for any number of parts."""
    rows = Part.objects.select_related("item__state", "design").filter(item__site=look.site, item__state__gone="")
    rows = rows.exclude(design__hardness_min="").order_by("pk")
    cured = [(p, at) for p in rows if (at := json.loads(p.item.state.doc).get("cured")) is not None]
    tests = Inspection.objects.filter(kind=HARDNESS, act__voided_by__isnull=True, part__design__in={p.design_id for p, _ in cured})
    tested = set(tests.values_list("part_id", flat=True)) if cured else set()
    waiting = [(p, at) for p, at in cured if p.pk not in tested]
    for p, at in waiting[:MOST]:
        text = say(
            "{number} is cured and waits for its test: hardness at least {hardness_min}.",
            number=p.number,
            hardness_min=p.design.hardness_min,
        )
        yield Need("today", "part.inspect", text, roles_of(QUALITY), ("part", p.item.code), at)
    if len(waiting) > MOST:
        p, at = waiting[MOST]
        yield Need(
            "today",
            "part.inspect",
            say("{waiting} more parts wait for their test.", waiting=len(waiting) - MOST),
            roles_of(QUALITY),
            ("part", p.item.code),
            at,
        )


@provider
def to_chart(look: Look) -> Iterator[Need]:
    """Cured, here, and its design asks for a chart that nobody handed in. Two questions for any number of parts."""
    rows = Part.objects.select_related("item__state", "design__cure_recipe").filter(item__site=look.site, item__state__gone="")
    rows = rows.exclude(design__cure_recipe=None).order_by("pk")
    cured = [(p, at) for p in rows if (at := json.loads(p.item.state.doc).get("cured")) is not None]
    there = charts.newest_of(p.pk for p, _ in cured) if cured else {}
    waiting = [(p, at) for p, at in cured if p.pk not in there]
    for p, at in waiting[:MOST]:
        text = say(
            "{number} is cured and its chart is missing: {cure_recipe}. Hand in the logger's file of its run.",
            number=p.number,
            cure_recipe=p.design.cure_recipe,
        )
        yield Need("today", "part.chart", text, roles_of(QUALITY), ("part", p.item.code), at)
    if len(waiting) > MOST:
        p, at = waiting[MOST]
        text = say("{waiting} more parts wait for the chart of their cure.", waiting=len(waiting) - MOST)
        yield Need("today", "part.chart", text, roles_of(QUALITY), ("part", p.item.code), at)
