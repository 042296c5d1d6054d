"""The charts of cures: which parts were in a run, when heating was recorded, which chart counts, and what speaks against shipping."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.kinetics import Known, known
from inventory.models import Act, Finding, Kinetics, Leg
from inventory.recording.claims import canonical
from layups.models import CureChart, CureRun, Part, Ply

FAMILY = "chart"
FAILED, UNTOLD = f"{FAMILY}.failed", f"{FAMILY}.cannot_tell"
LOADED = say("loaded for cure")
OFF_BY_US = 60_000_000
"""So far may a recorded start lie from the chart's: people tell the time to the minute."""


def parts_of_run(run: CureRun) -> list[Part]:
    """What was heated in the run; before heating began, what was loaded for it. Two queries and one for the parts."""
    said = canonical({"run": run.number})[1:-1]
    legs = Leg.objects.filter(location=run.location_id, act__kind="step", act__voided_by__isnull=True, act__body__contains=said)
    loaded = {item for item, body in legs.values_list("item_id", "act__body") if _says(body, run, LOADED)}
    heated = set(starts_of(loaded, run.number))
    return list(parts_by_id(heated or loaded).order_by("number"))


def parts_by_id(ids: Iterable[int]) -> Any:
    return Part.objects.filter(pk__in=set(ids)).select_related("item", "design__cure_recipe", "customer")


def _says(body: str, run: CureRun, step: str) -> bool:
    found = json.loads(body)
    return bool(found.get("run") == run.number and found.get("step") == step)


def starts_of(items: Iterable[int], number: str) -> dict[int, Act]:
    """The start of cure that is on record for each item, in the run of this number ("": where it stood); the last one counts."""
    out: dict[int, Act] = {}
    legs = Leg.objects.filter(item__in=set(items), act__kind="cure_on", act__voided_by__isnull=True).select_related("act")
    for leg in legs.order_by("act__happened_us", "seq"):
        if json.loads(leg.act.body).get("run", "") == number:
            out[leg.item_id] = leg.act
    return out


def loaded_since(items: Iterable[int], run: CureRun | None) -> int | None:
    """When the first of them was loaded for the run, or began to heat: a chart of it ends later than that."""
    number = run.number if run is not None else ""
    times = [act.happened_us for act in starts_of(items, number).values()]
    if run is not None:
        legs = Leg.objects.filter(item__in=set(items), act__kind="step", location=run.location_id, act__voided_by__isnull=True)
        times += [at for at, body in legs.values_list("act__happened_us", "act__body") if _says(body, run, LOADED)]
    return min(times, default=None)


# --- which chart counts ----------------------------------------------------------------------------


def newest_of(parts: Iterable[int]) -> dict[int, dict[int | None, CureChart]]:
    """By part and run, the chart that counts: the newest that is not void. One query."""
    out: dict[int, dict[int | None, CureChart]] = defaultdict(dict)
    rows = CureChart.objects.filter(part__in=set(parts), act__voided_by__isnull=True).select_related("act__person", "run", "recipe")
    for row in rows.order_by("act_id"):
        out[row.part_id][row.run_id] = row
    return out


def charts_of(run: CureRun | None, part: Part | None = None) -> list[CureChart]:
    """Every chart of a run, or of a part's cure outside of any, newest first, void ones too."""
    rows = CureChart.objects.filter(run=run) if run is not None else CureChart.objects.filter(run__isnull=True, part=part)
    rows = rows.select_related("act__person", "act__voided_by__person", "part__item", "recipe", "run")
    return list(rows.order_by("-act_id", "part__number"))


def verdicts_of(charts: Iterable[CureChart]) -> dict[tuple[int, int], dict[str, Any]]:
    """The whole verdict of each chart as its record keeps it, by (record, part). One query."""
    rows = Leg.objects.filter(act__in={c.act_id for c in charts}).values_list("act_id", "item_id", "body")
    return {(act, item): json.loads(body).get("chart", {}) for act, item, body in rows}


