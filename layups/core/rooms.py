"""The room in which something is laid: what a design asks of it, and what was measured there (R21).

Temperatures in milli-°C, relative humidity in parts per million; both ends of a band belong to it. A figure that nobody has
measured lately is not known, and not known is not met.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.numerals import plain
from inventory.core.reasons import Reason
from inventory.core.said import say, strung, worded
from inventory.core.spans import day_text, limit_text
from inventory.core.temperature import display_celsius

Number = int | str | None
Show = Callable[[int], str]


@dataclass(frozen=True, slots=True)
class Band:
    """What is asked of the room; None: nothing. `line`: of this line of the schedule; None: of the whole design."""

    line: int | None = None
    low_mc: int | None = None
    high_mc: int | None = None
    rh_low_ppm: int | None = None
    rh_high_ppm: int | None = None

    @property
    def asks_temperature(self) -> bool:
        return self.low_mc is not None or self.high_mc is not None

    @property
    def asks_humidity(self) -> bool:
        return self.rh_low_ppm is not None or self.rh_high_ppm is not None

    def __str__(self) -> str:
        heat = _span(self.low_mc, self.high_mc, _celsius, " °C")
        damp = _span(self.rh_low_ppm, self.rh_high_ppm, _percent, say(" % RH"))
        return strung(say(" and "), filter(None, (heat, damp)))


@dataclass(frozen=True, slots=True)
class Air:
    """One figure as it was measured, and when."""

    value: int
    at_us: int


@dataclass(frozen=True, slots=True)
class Room:
    """A place, and the newest figures of it that say something about now; None: none is fresh enough. `known_us`: when
    anything at all was measured there last."""

    code: str
    name: str
    temp: Air | None = None
    humidity: Air | None = None
    known_us: int | None = None


def bands_for(bands: Iterable[Band], lines: Iterable[int]) -> list[Band]:
    """What is asked for these lines: a line's own band, else that of the design, each once."""
    all_of_them = list(bands)
    own = {band.line: band for band in all_of_them if band.line is not None}
    general = next((band for band in all_of_them if band.line is None), None)
    seqs = list(lines) or [0]
    found = [own.get(seq, general) for seq in seqs]
    return list(dict.fromkeys(band for band in found if band is not None))


def judge(band: Band, room: Room | None, part: str, fresh_us: int, zone: str) -> Iterator[Reason]:
    """Everything that the room has against laying into the part. `room` None: nobody knows where it stands. `fresh_us`: how
    old a figure may be."""
    if room is None:
        text = say("{part} asks for {band}, and nobody knows where it stands: put it in its bay first.", part=part, band=band)
        yield Reason("room.unknown", text, {"part": part, "place": None})
        return
    missing = [
        worded(word)
        for word, asked, air in (("temperature", band.asks_temperature, room.temp), ("humidity", band.asks_humidity, room.humidity))
        if asked and air is None
    ]
    if missing:
        last = say(" (last measured {known})", known=day_text(room.known_us, zone)) if room.known_us is not None else ""
        what = strung(say(" and "), missing)
        text = say(
            "Nobody knows the {what} of {room}: none was measured in the last {fresh}{last}. ",
            what=what,
            room=room.name,
            fresh=limit_text(fresh_us),
            last=last,
        )
        yield Reason(
            "room.unknown",
            text + say("Measure it first: {part} asks for {band}.", part=part, band=band),
            {"part": part, "place": room.code, "what": what},
        )
    if room.temp is not None and band.asks_temperature:
        names = ("room.too_cold", "room.too_hot")
        yield from _outside(names, room.temp, (band.low_mc, band.high_mc), display_celsius, "temp_mc", room, part, zone)
    if room.humidity is not None and band.asks_humidity:
        names = ("room.too_dry", "room.too_humid")
        yield from _outside(names, room.humidity, (band.rh_low_ppm, band.rh_high_ppm), rh_text, "rh_ppm", room, part, zone)


def _outside(
    codes: tuple[str, str],
    air: Air,
    ends: tuple[int | None, int | None],
    show: Show,
    name: str,
    room: Room,
    part: str,
    zone: str,
) -> Iterator[Reason]:
    low, high = ends
    where = say("{room} {show} at {at}", room=room.name, show=show(air.value), at=day_text(air.at_us, zone))
    numbers: dict[str, Number] = {name: air.value, "min": low, "max": high, "place": room.code, "part": part, "at_us": air.at_us}
    if low is not None and air.value < low:
        yield Reason(codes[0], say("{where}: {part} asks for at least {show}.", where=where, part=part, show=show(low)), numbers)
    if high is not None and air.value > high:
        yield Reason(codes[1], say("{where}: {part} asks for at most {show}.", where=where, part=part, show=show(high)), numbers)


def _span(low: int | None, high: int | None, show: Show, unit: str) -> str:
    if low is not None and high is not None:
        return f"{show(low)}–{show(high)}{unit}"
    if low is not None:
        return say("at least {show}{unit}", show=show(low), unit=unit)
    return say("at most {show}{unit}", show=show(high), unit=unit) if high is not None else ""


def _celsius(mc: int) -> str:
    return display_celsius(mc).removesuffix(" °C")


def _percent(ppm: int) -> str:
    text = plain(Fraction(ppm, 10_000), 2)
    return text.rstrip("0").rstrip(".")


def rh_text(ppm: int) -> str:
    return say("{percent} % RH", percent=_percent(ppm))
