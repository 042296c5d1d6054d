"""What designs ask of the room, and the newest figures of a place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.composed import Composed
from inventory.core.places import FRESH_US
from inventory.core.reasons import Reason
from inventory.core.said import strung
from inventory.models import Leg, Location, Reading
from layups.core.rooms import Air, Band, Room, bands_for, judge
from layups.models import RoomLimit


@dataclass(frozen=True, slots=True)
class RoomView:
    """The room of a part beside what is asked of it for the lines to come: `asked` in words, and what stands against it."""

    room: Room | None
    asked: str
    reasons: tuple[Reason, ...]


_OF_DESIGNS = Composed(lambda designs: RoomLimit.objects.filter(design__in=designs).select_related("line").order_by("pk"), set)


def bands_of(designs: Iterable[int]) -> dict[int, tuple[Band, ...]]:
    """What each design asks of the room, if anything, in one query."""
    found: dict[int, list[Band]] = defaultdict(list)
    for row in _OF_DESIGNS.all(set(designs)):
        line = row.line.seq if row.line is not None else None
        found[row.design_id].append(Band(line, row.low_mc, row.high_mc, row.rh_low_ppm, row.rh_high_ppm))
    return {design: tuple(bands) for design, bands in found.items()}


def room_at(place: int | None, at_us: int) -> Room | None:
    """The place with its newest figures at an instant; what is older than `FRESH_US` says nothing. Two queries."""
    where = Location.objects.filter(pk=place).first() if place is not None else None
    if where is None:
        return None
    past = Reading.objects.filter(location=where, at_us__lte=at_us).order_by("-at_us", "-pk")
    newest = past.first()
    fresh = newest is not None and newest.at_us > at_us - FRESH_US
    temp = Air(newest.temp_mc, newest.at_us) if newest is not None and fresh else None
    damp = past.filter(at_us__gt=at_us - FRESH_US, rh_ppm__isnull=False).first() if fresh else None
    humidity = Air(damp.rh_ppm, damp.at_us) if damp is not None and damp.rh_ppm is not None else None
    return Room(where.code, where.name, temp, humidity, newest.at_us if newest is not None else None)


def place_at(item: int, at_us: int) -> int | None:
    """Where a thing stood at an instant in the past, by its records."""
    legs = Leg.objects.filter(item=item, location__isnull=False, act__voided_by__isnull=True, act__happened_us__lte=at_us)
    found: int | None = legs.order_by("-act__happened_us", "-act__rank", "-seq").values_list("location_id", flat=True).first()
    return found


def room_view(design: int, part: str, place: int | None, lines: Iterable[int], now_us: int, zone: str) -> RoomView | None:
    """None where nothing is asked for these lines; one query then, else four."""
    bands = bands_for(bands_of([design]).get(design, ()), lines)
    if not bands:
        return None
    room = room_at(place, now_us)
    reasons = [reason for band in bands for reason in judge(band, room, part, FRESH_US, zone)]
    return RoomView(room, strung("; ", dict.fromkeys(str(band) for band in bands)), tuple({(r.code, r.text): r for r in reasons}.values()))
