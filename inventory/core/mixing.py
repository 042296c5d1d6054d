"""The mix: weighed masses against the system's limits, and how to mend what is off (R17).

Masses are ints, µg; temperatures m°C; a ratio is hardener (or peroxide …) per *base resin* by mass, ppm: 25 per 100 is 250_000.
Fillers, pigment, wax and added styrene are not base resin (`base_resin`). The supplier's ratio governs; low, target and
high are kept apart because the target need not be the middle. Limits are inclusive and compared by cross-multiplication, so no
rounding can move a mix over one. `ratio_ppm` in the reasons is rounded *away* from the limit it broke, in figures and in words: a
refused mix never reads as one that is just allowed.

Codes: mix.ratio_low, mix.ratio_high, mix.over_cap (nobody may override), mix.too_cold, mix.too_hot, mix.temperature_missing,
mix.scale_too_coarse, mix.order, mix.order_unknown. Input that cannot be a mix is BadInput: mix.mass, mix.recipe, mix.temperature,
mix.scale, mix.gain.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from inventory.core.numerals import plain
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung

Kind = Literal["amine", "peroxide", "isocyanate", "acid"]
# What the second component is called on a screen.
WORDS: dict[Kind, str] = {"amine": "hardener", "peroxide": "peroxide", "isocyanate": "hardener", "acid": "acid"}

PPM = 1_000_000
# A reading is known to half a step. A mass of at least 40 steps is known to 1.25 %, a quarter of the ± 5 % that two-part systems
# commonly allow (an adhesive maker's advice), and a quarter is what measurement practice grants the instrument. So: step ≤ 2.5 %.
SCALE_STEPS = 40
BASE_ROLE = "resin"
# The bound of R17 where a peroxide system states none: twice its highest dose. Common practice, no source.
PEROXIDE_CAP_TIMES_HIGH = 2
_STEPS_UG = tuple(n * 10**p for p in range(8, 2, -1) for n in (5, 2, 1))  # 500 g … 1 mg


@dataclass(frozen=True, slots=True)
class Recipe:
    """The limits of one system. `cap_ppm`: a gross overdose, over which nobody may go. `order`: the components as they go in, for
    example ("resin", "wax", "peroxide"); those that a mix leaves out are not missed. `scale_steps`: see SCALE_STEPS."""

    kind: Kind
    low_ppm: int
    target_ppm: int
    high_ppm: int
    cap_ppm: int | None = None
    min_temp_mc: int | None = None
    max_temp_mc: int | None = None
    order: tuple[str, ...] = ()
    scale_steps: int = SCALE_STEPS

    def __post_init__(self) -> None:
        if not 0 < self.low_ppm <= self.target_ppm <= self.high_ppm:
            raise BadInput("mix.recipe", say("The limits of a ratio must rise: 0 < low ≤ target ≤ high."), "ratio")
        if self.cap_ppm is not None and self.cap_ppm < self.high_ppm:
            raise BadInput("mix.recipe", say("The bound that nobody may override cannot lie below the highest allowed ratio."), "cap")
        if self.min_temp_mc is not None and self.max_temp_mc is not None and self.min_temp_mc > self.max_temp_mc:
            raise BadInput("mix.recipe", say("The lowest temperature for mixing lies above the highest."), "temperature")
        if self.scale_steps < 1 or len(set(self.order)) != len(self.order):
            raise BadInput("mix.recipe", say("The recipe needs a positive number of scale steps and names each component once."), "order")

    @property
    def bound_ppm(self) -> int | None:
        """The ratio over which nobody may go: the stated one, for a peroxide else twice its highest dose, else none."""
        if self.cap_ppm is None and self.kind == "peroxide":
            return PEROXIDE_CAP_TIMES_HIGH * self.high_ppm
        return self.cap_ppm


def judge_mix(
    recipe: Recipe,
    base_resin_ug: int,
    hardener_ug: int,
    temp_mc: int | None,
    scale_step_ug: int | None,
    *,
    added: Sequence[str] | None = None,
    where: str = "bay",
) -> list[Reason]:
    """All reasons against a mix; empty when it may be made. `temp_mc` is measured at `where` (None: not recorded); resin and mould
    have their own reading: `judge_temperature`. `scale_step_ug` is the step of the scale that weighed the hardener; the resin's own
    scale: `judge_scale`. `added`: the components in the order they went in."""
    return [
        *judge_ratio(recipe, base_resin_ug, hardener_ug),
        *judge_temperature(recipe, temp_mc, where),
        *judge_scale(WORDS[recipe.kind], hardener_ug, scale_step_ug, recipe.scale_steps),
        *judge_order(recipe, added),
    ]


def base_resin(weighed: Iterable[tuple[str, int]]) -> int:
    """The mass that the ratio counts, µg, of (role, mass) pairs: what is weighed in as "resin", and nothing else that went in."""
    return sum(mass_ug for role, mass_ug in weighed if role == BASE_ROLE)


# --- the ratio -----------------------------------------------------------------------------------


def judge_ratio(recipe: Recipe, base_resin_ug: int, hardener_ug: int) -> list[Reason]:
    """Low, high or over the bound, with the mend. Over the bound there is no mend: only the weighing can be wrong."""
    _masses(base_resin_ug, hardener_ug)
    parts, bound = hardener_ug * PPM, recipe.bound_ppm
    numbers: dict[str, int | str | None] = {
        "ratio_ppm": -(-parts // base_resin_ug) if parts > recipe.high_ppm * base_resin_ug else parts // base_resin_ug,
        "low_ppm": recipe.low_ppm,
        "target_ppm": recipe.target_ppm,
        "high_ppm": recipe.high_ppm,
        "base_resin_ug": base_resin_ug,
        "hardener_ug": hardener_ug,
    }
    if bound is not None and parts > bound * base_resin_ug:
        return [Reason("mix.over_cap", _over_text(recipe, base_resin_ug, hardener_ug), numbers | {"cap_ppm": bound}, cap=True)]
    if parts < recipe.low_ppm * base_resin_ug:
        whole = recipe.target_ppm * base_resin_ug // PPM
        whole += whole * PPM < recipe.low_ppm * base_resin_ug  # where the target is the lower limit itself
        add, code, word = whole - hardener_ug, "mix.ratio_low", WORDS[recipe.kind]
    elif parts > recipe.high_ppm * base_resin_ug:
        whole = -(-parts // recipe.target_ppm)
        whole -= parts < recipe.low_ppm * whole
        add, code, word = whole - base_resin_ug, "mix.ratio_high", "resin"
    else:
        return []
    mend = say("add {grams} {word} for {per}", grams=_grams(add, whole), word=word, per=_per(recipe, recipe.target_ppm))
    text = say("{ratio}, {limits}: {mend}.", ratio=_ratio(recipe, base_resin_ug, hardener_ug), limits=_limits(recipe, code), mend=mend)
    return [Reason(code, text, numbers | {"add": word, "add_ug": add})]


def ratio_text(recipe: Recipe, base_resin_ug: int, hardener_ug: int) -> str:
    """The ratio as the trade says it: "25.05 per 100", or "1.50 %" of peroxide."""
    _masses(base_resin_ug, hardener_ug)
    return _ratio(recipe, base_resin_ug, hardener_ug)


def corrected_mass_ug(read_ug: int, gain_ppm: int) -> int:
    """The true mass behind a reading, for a scale found to read `gain_ppm` too much (+1.8 % = 18_000; negative: too little)."""
    if gain_ppm <= -PPM:
        raise BadInput("mix.gain", say("A scale cannot read less than nothing: check the error that was found."), gain_ppm=gain_ppm)
    return round(Fraction(read_ug * PPM, PPM + gain_ppm))


def corrected_ratio(base_resin_ug: int, hardener_ug: int, *, resin_gain_ppm: int = 0, hardener_gain_ppm: int = 0) -> int:
    """The true ratio in ppm (half-even) behind two readings. Two masses from one scale keep their ratio, whatever its error."""
    _masses(base_resin_ug, hardener_ug)
    if min(resin_gain_ppm, hardener_gain_ppm) <= -PPM:
        corrected_mass_ug(0, min(resin_gain_ppm, hardener_gain_ppm))  # says why
    return round(Fraction(hardener_ug * (PPM + resin_gain_ppm) * PPM, base_resin_ug * (PPM + hardener_gain_ppm)))


# --- temperature, scale, order -------------------------------------------------------------------


def judge_temperature(recipe: Recipe, temp_mc: int | None, where: str = "bay") -> list[Reason]:
    """Bay, resin or mould against the system's temperatures for mixing. A reading that is missing where one is needed is told."""
    low, high = recipe.min_temp_mc, recipe.max_temp_mc
    if low is None and high is None:
        return []
    numbers: dict[str, int | str | None] = {"where": where, "temp_mc": temp_mc, "min_temp_mc": low, "max_temp_mc": high}
    if temp_mc is None:
        bound = say("minimum {celsius}", celsius=celsius(low)) if low is not None else say("maximum {celsius}", celsius=celsius(high or 0))
        text = say("Temperature not recorded for the {where}, {bound}: measure it and enter it.", where=where, bound=bound)
        return [Reason("mix.temperature_missing", text, numbers)]
    if temp_mc < -273_150:
        raise BadInput("mix.temperature", say("A temperature below absolute zero: check the reading and its unit."), "temperature")
    if low is not None and temp_mc < low:
        text = say(
            "Too cold: {where} {celsius}, minimum {celsius_2}. Warm it first.",
            where=where,
            celsius=celsius(temp_mc // 100 * 100),
            celsius_2=celsius(low),
        )
        return [Reason("mix.too_cold", text, numbers)]
    if high is not None and temp_mc > high:
        text = say(
            "Too hot: {where} {celsius}, maximum {celsius_2}. Let it cool first.",
            where=where,
            celsius=celsius(-(-temp_mc // 100) * 100),
            celsius_2=celsius(high),
        )
        return [Reason("mix.too_hot", text, numbers)]
    return []


def judge_scale(what: str, mass_ug: int, step_ug: int | None, steps: int = SCALE_STEPS) -> list[Reason]:
    """Is the mass at least so many steps of its scale? Nothing to say when the scale's step is not known or nothing was weighed."""
    if step_ug is not None and step_ug <= 0:
        raise BadInput("mix.scale", say("The step of a scale must be above zero."), "scale", step_ug=step_ug)
    if step_ug is None or not mass_ug or mass_ug >= steps * step_ug:
        return []
    finer = next((s for s in _STEPS_UG if s * steps <= mass_ug), None)
    advice = say("use a scale that reads {fine} or finer", fine=_fine(finer)) if finer else say("make a larger batch")
    numbers: dict[str, int | str | None] = {"what": what, "mass_ug": mass_ug, "step_ug": step_ug, "steps": steps, "finer_step_ug": finer}
    text = say(
        "{fine} {what} is too little for a scale that reads in steps of {fine_2}: {advice}.",
        fine=_fine(mass_ug),
        what=what,
        fine_2=_fine(step_ug),
        advice=advice,
    )
    return [Reason("mix.scale_too_coarse", text, numbers)]


def judge_order(recipe: Recipe, added: Sequence[str] | None) -> list[Reason]:
    """Did the components go in as the recipe says? Judged on the first time each went in, because mending adds one of them again."""
    if added is None or not recipe.order:
        return []
    went_in, should = list(dict.fromkeys(added)), " → ".join(recipe.order)
    numbers: dict[str, int | str | None] = {"order": ",".join(recipe.order), "added": ",".join(added)}
    strange = [name for name in went_in if name not in recipe.order]
    if strange:
        text = say("{strange} is not in this recipe: {should}.", strange=strung(", ", strange), should=should)
        return [Reason("mix.order_unknown", text, numbers)]
    if went_in != [name for name in recipe.order if name in went_in]:
        return [
            Reason(
                "mix.order",
                say("Went in as {went_in}; the recipe's order is {should}.", went_in=strung(" → ", went_in), should=should),
                numbers,
            )
        ]
    return []


# --- words ---------------------------------------------------------------------------------------


def celsius(mc: int) -> str:
    """ "17.2 °C", with more decimals only where the temperature has them."""
    return say("{trimmed} °C", trimmed=_trimmed(Fraction(mc, 1000), 3))


def _masses(base_resin_ug: int, hardener_ug: int) -> None:
    if base_resin_ug <= 0:
        raise BadInput("mix.mass", say("Weigh the base resin first: its mass must be above zero."), "resin")
    if hardener_ug < 0:
        raise BadInput("mix.mass", say("A mass cannot be negative: tare the scale and weigh again."), "hardener")


def _over_text(recipe: Recipe, base_resin_ug: int, hardener_ug: int) -> str:
    ratio, word = _ratio(recipe, base_resin_ug, hardener_ug), WORDS[recipe.kind]
    bound = _per(recipe, recipe.bound_ppm or 0)
    return say(
        "{ratio} {word} is a gross overdose (over {bound}); nobody may override this. Do not mix: weigh again; safety data sheet.",
        ratio=ratio,
        word=word,
        bound=bound,
    )


def _limits(recipe: Recipe, code: str) -> str:
    if recipe.kind != "peroxide":
        return say("limits {per}–{per_2}", per=_per(recipe, recipe.low_ppm), per_2=_per(recipe, recipe.high_ppm))
    return (
        say("minimum {per}", per=_per(recipe, recipe.low_ppm))
        if code == "mix.ratio_low"
        else say("maximum {per}", per=_per(recipe, recipe.high_ppm))
    )


def _ratio(recipe: Recipe, base_resin_ug: int, hardener_ug: int) -> str:
    """The ratio to two decimals, rounded down below the lower limit and up above the upper one."""
    hundredths = Fraction(hardener_ug * 10_000, base_resin_ug)
    if hundredths * 100 < recipe.low_ppm:
        shown = Fraction(hundredths.__floor__(), 100)
    elif hundredths * 100 > recipe.high_ppm:
        shown = Fraction(hundredths.__ceil__(), 100)
    else:
        shown = Fraction(round(hundredths), 100)
    if recipe.kind != "peroxide":
        return say("{trimmed} per 100", trimmed=_trimmed(shown, 2))
    return say("{shown} %", shown=plain(shown, 2) if shown < 10 else _trimmed(shown, 2))


def _per(recipe: Recipe, ppm: int) -> str:
    return _trimmed(Fraction(ppm, 10_000), 4) + (" %" if recipe.kind == "peroxide" else "")


def _trimmed(value: Fraction, places: int) -> str:
    """At least one decimal, and as many of `places` as are not zero."""
    whole, _, part = plain(value, places).partition(".")
    return f"{whole}.{part.rstrip('0') or '0'}"


def _grams(ug: int, whole_ug: int) -> str:
    """An amount to add, to 0.1 g, and finer where that would move the whole by more than 1 %."""
    places = next((p for p in (1, 2, 3) if whole_ug * 10**p >= 50 * PPM), 6)
    return f"{plain(Fraction(ug, PPM), places)} g"


def _fine(ug: int) -> str:
    whole, _, part = plain(Fraction(ug, PPM), 6).partition(".")
    return f"{whole}.{part.rstrip('0')} g" if part.rstrip("0") else f"{whole} g"