def against(parts: Sequence[Part]) -> Iterator[Reason]:
    """Why parts whose design names a cure recipe may not go out for want of a chart. (A chart that does not pass raised a finding,
    which stops them by itself.) One query."""
    asked = [p for p in parts if p.design.cure_recipe_id is not None]
    there = newest_of(p.pk for p in asked) if asked else {}
    for part in asked:
        if part.pk not in there:
            text = say(
                "{part} has no cure chart, and its design asks for one ({cure_recipe}): hand in that of its run.",
                part=part.number,
                cure_recipe=part.design.cure_recipe,
            )
            yield Reason(f"{FAMILY}.missing", text, {"item": part.pk, "part": part.number})


def open_findings(items: Iterable[int]) -> Iterator[Reason]:
    """Charts that did not pass and that nobody has decided on."""
    rows = Finding.objects.filter(item__in=set(items), closed_us__isnull=True, code__startswith=f"{FAMILY}.").order_by("pk")
    for row in rows:
        text = say("An open finding stops this until quality has disposed of it: {text}", text=row.text)
        yield Reason("finding.open", text, {"item": row.item_id, "finding": row.pk, "code": row.code.split("/")[0]})


# --- when heating began, by the chart --------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Differs:
    """A part whose recorded start of cure is not when the chart says that heating began (R11). `start`: that record, None when there
    is none."""

    part: Part
    start: Act | None
    chart_us: int

    @property
    def later_us(self) -> int | None:
        """How much later the chart says it began than the record; below zero: earlier."""
        return None if self.start is None else self.chart_us - self.start.happened_us


def differs(part: Part, doc: Mapping[str, Any], start: Act | None) -> Differs | None:
    """By a verdict and the start that is on record for the same cure."""
    at = doc.get("heated_us")
    off = isinstance(at, int) and (start is None or abs(start.happened_us - at) > OFF_BY_US)
    return Differs(part, start, at) if off and isinstance(at, int) else None


def differing(parts: Sequence[Part], docs: Mapping[int, dict[str, Any]], number: str) -> list[Differs]:
    """By the verdicts that count, by part. One query."""
    starts = starts_of(docs, number)
    found = [differs(part, docs[part.pk], starts.get(part.pk)) for part in parts if part.pk in docs]
    return [d for d in found if d is not None]


# --- kinetics ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Reacts:
    """What of a design has kinetics (`of`: its code), or the codes of what would need some."""

    known: Known | None
    of: str
    without: tuple[str, ...]


def reacting(designs: Iterable[int]) -> dict[int, Reacts]:
    """For each design the first line of its schedule that reacts and whose kinetics are known. Two queries."""
    asked = set(designs)
    lines: dict[int, dict[tuple[str, int], str]] = defaultdict(dict)
    for ply in Ply.objects.filter(design__in=asked).select_related("material", "recipe").order_by("design", "seq"):
        if ply.recipe is not None:
            lines[ply.design_id][("recipe", ply.recipe.pk)] = ply.recipe.code
        elif ply.material is not None and ply.material.kind in ("prepreg", "film"):
            lines[ply.design_id][("material", ply.material.pk)] = ply.material.code
    rows: dict[tuple[str, int], Kinetics] = {}
    wanted = {key for found in lines.values() for key in found}
    recipes, materials = ([pk for kind, pk in wanted if kind == name] for name in ("recipe", "material"))
    both = Kinetics.objects.filter(recipe__in=recipes) | Kinetics.objects.filter(material__in=materials)
    for row in both.select_related("recipe", "material").order_by("version") if wanted else ():
        rows[("recipe", row.recipe_id) if row.recipe_id is not None else ("material", row.material_id or 0)] = row
    return {design: _reacts(lines[design], rows) for design in asked}


def _reacts(lines: Mapping[tuple[str, int], str], rows: Mapping[tuple[str, int], Kinetics]) -> Reacts:
    for key, code in lines.items():
        if key in rows:
            return Reacts(known(rows[key]), code, ())
    return Reacts(None, "", tuple(lines.values()))
