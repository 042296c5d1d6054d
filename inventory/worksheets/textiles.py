"""Tow and fabric: what they must weigh by their geometry, in every unit that papers state it in; and what is left on a roll."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core import geometry, textile
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say

from .registry import TOW, Figure, Sheet, figure, maybe, measured, needed, plainly, worksheet

PAPERS = say("The certificate is the truth and geometry only a check of it: filaments are not quite round, and sizing has a mass.")


@dataclass(frozen=True, slots=True)
class Tow:
    """Any three of filaments, diameter, density and linear density give the fourth; all four are compared."""

    filaments: str = figure(say("Number of filaments"), "number", "", "3000", optional=True)
    diameter: str = figure(say("Filament diameter"), "length", "µm", "7 µm", optional=True)
    density: str = figure(say("Density of the fibre"), "density", "g/cm³", "1.76 g/cm³", optional=True)
    linear_density: str = figure(
        say("Stated linear density"),
        "linear density",
        "tex",
        "198 tex",
        say("As the certificate states it: tex, den, m/kg, yd/lb."),
        optional=True,
    )
    tolerance: str = figure(say("May differ by"), "share", "%", "", say("3 % when left out."))


@worksheet("tow", Tow, say("Tow"), say("Linear density from the filaments, in every unit; and whether a certificate's figure can be."), TOW)
def tow(p: Tow) -> Sheet:
    count, diameter, density, stated = (maybe(p, name) for name in ("filaments", "diameter", "density", "linear_density"))
    nm, mg_cm3 = _times(diameter, 10**9), density
    stated_ug = _times(stated, 10**9)
    _count(count)
    with told_at(_TOW_FIELDS):
        geometry.above_zero(**{n: v for n, v in zip(_TOW_NAMES, (count, nm, mg_cm3, stated_ug), strict=True) if v is not None})
        if count is not None and nm is not None and mg_cm3 is not None:
            computed = geometry.tex_from_filaments(count, nm, mg_cm3)
            return _tow_sheet(p, computed, stated_ug, (count, nm, mg_cm3))
        if stated_ug is None:
            raise BadInput("worksheet.needed", say("Enter filaments, diameter and density, or the stated linear density."), "tex_ug_m")
        found: list[Figure] = []
        if nm is not None and mg_cm3 is not None:
            fitting = geometry.filaments_from_tex(stated_ug, nm, mg_cm3)
            found.append(Figure(say("filaments that fit"), plainly(float(fitting)), float(fitting), "", say("by diameter and density")))
        elif count is not None and mg_cm3 is not None:
            across = geometry.diameter_from_tex(stated_ug, count, mg_cm3)
            found.append(measured(say("filament diameter that fits"), across / 1e9, "length", ("µm",), say("by filaments and density")))
    return Sheet(
        say("{stated} tex.", stated=plainly(float(stated_ug) / 1000)), (*_linear(say("linear density"), stated_ug), *found), (PAPERS,)
    )


_TOW_NAMES = ("filaments", "diameter_nm", "density_mg_cm3", "tex_ug_m")
_TOW_FIELDS = dict(zip(_TOW_NAMES, ("filaments", "diameter", "density", "linear_density"), strict=True))


def _tow_sheet(p: Tow, computed: Fraction, stated: Fraction | None, filaments: tuple[Fraction, Fraction, Fraction]) -> Sheet:
    head = say("{computed} tex by its geometry", computed=plainly(float(computed) / 1000))
    if stated is None:
        return Sheet(head + ".", tuple(_linear(say("linear density"), computed)), (PAPERS,))
    slack = maybe(p, "tolerance")
    check = geometry.check_tex(stated, *filaments, geometry.SLACK_PPM if slack is None else round(_share(slack) * 10**6))
    fitting = geometry.filaments_from_tex(stated, filaments[1], filaments[2])
    return Sheet(
        say(
            "{head}, {stated} tex stated: {which}.",
            head=head,
            stated=plainly(float(stated) / 1000),
            which=say("the two fit") if check.reason is None else say("the two do not fit"),
        ),
        (
            *_linear(say("linear density"), computed),
            Figure(say("stated"), say("{stated} tex", stated=plainly(float(stated) / 1000)), float(stated) / 1000, "tex"),
            _apart(check),
            Figure(say("plausible"), say("yes") if check.reason is None else say("no"), check.reason is None),
            Figure(
                say("filaments that fit"), plainly(float(fitting)), float(fitting), "", say("to the stated figure, by diameter and density")
            ),
        ),
        (PAPERS,),
        (check.reason.text,) if check.reason else (),
    )


def _apart(check: geometry.Check) -> Figure:
    apart = float(check.computed / check.stated - 1) * 100
    return Figure(
        say("geometry over stated"),
        say("{apart} %", apart=f"{apart:+.2f}").replace("-", "−"),
        apart,
        "%",
        say("how far geometry lies above the stated figure"),
    )


def _share(value: Fraction) -> Fraction:
    if not 0 <= value < 1:
        raise BadInput("geometry.fraction", say("What they may differ by lies from 0 to below 100 %."), "tolerance")
    return value


def _count(count: Fraction | None) -> None:
    if count is not None and (count.denominator != 1 or count > 10**9):
        raise BadInput("quantity.whole", say("The number of filaments is a whole number, such as 3000."), "filaments")


def _linear(name: str, tex_ug_m: Fraction) -> list[Figure]:
    """A linear density in every unit of the trade."""
    tex = float(tex_ug_m / 1000)
    yards, metres = textile.yards_per_pound(tex_ug_m), textile.metres_per_kg(tex_ug_m)
    rows = (
        (name, tex, "tex"),
        (say("denier"), float(textile.denier(tex_ug_m)), "den"),
        (say("decitex"), float(tex_ug_m / 100), "dtex"),
        (say("metres per kilogram"), float(metres), "m/kg"),
        (say("yards per pound"), float(yards), "yd/lb"),
        (say("feet per pound"), float(yards * 3), "ft/lb"),
    )
    return [Figure(label, say("{value} {unit}", value=plainly(value), unit=unit), value, unit) for label, value, unit in rows]


@dataclass(frozen=True, slots=True)
class Fabric:
    """A weave by its threads, or a tape by its tows over a width; a stated areal weight is compared, or only converted."""

    ends: str = figure(say("Ends (warp)"), "threads", "/cm", "5 /cm", say("Or per inch: 12.5 /in."), optional=True)
    picks: str = figure(say("Picks (weft)"), "threads", "/cm", "5 /cm", optional=True)
    warp: str = figure(say("Linear density of an end"), "linear density", "tex", "198 tex", optional=True)
    fill: str = figure(say("Linear density of a pick"), "linear density", "tex", "", say("When it is not that of an end."))
    tows: str = figure(say("Tows side by side (tape)"), "number", "", "", say("Instead of ends and picks, with the width."))
    width: str = figure(say("Width"), "length", "mm", "", say("For a tape, and for the mass of a metre."))
    areal_weight: str = figure(say("Stated areal weight"), "areal weight", "g/m²", "")
    tolerance: str = figure(say("May differ by"), "share", "%", "", say("5 % when left out."))


@worksheet("fabric", Fabric, say("Fabric"), say("Areal weight from ends, picks and tow; and whether a certificate's figure can be."), TOW)
def fabric(p: Fabric) -> Sheet:
    computed, shares = _by_threads(p)
    stated = _times(maybe(p, "areal_weight"), 10**6)
    if stated is not None:
        with told_at("areal_weight"):
            geometry.above_zero(areal_mg_m2=stated)
    known = computed if computed is not None else stated
    if known is None:
        raise BadInput(
            "worksheet.needed", say("Enter ends, picks and their linear density, tows with a width, or an areal weight."), "ends"
        )
    found = [measured(say("areal weight"), known / 10**6, "areal weight", ("g/m²", "oz/yd²")), *shares]
    width = maybe(p, "width")
    if width is not None:
        if width <= 0:
            raise BadInput("geometry.not_above_zero", say("The width must be above zero."), "width")
        found.append(measured(say("mass of a metre"), known / 10**6 * width, "linear density", ("g/m", "lb/yd"), say("over the width")))
    head = measured("", known / 10**6, "areal weight", ("g/m²", "oz/yd²"), digits=4).text
    if computed is None or stated is None:
        return Sheet(head + ".", tuple(found), (WOVEN,) if computed is not None else ())
    slack = maybe(p, "tolerance")
    check = geometry.check_areal(stated, computed, *(() if slack is None else (round(_share(slack) * 10**6),)))
    verdict = say("the two fit") if check.reason is None else say("the two do not fit")
    found += [
        measured(say("stated"), stated / 10**6, "areal weight", ("g/m²", "oz/yd²")),
        _apart(check),
        Figure(say("plausible"), say("yes") if check.reason is None else say("no"), check.reason is None),
    ]
    return Sheet(
        say("{head} by its geometry, {stated} g/m² stated: {verdict}.", head=head, stated=plainly(float(stated) / 1000), verdict=verdict),
        tuple(found), (WOVEN, PAPERS), (check.reason.text,) if check.reason else (),
    )  # fmt: skip


WOVEN = say("Without crimp: a weave is heavier than its geometry by a per cent or two.")


def _by_threads(p: Fabric) -> tuple[Fraction | None, list[Figure]]:
    """Areal weight (mg/m²) of a weave or of a tape, and how a weave shares it between its two directions."""
    warp = _times(maybe(p, "warp"), 10**9)
    if p.tows.strip():
        tows, width = needed(p, "tows", ""), needed(p, "width", say("A tape's areal weight needs the width that its tows lie over."))
        if warp is None:
            raise BadInput("worksheet.needed", say("Enter the linear density of a tow."), "warp")
        with told_at({"tows": "tows", "tex_ug_m": "warp", "width_um": "width"}):
            return geometry.areal_from_tows(tows, warp, width * 10**6), []
    if not (p.ends.strip() or p.picks.strip()):
        return None, []
    why = say("A weave has ends and picks: enter both, with the linear density of an end.")
    ends, picks = needed(p, "ends", why) / 100, needed(p, "picks", why) / 100
    warp = needed(p, "warp", why) * 10**9
    fill = _times(maybe(p, "fill"), 10**9)
    same = fill is None
    fill = warp if fill is None else fill
    for field, value in (("ends", ends), ("picks", picks), ("warp", warp), ("fill", fill)):
        if value <= 0:
            raise BadInput("geometry.not_above_zero", say("This figure must be above zero."), "warp" if field == "fill" and same else field)
    areal = textile.weave_areal(ends, warp, picks, fill)
    share = float(ends * warp / 10 / areal) * 100
    return areal, [
        Figure(say("in the warp"), say("{share} %", share=f"{share:.1f}"), share, "%", say("of the mass; the rest lies in the weft"))
    ]


def _times(value: Fraction | None, factor: int) -> Fraction | None:
    return None if value is None else value * factor
