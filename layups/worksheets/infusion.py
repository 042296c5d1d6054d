"""Does the panel fill before the resin is too thick? Ways of feeding it, compared."""

from __future__ import annotations

import math
from dataclasses import dataclass

from inventory.core.reasons import BadInput, told_at
from inventory.core.spans import duration
from inventory.worksheets.registry import LAMINATE, Figure, Sheet, Table, figure, number, worksheet
from layups.core.infusion import SCATTER, Bed, Fill, Thickening, choices, compare


@dataclass(frozen=True, slots=True)
class Infusion:
    """A rectangle of dry reinforcement under a bag, and the resin's time."""

    length: str = figure("Length", "length", "m", "2.4 m")
    width: str = figure("Width", "length", "m", "1.2 m")
    permeability: str = figure("Permeability", "area", "m²", "1e-10 m²", "Of the stack with its flow mesh, measured.")
    fibre_volume: str = figure("Fibre fraction by volume", "share", "%", "50 %")
    pressure: str = figure("Pressure difference", "pressure", "mbar", "950 mbar")
    viscosity: str = figure("Viscosity at the start", "viscosity", "mPa·s", "300 mPa·s", "At the temperature of the room.")
    doubles: str = figure("It doubles every", "time", "min", "25 min", "By the data sheet or a cup of your own.")
    starts: str = figure("The flow starts, after mixing", "time", "min", "10 min")
    stops: str = figure("It must stop, after mixing", "time", "min", "60 min")


@worksheet("infusion", Infusion, "Infusion", "Whether a panel fills in the time that the resin gives, by each way of feeding it.", LAMINATE)
def infusion(p: Infusion) -> Sheet:
    share = number(p, "fibre_volume")
    if not 0 < share < 1:
        raise BadInput("infusion.porosity", "The fibre fraction by volume lies between 0 and 100 %.", "fibre_volume")
    doubles, starts, stops = number(p, "doubles"), number(p, "starts"), number(p, "stops")
    if not doubles > 0:
        raise BadInput("infusion.viscosity", "The time in which the viscosity doubles is above nothing.", "doubles")
    if not 0 <= starts < stops:
        raise BadInput("infusion.no_time", "The flow starts after mixing and before it must stop.", "stops")
    if stops / doubles > 60:
        raise BadInput(
            "infusion.viscosity", "The viscosity would double more than sixty times before the stop: check both times.", "doubles"
        )
    with told_at({"porosity": "fibre_volume", "permeability": "permeability", "pressure": "pressure"}):
        bed = Bed(number(p, "permeability"), 1 - share, number(p, "pressure"))
    first = number(p, "viscosity")
    if not first > 0:
        raise BadInput("infusion.viscosity", "The viscosity is above nothing.", "viscosity")
    resin = Thickening((0.0, stops), (first, first * math.exp2(stops / doubles)))
    found = compare(choices(number(p, "length"), number(p, "width")), bed, resin, starts, stops)
    best = found[0]
    return Sheet(
        headline=f"{best.text} Way: {best.name}.",
        figures=tuple(_figures(best)),
        notes=(
            f"Laboratories differ by {SCATTER['woven'] * 100:.0f} % on one permeability (permeability benchmark III), hence the range.",
            "Darcy's law: one permeability in each direction, runners without resistance, full vacuum ahead of the front.",
        ),
        cautions=(*(reason.text for reason in best.cautions), "An aid: try the stack and the mesh in small before the part."),
        tables=(
            Table(
                "Ways of feeding, the quickest first",
                ("way", "fills in, min", "at the latest, min", "wet at the stop, %"),
                tuple(map(_row, found)),
            ),
        ),
    )


def _figures(best: Fill) -> list[Figure]:
    took = [("fills in", best.needs_us), ("at the soonest", best.soon_us), ("at the latest", best.late_us), ("time there is", best.have_us)]
    rows = [Figure(name, duration(us) if us is not None else "never", us / 60e6 if us is not None else None, "min") for name, us in took]
    return [
        *rows,
        Figure("wet at the stop", f"{best.part * 100:.0f} %", best.part * 100, "%", f"surely {math.floor(best.sure_part * 100)} %"),
    ]


def _row(found: Fill) -> tuple[str, float | str, float | str, float]:
    return found.name, _minutes(found.needs_us), _minutes(found.late_us), round(found.part * 100, 1)


def _minutes(us: int | None) -> float | str:
    return "never" if us is None else round(us / 60e6, 3)
