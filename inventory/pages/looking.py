"""Look before mixing, on a page: the three clocks, the ways to hold the pot side by side, and its curves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms
from django.utils.safestring import SafeString

from inventory.core.pot_forecast import Range
from inventory.core.said import say, strung
from inventory.core.spans import duration
from inventory.core.vessel_text import WORDS
from inventory.readers import system
from inventory.reads.forecasts import Look, Way
from inventory.templatetags.tables import Column
from inventory.worksheets.registry import Chart, Series

from . import charts, ownsheets
from .measures import said_in

WAYS = (
    Column(say("Way")),
    Column(say("Use until"), num=True),
    Column(say("Gels, likely"), num=True),
    Column(say("Peak"), num=True),
    Column(say("Peak after"), num=True),
    Column(say("Caution"), wide=True),
)
SHORT = {
    "pot.will_smoke": say("will smoke"),
    "pot.could_smoke": say("could smoke"),
    "pot.will_boil": say("will boil"),
    "pot.could_boil": say("could boil"),
    "pot.middle_runs_away": say("its middle can run away"),
    "pot.middle_warmer": say("its middle is warmer than told"),
    "pot.no_time": say("over before it is ready"),
    "pot.over_test_mass": say("over the test mass: sooner than shown"),
}
"""What differs from way to way, in a few words; the whole sentences stand above the table."""
CURVE = (Column(say("Minutes"), num=True), Column(say("Temperature, °C"), num=True), Column(say("Conversion, %"), num=True))
VESSELS = [("", say("not said")), *WORDS.items()]
SIZED = {"cup": "mm", "tray": "cm", "film": "mm"}
"""What a bare size counts in; of a tray its sides, of which the last names the unit of both, or its area."""
SIZES = {
    "metric": say("Cup: 90 mm. Tray: 20 × 30 cm. Film: 1 mm. Own h·S: 0.25 W/K."),
    "us": say("Cup: 3.5 in. Tray: 8 × 12 in, or 96 in². Film: 0.04 in. Own h·S: 0.25 W/K."),
}
MINUTE = 60e6
POINTS = 12


class VesselForm(forms.Form):
    """How the pot stands; for kinetics, which ask it."""

    vessel = forms.ChoiceField(required=False, choices=VESSELS, label=say("How it stands"), help_text=say("Kinetics ask for it."))
    size = forms.CharField(required=False, max_length=40, label=say("Its size"), help_text=SIZES["metric"])

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["size"].help_text = SIZES[system()]

    def clean_size(self) -> str:
        text: str = self.cleaned_data["size"]
        unit = SIZED.get(self.cleaned_data.get("vessel", ""), "")
        unit += "²" * (unit == "cm" and not set(text) & set("x×*X"))
        return said_in(text, unit) if unit else text


def shown(look: Look | None) -> dict[str, Any]:
    """What a page shows of it."""
    if look is None:
        return {}
    first, missing = look.ways[0], look.told.missing
    heads, rows = ownsheets.table([column.label for column in CURVE], points(first))
    return {
        "look": look,
        "peak_words": peak(first.peak_mc) if first.peak_mc is not None else "",
        "ways": [row(way, missing.text if missing is not None else "") for way in look.ways],
        "ways_columns": WAYS,
        "drawn": drawn(look),
        "curve_columns": [replace(column, label=head) for column, head in zip(CURVE, heads, strict=True)],
        "curve": rows,
        "ready": duration(look.ready_us) if look.ready_us else "",
    }


def row(way: Way, missing: str) -> list[object]:
    """`missing`: why nobody can tell, which stands above already."""
    said = [SHORT[c.code] for c in way.cautions if c.code in SHORT] or ([way.why] if way.why != missing else [])
    never = say("never") if way.why.startswith("It does not gel") else ""
    return [
        way.name,
        duration(way.low_us) if way.low_us is not None else never,
        duration(way.likely_us) if way.likely_us is not None else "",
        peak(way.peak_mc) if way.peak_mc is not None else "",
        duration(way.peak_us) if way.peak_us is not None else "",
        strung("; ", said),
    ]


def peak(found: Range) -> str:
    """ "145 °C (27 to 223)": the likely one with its range."""
    likely = found.likely if found.likely is not None else found.low
    high = found.high if found.high is not None else likely
    return say("{likely} °C ({low} to {high})", likely=f"{likely / 1000:.0f}", low=f"{found.low / 1000:.0f}", high=f"{high / 1000:.0f}")


def drawn(look: Look) -> list[tuple[Chart, SafeString]]:
    """Temperature and conversion over time, of the pot as asked and of each other way that is likely to differ."""
    ways = [way for way in (look.ways[0], *look.ways[2:]) if len(way.curve) > 2]
    if not ways or ways[0] is not look.ways[0]:
        return []
    first = ways[0]
    end = 1.3 * max(first.peak_us or 0, first.likely_us or 0, first.curve[1][0])
    heat = tuple(Series(way.name, tuple((us / MINUTE, mc / 1000) for us, mc, _ in way.curve if us <= end)) for way in ways)
    cure = tuple(Series(way.name, tuple((us / MINUTE, ppm / 10_000) for us, _, ppm in way.curve if us <= end)) for way in ways)
    hottest = strung("; ", (say("{way}: {peak}", way=way.name, peak=peak(way.peak_mc)) for way in ways if way.peak_mc is not None))
    gels = strung("; ", (say("{way}: {words}", way=way.name, words=way.words) for way in ways if way.words))
    found = [
        Chart(
            say("Temperature"),
            "line",
            say("minutes after first mixing"),
            "°C",
            _whole(heat),
            say("Hottest, with the range: {hottest}.", hottest=hottest),
        ),
        Chart(say("Conversion"), "line", say("minutes after first mixing"), "%", _whole(cure), say("Use ends within: {gels}.", gels=gels)),
    ]
    return [(chart, charts.svg(chart)) for chart in map(ownsheets.chart, found) if chart.series]


def _whole(series: tuple[Series, ...]) -> tuple[Series, ...]:
    return tuple(s for s in series if len(s.points) > 1)


def points(way: Way) -> list[list[object]]:
    """The pot's own curve at a dozen instants, for those who do not see the picture."""
    end = 1.3 * max(way.peak_us or 0, way.likely_us or 0)
    inside = [p for p in way.curve if p[0] <= end]
    step = max(1, -(-len(inside) // POINTS))
    return [[f"{us / MINUTE:.0f}", f"{mc / 1000:.1f}", f"{ppm / 10_000:.1f}"] for us, mc, ppm in inside[::step]]
