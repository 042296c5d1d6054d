"""GET: resin systems, and a look at a pot before it is mixed."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core.gel_update import Factor
from inventory.core.pot_forecast import Range
from inventory.core.reasons import BadInput, Reason
from inventory.core.vessel_text import WORDS
from inventory.models import Recipe
from inventory.reads.forecasts import Clock, Look, Way, asked, look
from inventory.reads.gels import Lesson
from inventory.reads.recipes import RecipeView, Version, recipe_view, recipes

from .documents import at
from .reads import Read, _answers, _free, text_param

ASKED = (
    OpenApiParameter("resin", str, required=True, description="Base resin, as weighed: “400 g”; a bare number is in g."),
    OpenApiParameter("hardener", str, description="Hardener or peroxide; left out: the recipe's target."),
    OpenApiParameter("others", str, description="Fillers and the rest."),
    OpenApiParameter("temperature", str, required=True, description="Of resin and room; a bare number is in °C."),
    OpenApiParameter("vessel", str, enum=["", *WORDS]),
    OpenApiParameter("size", str, description="Cup: “90 mm” across. Tray: “20 x 30 cm”. Film: “1 mm”. Own heat loss: “0.25 W/K”."),
)


class Recipes(Read):
    @extend_schema(operation_id="recipes", tags=["reads"], responses=_answers(_free("RecipePage")))
    def get(self, request: Request) -> Response:
        """Every resin system by its code: resin, hardener, and the ratio by mass in ppm of base resin."""
        return Response({"results": [short_doc(row) for row in recipes()], "next": None})


class OneRecipe(Read):
    @extend_schema(operation_id="recipe", tags=["reads"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, recipe: str) -> Response:
        """One system: ratio by mass and volume, order of addition, equivalent weights, the data sheet's times, gel points, versions of
        its kinetics, and its gels with what each taught."""
        return Response(recipe_doc(_view(self, recipe)))


class RecipeForecast(Read):
    @extend_schema(operation_id="recipe_forecast", tags=["reads"], parameters=list(ASKED), responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, recipe: str) -> Response:
        """What a pot would do, before it is mixed: three clocks, its window, peak and cautions, its curve, and beside it the same mass
        split or poured out flat. Nothing is recorded. Times in µs after first mixing, temperatures in m°C, conversions in ppm."""
        view = _view(self, recipe)
        given: dict[str, Any] = {parameter.name: text_param(request, parameter.name) for parameter in ASKED}
        return Response(look_doc(look(view.system, asked(view.recipe, **given))))


def _view(read: Read, code: str) -> RecipeView:
    if "\x00" not in code and len(code) <= 24:
        try:
            return recipe_view(read.who.site, code)
        except Recipe.DoesNotExist:
            pass
    raise BadInput("code.unknown", "There is no such recipe: GET /api/recipes/ lists them.", "path")


def short_doc(row: Recipe) -> dict[str, Any]:
    return {
        "code": row.code,
        "name": row.name,
        "kind": row.kind,
        "resin": row.resin.code,
        "hardener": row.hardener.code,
        "low_ppm": row.low_ppm,
        "target_ppm": row.target_ppm,
        "high_ppm": row.high_ppm,
        "kinetics_version": max((found.version for found in row.kinetics.all()), default=None),
    }


def recipe_doc(view: RecipeView) -> dict[str, Any]:
    row, groups, taught = view.recipe, view.groups, view.system.taught
    return {
        **short_doc(row),
        "never_ppm": view.limits.bound_ppm,
        "volume_ppm": list(view.volume_ppm) if view.volume_ppm else None,
        "order": [row.resin.code, *(a.material.code for a in view.additives), row.hardener.code],
        "additives": [{"material": a.material.code, "max_ppm": a.max_ppm} for a in view.additives],
        "mix_between_mc": [row.min_temp_mc, row.max_temp_mc],
        "groups": groups
        and {
            "computed_ppm": groups.computed_ppm,
            "hydrogens_per_epoxide_ppm": round(groups.balance * 1_000_000),
            "doubts": [doubt.text for doubt in groups.doubts],
        },
        "sheet": {"pot_us": row.pot_us, "mass_ug": row.pot_mass_ug, "temp_mc": row.pot_temp_mc, "method": row.pot_method},
        "ready_us": row.ready_us,
        "open": {"us": row.open_us, "temp_mc": row.open_temp_mc},
        "gel_points": [
            {"temp_mc": p.temp_mc, "dose_ppm": p.dose_ppm, "low_us": p.low_us, "high_us": p.high_us, "source": p.source or None}
            for p in view.points
        ],
        "kinetics": [version_doc(found) for found in view.versions],
        "trouble": view.system.trouble.text if view.system.trouble else None,
        "gels": {"now": factor_doc(taught.known.now), "lessons": [lesson_doc(one) for one in taught.lessons]},
    }


def version_doc(found: Version) -> dict[str, Any]:
    row, glass = found.row, found.known.glass if found.known else None
    return {
        "version": row.version,
        "name": row.name,
        "source": row.source,
        "form": row.form,
        "constants": row.constants,
        "seed_ppm": row.seed_ppm,
        "fitted_mc": [row.low_mc, row.high_mc] if row.low_mc is not None else None,
        "refused_outside": row.strict,
        "heat_j_kg": row.heat_j_kg,
        "gel_by": row.gel_by,
        "gel_ppm": row.gel_ppm,
        "glass": glass and {"uncured_mc": glass.tg0_mc, "cured_mc": glass.tg1_mc, "lambda_ppm": row.lambda_ppm},
        "note": row.note,
        "cannot_be_read": found.why or None,
    }


def factor_doc(found: Factor | None) -> dict[str, Any] | None:
    """On times: 2 000 000 is twice as long as predicted. The intervals cover nine tenths."""
    if found is None or not found.gels:
        return None
    return {
        "gels": found.gels,
        "factor_ppm": found.factor_ppm,
        "between_ppm": [found.low_ppm, found.high_ppm],
        "next_pot_between_ppm": [found.next_low_ppm, found.next_high_ppm],
    }


def lesson_doc(lesson: Lesson) -> dict[str, Any]:
    gel = lesson.gel
    return {
        "act": gel.act,
        "pot": str(gel.item),
        "at": at(gel.happened_us),
        "temp_mc": gel.temp_mc,
        "observed_us": gel.observed_us,
        "predicted_us": lesson.predicted_us,
        "weight_ppm": lesson.weight_ppm,
        "after": factor_doc(lesson.after),
        "apart": lesson.apart or None,
    }


def look_doc(found: Look) -> dict[str, Any]:
    window = found.told.window
    return {
        "mass_ug": found.batch.mass_ug,
        "temp_mc": found.batch.temp_mc,
        "ratio_ppm": found.batch.dose_ppm,
        "vessel": found.batch.stand.to_doc() if found.batch.stand else None,
        "window": window and {"low_us": window.low_us, "high_us": window.high_us, "method": window.method},
        "missing": found.told.missing.text if found.told.missing else None,
        "ready_us": found.ready_us,
        "cautions": [caution_doc(c) for c in found.cautions],
        "clocks": [clock_doc(clock) for clock in found.clocks],
        "no_peak": found.no_peak or None,
        "rests_on": list(found.rests),
        "ways": [way_doc(way) for way in found.ways],
    }


def caution_doc(caution: Reason) -> dict[str, Any]:
    return {"code": caution.code, "text": caution.text, "numbers": caution.numbers}


def clock_doc(clock: Clock) -> dict[str, Any]:
    return {"name": clock.name, "low_us": clock.low_us, "high_us": clock.high_us, "text": clock.words or None, "note": clock.note}


def way_doc(way: Way) -> dict[str, Any]:
    return {
        "name": way.name,
        "low_us": way.low_us,
        "likely_us": way.likely_us,
        "high_us": way.high_us,
        "why_not": way.why or None,
        "peak_mc": range_doc(way.peak_mc),
        "peak_us": way.peak_us,
        "cautions": [caution_doc(c) for c in way.cautions],
        "curve": [list(point) for point in way.curve],
    }


def range_doc(found: Range | None) -> dict[str, Any] | None:
    return None if found is None else {"low": found.low, "likely": found.likely, "high": found.high}
