"""A cure recipe as people type it, a stage a line, and what the cores make of it.

    room 20 °C
    gap at most 3 min
    ramp 1 to 3 °C/min over 5 min
    first hold: dwell 110 ±5 °C for at least 30 min
    dwell 180 −0/+5 °C for 120 −0/+30 min
    cool at most 2 °C/min to 70 °C

Stages stand in the order in which they come; a name before a colon is what the stage is called. Low and high limits are apart:
“180 −0/+5” is from 180 to 185. What can be read in two ways is refused with the line that says it. Reading what `write` has written
gives the same recipe again.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.numerals import number, plain, shown
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.spans import HOUR_US, MINUTE_US
from inventory.core.temperature import ABSOLUTE_ZERO_MC, HOTTEST_MC

from .cure import LEAST_WINDOW_US, Dwell, Ramp, Stage

MOST_STAGES, MOST_CHARS, NAME_CHARS = 40, 4_000, 40
_NUMBER = r"[0-9][0-9., \u00a0\u2009\u202f]*"
_N = rf"[+\-\u2212\u2013]?\s*{_NUMBER}"
_DEGREES = r"(?:°\s*C|º\s*C|℃|C)(?![A-Za-z/])"
_RATE, _TIME = r"(?:°\s*C|º\s*C|℃|C|K)\s*(?:/|per|a)\s*min(?:ute)?\b", r"(min|minutes?|h|hours?)\b"
_MINUS, _PLUS_MINUS = r"[\-\u2212\u2013]", r"(?:±|\+\s*/\s*[\-\u2212\u2013])"
_RATES = (
    (re.compile(rf"({_N})\s*to\s*({_N})\s*{_RATE}", re.I), lambda m: (m[1], m[2])),
    (re.compile(rf"at\s+most\s+({_N})\s*{_RATE}", re.I), lambda m: (None, m[1])),
    (re.compile(rf"at\s+least\s+({_N})\s*{_RATE}", re.I), lambda m: (m[1], None)),
)
_OVER = re.compile(rf"\bover\s+({_NUMBER})\s*{_TIME}", re.I)
_FROM, _TO = (re.compile(rf"\b{word}\s+({_N})\s*{_DEGREES}", re.I) for word in ("from", "to"))
_DWELL = re.compile(r"(.+?)\s+for\s+(.+)", re.I)
_SIDES = rf"({_N})\s*{_MINUS}\s*({_NUMBER})\s*/\s*\+\s*({_NUMBER})"
_EVEN = rf"({_N})\s*{_PLUS_MINUS}\s*({_NUMBER})"
_PAIR = rf"({_N})\s*to\s*({_N})"
_LINE = re.compile(r"(?:([^:]{1,200}):)?\s*([A-Za-z]+)\b\s*(.*)", re.DOTALL)
_HOW = {
    "ramp": say("ramp 1 to 3 °C/min over 5 min, or: ramp at most 3 °C/min from 60 °C to 180 °C"),
    "cool": say("cool at most 2 °C/min to 70 °C"),
    "dwell": say("dwell 180 −0/+5 °C for 120 −0/+30 min, or: dwell 175 to 185 °C for at least 2 h"),
    "room": say("room 20 °C"),
    "gap": say("gap at most 3 min"),
}


@dataclass(frozen=True, slots=True)
class CureRecipe:
    """Stages in order; how warm the hall is, for when heating began; how long a thermocouple may go unread (None: as `conform`)."""

    stages: tuple[Stage, ...]
    room_mc: int | None = None
    gap_us: int | None = None


def read(text: str) -> CureRecipe:
    """A recipe from its lines. Raises BadInput recipe.line (which line, and what to write), recipe.empty, recipe.too_long,
    recipe.no_dwell, recipe.name_twice, all at the field `recipe`."""
    if len(text) > MOST_CHARS:
        raise _bad("recipe.too_long", say("A recipe has at most {most_chars} characters.", most_chars=MOST_CHARS))
    stages: list[Stage] = []
    said: dict[str, int] = {}
    for n, line in enumerate(text.splitlines(), 1):
        line = " ".join(line.split())
        if not line or line.startswith("#"):
            continue
        try:
            found = _line(line, stages)
        except BadInput as bad:
            raise _bad(
                "recipe.line", say("Line {count}, “{short}”: {bad_reason}", count=n, short=_short(line), bad_reason=bad.reason.text), line=n
            ) from bad
        if isinstance(found, (Dwell, Ramp)):
            stages.append(found)
        elif found[0] in said:
            raise _bad("recipe.line", say("Line {count}: “{found}” was said before; keep one.", count=n, found=found[0]), line=n)
        else:
            said[found[0]] = found[1]
    return _whole(CureRecipe(tuple(stages), said.get("room"), said.get("gap")))


def _whole(recipe: CureRecipe) -> CureRecipe:
    names = [stage.name.casefold() for stage in recipe.stages]
    if not names:
        raise _bad(
            "recipe.empty", say("The recipe has no stage. Write one a line, for example: {split}", split=_HOW["dwell"].split(",")[0])
        )
    if len(names) > MOST_STAGES:
        raise _bad("recipe.too_long", say("A recipe has at most {most_stages} stages.", most_stages=MOST_STAGES))
    if not any(isinstance(stage, Dwell) for stage in recipe.stages):
        raise _bad("recipe.no_dwell", say("The recipe has no dwell: there is nothing to judge a chart by."))
    for name in names:
        if names.count(name) > 1:
            raise _bad(
                "recipe.name_twice", say("Two stages are called “{name}”: name them apart, with a colon behind the name.", name=name)
            )
    return recipe


def _line(line: str, before: list[Stage]) -> Stage | tuple[str, int]:
    parsed = _LINE.fullmatch(line)
    word = parsed[2].casefold() if parsed else ""
    if parsed is None or word not in _HOW:
        raise _bad(
            "recipe.word",
            say("It begins with none of {how}. Write for example: {split}.", how=strung(", ", _HOW), split=_HOW["dwell"].split(",")[0]),
        )
    rest = parsed[3].strip()
    name = " ".join((parsed[1] or "").split())
    if len(name) > NAME_CHARS or not name.isprintable():
        raise _bad("recipe.name", say("A stage's name has at most {name_chars} characters.", name_chars=NAME_CHARS))
    if word in ("room", "gap"):
        if name:
            raise _bad("recipe.name", say("“{word}” is no stage and has no name.", word=word))
        return word, _room(rest) if word == "room" else _gap(rest)
    name = name or _default(word, before)
    return _dwell(name, rest) if word == "dwell" else _ramp(name, rest, word)


def _default(word: str, before: list[Stage]) -> str:
    """What a stage is called that nobody named: "dwell", "dwell 2"."""
    same = sum(_word(stage) == word for stage in before) + 1
    return word if same == 1 else say("{word} {same}", word=word, same=same)


def _word(stage: Stage) -> str:
    return "dwell" if isinstance(stage, Dwell) else "cool" if stage.cools else "ramp"


# --- lines ---------------------------------------------------------------------------------------


def _room(rest: str) -> int:
    found = re.fullmatch(rf"({_N})\s*{_DEGREES}", rest, re.I)
    if found is None:
        raise _how("room")
    return _degrees(found[1])


def _gap(rest: str) -> int:
    found = re.fullmatch(rf"(?:at\s+most\s+)?({_NUMBER})\s*{_TIME}", rest, re.I)
    if found is None:
        raise _how("gap")
    us = _us(found[1], found[2])
    if not us:
        raise _bad("recipe.gap", say("A gap of nothing would make every step between two readings one."))
    return us


def _ramp(name: str, rest: str, word: str) -> Ramp:
    for pattern, pick in _RATES:
        found = pattern.match(rest)
        if found:
            low, high = (None if v is None else _degrees(v, rate=True) for v in pick(found))
            break
    else:
        raise _how(word)
    rest, window = _taken(_OVER, rest[found.end() :], lambda m: _us(m[1], m[2]))
    rest, begins = _taken(_FROM, rest, lambda m: _degrees(m[1]))
    rest, ends = _taken(_TO, rest, lambda m: _degrees(m[1]))
    if rest.strip(" ,.;"):
        raise _bad("recipe.rest", say("“{short}” is not understood. Write it like: {how}.", short=_short(rest.strip()), how=_HOW[word]))
    return Ramp(name, low, high, word == "cool", begins, ends, LEAST_WINDOW_US if window is None else window)


def _taken(pattern: re.Pattern[str], text: str, value: Callable[[re.Match[str]], int]) -> tuple[str, int | None]:
    """The value that a pattern finds, and the text without it."""
    found = pattern.search(text)
    return (text, None) if found is None else (text[: found.start()] + " " + text[found.end() :], value(found))


def _dwell(name: str, rest: str) -> Dwell:
    parts = _DWELL.fullmatch(rest)
    if parts is None:
        raise _how("dwell")
    low, high = _band(parts[1])
    least, most = _times(parts[2])
    return Dwell(name, low, high, least, most)


def _band(text: str) -> tuple[int, int]:
    pair = _limits(text, _DEGREES, lambda v, unit: _degrees(v))
    if pair is None:
        if re.fullmatch(rf"({_N})\s*{_DEGREES}", text, re.I):
            raise _bad("recipe.band", say("Say how far it may lie below and above, apart: 180 −0/+5 °C, or 175 to 185 °C."))
        raise _how("dwell")
    return pair


def _times(text: str) -> tuple[int, int | None]:
    open_ended = re.fullmatch(rf"at\s+least\s+({_NUMBER})\s*{_TIME}", text, re.I)
    if open_ended:
        return _us(open_ended[1], open_ended[2]), None
    pair = _limits(text, _TIME, _us)
    if pair is None:
        if re.fullmatch(rf"({_NUMBER})\s*{_TIME}", text, re.I):
            raise _bad("recipe.time", say("Say “at least”, or how much shorter and longer it may be: 120 −0/+30 min."))
        raise _how("dwell")
    if pair[0] < 0:
        raise _bad("recipe.time", say("The shortest time cannot lie below nothing."))
    return pair


def _limits(text: str, unit: str, value: Callable[[str, str], int]) -> tuple[int, int] | None:
    """Low and high of "180 −0/+5", "180 ±5" or "175 to 185"; None for anything else."""
    for form in (_SIDES, _EVEN, _PAIR):
        found = re.fullmatch(rf"{form}\s*({unit})", text.strip(), re.I)
        if found:
            word = found.groups()[-1]
            figures = [value(found[k], word) for k in range(1, 4 if form is _SIDES else 3)]
            if form is _PAIR:
                return figures[0], figures[1]
            return figures[0] - figures[1], figures[0] + figures[-1]
    return None


# --- figures ---------------------------------------------------------------------------------------


def _figure(text: str) -> Fraction:
    return number(text.replace("\u2013", "-").replace("- ", "-").replace("\u2212 ", "-"), "recipe")


def _degrees(text: str, rate: bool = False) -> int:
    """m°C, or m°C a minute."""
    mc = round(_figure(text) * 1000)
    if not (0 <= mc <= 1_000_000 if rate else ABSOLUTE_ZERO_MC < mc <= HOTTEST_MC):
        raise _bad(
            "recipe.range",
            say(
                "{short} is no {which}.",
                short=_short(text),
                which=say("rate (both are positive figures)") if rate else say("temperature of an oven"),
            ),
        )
    return mc


def _us(text: str, unit: str) -> int:
    us = round(_figure(text) * (HOUR_US if unit.casefold().startswith("h") else MINUTE_US))
    if us > 1_000 * HOUR_US:
        raise _bad("recipe.range", say("{short} {unit} is longer than any cure.", short=_short(text), unit=unit))
    return us


def _how(word: str) -> BadInput:
    return _bad(f"recipe.{word}", say("Write it like: {how}.", how=_HOW[word]))


def _bad(code: str, text: str, **numbers: int) -> BadInput:
    return BadInput(code, text, "recipe", **numbers)


def _short(text: str) -> str:
    return text if len(text) <= 60 and text.isprintable() else shown(text)


# --- writing ---------------------------------------------------------------------------------------


def write(recipe: CureRecipe) -> str:
    """The recipe as lines, limits as from–to, exactly."""
    lines = [] if recipe.room_mc is None else [say("room {mc} °C", mc=_mc(recipe.room_mc))]
    if recipe.gap_us is not None:
        lines.append(say("gap at most {gap} min", gap=_minutes(recipe.gap_us)))
    before: list[Stage] = []
    for stage in recipe.stages:
        named = "" if stage.name == _default(_word(stage), before) else say("{stage}: ", stage=stage.name)
        lines.append(named + stage_text(stage))
        before.append(stage)
    return "\n".join(lines)


def stage_text(stage: Stage) -> str:
    """One stage in words, without its name: "dwell 180 to 185 °C for 120 to 150 min"."""
    if isinstance(stage, Dwell):
        most = (
            say("{least} to {most} min", least=_minutes(stage.least_us), most=_minutes(stage.most_us)) if stage.most_us is not None else ""
        )
        return say("dwell {mc} to {mc_2} °C for ", mc=_mc(stage.low_mc), mc_2=_mc(stage.high_mc)) + (
            most or say("at least {least} min", least=_minutes(stage.least_us))
        )
    begins = say(" from {mc} °C", mc=_mc(stage.from_mc)) if stage.from_mc is not None else ""
    ends = say(" to {mc} °C", mc=_mc(stage.to_mc)) if stage.to_mc is not None else ""
    return say(
        "{word} {rates} °C/min{begins}{ends} over {window} min",
        word=_word(stage),
        rates=_rates(stage),
        begins=begins,
        ends=ends,
        window=_minutes(stage.window_us),
    )


def _rates(ramp: Ramp) -> str:
    low, high = ramp.low_mc_min, ramp.high_mc_min
    if low is not None and high is not None:
        return say("{mc} to {mc_2}", mc=_mc(low), mc_2=_mc(high))
    return say("at least {mc}", mc=_mc(low or 0)) if high is None else say("at most {mc}", mc=_mc(high))


def _mc(mc: int) -> str:
    return _bare(Fraction(mc, 1000), 3)


def _minutes(us: int) -> str:
    return _bare(Fraction(us, MINUTE_US), 8)


def _bare(value: Fraction, places: int) -> str:
    text = plain(value, places)
    return text.rstrip("0").rstrip(".") if "." in text else text
