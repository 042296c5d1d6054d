"""The yard's one cure recipe with a chart for each run of tillers since, all invented: one run was opened too early and failed."""

from __future__ import annotations

import hashlib

from inventory import attachments
from layups.models import CureRecipe, Design
from layups.verbs.charting import ChartColumn, CureChart

from .curves import Corner, chart_csv
from .hands import Hands, minutes

DESIGN = "TIL"
NAMED = -160
"""The day on which the tiller's design named its recipe; charts of runs that were still in stock were handed in then."""
SINCE = -236
OPENED = -7
"""The batch whose oven was opened in the middle."""
CALIBRATED = 40
RECIPE = """room 21 °C
gap at most 5 min
ramp 1.5 to 3.5 °C/min over 5 min
dwell 115 −0/+8 °C for 55 −0/+25 min
cool at most 3 °C/min to 60 °C"""

AIR: tuple[Corner, ...] = ((0, 21), (19.2, 21), (59, 119), (120, 119), (158, 55))
TILLER: tuple[Corner, ...] = ((0, 21), (19.2, 21), (62, 117), (120, 117.5), (162, 55))
OPEN_DOOR: tuple[Corner, ...] = ((0, 21), (19.2, 21), (62, 117), (86, 117.5), (92, 106), (102, 117), (120, 117.5), (162, 55))
TRIPPED: tuple[Corner, ...] = ((0, 33), (1.2, 33), (39, 117), (102, 117.5), (144, 55))


def name_recipe(h: Hands) -> None:
    """A new version in the books, no record."""

    def write() -> None:
        recipe = CureRecipe.objects.create(code="OVEN-115", version=1, name="oven, prepreg at 115 °C", text=RECIPE, source="invented")
        Design.objects.filter(code=DESIGN).update(cure_recipe=recipe)

    h.script.do(h.at(NAMED, "06:00"), write)


def hand_in(h: Hands, day: int, run: str, tillers: list[str], tripped: bool) -> None:
    """The chart of a batch that was heated at 16:00; a trip leaves its own, which was no cure."""
    if day < SINCE:
        return
    lines: dict[str, tuple[Corner, ...]] = {"TC1": AIR, "TC2": OPEN_DOOR if day == OPENED else TILLER}
    begins = h.at(day, "16:00") - minutes(20)
    if tripped:
        lines, begins = {"TC2": TRIPPED}, h.at(day, "15:59")
    text = chart_csv(begins, h.yard.site.zone, lines).encode()
    at = h.at(max(day, NAMED) + 1, "08:40") + minutes(-day % 17)
    who = h.yard.who("Odile")
    h.script.do(at - 1, lambda: attachments.keep([text], f"{run}.csv", who, at))
    columns = tuple(ChartColumn(f"{name} °C", "", h.anchor.text(CALIBRATED)) for name in lines)
    h.call(at, "Odile", "cure_chart", CureChart(hashlib.sha256(text).hexdigest(), run, columns=columns), run)
    if day == OPENED:
        for n, number in enumerate(tillers):
            why = "the door was open for six minutes; a hardness of both and their glass temperature were measured"
            h.dispose(at + minutes(30 + n), number, "use_as_is", "design authority, letter 26-114", why)
