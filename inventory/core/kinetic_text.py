"""A rate law as text: the name of its form and its constants, as they are kept and typed (R18).

Four forms: a published set by its name (`kinetic_sets`), nth order, autocatalytic (`Kamal`), two regimes. The constants are one JSON object
of numbers, energies in J/mol and factors in 1/s; `speed` multiplies the whole rate, by which a published shape is brought to a
system's own time. Whatever is missing, unknown or no number is BadInput kinetics.text, which names it and shows how it is written.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from inventory.core.gelation import Viscosity
from inventory.core.kinetic_sets import SETS
from inventory.core.kinetics import ZERO_C_K, Arrhenius, FreeVolume, Kamal, Law, Logistic, TwoRegime, check_kelvin, glass_k
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung

EXAMPLES: Mapping[str, str] = MappingProxyType(
    {
        "published": '{"set": "room"}',
        "nth order": '{"a": 10000, "e": 60000, "n": 1.5}',
        "autocatalytic": '{"n": 1.6, "m": 0.3, "k1": {"a": 200000, "e": 63000}, "k2": {"a": 118000, "e": 55000}}',
        "two regimes": '{"k1": {"a": 1, "e": 80000}, "k2": {"a": -1, "e": 78000}, "k3": {"a": 1, "e": 57000}, "b": 0.47, "switch": 0.3}',
    }
)
"""Each form with constants as they are written."""
VISCOSITY = '{"factor": 3e-9, "energy": 50000, "gel": 0.577, "a": 1.5, "b": 1.0, "stop_pa_s": 10}'
MAX_CHARS = 2000


@dataclass(frozen=True, slots=True)
class Glass:
    """The glass temperature over conversion, by DiBenedetto: uncured, fully cured (m°C), and λ."""

    tg0_mc: int
    tg1_mc: int
    lam: float

    def __post_init__(self) -> None:
        if not self.tg0_mc < self.tg1_mc or not 0 < self.lam <= 1.5:
            text = say("A glass temperature rises with cure: the uncured one lies below the fully cured one, and λ between 0 and 1.5.")
            raise BadInput("kinetics.glass", text, "glass")
        check_kelvin(self.tg0_mc / 1000 + ZERO_C_K)
        check_kelvin(self.tg1_mc / 1000 + ZERO_C_K)

    def at_mc(self, alpha: float) -> int:
        """The glass temperature (m°C) at a conversion from 0 to 1. BadInput kinetics.conversion."""
        if not 0 <= alpha <= 1:
            raise BadInput("kinetics.conversion", say("A conversion is a number from 0 to 1."), "conversion")
        found = glass_k(self.tg0_mc / 1000 + ZERO_C_K, self.tg1_mc / 1000 + ZERO_C_K, self.lam, alpha)  # type: ignore[arg-type]
        return round((float(found) - ZERO_C_K) * 1000)


def law_of(form: str, text: str) -> Law:
    """The law that a form and its constants say."""
    if form not in _FORMS:
        raise BadInput("kinetics.form", say("Choose one of {forms}.", forms=strung(", ", _FORMS)), "form")
    given = _Given(_object(text, EXAMPLES[form], "constants"), EXAMPLES[form], "constants")
    speed = given.number("speed", 1.0)
    law = _FORMS[form](given)
    given.nothing_else()
    if not 0 < speed < 1e6:
        raise BadInput("kinetics.text", say("The factor on the rate, “speed”, lies above zero."), "constants")
    return law if speed == 1.0 else scaled(law, speed)


def set_of(form: str, text: str) -> str:
    """The short name of the published set that a law is, or "" for constants of its own. Call it after `law_of`."""
    return str(json.loads(text)["set"]).strip().lower() if form == "published" else ""


def viscosity_of(text: str) -> tuple[Viscosity, float]:
    """Castro and Macosko's law and the viscosity (Pa·s) at which work with it stops."""
    given = _Given(_object(text, VISCOSITY, "viscosity"), VISCOSITY, "viscosity")
    law = Viscosity(*(given.number(name) for name in ("factor", "energy", "gel", "a", "b")))
    stop = given.number("stop_pa_s")
    given.nothing_else()
    if stop <= 0:
        raise BadInput("gel.viscosity", say("The viscosity to stop at is a number of Pa·s above zero."), "viscosity")
    return law, stop


