"""Does the panel fill before the resin is too thick? Ways of feeding it, compared."""

from __future__ import annotations

import math
from dataclasses import dataclass

from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say
from inventory.core.spans import duration
from inventory.worksheets.registry import LAMINATE, Figure, Sheet, Table, figure, number, worksheet
from layups.core.infusion import SCATTER, Bed, Fill, Thickening, choices, compare


@dataclass(frozen=True, slots=True)
class Infusion:
    """A rectangle of dry reinforcement under a bag, and the resin's time."""

    length: str = figure(say("Length"), "length", "m", "2.4 m")
    width: str = figure(say("Width"), "length", "m", "1.2 m")
    permeability: str = figure(say("Permeability"), "area", "m²", "1e-10 m²", say("Of the stack with its flow mesh, measured."))
    fibre_volume: str = figure(say("Fibre fraction by volume"), "share", "%", "50 %")
    pressure: str = figure(say("Pressure difference"), "pressure", "mbar", "950 mbar")
    viscosity: str = figure(say("Viscosity at the start"), "viscosity", "mPa·s", "300 mPa·s", say("At the temperature of the room."))
    doubles: str = figure(say("It doubles every"), "time", "min", "25 min", say("By the data sheet or a cup of your own."))
    starts: str = figure(say("The flow starts, after mixing"), "time", "min", "10 min")
    stops: str = figure(say("It must stop, after mixing"), "time", "min", "60 min")


@worksheet(
    "infusion",
    Infusion,
    say("Infusion"),
    say("Whether a panel fills in the time that the resin gives, by each way of feeding it."),
    LAMINATE,
)
def infusion(p: Infusion) -> Sheet:
    share = number(p, "fibre_volume")
    if not 0 < share < 1:
        raise BadInput("infusion.porosity", say("The fibre fraction by volume lies between 0 and 100 %."), "fibre_volume")
    doubles, starts, stops = number(p, "doubles"), number(p, "starts"), number(p, "stops")
    if not doubles > 0:
        raise BadInput("infusion.viscosity", say("The time in which the viscosity doubles is above nothing."), "doubles")
    if not 0 <= starts < stops:
        raise BadInput("infusion.no_time", say("The flow starts after mixing and before it must stop."), "stops")
    if stops / doubles > 60:
        raise BadInput(
            "infusion.viscosity", say("The viscosity would double more than sixty times before the stop: check both times."), "doubles"
        )
    with told_at({"porosity": "fibre_volume", "permeability": "permeability", "pressure": "pressure"}):
        bed = Bed(number(p, "permeability"), 1 - share, number(p, "pressure"))
    first = number(p, "viscosity")
    if not first > 0:
        raise BadInput("infusion.viscosity", say("The viscosity is above nothing."), "viscosity")
    resin = Thickening((0.0, stops), (first, first * math.exp2(stops / doubles)))
    found = compare(choices(number(p, "length"), number(p, "width")), bed, resin, starts, stops)
    best = found[0]
    return Sheet(
        headline=say("{best} Way: {best_2}.", best=best.text, best_2=best.name),
        figures=tuple(_figures(best)),
        notes=(
            say(
                "Laboratories differ by {woven} % on one permeability (permeability benchmark III), hence the range.",
                woven=f"{SCATTER['woven'] * 100:.0f}",
            ),
            say("Darcy's law: one permeability in each direction, runners without resistance, full vacuum ahead of the front."),
        ),
        cautions=(*(reason.text for reason in best.cautions), say("An aid: try the stack and the mesh in small before the part.")),
        tables=(
            Table(
                say("Ways of feeding, the quickest first"),
                (say("way"), say("fills in, min"), say("at the latest, min"), say("wet at the stop, %")),
                tuple(map(_row, found)),
            ),
        ),
    )


def _figures(best: Fill) -> list[Figure]:
    took = [
        (say("fills in"), best.needs_us),
        (say("at the soonest"), best.soon_us),
        (say("at the latest"), best.late_us),
        (say("time there is"), best.have_us),
    ]
    rows = [
        Figure(name, duration(us) if us is not None else say("never"), us / 60e6 if us is not None else None, "min") for name, us in took
    ]
    return [
        *rows,
        Figure(
            say("wet at the stop"),
            say("{part} %", part=f"{best.part * 100:.0f}"),
            best.part * 100,
            "%",
            say("surely {floor} %", floor=math.floor(best.sure_part * 100)),
        ),
    ]


def _row(found: Fill) -> tuple[str, float | str, float | str, float]:
    return found.name, _minutes(found.needs_us), _minutes(found.late_us), round(found.part * 100, 1)


def _minutes(us: int | None) -> float | str:
    return "never" if us is None else round(us / 60e6, 3)