def scaled(law: Law, speed: float) -> Law:
    """The same law, everywhere so many times as fast."""
    if isinstance(law, TwoRegime):
        return replace(law, k1=_faster(law.k1, speed), k2=_faster(law.k2, speed), k3=_faster(law.k3, speed))
    if not isinstance(law, Kamal):
        raise BadInput("kinetics.form", say("This law cannot be made faster."), "form")
    brake = law.brake
    if isinstance(brake, FreeVolume):  # its limit is a rate too
        brake = replace(brake, rate=_faster(brake.rate, speed))
    k1, k2 = (None if k is None else _faster(k, speed) for k in (law.k1, law.k2))
    return replace(law, k1=k1, k2=k2, brake=brake)


def _faster(k: Arrhenius, speed: float) -> Arrhenius:
    return Arrhenius(k.a * speed, k.e)


# --- reading the text ----------------------------------------------------------------------------


def _object(text: str, example: str, where: str) -> dict[str, Any]:
    if len(text) > MAX_CHARS:
        raise _unread(say("They are longer than {max_chars} characters", max_chars=MAX_CHARS), example, where)
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        raise _unread(say("They cannot be read"), example, where) from None
    if not isinstance(found, dict):
        raise _unread(say("They are not an object in braces"), example, where)
    return found


def _unread(what: str, example: str, where: str) -> BadInput:
    return BadInput("kinetics.text", say("{what}: write the constants like {example}", what=what, example=example), where)


class _Given:
    """The constants as they came; each is taken once, so that what is left over is a slip of typing."""

    def __init__(self, values: dict[str, Any], example: str, where: str, within: str = "") -> None:
        self.values, self.example, self.where, self.within = dict(values), example, where, within

    def number(self, name: str, usual: float | None = None) -> float:
        value = self.values.pop(name, usual)
        try:
            found = float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else math.nan
        except OverflowError:
            found = math.inf
        if not math.isfinite(found):
            raise _unread(say("“{within}{name}” must be a number", within=self.within, name=name), self.example, self.where)
        return found

    def arrhenius(self, name: str) -> Arrhenius:
        given = self.part(name)
        found = Arrhenius(given.number("a"), given.number("e"))
        given.nothing_else()
        return found

    def part(self, name: str) -> _Given:
        value = self.values.pop(name, None)
        if not isinstance(value, dict):
            raise _unread(say("“{name}” must be an object with its own constants", name=name), self.example, self.where)
        return _Given(value, self.example, self.where, f"{name}.")

    def nothing_else(self) -> None:
        if self.values:
            names = strung(", ", (say("“{within}{name}”", within=self.within, name=str(name)[:24]) for name in self.values))
            raise _unread(say("{names} is not known here", names=names), self.example, self.where)


def _published(given: _Given) -> Law:
    name = given.values.pop("set", None)
    fit = SETS.get(name.strip().lower()) if isinstance(name, str) else None
    if fit is None:
        raise _unread(say("Name one of the published sets ({sets})", sets=strung(", ", SETS)), given.example, given.where)
    return fit.law


def _nth(given: _Given) -> Law:
    return Kamal(given.number("n"), k1=Arrhenius(given.number("a"), given.number("e")))


def _kamal(given: _Given) -> Law:
    k1, k2 = (given.arrhenius(name) if name in given.values else None for name in ("k1", "k2"))
    brake: Logistic | FreeVolume | None = None
    if "logistic" in given.values:
        part = given.part("logistic")
        unit = part.values.pop("temperature", None)
        if unit not in ("C", "K"):
            raise _unread(say('“logistic.temperature” must be "C" or "K", as it was published'), given.example, given.where)
        brake = Logistic(part.number("c"), part.number("base"), part.number("slope"), unit == "C")
        part.nothing_else()
    if "free_volume" in given.values:
        part = given.part("free_volume")
        b, expansion, at_glass = (part.number(name) for name in ("b", "expansion", "at_glass"))
        tg0_k, tg1_k = (part.number(name) + ZERO_C_K for name in ("tg0_c", "tg1_c"))
        brake = FreeVolume(Arrhenius(part.number("a"), part.number("e")), b, expansion, at_glass, tg0_k, tg1_k, part.number("lam"))
        part.nothing_else()
    return Kamal(given.number("n"), k1, k2, given.number("m", 0.0), brake)


def _regimes(given: _Given) -> Law:
    k1, k2, k3 = (given.arrhenius(name) for name in ("k1", "k2", "k3"))
    return TwoRegime(k1, k2, k3, given.number("b"), given.number("switch"))


_FORMS: Mapping[str, Callable[[_Given], Law]] = MappingProxyType(
    {"published": _published, "nth order": _nth, "autocatalytic": _kamal, "two regimes": _regimes}
)
